"""Long lines in a piece: those that cross it (grading, lengthen, level lines), that follow its edge, and placements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians

import numpy as np
import shapely

from tiling.pattern import Role
from tiling.recognition.inside import Inside
from tiling.recognition.likeness import WIDEST, evenly, plateaus
from tiling.recognition.near import Near
from tiling.recognition.strands import Strand
from tiling.recognition.understanding import Guess, LineSeen
from tiling.shapes import Path, Point

__all__ = ["crossing_lines", "placements_of", "stitching_of"]

_REACH = 4.0
"""mm; a line that ends so near to the outline was meant to reach it."""

_PAIR = (2.0, 13.0)
"""mm; lines so far apart, alike and parallel, are one pair."""

_LEVEL_ANGLE = 12.0
"""Degrees; a line nearer than this to a direction lies in it."""

_MOST = 200
"""Lines from edge to edge of one piece; more are a cloth's stripes or hatching."""


@dataclass(frozen=True, slots=True, eq=False)
class _Crossing:
    strands: tuple[Strand, ...]
    across_grain: bool
    along_grain: bool


def crossing_lines(inside: Inside, strands: Sequence[Strand], grain: Point) -> list[LineSeen]:
    """Straight lines from edge to edge, by what texts say beside them, by being a pair, by how they lie to the grain.

    Args:
        inside: the piece.
        strands: its lines that are nothing else.
        grain: the grain's direction as a unit vector; straight down the page where none is drawn.
    """
    found = []
    for crossing in _crossings(inside, strands, grain):
        marks = tuple(sorted({strand.mark for strand in crossing.strands}))
        name, role = _role_of(inside, crossing)
        found.append(LineSeen(marks, role, name))
    return found


def _crossings(inside: Inside, strands: Sequence[Strand], grain: Point) -> list[_Crossing]:
    lines = [strand for strand in strands if strand.straight and not strand.filled and _reaches(inside, strand)]
    if len(lines) > _MOST:
        return []
    found: list[_Crossing] = []
    taken: set[int] = set()
    for k, one in enumerate(lines):
        if id(one) in taken:
            continue
        twin = next((other for other in lines[k + 1 :] if id(other) not in taken and _twins(one, other)), None)
        group = (one,) if twin is None else (one, twin)
        taken.update(map(id, group))
        start, end = one.chord
        direction = (end - start).unit()
        along = abs(direction.dot(grain))
        near = cos(radians(_LEVEL_ANGLE))
        found.append(_Crossing(group, abs(direction.cross(grain)) > near, along > near))
    return found


def _reaches(inside: Inside, strand: Strand) -> bool:
    """Whether both ends lie on the outline or beyond it, or on the stitching line, and its middle well inside."""
    ends = shapely.points(strand.line[[0, -1]])
    region = inside.outline.polygon
    ends_off = np.minimum(inside.from_outline(strand.line[[0, -1]]), inside.from_rims(strand.line[[0, -1]]))
    outside = ~shapely.covers(region, ends)
    on = (ends_off <= _REACH) | outside
    if not on.all():
        # A line that ends on a stitching line drawn in parts stops an allowance short of the outline.
        on |= inside.from_outline(strand.line[[0, -1]]) <= 45.0
        if not on.all() or strand.length < 0.6 * _chord_through(inside, strand):
            return False
    middle = strand.line[[0]] * 0.5 + strand.line[[-1]] * 0.5
    return bool(inside.from_outline(middle)[0] > 8.0 and strand.length > 40.0)


def _chord_through(inside: Inside, strand: Strand) -> float:
    """How far the piece reaches along the strand's own straight line, on both sides of its middle, mm."""
    start, end = strand.line[0], strand.line[-1]
    step = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    middle = (start + end) / 2
    ray = shapely.LineString([middle - 3000 * step, middle + 3000 * step])
    parts = shapely.get_parts(inside.outline.polygon.intersection(ray))
    spot = shapely.Point(middle)
    return max((float(part.length) for part in parts if part.distance(spot) < 1e-6), default=0.0)


def _twins(one: Strand, other: Strand) -> bool:
    """Whether two lines are alike, parallel, beside each other and a little apart."""
    if one.look != other.look or abs(one.length - other.length) > 0.3 * one.length:
        return False
    a, b = one.line[-1] - one.line[0], other.line[-1] - other.line[0]
    if abs(float(a[0] * b[1] - a[1] * b[0])) > 0.03 * float(np.hypot(*a) * np.hypot(*b)):
        return False
    apart = shapely.LineString(one.line).distance(shapely.Point((other.line[0] + other.line[-1]) / 2))
    return _PAIR[0] <= float(apart) <= _PAIR[1]


def _role_of(inside: Inside, crossing: _Crossing) -> tuple[str, Guess[Role]]:
    lines = crossing.strands
    for subject, role, name in (
        ("lengthen", Role.LENGTHEN, "length"),
        ("grade", Role.GRADING, "width"),
        ("fold", Role.FOLD, "fold"),
        ("grain", Role.GRAINLINE, "grain"),
    ):
        said = inside.said_of(lines, subject)
        if said is not None:
            return name, Guess(role, 0.95, f"the text '{said.text}'")
    level = inside.said_of(lines, "level")
    if level is not None:
        return inside.words.named(level.text, "level")[0], Guess(Role.PLACEMENT, 0.95, f"the text '{level.text}'")
    placed = inside.said_of(lines, "placement")
    if placed is not None:
        return "", Guess(Role.PLACEMENT, 0.9, f"the text '{placed.text}'")
    if crossing.across_grain and len(lines) == 2:
        return "length", Guess(Role.LENGTHEN, 0.8, "a pair of lines across the grain")
    if crossing.across_grain:
        return "", Guess(Role.LENGTHEN, 0.5, "a line across the grain, from edge to edge")
    if crossing.along_grain:
        return "width", Guess(
            Role.GRADING, 0.6 if len(lines) == 1 else 0.75, "a line along the grain, from edge to edge"
        )
    return "", Guess(Role.PLACEMENT, 0.4, "a line from edge to edge")


def stitching_of(inside: Inside, strands: Sequence[Strand], fold: Path | None) -> list[LineSeen]:
    """Lines that follow the outline, but for its fold, at a few kept distances: stitching lines drawn edge by edge."""
    if inside.family.stitching is not None:
        return []
    outline = shapely.LineString(inside.outline.line)
    if fold is not None:
        outline = outline.difference(shapely.LineString(fold.flatten(0.1)[0]).buffer(0.2))
    shapely.prepare(outline)
    near, follow = [], []
    open_ones = [s for s in strands if not s.filled and not s.closed and s.length >= 12.0]
    middles = np.array([s.line[len(s.line) // 2] for s in open_ones]).reshape(-1, 2)
    close = shapely.distance(shapely.points(middles), outline) <= WIDEST
    for strand in (one for one, is_close in zip(open_ones, close, strict=True) if is_close):
        apart = shapely.distance(
            shapely.points(evenly(strand.line, max(9, min(60, int(strand.length / 4))), closed=False)), outline
        )
        levels, share = plateaus(apart)
        if np.quantile(apart, 0.95) > WIDEST or not levels or max(levels) < 2.0:
            continue
        near.append(strand)
        # A line that crosses the piece keeps to no width; nor does a short one between two corners.
        if share > 0.7 and len(levels) <= 3:
            follow.append(strand)
    looks = {strand.look for strand in follow}
    chained = [strand for strand in _meeting(near, inside) if strand.look in looks]
    around = sum(strand.length for strand in chained)
    if around < 0.4 * float(inside.outline.polygon.length):
        return []
    return [
        LineSeen((strand.mark,), Guess(Role.STITCHING, 0.85, "it follows the outline at an allowance's width"))
        for strand in chained
    ]


def _meeting(strands: Sequence[Strand], inside: Inside) -> list[Strand]:
    """Those of which each end meets another one's, or the outline."""
    if not strands:
        return []
    ends = np.vstack([strand.line[[0, -1]] for strand in strands])
    met = {k for pair in Near(ends).pairs(1.4).tolist() if pair[0] // 2 != pair[1] // 2 for k in pair}
    met |= set(np.flatnonzero(inside.from_outline(ends) <= 1.5).tolist())
    return [strand for k, strand in enumerate(strands) if {2 * k, 2 * k + 1} <= met]


def placements_of(inside: Inside, strands: Sequence[Strand]) -> list[LineSeen]:
    """What is set on within the piece: closed shapes, and dashed lines that are nothing else."""
    found = []
    for strand in strands:
        said = inside.said_of([strand], "placement") or inside.said_of([strand], "piece.pocket")
        if strand.filled and not strand.closed:
            continue
        if said is not None:
            found.append(LineSeen((strand.mark,), Guess(Role.PLACEMENT, 0.9, f"the text '{said.text}'")))
        elif strand.length > 30.0 and (strand.dashed or strand.closed):
            why = "a closed shape in the piece" if strand.closed else "a dashed line in the piece"
            found.append(LineSeen((strand.mark,), Guess(Role.PLACEMENT, 0.75 if strand.dashed else 0.6, why)))
    return found
