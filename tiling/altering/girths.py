"""Measures around the body: what a drawing's level lines measure, and what alterations add to each of them.

A level line is a placement line named like a body measure. A finished measure is the width of the sewn pieces at the
level, from stitching line (or fold) to stitching line, times the layers that are cut.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from tiling.altering.carry_out import PlannedCut, cut_in
from tiling.altering.piece_geometry import CutKind
from tiling.altering.seams import named_lines
from tiling.altering.shares import closes_on_itself, layers_of
from tiling.notes import LineRef
from tiling.pattern import Line, Pattern, Role
from tiling.shapes import Point
from tiling.shapes.polylines import crossing_places
from tiling.shapes.straights import Straight, straight_of

__all__ = ["Gains", "finished_measure", "gains_of"]

_BENT = 10.0
"""mm by which a level line may leave the straight line between its ends: no more than cuts may have turned it."""
_BESIDE = 2.0
"""mm beyond a level line's ends within which the seam is looked for that it meets."""
_FAR = 5_000.0


@dataclass(frozen=True, slots=True)
class Gains:
    """What cuts add to the measures around the body, mm.

    Attributes:
        levels: by the name of each measure whose level a cut crosses.
        wide: all told at the wide ends of the grading lines; `narrow` at their narrow ends.
    """

    levels: Mapping[str, float] = field(default_factory=dict)
    wide: float = 0.0
    narrow: float = 0.0


def gains_of(pattern: Pattern, cuts: Sequence[PlannedCut], names: Collection[str]) -> Gains:
    """What these cuts, planned on this pattern, add to the measures of these names.

    Each cut counts by its piece's layers. A measure is gained where the height of its level line meets the cut. What
    sleeves and the like gain, each a circumference of its own, counts for their levels only.
    """
    levels: dict[str, float] = {}
    wide = narrow = 0.0
    for plan in cuts:
        if plan.kind is not CutKind.GRADING:
            continue
        _, cut = cut_in(pattern, plan)
        layers = layers_of(pattern, plan.piece)
        if not closes_on_itself(pattern, plan.piece):
            wide, narrow = wide + layers * plan.opening.wide, narrow + layers * plan.opening.narrow
        for name in names:
            level = _level(pattern, plan.piece, name)
            share = None if level is None else _height_on(cut.line, straight_of(level.path))
            if share is not None:
                levels[name] = levels.get(name, 0.0) + layers * plan.opening.at(share)
    return Gains(levels, wide, narrow)


def finished_measure(pattern: Pattern, name: str, bodies: Collection[str]) -> float | None:
    """The finished measure that the level lines of a name show, mm.

    Args:
        pattern: the drawing.
        name: of the measure.
        bodies: ids of the pieces that go around; those sewn to them along seams that the level meets count too.

    Returns:
        None where a piece that goes around has no such line, or where it isn't clear what is sewn: no stitching lines
        on either side, or others between them (darts, pockets).
    """
    widths: dict[str, float] = {}
    for piece in _around(pattern, name, bodies):
        level = _level(pattern, piece, name)
        width = None if level is None else _sewn_width(pattern, piece, level)
        if width is None:
            return None
        widths[piece] = width
    return sum(layers_of(pattern, piece) * width for piece, width in widths.items())


def _level(pattern: Pattern, piece: str, name: str) -> Line | None:
    lines = [line for line in pattern.lines(piece=piece, name=name) if line.tag.role is Role.PLACEMENT]
    return lines[0] if len(lines) == 1 else None


def _around(pattern: Pattern, name: str, bodies: Collection[str]) -> list[str]:
    """The bodies, and the pieces sewn to them (and to those) by seams that meet the level on both sides."""
    found = list(dict.fromkeys(bodies))
    pairs = [pair for seam in pattern.seams for pair in product(seam.first, seam.second)]
    for one, other in (*pairs, *((other, one) for one, other in reversed(pairs))):
        if one.piece in found and other.piece not in found and not closes_on_itself(pattern, other.piece):
            levels = [_level(pattern, ref.piece, name) for ref in (one, other)]
            met = [level and _meets(pattern, ref, level) for ref, level in zip((one, other), levels, strict=True)]
            found += [other.piece] if all(met) else []
    return found


def _meets(pattern: Pattern, ref: LineRef, level: Line) -> bool:
    chord = straight_of(level.path)
    reach = chord.length / 2 + _BESIDE
    offsets = [
        crossing_places(line, chord.middle, chord.direction)
        for drawn in named_lines(pattern, ref)
        for line in drawn.path.flatten(0.01)
    ]
    return any(bool((np.abs(places) <= reach).any()) for places in offsets)


def _sewn_width(pattern: Pattern, piece: str, level: Line) -> float | None:
    """Along the level line from edge to edge, where there is just one on either side of its middle."""
    points = level.path.flatten(0.01)[0]
    chord = straight_of(level.path)
    if chord.length < 1.0:
        return None
    across = Point(-chord.direction.y, chord.direction.x)
    if np.abs((points - (chord.start.x, chord.start.y)) @ (across.x, across.y)).max() > _BENT:
        return None
    edges = [line for role in (Role.STITCHING, Role.FOLD) for line in pattern.lines(piece=piece, role=role)]
    places = [
        crossing_places(line, chord.middle, chord.direction) for edge in edges for line in edge.path.flatten(0.001)
    ]
    # A seam that two lines meet at is crossed twice at one place.
    offsets = np.unique(np.round(np.concatenate([np.zeros(0), *places]), 2))
    if (offsets < 0).sum() != 1 or (offsets > 0).sum() != 1:
        return None
    # Along the line itself, which bends where a cut that closes like a V has turned one side.
    return level.path.length() + float(offsets.max() - offsets.min()) - chord.length


def _height_on(cut: Straight, level: Straight) -> float | None:
    """Where the level's straight line meets the cut: 0 at its narrow end (the second), 1 at its wide end."""
    if level.length < 1.0:
        return None
    step = level.direction * _FAR
    start, end = level.middle - step, level.middle + step
    r, s = cut.end - cut.start, end - start
    turn = r.cross(s)
    if abs(turn) < 1e-9:
        return None
    share = 1.0 - (start - cut.start).cross(s) / turn
    return min(max(share, 0.0), 1.0) if -0.02 <= share <= 1.02 else None
