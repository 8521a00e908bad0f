"""Arrows in a piece: grainlines, and the brackets that point at an edge to be laid on the fold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from tiling.recognition.near import Near
from tiling.recognition.strands import Strand
from tiling.shapes import Point
from tiling.shapes.chains import chains_of, merged_straights
from tiling.shapes.curves import Array
from tiling.shapes.straights import Straight

__all__ = ["Arrow", "Bracket", "arrows_among", "brackets_among"]

_SHORTEST = 20.0
"""mm; a shaft is at least so long."""

_HEAD = 16.0
"""mm; no arrowhead is larger."""


@dataclass(frozen=True, slots=True, eq=False)
class Arrow:
    """A straight shaft with a head at one end or both.

    Attributes:
        strands: the shaft's first, then the heads'.
        shaft: from its tail to its head; of two heads to the one lower on the page.
        heads: how many.
    """

    strands: tuple[Strand, ...]
    shaft: Straight
    heads: int


@dataclass(frozen=True, slots=True, eq=False)
class Bracket:
    """A line parallel to an edge with a leg to it at each end: "lay this edge on the fold"."""

    strands: tuple[Strand, ...]
    middle: Straight
    legs: tuple[Point, Point]


def brackets_among(strands: Sequence[Strand]) -> list[Bracket]:
    """Strands of three straight stretches, the outer two to one side at right angles, with the heads at their ends."""
    found = []
    small = _Heads(strands)
    for strand in strands:
        points = _corners(strand) if len(strand.path) >= 4 and not strand.closed else None
        if points is None or len(points) != 4:
            continue
        first, middle, last = points[0] - points[1], points[2] - points[1], points[3] - points[2]
        long = float(np.hypot(*middle))
        legs = (float(np.hypot(*first)), float(np.hypot(*last)))
        if long < _SHORTEST or max(legs) > min(45.0, 0.8 * long) or min(legs) < 2.0:
            continue
        square = max(abs(float(leg @ middle)) / (float(np.hypot(*leg)) * long) for leg in (first, last))
        if square > 0.15 or float(first @ last) <= 0:
            continue
        ends = (_point(points[0]), _point(points[3]))
        heads = [head for end in ends for head in small.at(end, None, strand)]
        found.append(Bracket((strand, *heads), Straight(_point(points[1]), _point(points[2])), ends))
    return found


def arrows_among(strands: Sequence[Strand]) -> list[Arrow]:
    """Straight strands with heads, and strands that are drawn as shaft and heads in one go."""
    found = []
    small = _Heads(strands)
    for strand in strands:
        if strand.closed or strand.filled or strand.length < _SHORTEST:
            continue
        if strand.straight:
            start, end = strand.chord
            at_start = small.at(start, end, strand)
            at_end = small.at(end, start, strand)
            if at_start or at_end:
                shaft = Straight(start, end)
                if at_start and (not at_end or shaft.downwards() is not shaft):
                    shaft = Straight(end, start)
                found.append(Arrow((strand, *at_start, *at_end), shaft, bool(at_start) + bool(at_end)))
        else:
            arrow = _in_one_go(strand)
            if arrow is not None:
                found.append(arrow)
    return found


class _Heads:
    """The strands small enough for an arrowhead, by where they lie."""

    def __init__(self, strands: Sequence[Strand]) -> None:
        self._small = [s for s in strands if max(s.box.width, s.box.height) <= _HEAD and s.length <= 4 * _HEAD]
        self._places = Near((s.box.centre.x, s.box.centre.y) for s in self._small)

    def at(self, tip: Point, tail: Point | None, shaft: Strand) -> list[Strand]:
        """Small strands at a tip that lie to both sides of the shaft, or one small filled shape."""
        near = []
        for k in self._places.at(tip.x, tip.y, 1.5 * _HEAD):
            strand = self._small[k]
            off = np.hypot(strand.line[:, 0] - tip.x, strand.line[:, 1] - tip.y)
            close = 3.0 if strand.closed or strand.filled else 1.0
            if strand is not shaft and off.min() < close and off.max() < 1.5 * _HEAD:
                near.append(strand)
        return near if tail is None or _both_sides(near, tip, (tip - tail).unit()) else []


def _both_sides(heads: Sequence[Strand], tip: Point, direction: Point) -> bool:
    """Whether barbs lie behind the tip, to both sides; a triangle may begin a little ahead of the shaft's end."""
    if not heads:
        return False
    off = np.vstack([strand.line for strand in heads]) - (tip.x, tip.y)
    side, ahead = off @ (-direction.y, direction.x), off @ (direction.x, direction.y)
    return bool(side.max() > 0.4 and side.min() < -0.4 and ahead.max() < 0.8 * _HEAD and ahead.min() < 0.5)


def _in_one_go(strand: Strand) -> Arrow | None:
    """A polyline whose longest stretch is its shaft and whose other corners lie about its ends, to both sides."""
    points = _corners(strand)
    if points is None or not 4 <= len(points) <= 12:
        return None
    lengths = np.hypot(*np.diff(points, axis=0).T)
    k = int(lengths.argmax())
    if lengths[k] < max(_SHORTEST, 0.45 * float(lengths.sum())) or np.delete(lengths, k).max() > 1.5 * _HEAD:
        return None
    start, end = _point(points[k]), _point(points[k + 1])
    direction = (end - start).unit()
    heads = []
    for tip, other in ((end, points[k + 1 :]), (start, points[: k + 1])):
        side = (other - (tip.x, tip.y)) @ (-direction.y, direction.x)
        if len(other) > 1 and side.max() > 0.4 and side.min() < -0.4:
            heads.append(tip)
    if not heads:
        return None
    shaft = Straight(start, end) if heads[0] is end else Straight(end, start)
    if len(heads) == 2:
        shaft = shaft.downwards()
    return Arrow((strand,), shaft, len(heads))


def _corners(strand: Strand) -> Array | None:
    """The ends of its straight stretches in order, None where any stretch is a curve."""
    chains = chains_of(strand.path)
    if len(chains) != 1:
        return None
    chain, closed = chains[0]
    stretches = merged_straights(chain, closed=closed)
    for cubic in stretches:
        step = cubic[3] - cubic[0]
        off = np.abs((cubic[1:3] - cubic[0]) @ np.array([-step[1], step[0]])) / max(hypot(*step), 1e-9)
        if off.max() > 0.2:
            return None
    return np.array([stretches[0][0], *(cubic[3] for cubic in stretches)])


def _point(pair: Array) -> Point:
    return Point(float(pair[0]), float(pair[1]))
