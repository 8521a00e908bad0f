"""Corners of a chain: where a line was meant to turn, told from the joints of a curve drawn in many short steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.shapes import curves
from tiling.shapes.chains import Chain, direction_at_end, direction_at_start, is_straight, turn_between
from tiling.shapes.curves import Array

__all__ = ["CORNER", "Stretch", "corners_of", "is_corner", "smooth_run", "straight_stretch", "turn_after"]

CORNER = 20.0
"""Degrees: a sharper turn between two segments is a corner whatever lies about it."""

_SLIGHT = 3.0
"""Degrees: a turn between this and `CORNER` is a corner where it stands alone."""

_NEXT = 80.0
"""mm; a curve digitised by hand has its joints nearer to each other than this."""

_STRAIGHT = 0.05
"""mm by which the points of a ruled edge may lie off it."""


def turn_after(chain: Sequence[Array], index: int) -> float:
    """By how many degrees the chain turns between a cubic and the next one (the first after the last)."""
    after = chain[(index + 1) % len(chain)]
    return turn_between(direction_at_end([chain[index]]), direction_at_start([after]))


def is_corner(chain: Sequence[Array], index: int, *, closed: bool = False) -> bool:
    """Whether the turn between a cubic and the next one is a corner.

    A turn of less than `CORNER` is one where the turns before and after it are less than half as large or far away:
    the chords of a curve turn by about as much at each of their joints.
    """
    turn = turn_after(chain, index)
    if turn > CORNER or turn <= _SLIGHT:
        return turn > CORNER
    count = len(chain)
    for joint, between in ((index - 1, index), (index + 1, index + 1)):
        if not closed and not 0 <= joint < count - 1:
            continue
        cubic = chain[between % count]
        near = float(np.hypot(*(cubic[3] - cubic[0]))) < _NEXT
        if near and turn / 2 < turn_after(chain, joint % count) <= CORNER:
            return False
    return True


def corners_of(chain: Sequence[Array], *, closed: bool) -> list[int]:
    """The indices of the cubics that end in a corner."""
    return [i for i in range(len(chain) if closed else len(chain) - 1) if is_corner(chain, i, closed=closed)]


def smooth_run(chain: Sequence[Array]) -> float:
    """Arc length from the start of the chain to its first corner, or its end; mm."""
    run = 0.0
    for index, cubic in enumerate(chain):
        run += curves.length(cubic)
        if index < len(chain) - 1 and is_corner(chain, index):
            break
    return run


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """The straight stretch that a chain begins with.

    Attributes:
        count: of how many whole cubics; 0 where the chain begins with a curve.
        end: where it ends, (2,).
        length: of its chord, mm.
        at_corner: whether it ends in a corner or with the chain, and not where a curve goes on.
    """

    count: int
    end: Array
    length: float
    at_corner: bool


def straight_stretch(chain: Chain) -> Stretch:
    """The straight stretch at the start of the chain."""
    count = _straight_count(chain)
    end = chain[count - 1][3] if count else chain[0][0]
    at_corner = count == len(chain) or (count > 0 and is_corner(chain, count - 1))
    return Stretch(count, end, float(np.hypot(*(end - chain[0][0]))), at_corner)


def _straight_count(chain: Chain) -> int:
    """How many cubics from the start lie on one straight line, up to the first corner."""
    count = 0
    points = chain[0][:1]
    for index, cubic in enumerate(chain):
        points = np.vstack([points, cubic[1:]])
        if not is_straight(cubic, _STRAIGHT) or _off_chord(points) > _STRAIGHT:
            break
        count = index + 1
        if index < len(chain) - 1 and is_corner(chain, index):
            break
    return count


def _off_chord(points: Array) -> float:
    chord = points[-1] - points[0]
    norm = float(np.hypot(*chord))
    if norm < 1e-9:
        return float("inf")
    off = points - points[0]
    return float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() / norm)
