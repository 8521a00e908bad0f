"""What keeps its shape where a cut meets it: darts with what is drawn in them, pockets and the like."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tiling.altering.cut import Cut
from tiling.altering.darts import Dart
from tiling.altering.parts import moved_with
from tiling.altering.piece_geometry import PieceGeometry
from tiling.pattern import Finding, FindingKind, Line, Mark, Role
from tiling.shapes import Box, Point
from tiling.shapes.chains import as_point, chain_length, chains_of, crossings
from tiling.shapes.corners import straight_stretch
from tiling.shapes.curves import evaluate
from tiling.shapes.regions import area, distance_to, ring_of
from tiling.shapes.rings import closes

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["EDGES", "SMALL", "Kept", "kept_at"]

SMALL = 40.0
"""Plain and placement lines shorter than this (mm) are signs, not edges: where a cut meets them they move whole."""

_AT_EDGE = 25.0
"""mm; a line across a piece ends no farther from its cutting line: at it, or at the seam."""

_AT_LINE = 2.0
_IN_DART = 3.0
_LARGE = 0.5
"""A plain closed line around less than this share of the piece is something on it, and no stitching line."""

_SEAMS = {Role.CUTTING, Role.STITCHING}
EDGES = {Role.CUTTING, Role.STITCHING, Role.PLAIN}
"""Roles of lines that may go around a piece."""
_WORD = re.compile(r"[^\W\d_]{3,}")


@dataclass(frozen=True, slots=True)
class Kept:
    """What moves whole at a cut.

    Attributes:
        sides: for marks by index whether they go with the moving side.
        darts: the darts that the cut meets, each with whether it does.
        findings: what was kept, for the person to know.
        tips: ends, on the cut, of open edges that go with the moving side; the edge that met one there follows it.
    """

    sides: Mapping[int, bool]
    darts: tuple[tuple[Dart, bool], ...]
    findings: tuple[Finding, ...]
    tips: tuple[Point, ...] = ()


def kept_at(cut: Cut, body: PieceGeometry, marks: Sequence[Mark], titles: Mapping[str, str]) -> Kept:
    """What keeps its shape at a cut.

    Args:
        cut: the cut.
        body: its piece.
        marks: all marks of the pattern.
        titles: of all pieces, by id: a pocket's placement line is named after its piece.
    """
    own = {i: mark for i, mark in enumerate(marks) if mark.tag.piece == cut.piece and i != cut.source.mark}
    sides: dict[int, bool] = {}
    darts = _darts(cut, body.darts, own, sides)
    findings = [
        _finding(cut, f"the dart with its point at x = {dart.point.x:.0f} mm, y = {dart.point.y:.0f} mm keeps its "
                 f"shape and take; what the {cut.kind.value} gives or takes lies beside it in the seam")
        for dart, _ in darts if not dart.diamond
    ]  # fmt: skip
    groups: dict[str, list[int]] = {}
    for index, mark in own.items():
        if isinstance(mark, Line) and index not in sides and _keeps_shape(mark, body):
            groups.setdefault(mark.tag.name or f"#{index}", []).append(index)
    for name, group in groups.items():
        lines = [mark for i in group if isinstance(mark := own[i], Line)]
        if not any(_is_crossed(line, cut) for line in lines):
            continue
        moved = any(cut.name in moved_with(line) for line in lines) or cut.moves(_middle(lines))
        sides.update(dict.fromkeys(group, moved))
        if lines[0].tag.role is Role.PLACEMENT and sum(line.path.length() for line in lines) >= SMALL:
            findings.append(_finding(cut, _words(name, lines, cut, titles)))
    return Kept(sides, darts, tuple(findings), tuple(_tips(cut, own.values())))


def _tips(cut: Cut, marks: Iterable[Mark]) -> Iterator[Point]:
    for line in marks:
        if not isinstance(line, Line) or line.tag.role not in EDGES:
            continue
        for chain, closed in chains_of(line.path):
            ends = (as_point(chain[0][0]), as_point(chain[-1][3]))
            crossed = crossings(chain, cut.reach().start, cut.reach().end, closed=closed)
            if not closed and not crossed and cut.moves(as_point(evaluate(chain[len(chain) // 2], 0.5))):
                yield from (end for end in ends if cut.passes(end))


def _finding(cut: Cut, text: str) -> Finding:
    return Finding(FindingKind.SHAPE_KEPT_AT_CUT, text, f"piece {cut.piece}")


def _words(name: str, lines: Sequence[Line], cut: Cut, titles: Mapping[str, str]) -> str:
    at = _middle(lines)
    what = f"the placement line {name}" if lines[0].tag.name else "a placement line without a name"
    piece = _piece_named(name, {i: t for i, t in titles.items() if i != cut.piece}) if lines[0].tag.name else ""
    fits = f"the piece {piece} still fits it" if piece else "what is sewn there still fits it"
    return (
        f"{what} about x = {at.x:.0f} mm, y = {at.y:.0f} mm lies across the {cut.kind.value}; it moves whole and keeps "
        f"its shape, so that {fits}"
    )


def _piece_named(name: str, titles: Mapping[str, str]) -> str:
    """The piece whose id or title shares a word with the line's name; the one with the most of them."""
    wanted = set(_WORD.findall(name.casefold()))
    shared = {i: len(wanted & set(_WORD.findall(f"{i} {title}".casefold()))) for i, title in titles.items()}
    best = max(shared, key=lambda ident: shared[ident], default="")
    return best if best and shared[best] else ""


def _darts(
    cut: Cut, darts: Sequence[Dart], own: Mapping[int, Mark], sides: dict[int, bool]
) -> tuple[tuple[Dart, bool], ...]:
    """The darts that the cut meets, with their sides; `sides` gets what is drawn in them.

    A dart drawn twice, cut out and stitched, or by a role and as a hollow, is one.
    """
    if not darts:
        return ()
    areas = [dart.reach(_AT_EDGE) for dart in darts]
    met: list[tuple[Dart, bool]] = []
    line = cut.reach()
    for group in _overlapping(areas):
        if not any(darts[i].is_met(line) for i in group):
            continue
        around = [areas[i].buffer(_IN_DART) for i in group]
        inside = [i for i, mark in own.items() if mark.tag.role not in _SEAMS and _lies_in(mark, around)]
        moved = cut.moves(darts[group[0]].middle)
        moved = moved or any(cut.name in moved_with(own[i]) for i in inside if own[i].tag.role is Role.DART)
        met += [(darts[i], moved) for i in group]
        sides.update(dict.fromkeys(inside, moved))
    return tuple(met)


def _overlapping(areas: Sequence[BaseGeometry]) -> Iterator[list[int]]:
    left = list(range(len(areas)))
    while left:
        first = left.pop(0)
        group = [first, *(i for i in left if areas[i].intersects(areas[first]))]
        left = [i for i in left if i not in group]
        yield group


def _lies_in(mark: Mark, around: Sequence[BaseGeometry]) -> bool:
    import shapely  # noqa: PLC0415 - heavy, and only needed here

    if isinstance(mark, Line):
        shape = shapely.MultiPoint(np.vstack(mark.path.flatten(0.5)))
    else:
        centre = mark.reach().centre
        shape = shapely.Point(centre.x, centre.y)
    return any(one.covers(shape) for one in around)


def _keeps_shape(line: Line, body: PieceGeometry) -> bool:
    """Whether the line shows a thing that is sewn on or in, and not an edge or a level of the piece."""
    if line.tag.role is Role.DART:
        return True
    if line.tag.role not in {Role.PLACEMENT, Role.PLAIN}:
        return False
    chains = chains_of(line.path)
    if not chains or all(chain_length(chain) < SMALL for chain, _ in chains):
        return True
    if any(closed or closes(sub) for (_, closed), sub in zip(chains, line.path.subpaths(), strict=False)):
        if line.tag.role is Role.PLACEMENT:
            return True
        return max(area(ring_of(chain)) for chain, _ in chains) < _LARGE * area(ring_of(body.outline))
    if line.tag.role is Role.PLAIN:
        return False
    ring = ring_of(body.outline, 0.1)
    ends = [as_point(point) for chain, _ in chains for point in (chain[0][0], chain[-1][3])]
    at_edge = sum(_is_at_edge(end, ring, body) for end in ends)
    straight = all(straight_stretch(chain).count == len(chain) for chain, _ in chains)
    return at_edge == 0 or (at_edge < len(ends) and not straight)


def _is_at_edge(end: Point, ring: np.ndarray, body: PieceGeometry) -> bool:
    if distance_to(ring, end) <= _AT_EDGE:
        return True
    return any(distance_to(np.array([(p.x, p.y) for p in (f.start, f.end)]), end) <= _AT_LINE for f in body.folds)


def _is_crossed(line: Line, cut: Cut) -> bool:
    reach = cut.reach()
    return any(crossings(chain, reach.start, reach.end, closed=closed) for chain, closed in chains_of(line.path))


def _middle(lines: Sequence[Line]) -> Point:
    whole = Box.around(line.path.bounds() for line in lines)
    assert whole is not None  # there is a line
    return whole.centre
