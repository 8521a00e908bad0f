"""Darts of a piece, which a cut leaves as they are: their lines, or hollows of an outline that are cut like a notch.

A dart keeps its legs, its point and its take; it goes whole with one side of a cut that meets it, and what the cut
opens lies beside it in the seam. The limits below are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tiling.pattern import Line, Role
from tiling.shapes import Point
from tiling.shapes.chains import Chain, Crossing, as_point, chains_of, crossings, direction_at_end, direction_at_start
from tiling.shapes.corners import CORNER, corners_of, turn_after
from tiling.shapes.curves import Array, flatten_all
from tiling.shapes.regions import ring_of, signed_area
from tiling.shapes.straights import Straight

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["Dart", "darts_of", "notches_of", "round_dart"]

_SHARP = 115.0
"""Degrees that a line turns at the point of a dart, at least."""

_ALIKE = 0.8
"""The shorter leg as a share of the longer one, at least: the seam may run slantwise over the dart."""

_WIDEST = 90.0
"""mm across the open end of a dart, at most."""

_ON = 40.0
"""Degrees by which the seam may turn over a dart that is sewn; more, and it is a neckline or a vent."""

_SEAM = 45.0
"""mm from the end of a leg to the seam, at most: the widest allowance that is usual."""

_TIP = 3.0
"""A line this near to a dart's point (mm) passes through the point."""


@dataclass(frozen=True, slots=True, eq=False)
class Dart:
    """Two legs, each from the open end to the point, (n, 2) in mm; of a diamond, each from one point to the other."""

    legs: tuple[Array, Array]
    diamond: bool = False

    @property
    def point(self) -> Point:
        """Where the legs meet inside the piece."""
        return as_point(self.legs[0][-1])

    @property
    def middle(self) -> Point:
        """The middle of the area between the legs."""
        return as_point(np.mean([self.legs[0][0], self.legs[1][0], self.legs[0][-1]], axis=0))

    @property
    def mouth(self) -> Straight:
        """Across the open end."""
        return Straight(as_point(self.legs[0][0]), as_point(self.legs[1][0]))

    def reach(self, outwards: float = 0.0) -> BaseGeometry:
        """The area between the legs, each drawn on by so many mm beyond the open end."""
        import shapely  # noqa: PLC0415 - heavy, and only needed here

        one, other = self.legs
        beyond = [] if self.diamond else [leg[0] + outwards * _unit(leg[0] - leg[1]) for leg in self.legs]
        ring = np.vstack([*beyond[1:], other, one[::-1], *beyond[:1]])
        return shapely.Polygon(ring).buffer(0)

    def met_legs(self, cut: Straight) -> int:
        """How many of the legs the cut passes through, away from their points."""
        tips = [self.point, *([as_point(self.legs[0][0])] if self.diamond else [])]
        return sum(any(all(p.distance(tip) > _TIP for tip in tips) for p in _met(leg, cut)) for leg in self.legs)

    def is_met(self, cut: Straight) -> bool:
        """Whether the cut passes through a leg, the point or the open end."""
        open_end = np.array([(p.x, p.y) for p in (self.mouth.start, self.mouth.end)])
        return any(_met(line, cut) for line in (*self.legs, *(() if self.diamond else (open_end,))))


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.hypot(*vector))


def _met(line: Array, cut: Straight) -> list[Point]:
    """Where the polyline crosses the cut or touches it with a point of its own."""
    origin, along = np.array([cut.start.x, cut.start.y]), np.array([cut.direction.x, cut.direction.y])
    height = (line - origin) @ np.array([-along[1], along[0]])
    found = []
    for (p, a), (q, b) in pairwise(zip(line, height, strict=True)):
        if a * b <= 0 and abs(a - b) > 1e-12:
            place = p + (q - p) * (a / (a - b))
            if 0 <= float((place - origin) @ along) <= cut.length:
                found.append(as_point(place))
    return found


def darts_of(lines: Sequence[Line], outline: Chain) -> list[Dart]:
    """The darts of a piece: by the role of its lines, and those that its outline or stitching lines run round."""
    found = [dart for line in lines if line.tag.role is Role.DART for dart in _drawn(line)]
    single = [
        chain for line in lines if line.tag.role is Role.DART for chain, _ in chains_of(line.path) if _is_leg(chain)
    ]
    found += _in_pairs(single)
    found += notches_of(outline, closed=True)
    for line in lines:
        if line.tag.role is Role.STITCHING:
            for chain, closed in chains_of(line.path):
                found += notches_of(chain, closed=closed)
    return found


def _drawn(line: Line) -> Iterator[Dart]:
    """The darts that a line of that role draws in one go: two legs, or a diamond."""
    for chain, closed in chains_of(line.path):
        sharp = [i for i in corners_of(chain, closed=closed) if turn_after(chain, i) > CORNER]
        if not sharp:
            continue
        points = sorted(sharp, key=lambda i: -turn_after(chain, i))[:2]
        if closed and len(points) == 2 and len(sharp) != 3:
            one, other = sorted(points)
            legs = chain[one + 1 : other + 1], (*chain[other + 1 :], *chain[: one + 1])
            yield Dart((_line(legs[0]), _line(legs[1])[::-1]), diamond=True)
        elif closed and len(sharp) == 3:
            # A triangle: the shortest side closes it at the seam.
            yield _triangle(chain, sharp)
        else:
            at = points[0]
            yield Dart((_line(chain[: at + 1]), _line(chain[at + 1 :])[::-1]))


def _triangle(chain: Chain, corners: Sequence[int]) -> Dart:
    first, second, third = corners
    sides = chain[first + 1 : second + 1], chain[second + 1 : third + 1], (*chain[third + 1 :], *chain[: first + 1])
    lines = [_line(side) for side in sides]
    short = min(range(3), key=lambda i: float(np.hypot(*(lines[i][-1] - lines[i][0]))))
    return Dart((lines[(short + 2) % 3][::-1], lines[(short + 1) % 3]))


def _line(chain: Chain) -> Array:
    """An open chain as a polyline within 0.02 mm."""
    return flatten_all(np.array(chain), 0.02)


def _is_leg(chain: Chain) -> bool:
    return not any(turn_after(chain, i) > CORNER for i in range(len(chain) - 1))


def _in_pairs(legs: Sequence[Chain]) -> Iterator[Dart]:
    """Legs drawn as lines of their own, two of which meet at a point."""
    left = [_line(leg) for leg in legs]
    while left:
        one = left.pop(0)
        for index, other in enumerate(left):
            ends = [(a, b) for a in (one, one[::-1]) for b in (other, other[::-1])]
            meeting = next(((a, b) for a, b in ends if float(np.hypot(*(a[-1] - b[-1]))) < 1.0), None)
            if meeting is not None:
                left.pop(index)
                yield Dart(meeting)
                break


def notches_of(chain: Chain, *, closed: bool) -> list[Dart]:
    """The hollows of an outline that are cut like a notch: two legs alike that meet in a sharp corner."""
    corners = [i for i in corners_of(chain, closed=closed) if turn_after(chain, i) > CORNER]
    if len(corners) < 3:
        return []
    clockwise = signed_area(ring_of(chain)) > 0
    around = [(corners[k - 1], corners[k], corners[(k + 1) % len(corners)]) for k in range(len(corners))]
    triples = around if closed else around[1:-1]
    return [dart for triple in triples if (dart := _notch(chain, triple, clockwise)) is not None]


def _notch(chain: Chain, corners: tuple[int, int, int], clockwise: bool) -> Dart | None:
    before, at, after = corners
    if turn_after(chain, at) < _SHARP or _turns_right(chain, at) is clockwise:
        return None
    if any(_turns_right(chain, corner) is not clockwise for corner in (before, after)):
        return None
    one, other = _line(_between(chain, before, at)), _line(_between(chain, at, after))[::-1]
    lengths = [float(np.hypot(*(leg[-1] - leg[0]))) for leg in (one, other)]
    wide = float(np.hypot(*(one[0] - other[0])))
    if min(lengths) < _ALIKE * max(lengths) or wide > _WIDEST or wide > 1.5 * min(lengths):
        return None
    # Folded shut about its point, the seam runs on over the dart.
    coming, going = direction_at_end([chain[before]]), direction_at_start([chain[(after + 1) % len(chain)]])
    take = _angle(other[0] - other[-1], one[0] - one[-1])
    turned = np.array([[np.cos(take), -np.sin(take)], [np.sin(take), np.cos(take)]]) @ going
    return Dart((one, other)) if abs(np.degrees(_angle(coming, turned))) <= _ON else None


def _turns_right(chain: Chain, index: int) -> bool:
    """Whether the chain turns clockwise on the page after a cubic."""
    return _angle(direction_at_end([chain[index]]), direction_at_start([chain[(index + 1) % len(chain)]])) > 0


def _angle(one: Array, other: Array) -> float:
    """From one direction to the other, radians, clockwise on the page."""
    return float(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))


def _between(chain: Chain, first: int, last: int) -> Chain:
    """The cubics after the first up to the last, round the ring's start if need be."""
    return chain[first + 1 : last + 1] if first < last else (*chain[first + 1 :], *chain[: last + 1])


def round_dart(
    chain: Chain, found: Sequence[Crossing], dart: Dart, beyond: Callable[[Point], bool], *, closed: bool
) -> list[Crossing]:
    """The crossings of a seam with a cut, the one between the dart's legs replaced by one beside the dart.

    Args:
        chain: the seam, cutting or stitching line.
        found: where the cut crosses it.
        dart: one that the cut meets; its place on the seam is where its legs end, or would, drawn on.
        beyond: whether a point lies beyond the cut as seen from the dart, which goes whole with its own side.
        closed: whether the chain is.
    """
    within = dart.reach(_SEAM)
    inner = [c for c in found if within.dwithin(_as_shape(c.point), 0.1)]
    places = [_end_on(chain, leg, closed=closed) for leg in dart.legs]
    beside = next((place for place in places if place is not None and beyond(place.point)), None)
    if dart.diamond or len(inner) != 1 or beside is None:
        return list(found)
    return sorted([*(c for c in found if c is not inner[0]), beside], key=lambda c: (c.segment, c.t))


def _as_shape(point: Point) -> BaseGeometry:
    import shapely  # noqa: PLC0415

    return shapely.Point(point.x, point.y)


def _end_on(chain: Chain, leg: Array, *, closed: bool) -> Crossing | None:
    """Where a leg ends on the seam: a corner of it there, else where the leg, drawn on, crosses it."""
    tip = leg[0]
    for index, cubic in enumerate(chain):
        if float(np.hypot(*(cubic[3] - tip))) < 0.05 and (closed or index < len(chain) - 1):
            return Crossing(index, 1.0, 0.0, as_point(cubic[3]))
    along = _unit(leg[0] - leg[1])
    ends = as_point(tip - along * min(_SEAM, 0.8 * float(np.hypot(*(leg[0] - leg[-1]))))), as_point(tip + along * _SEAM)
    met = crossings(chain, *ends, closed=closed)
    return min(met, key=lambda c: c.point.distance(as_point(tip)), default=None)
