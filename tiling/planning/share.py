"""Sharing paper: pieces of like shape printed over one another, to be traced, folded back, or printed twice.

A back lies under its front, lined up on their grainlines. Each piece keeps its own line pattern, and its title stands
at the ends of its lines, so that the eye can follow one piece through the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import atan2, degrees

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from tiling.failures import InputUnfit
from tiling.outlines import grain_of
from tiling.pattern import Label, Line, Mark, Pattern, Role, Tag
from tiling.planning.layout import LayoutPiece, find_pieces
from tiling.planning.placing import placed
from tiling.planning.plan import Placement
from tiling.shapes import Affine, Box
from tiling.shapes.straights import Straight
from tiling.style import Stroke

__all__ = ["LIKENESS", "SharedPair", "Sharing", "share", "with_line_patterns"]

LIKENESS = 0.7
"""Common area over joint area from which two pieces are alike enough to share paper."""

_DASHES: tuple[tuple[float, ...], ...] = ((), (9.0, 3.0), (3.0, 2.0), (9.0, 2.0, 2.0, 2.0))
"""Line patterns, mm: of the piece that stays, and of up to three laid over it."""

_LETTERS = 3.2
"""mm; size of the titles at line ends."""

_SHIFTS = tuple(sign * 2.0 * step for step in range(60) for sign in (1.0, -1.0))
"""By how much a block of text may be moved, mm, nearest first."""

_SLIDES = 41
"""Positions along the grainline that are tried."""


@dataclass(frozen=True, slots=True)
class SharedPair:
    """Piece `over` is laid on piece `host`; `likeness` is their common area over their joint area, lined up."""

    host: str
    over: str
    likeness: float


@dataclass(frozen=True, slots=True, eq=False)
class Sharing:
    """Which pieces share paper, and the drawing with them laid over one another.

    Attributes:
        source: the pattern as read.
        pattern: with the pieces over one another, each in its line pattern.
        placements: that lay them so, one for each piece and loose group.
        groups: what moves as one.
        pairs: who lies on whom.
    """

    source: Pattern
    pattern: Pattern
    placements: tuple[Placement, ...]
    groups: tuple[LayoutPiece, ...]
    pairs: tuple[SharedPair, ...]

    def composed(self, moves: Sequence[Placement]) -> list[Placement]:
        """Placements of every piece of the source, from moves of the groups."""
        hosts = {pair.over: pair.host for pair in self.pairs}
        by_group = {placement.piece: placement.move for placement in moves}
        return [Placement(own.piece, by_group[hosts.get(own.piece, own.piece)] @ own.move) for own in self.placements]

    def laid(self, placements: Sequence[Placement]) -> Pattern:
        """The source laid by placements of all its pieces, in the shared line patterns."""
        return with_line_patterns(placed(self.source, placements))


def share(pattern: Pattern, likeness: float = LIKENESS) -> Sharing:
    """Lay each piece over the piece it is most alike to, where at least `likeness`.

    Only pieces named by roles that have a grainline share paper; the first in the drawing stays where it is.

    Raises:
        InputUnfit: no pieces with grainlines, a PDF's own content (its lines can't be given another pattern), or no
            two pieces alike; the message says which.
    """
    if any(sheet.artwork is not None for sheet in pattern.sheets):
        raise InputUnfit(
            f"{pattern.source}: pieces of a PDF can't share paper, their lines keep the PDF's own look; use the SVG."
        )
    pieces = find_pieces(pattern)
    grained = _grained(pattern, pieces)
    if len(grained) < 2:
        raise InputUnfit(
            f"{pattern.source}: sharing paper needs at least two pieces with a grainline (class 'grainline'); "
            f"there {'is one' if len(grained) == 1 else 'are none'}."
        )
    pairs, moves = _paired(grained, likeness)
    if not pairs:
        raise InputUnfit(f"{pattern.source}: no two pieces are alike enough ({likeness:.0%}) to share paper.")
    placements = tuple(Placement(piece.ident, moves.get(piece.ident, Affine())) for piece in pieces)
    hosts = {pair.over: pair.host for pair in pairs}
    groups = tuple(
        _merged(piece, [p for p in pieces if hosts.get(p.ident) == piece.ident], moves)
        for piece in pieces
        if piece.ident not in hosts
    )
    return Sharing(pattern, with_line_patterns(placed(pattern, placements)), placements, groups, tuple(pairs))


def with_line_patterns(pattern: Pattern) -> Pattern:
    """The pattern with pieces that lie over one another in line patterns of their own, titled at their lines' ends."""
    bodies = {piece.ident: piece.body for piece in find_pieces(pattern) if piece.body.area > 0}
    titles = {piece.ident: piece.title for piece in pattern.pieces}
    marks = list(pattern.marks)
    done: set[str] = set()
    for host, body in bodies.items():
        if host in done or host not in titles:
            continue
        others = [ident for ident in bodies if ident not in done and ident != host and ident in titles]
        over = [ident for ident in others if _likeness(body, bodies[ident]) > 0.5]
        for rank, ident in enumerate([host, *over] if over else []):
            done.add(ident)
            _dashed(marks, ident, rank)
            marks.extend(_end_titles(marks, ident, titles[ident], bodies[ident], rank))
        if over:
            _spread_labels(marks, [host, *over])
    return pattern.with_marks(marks) if len(marks) > len(pattern.marks) else pattern


@dataclass(frozen=True, slots=True, eq=False)
class _Grained:
    """A piece that can be lined up with another: its closed outline and its grainline, pointing down the sheet."""

    ident: str
    body: BaseGeometry
    grain: Straight

    @property
    def angle(self) -> float:
        """The grainline's direction, degrees from x towards y."""
        step = self.grain.end - self.grain.start
        return degrees(atan2(step.y, step.x))


def _grained(pattern: Pattern, pieces: Sequence[LayoutPiece]) -> list[_Grained]:
    found = []
    for piece in pieces:
        grain = grain_of([mark for index in piece.marks if isinstance(mark := pattern.marks[index], Line)])
        if grain is not None and piece.body.area > 0:
            found.append(_Grained(piece.ident, piece.body, grain))
    return found


def _paired(pieces: Sequence[_Grained], least: float) -> tuple[list[SharedPair], dict[str, Affine]]:
    """Who lies on whom, the most alike first, with the moves of those laid over."""
    found = []
    for host, over in combinations(pieces, 2):
        likeness, move = _lined_up(host, over)
        if likeness >= least:
            found.append((SharedPair(host.ident, over.ident, likeness), move))
    found.sort(key=lambda pair: -pair[0].likeness)
    pairs: list[SharedPair] = []
    moves: dict[str, Affine] = {}
    for pair, move in found:
        hosts = [p.host for p in pairs]
        if pair.over in moves or pair.over in hosts or pair.host in moves or hosts.count(pair.host) >= len(_DASHES) - 1:
            continue
        pairs.append(pair)
        moves[pair.over] = move
    return pairs, moves


def _lined_up(host: _Grained, over: _Grained) -> tuple[float, Affine]:
    """The move that lays `over` on `host`, grainline on grainline, slid along it to where they are most alike."""
    middle, own_middle = host.grain.middle, over.grain.middle
    turn = Affine.turn(host.angle - over.angle, own_middle)
    onto = Affine.shift(middle.x - own_middle.x, middle.y - own_middle.y) @ turn
    along = np.array([np.cos(np.radians(host.angle)), np.sin(np.radians(host.angle))])
    laid = _moved(over.body, onto)
    spans = [np.asarray(shape.exterior.coords) @ along for shape in (host.body, laid) if shape.geom_type == "Polygon"]
    if len(spans) < 2:
        return 0.0, onto
    starts, ends = spans[0].min() - spans[1].min(), spans[0].max() - spans[1].max()
    slides = [0.0, starts, ends, *np.linspace(min(starts, ends), max(starts, ends), _SLIDES)]
    # Equally alike: the first, so that the tops come together before the ends.
    best = max(slides, key=lambda s: round(_likeness(host.body, affinity.translate(laid, *(along * s))), 9))
    move = Affine.shift(*map(float, along * best)) @ onto
    return _likeness(host.body, _moved(over.body, move)), move


def _likeness(a: BaseGeometry, b: BaseGeometry) -> float:
    joint = a.union(b).area
    return float(a.intersection(b).area / joint) if joint else 0.0


def _moved(shape: BaseGeometry, move: Affine) -> BaseGeometry:
    return shapely.transform(shape, move.points)


def _merged(host: LayoutPiece, over: Sequence[LayoutPiece], moves: dict[str, Affine]) -> LayoutPiece:
    """The host with what lies on it, as one thing to lay; the letters of the end titles need a little more room."""
    if not over:
        return host
    shapes = [host.outline, *(_moved(piece.outline, moves[piece.ident]) for piece in over)]
    whole = shapely.unary_union(shapes)
    outline = whole if whole.geom_type == "Polygon" else whole.convex_hull
    marks = tuple(sorted(index for piece in (host, *over) for index in piece.marks))
    return replace(host, marks=marks, outline=shapely.Polygon(outline.exterior))


def _dashed(marks: list[Mark], ident: str, rank: int) -> None:
    """Give a piece laid over another one its own line pattern; the one that stays keeps its own."""
    if not rank:
        return
    for index, mark in enumerate(marks):
        if isinstance(mark, Line) and mark.tag.piece == ident and mark.style.stroke is not None:
            stroke: Stroke = replace(mark.style.stroke, dashes=_DASHES[rank], dash_offset=0.0)
            marks[index] = replace(mark, style=replace(mark.style, stroke=stroke))


def _end_titles(marks: Sequence[Mark], ident: str, title: str, body: BaseGeometry, rank: int) -> list[Label]:
    """The piece's title at both ends of its outlines, inside it, a line lower for each piece below it."""
    labels: list[Label] = []
    ends: list[np.ndarray] = []
    for mark in marks:
        if not isinstance(mark, Line) or mark.tag.piece != ident:
            continue
        if mark.tag.role not in {Role.CUTTING, Role.STITCHING, Role.FOLD} or mark.style.stroke is None:
            continue
        for run in mark.path.flatten(0.1):
            for end in (run[0], run[-1]):
                if all(np.linalg.norm(end - other) > 3 * _LETTERS for other in ends):
                    ends.append(end)
    width = 0.6 * _LETTERS * len(title)
    for end in ends:
        down = rank * 1.3 * _LETTERS
        places = [(x, y + down) for y in (1.5 * _LETTERS, -6 * _LETTERS) for x in (2.0, -2.0 - width)]
        x, y = max(places, key=lambda p: body.intersection(_box(end, p, width)).area)
        at = Affine.shift(float(end[0]) + x, float(end[1]) + y)
        labels.append(Label(title, at, _LETTERS, advance=width, tag=Tag(piece=ident)))
    return labels


def _box(end: np.ndarray, place: tuple[float, float], width: float) -> BaseGeometry:
    x, y = float(end[0]) + place[0], float(end[1]) + place[1]
    return shapely.box(x, y - _LETTERS, x + width, y + 0.3 * _LETTERS)


def _spread_labels(marks: list[Mark], idents: Sequence[str]) -> None:
    """Move blocks of text of the pieces laid over, down or up, until none stands on another piece's text."""
    boxes = [mark.reach() for mark in marks if isinstance(mark, Label) and mark.tag.piece == idents[0]]
    for ident in idents[1:]:
        own = [index for index, mark in enumerate(marks) if isinstance(mark, Label) and mark.tag.piece == ident]
        settled: list[Box] = []
        for block in _blocks([marks[index].reach() for index in own]):
            reaches = [marks[own[k]].reach() for k in block]
            shift = next(
                (
                    d
                    for d in _SHIFTS
                    if not any(reach.moved(0.0, d).meets(box) for reach in reaches for box in (*boxes, *settled))
                ),
                0.0,
            )
            for k in block:
                marks[own[k]] = marks[own[k]].moved(Affine.shift(0.0, shift))
            settled += [reach.moved(0.0, shift) for reach in reaches]
        boxes += settled


def _blocks(reaches: Sequence[Box]) -> list[list[int]]:
    """Texts that stand together, such as the lines of a title: indices by block."""
    blocks: list[list[int]] = []
    for index, reach in enumerate(reaches):
        near = [block for block in blocks if any(reaches[k].grown(2.0).meets(reach) for k in block)]
        blocks = [block for block in blocks if block not in near]
        blocks.append([*(k for block in near for k in block), index])
    return blocks
