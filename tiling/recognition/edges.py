"""The edges of a piece: its seam line parted at corners, and which of them is laid on the fold of the cloth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from tiling.recognition.arrows import Bracket
from tiling.recognition.inside import Inside
from tiling.recognition.strands import Ring, Strand
from tiling.recognition.understanding import Guess
from tiling.shapes import Path
from tiling.shapes.chains import (
    Chain,
    chain_length,
    chain_path,
    chains_of,
    direction_at_end,
    direction_at_start,
    merged_straights,
    reverse_chain,
    turn_between,
)
from tiling.shapes.curves import Array

__all__ = ["Edge", "edges_of", "fold_among", "outline_edges"]

CORNER = 25.0
"""Degrees; a smaller turn is no corner."""

_SLIT = 14.0
"""mm; a cut or point in the outline of no more than this is a notch, not two corners."""

_SQUARE = 3.0
"""Degrees off a right angle that are still one."""

_NEAR_EDGE = 60.0
"""mm; a text farther from an edge doesn't speak of it."""


@dataclass(frozen=True, eq=False)
class Edge:
    """A run of the outline or stitching line between two corners, clockwise on the page.

    Attributes:
        chain: its cubics.
        marks: the lines it is part of.
        dashed: whether it is drawn in dashes.
    """

    chain: Chain
    marks: tuple[int, ...]
    dashed: bool = False

    @cached_property
    def line(self) -> Array:
        """(n, 2) points on it, chords within 0.1 mm."""
        return np.asarray(self.path.flatten(0.1)[0])

    @cached_property
    def path(self) -> Path:
        """It as one open subpath."""
        return chain_path(self.chain)

    @cached_property
    def length(self) -> float:
        """Its length, mm."""
        return chain_length(self.chain)

    @cached_property
    def straight(self) -> bool:
        """Whether it lies within 0.5 mm of its chord."""
        step = self.line[-1] - self.line[0]
        norm = float(np.hypot(*step))
        return norm > 1.0 and float(np.abs((self.line - self.line[0]) @ (-step[1], step[0])).max()) / norm < 0.5

    @cached_property
    def bulge(self) -> float:
        """How far its middle lies out of its chord as a share of the chord: positive outwards, negative inwards."""
        step = self.line[-1] - self.line[0]
        norm = max(float(np.hypot(*step)), 1e-6)
        off = (self.line - self.line[0]) @ np.array([step[1], -step[0]]) / norm
        return float(off[int(np.abs(off).argmax())]) / norm


def outline_edges(ring: Ring) -> list[Edge]:
    """A ring's edges, clockwise on the page, from the corner nearest to the top left on."""
    parts: list[tuple[Array, Strand]] = []
    for strand, turned in ring.strands:
        (chain, closed), *_ = chains_of(strand.path)
        merged = merged_straights(chain, closed=closed)
        parts += [(cubic, strand) for cubic in (reverse_chain(merged) if turned else merged)]
    if len(parts) > 1 and _same_line(parts[-1][0], parts[0][0]) and parts[-1][1] is parts[0][1]:
        parts = [*parts[-1:], *parts[:-1]]
    starts = [k for k in range(len(parts)) if _turn(parts[k - 1][0], parts[k][0]) > CORNER]
    starts = _without_slits(parts, starts)
    if not starts:
        return [_edge(parts)]
    box = ring.box
    first = min(starts, key=lambda k: float(np.hypot(*(parts[k][0][0] - (box.x0, box.y0)))))
    turned_parts = [*parts[first:], *parts[:first]]
    stops = sorted((k - first) % len(parts) for k in starts)
    return [_edge(turned_parts[a:b]) for a, b in zip(stops, [*stops[1:], len(parts)], strict=True)]


def _edge(parts: Sequence[tuple[Array, Strand]]) -> Edge:
    marks = tuple(sorted({strand.mark for _, strand in parts}))
    return Edge(tuple(cubic for cubic, _ in parts), marks, all(strand.dashed for _, strand in parts))


def _same_line(one: Array, other: Array) -> bool:
    return _turn(one, other) < 0.01


def _turn(before: Array, after: Array) -> float:
    return turn_between(direction_at_end((before,)), direction_at_start((after,)))


def _without_slits(parts: Sequence[tuple[Array, Strand]], starts: Sequence[int]) -> list[int]:
    """The corners but for those of notches drawn into the outline: it leaves its way and comes back close by."""
    if len(starts) < 4:
        return list(starts)
    spots = {k: parts[k][0][0] for k in starts}
    dropped: set[int] = set()
    for at, k in enumerate(starts):
        for ahead in (2, 3):
            last = starts[(at + ahead) % len(starts)]
            between = [starts[(at + step) % len(starts)] for step in range(ahead + 1)]
            reach = max(float(np.hypot(*(spots[c] - spots[k]))) for c in between)
            straight_on = turn_between(direction_at_end((parts[k - 1][0],)), direction_at_start((parts[last][0],)))
            if reach <= _SLIT and straight_on < CORNER and len(starts) - len(dropped | set(between)) >= 2:
                dropped.update(between)
    return [k for k in starts if k not in dropped]


def edges_of(inside: Inside, stitching: Iterable[Strand]) -> list[Edge]:
    """The edges along which a piece is sewn: of its stitching line, else of its outline.

    Args:
        inside: the piece.
        stitching: stitching lines drawn edge by edge; edges of the outline that none of them follows are added.
    """
    if inside.family.stitching is not None:
        return outline_edges(inside.family.stitching)
    drawn = list(stitching)
    own = outline_edges(inside.outline)
    if not drawn:
        return own
    ring = shapely.LineString(inside.outline.line)
    edges = []
    for strand in drawn:
        (chain, _), *_ = chains_of(strand.path)
        chain = merged_straights(chain, closed=False)
        places = [ring.project(shapely.Point(p)) for p in strand.line[:: max(1, len(strand.line) // 8)]]
        steps = np.diff(places)
        if np.median(steps) < 0:
            chain = reverse_chain(chain)
        edges += [Edge(part, (strand.mark,), strand.dashed) for part in _parted(chain)]
    covered = shapely.union_all(
        [shapely.LineString(edge.line).buffer(_allowance_reach(inside, edge)) for edge in edges]
    )
    bare = [edge for edge in own if shapely.LineString(edge.line).difference(covered).length > 0.5 * edge.length]
    whole = [*edges, *bare]
    order = [ring.project(shapely.Point(edge.line[len(edge.line) // 2])) for edge in whole]
    ordered = [edge for _, edge in sorted(zip(order, whole, strict=True), key=lambda one: one[0])]
    box = inside.outline.box
    first = min(range(len(ordered)), key=lambda k: float(np.hypot(*(ordered[k].line[0] - (box.x0, box.y0)))))
    return [*ordered[first:], *ordered[:first]]


def _allowance_reach(inside: Inside, edge: Edge) -> float:
    return (inside.outwards(edge.path) or float(np.quantile(inside.from_outline(edge.line), 0.9))) + 3.0


def _parted(chain: Chain) -> list[Chain]:
    stops = [k for k in range(1, len(chain)) if _turn(chain[k - 1], chain[k]) > CORNER]
    return [chain[a:b] for a, b in zip([0, *stops], [*stops, len(chain)], strict=True)]


# --- the fold ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Fold:
    """The outline's edge that is laid on the fold, how sure that is and why, and what is drawn to say so.

    `along` are lines drawn on the edge, `brackets` what points at it.
    """

    edge: Edge
    seen: Guess[bool]
    along: tuple[Strand, ...] = ()
    brackets: tuple[Strand, ...] = ()


def fold_among(inside: Inside, brackets: Sequence[Bracket], strands: Sequence[Strand]) -> Fold | None:
    """The edge of the outline that brackets, lines drawn along it, dashes or words make the fold; the surest one."""
    longest = max(inside.outline.box.width, inside.outline.box.height)
    edges = [e for e in outline_edges(inside.outline) if e.straight and e.length > max(20.0, 0.2 * longest)]
    said = [text for text in inside.texts if inside.words.says(text.text, "fold")]
    folds = [_fold_of(inside, edge, edges, brackets, strands, bool(said)) for edge in edges]
    best = max(folds, key=lambda fold: fold.seen.sure, default=None)
    if best is None or best.seen.sure <= 0.0:
        if said and (square := _square_and_upright(inside.outline)) is not None:
            return Fold(square, Guess(True, 0.85, f"the text '{said[0].text}', and the only edge square at both ends"))
        if said and edges:
            edge = max(edges, key=lambda e: e.length * (1.5 if abs(e.line[0][0] - e.line[-1][0]) < 1 else 1.0))
            return Fold(edge, Guess(True, 0.6, f"the text '{said[0].text}', and the longest straight edge"))
        return None
    return best


def _fold_of(
    inside: Inside,
    edge: Edge,
    edges: Sequence[Edge],
    brackets: Sequence[Bracket],
    strands: Sequence[Strand],
    said_somewhere: bool,
) -> Fold:
    doubt = 1.0
    why: list[str] = []
    pointing: list[Strand] = []
    line = shapely.LineString(edge.line)
    for bracket in brackets:
        ends = [shapely.Point(leg.x, leg.y) for leg in bracket.legs]
        if max(line.distance(end) for end in ends) < 12.0:
            doubt *= 0.08
            why.append("a bracket that points at it")
            pointing += bracket.strands
    along = [s for s in strands if not s.closed and s.length > 0.5 * edge.length and _lies_on(s, line)]
    if along:
        doubt *= 0.3 if not any(s.dashed for s in along) else 0.2
        why.append("a line drawn along it")
    if edge.dashed and not inside.outline.dashed:
        doubt *= 0.25
        why.append("it alone is dashed")
    text = _text_at(inside, edge, edges)
    if text:
        doubt *= 0.2
        why.append(f"the text '{text}'")
    elif said_somewhere and _bare(inside, edge):
        doubt *= 0.25
        why.append("the words for a fold, and no allowance along it")
    return Fold(edge, Guess(True, 1.0 - doubt, " and ".join(why)), tuple(along), tuple(pointing))


def _square_and_upright(outline: Ring) -> Edge | None:
    """The one straight edge from top to bottom that meets both its neighbours at right angles, as a half's middle does.

    Common practice, no source: where a half is unfolded, its edges go on without a corner.
    """
    edges = outline_edges(outline)
    found = [
        edge
        for before, edge, after in zip([edges[-1], *edges[:-1]], edges, [*edges[1:], edges[0]], strict=True)
        if edge.straight
        and abs(edge.line[0][0] - edge.line[-1][0]) < 0.02 * edge.length
        and edge.length > 0.5 * outline.box.height
        and abs(_turn(before.chain[-1], edge.chain[0]) - 90.0) < _SQUARE
        and abs(_turn(edge.chain[-1], after.chain[0]) - 90.0) < _SQUARE
    ]
    return found[0] if len(found) == 1 else None


def _lies_on(strand: Strand, line: shapely.LineString) -> bool:
    return bool(np.quantile(shapely.distance(shapely.points(strand.line), line), 0.9) < 0.7)


def _text_at(inside: Inside, edge: Edge, edges: Sequence[Edge]) -> str:
    """A text that says fold and stands nearer to this edge than to the others, running along it or close by."""
    for text in inside.texts:
        if not inside.words.says(text.text, "fold"):
            continue
        box = shapely.box(text.box.x0, text.box.y0, text.box.x1, text.box.y1)
        apart = {id(one): float(shapely.LineString(one.line).distance(box)) for one in edges}
        step = edge.line[-1] - edge.line[0]
        run = np.array([text.end.x - text.start.x, text.end.y - text.start.y])
        norm = float(np.hypot(*step) * np.hypot(*run))
        parallel = norm > 0 and abs(float(step[0] * run[1] - step[1] * run[0])) < 0.2 * norm
        others_parallel = [id(one) for one in edges if _runs_along(one, run)]
        nearest = min(others_parallel if parallel else apart, key=lambda key: apart[key])
        orders = inside.words.says(text.text, "cut")
        if nearest == id(edge) and apart[id(edge)] < (
            _NEAR_EDGE if parallel else 0.5 * _NEAR_EDGE if not orders else 0.0
        ):
            return text.text
    return ""


def _runs_along(edge: Edge, run: Array) -> bool:
    step = edge.line[-1] - edge.line[0]
    norm = float(np.hypot(*step) * np.hypot(*run))
    return norm > 0 and abs(float(step[0] * run[1] - step[1] * run[0])) < 0.2 * norm


def _bare(inside: Inside, edge: Edge) -> bool:
    """Whether a stitching line that keeps off the rest of the outline lies on this edge."""
    stitching = inside.family.stitching
    if stitching is None:
        return False
    return bool(np.quantile(shapely.distance(shapely.points(edge.line), shapely.LineString(stitching.line)), 0.7) < 0.7)
