"""Where places that notes point at lie after an alteration: on the same lines, and on no other."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from tiling.pattern import Line, Pattern
from tiling.recognition.pointing import NEAR
from tiling.shapes import Path, Point
from tiling.shapes.curves import Array

__all__ = ["moved_places"]

_TOGETHER = 0.3
"""mm; lines this near to each other are one to the eye: of an outline and an edge of it the edge is meant."""

_FLAT = 0.02
"""mm; how finely lines are flattened."""

_STAYS = 0.05
"""mm; a place this near to the altered line is on it still."""

_TRIED = 40
"""Places along a line that are looked at where the usual ones lie near another line."""


def moved_places(before: Pattern, after: Pattern, places: Sequence[Point]) -> list[Point]:
    """The places on the altered lines.

    A place stays where its line still passes there; else it keeps its distance from the line's start or from its end,
    as what lies on either side of a cut does, or divides the line as before: whichever comes near no other line than
    before.

    Args:
        before: with its roles (`tiling.reading.roles.with_roles`), as it was altered.
        after: what the alteration made of it; its first marks are those of `before`, in their order.
        places: mm; each within `NEAR` of a line of `before`.

    Returns:
        The places, mm; one that lies at no line stays.
    """
    return [_moved(before, after, place) for place in places]


def _moved(before: Pattern, after: Pattern, place: Point) -> Point:
    # What notes draw themselves was not there to be pointed at; in the altered drawing it is.
    near = {index: one for index, one in _lines_at(before, place).items() if not before.marks[index].tag.said("noted")}
    if not near:
        return place
    closest = min(one.away for one in near.values())
    index = min((k for k in near if near[k].away <= closest + _TOGETHER), key=lambda k: (near[k].run.length, k))
    old, moved = near[index], after.marks[index]
    assert isinstance(moved, Line)
    new = _runs(moved.path)
    run = new[old.number] if len(new) == old.count else max(new, key=lambda one: one.length)
    there = [Point(*run.interpolate(at).coords[0]) for at in _stations(old.run, run, place)]
    if run.distance(shapely.Point(place.x, place.y)) <= _STAYS:
        there.insert(0, place)
    return min(there, key=lambda point: _crowding(_lines_at(after, point), near))


def _crowding(passing: Mapping[int, _Passing], before: Collection[int]) -> int:
    """How unclear it is what is meant by a place: 0 where one line passes, or several as one."""
    others = any(index not in before for index in passing)
    apart = max((one.away for one in passing.values()), default=0.0) > _TOGETHER
    return 2 * others + apart


def _stations(old: shapely.LineString, new: shapely.LineString, place: Point) -> Iterator[float]:
    """How far along the new line the place may lie, mm from its start, the likeliest first."""
    at = old.project(shapely.Point(place.x, place.y))
    share = at / max(old.length, 1e-9)
    left = old.length - at
    ends = (at, new.length - left)
    yield from (one for one in (ends if share < 0.5 else ends[::-1]) if 0.0 <= one <= new.length)
    for one in sorted(np.linspace(0.02, 0.98, _TRIED), key=lambda one: abs(one - share)):
        yield float(one) * new.length


@dataclass(frozen=True, slots=True, eq=False)
class _Passing:
    """A line's run that passes a place: how far off, and which of how many it is."""

    away: float
    run: shapely.LineString
    number: int
    count: int


def _lines_at(pattern: Pattern, place: Point) -> dict[int, _Passing]:
    """The lines that pass within `NEAR` of a place, by their number."""
    here = shapely.Point(place.x, place.y)
    found = {}
    for index, mark in enumerate(pattern.marks):
        if isinstance(mark, Line) and mark.path.hull.grown(NEAR).holds(place):
            runs = _runs(mark.path)
            number = min(range(len(runs)), key=lambda k: runs[k].distance(here))
            away = runs[number].distance(here)
            if away <= NEAR:
                found[index] = _Passing(away, runs[number], number, len(runs))
    return found


def _runs(path: Path) -> list[shapely.LineString]:
    """The path's subpaths as lines; one of a single point as a line of no length."""
    runs: list[Array] = [run if len(run) > 1 else run.repeat(2, axis=0) for run in path.flatten(_FLAT)]
    return [shapely.LineString(run) for run in runs]
