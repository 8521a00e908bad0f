"""A drawing understood: its pieces, what their lines are, how they are cut, which edges are sewn to each other."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from calibrate.run import Run
from tiling.cutting_words import cloth_in, copies_in, cut_in, of_main_cloth
from tiling.notes import CutAs
from tiling.pattern import Pattern, Role, unused_name
from tiling.recognition.across import crossing_lines, placements_of, stitching_of
from tiling.recognition.arrows import Arrow, arrows_among, brackets_among
from tiling.recognition.edges import Edge, Fold, edges_of, fold_among, outline_edges
from tiling.recognition.families import Family, sorted_rings
from tiling.recognition.inside import Inside, of_families
from tiling.recognition.names import named_edges
from tiling.recognition.said import as_said
from tiling.recognition.scene import Scene
from tiling.recognition.seams import seams_between
from tiling.recognition.strands import Strand, open_ends
from tiling.recognition.texts import size_in, title_among
from tiling.recognition.ticks import buttons_of, darts_of, notches_of
from tiling.recognition.understanding import (
    Allowance,
    Aside,
    EdgeSeen,
    Guess,
    LineSeen,
    PieceSeen,
    Understanding,
)
from tiling.shapes import Point
from tiling.shapes.chains import chain_path
from tiling.words import Words, folded

__all__ = ["understood", "with_gaps"]

_MOST_PIECES = 500
"""Closed outlines of a drawing with more of them are no pieces: it is a map, a chart or a wallpaper."""

_BESIDE = 20.0
"""mm; what lies so near to a piece, and in none, belongs to it."""

_BEYOND = 60.0
"""mm; what reaches farther beyond it is a frame or a base line, and none of its."""


def understood(pattern: Pattern, run: Run = Run()) -> Understanding:
    """What a drawing shows to somebody who knows the trade, and what it says itself.

    Pure: nothing of the pattern is changed. Pieces come in the order in which they are drawn.

    Raises:
        Cancelled: by `run`, asked between pieces.
    """
    scene = Scene.of(pattern)
    if not scene.strands:
        return Understanding(lines_drawn=False)
    sorted_ = sorted_rings(scene)
    families = sorted(sorted_.families, key=lambda family: family.outline.marks)
    if len(families) > _MOST_PIECES:
        return Understanding(outlines=len(families))
    pieces: list[PieceSeen] = []
    for inside in of_families(families, scene):
        run.check()
        pieces.append(_piece(pattern, inside, {piece.ident for piece in pieces}))
    asides = tuple(Aside(kind, ring.marks, ring.box) for ring, kind in sorted_.asides)
    pieces = _with_what_lies_beside(pattern, pieces, {mark for aside in asides for mark in aside.marks})
    seen = as_said(pattern, Understanding(tuple(pieces), asides))
    return replace(seen, seams=seams_between(seen.pieces))


def _with_what_lies_beside(pattern: Pattern, pieces: list[PieceSeen], apart: set[int]) -> list[PieceSeen]:
    """The pieces with the marks that lie in none, each with the piece that is nearest, if that is near enough."""
    taken = apart.union(*(piece.marks() for piece in pieces)) if pieces else apart
    left = [index for index in range(len(pattern.marks)) if index not in taken]
    if not pieces or not left:
        return pieces
    centres = shapely.points([(c.x, c.y) for c in (pattern.marks[index].reach().centre for index in left)])
    regions = [shapely.Polygon(piece.ring.flatten(0.5)[0]).buffer(0) for piece in pieces]
    near, homes = shapely.STRtree(regions).query_nearest(centres, max_distance=_BESIDE, all_matches=False)
    beside: dict[int, set[int]] = {}
    for k, home in zip(near.tolist(), homes.tolist(), strict=True):
        if pieces[home].place.grown(_BEYOND).covers(pattern.marks[left[k]].reach()):
            beside.setdefault(home, set()).add(left[k])
    return [replace(piece, within=piece.within | beside.get(k, set())) for k, piece in enumerate(pieces)]


def with_gaps(pattern: Pattern, seen: Understanding) -> Understanding:
    """What was seen of a drawing, with the gaps in its outlines; those within pieces are of other lines."""
    scene = Scene.of(pattern)
    around = [piece.place.grown(2.0) for piece in seen.pieces]
    outside = [strand for strand in scene.strands if not any(box.covers(strand.box) for box in around)]
    return replace(seen, open_ends=tuple(open_ends(outside, scene.rings)))


def _piece(pattern: Pattern, inside: Inside, used: set[str]) -> PieceSeen:
    title = _title(pattern, inside, len(used) + 1)
    lines, fold, stitching = _lines(inside)
    edges = edges_of(inside, stitching)
    on_fold = _same_edge(edges, fold) if fold is not None and fold.seen.stands else None
    kind = next(iter(inside.words.named(title.value, "piece")), "")
    names = named_edges(edges, kind, on_fold)
    seen = tuple(
        EdgeSeen(name, edge.path, edge is on_fold, edge.marks) for edge, name in zip(edges, names, strict=True)
    )
    texts = [text.text for text in inside.texts]
    said = of_main_cloth(texts, inside.words)
    if not any(copies_in(text, inside.words) for text in said):
        said = texts  # a piece of lining or interfacing alone
    return PieceSeen(
        ident=unused_name(_ident(title.value), used),
        title=title,
        outline=LineSeen(inside.outline.marks, Guess(Role.CUTTING, _piece_sure(inside), inside.family.why)),
        place=inside.outline.box,
        ring=chain_path([cubic for edge in outline_edges(inside.outline) for cubic in edge.chain], closed=True),
        copies=_first(said, lambda text: copies_in(text, inside.words)),
        cut=_cut(said, inside.words, fold),
        cloth=_first(said, lambda text: cloth_in(text, inside.words)),
        size=_first(texts, lambda text: size_in(text, inside.words)),
        sizes=_sizes(pattern, inside.family),
        allowances=_allowances(inside, seen),
        edges=seen,
        lines=tuple(lines),
        within=inside.marks,
    )


def _piece_sure(inside: Inside) -> float:
    """How sure it is that an outline is a piece: with words or lines in it surer than a bare small shape."""
    family = inside.family
    if inside.texts or family.stitching is not None or family.sizes:
        return 0.97
    if len(inside.strands) > 1:
        return 0.95
    return 0.9 if family.outline.area > 2500.0 else 0.6


def _title(pattern: Pattern, inside: Inside, number: int) -> Guess[str]:
    by_text = title_among(inside.texts, inside.words)
    layers = {pattern.marks[mark].tag.layer for mark in inside.outline.marks} - {""}
    layer = next(iter(layers), "")
    if by_text is not None and by_text.stands:
        return by_text
    if layer and inside.words.named(layer, "piece"):
        return Guess(layer, 0.9, f"the layer '{layer}'")
    return by_text or Guess(f"Piece {number}", 0.3, "no text in it names it")


def _ident(title: str) -> str:
    return re.sub(r"[^\w]+", "-", folded(title)).strip("-") or "piece"


def _lines(inside: Inside) -> tuple[list[LineSeen], Fold | None, list[Strand]]:
    """The roles of all lines in a piece, its fold, and its stitching lines that are drawn edge by edge."""
    left = list(inside.strands)
    lines: list[LineSeen] = []

    def take(found: Iterable[LineSeen]) -> None:
        nonlocal left
        new = list(found)
        lines.extend(new)
        marks = {mark for line in new for mark in line.marks}
        left = [strand for strand in left if strand.mark not in marks]

    brackets = brackets_among(left)
    fold = fold_among(inside, brackets, left)
    if fold is not None and fold.seen.stands:
        sure, why = fold.seen.sure, fold.seen.why
        take(LineSeen((strand.mark,), Guess(Role.FOLD, sure, why), "fold") for strand in fold.along)
        if fold.brackets:
            take([LineSeen(_marks(fold.brackets), Guess(Role.PLAIN, sure, why), "fold-bracket")])
    arrows = [_arrow(inside, arrow) for arrow in arrows_among(left)]
    take(arrows)
    if not arrows:
        arrows = _named_grain(inside, left)
        take(arrows)
    grain = _grain(inside, arrows)
    if inside.family.stitching is not None:
        ring = inside.family.stitching
        lines.append(LineSeen(ring.marks, Guess(Role.STITCHING, 0.9, "it keeps a width from the outline")))
    stitched = stitching_of(inside, left, fold.edge.path if fold is not None and fold.seen.stands else None)
    stitching = [strand for strand in left if any(strand.mark in line.marks for line in stitched)]
    take(stitched)
    inside = replace(inside, seams=tuple(stitching))
    take(darts_of(inside, left))
    take(notches_of(inside, left))
    take(buttons_of(inside, left))
    take(crossing_lines(inside, left, grain))
    take(placements_of(inside, left))
    return lines, fold, stitching


def _marks(strands: Iterable[Strand]) -> tuple[int, ...]:
    return tuple(sorted({strand.mark for strand in strands}))


def _arrow(inside: Inside, arrow: Arrow) -> LineSeen:
    marks = _marks(arrow.strands)
    said = inside.said_of(arrow.strands, "grain")
    if said is not None:
        return LineSeen(marks, Guess(Role.GRAINLINE, 0.97, f"an arrow with the text '{said.text}'"), "grain")
    return LineSeen(marks, Guess(Role.GRAINLINE, 0.85, "a straight arrow"), "grain")


def _named_grain(inside: Inside, strands: Sequence[Strand]) -> list[LineSeen]:
    """Straight lines without a head beside which a text names the grain."""
    return [
        LineSeen((strand.mark,), Guess(Role.GRAINLINE, 0.85, f"the text '{said.text}'"), "grain")
        for strand in strands
        if strand.straight and not strand.filled and (said := inside.said_of([strand], "grain")) is not None
    ]


def _grain(inside: Inside, arrows: Sequence[LineSeen]) -> Point:
    """The direction of the longest grainline, down the page without any."""
    marks = {mark for line in arrows for mark in line.marks}
    shafts = [s for s in inside.strands if s.mark in marks and s.length > 20.0]
    longest = max(shafts, key=lambda strand: strand.length, default=None)
    if longest is None:
        return Point(0.0, 1.0)
    start, end = longest.chord
    return (end - start).unit() if start.distance(end) > 1.0 else Point(0.0, 1.0)


def _first(texts: Sequence[str], read: Callable[[str], Guess | None]) -> Guess | None:  # type: ignore[type-arg]
    """The surest answer that the texts give, the first of equal ones."""
    found = [guess for text in texts if (guess := read(text)) is not None]
    return max(found, key=lambda guess: guess.sure, default=None)


def _cut(texts: Sequence[str], words: Words, fold: Fold | None) -> Guess[CutAs] | None:
    said = _first(texts, lambda text: cut_in(text, words))
    if fold is not None and fold.seen.sure >= (said.sure if said is not None else 0.0):
        return Guess(CutAs.FOLD, fold.seen.sure, fold.seen.why)
    return said


def _same_edge(edges: Sequence[Edge], fold: Fold) -> Edge | None:
    """The seam line's edge that lies on the outline's fold edge."""
    start, end = fold.edge.line[0], fold.edge.line[-1]
    step = (end - start) / max(fold.edge.length, 1e-9)

    def lies(edge: Edge) -> bool:
        off = edge.line - start
        along = off @ step
        return bool(
            np.abs(off @ (-step[1], step[0])).max() < 1.5 and along.max() > 0 and along.min() < fold.edge.length
        )

    return max((edge for edge in edges if lies(edge)), key=lambda edge: edge.length, default=None)


def _allowances(inside: Inside, edges: Sequence[EdgeSeen]) -> tuple[Allowance, ...]:
    """How far each edge of the stitching line lies within the outline, to a tenth of a mm."""
    drawn = set(inside.outline.marks)
    found = []
    for edge in edges:
        if not edge.on_fold and not set(edge.marks) <= drawn:
            width = inside.outwards(edge.path)
            if width is not None:
                found.append(Allowance(edge.name.value, round(width, 1)))
    return tuple(found)


def _sizes(pattern: Pattern, family: Family) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """The sizes by the names of their layers, or by number, from the smallest; none where there is only one."""
    if not family.sizes:
        return ()
    rings = sorted([family.outline, *family.sizes], key=lambda ring: ring.area)
    layers = [pattern.marks[ring.marks[0]].tag.layer for ring in rings]
    named = len(set(layers)) == len(layers) and all(layers)
    return tuple((layers[k] if named else f"size {k + 1}", ring.marks) for k, ring in enumerate(rings))
