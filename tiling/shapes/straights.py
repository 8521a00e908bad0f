"""Straight lines between two points, and the one that a drawn path stands for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tiling.shapes.chains import as_point, chain_length, chains_of, merged_straights
from tiling.shapes.paths import Path
from tiling.shapes.points import Point

__all__ = ["Straight", "longest_stretch", "meeting", "straight_of"]


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight line between two points."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Its length, mm."""
        return self.start.distance(self.end)

    @property
    def middle(self) -> Point:
        """The point halfway."""
        return (self.start + self.end) * 0.5

    @property
    def direction(self) -> Point:
        """Unit vector from start to end; ZeroDivisionError without length."""
        return (self.end - self.start).unit()

    def downwards(self) -> Straight:
        """The same line with its end below its start on the page, or to the right of it where it is level."""
        step = self.end - self.start
        upwards = step.y < -1e-6 * self.length or (abs(step.y) <= 1e-6 * self.length and step.x < 0)
        return Straight(self.end, self.start) if upwards else self


def meeting(one: Straight, other: Straight) -> Point | None:
    """Where two lines cross; None where they don't, or run alongside each other."""
    r, s = one.end - one.start, other.end - other.start
    det = r.cross(s)
    if abs(det) < 1e-9:
        return None
    between = other.start - one.start
    t, u = between.cross(s) / det, between.cross(r) / det
    return one.start + r * t if 0 <= t <= 1 and 0 <= u <= 1 else None


def straight_of(path: Path) -> Straight:
    """From the first to the last point of the path's longest subpath (arrowheads are short ones)."""
    chain = max((c for c, _ in chains_of(path)), key=chain_length, default=None)
    if chain is None:
        only = as_point(path.points[0])
        return Straight(only, only)
    return Straight(as_point(chain[0][0]), as_point(chain[-1][3]))


def longest_stretch(paths: Iterable[Path]) -> Straight | None:
    """The longest of all segments as its chord, straight ones in one line taken together; None where none has a length.

    So the shaft of an arrow is found also where the head is drawn in one go with it.
    """
    stretches = [
        Straight(as_point(cubic[0]), as_point(cubic[3]))
        for path in paths
        for chain, closed in chains_of(path)
        for cubic in merged_straights(chain, closed=closed)
    ]
    longest = max(stretches, key=lambda stretch: stretch.length, default=None)
    return longest if longest is not None and longest.length > 0 else None
