"""Joining two ends of an edge that was cut: straight across the gap, then faired so that no step and no kink is left.

Both ends are cut back by a chosen length and one cubic is laid between them. It starts and ends in the directions of
what is left (G1 continuous); its two handles are fitted by least squares to the ends that were cut off and the
straight line across the gap, so a join that needs no fairing comes back as it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np

from tiling.shapes import curves
from tiling.shapes.chains import (
    Chain,
    chain_length,
    direction_at_end,
    direction_at_start,
    is_straight,
    reverse_chain,
    trimmed,
    turn_between,
)
from tiling.shapes.curves import Array
from tiling.shapes.fitting import fitted

__all__ = ["Bridge", "EdgeUsedUp", "Finish", "bridge", "smooth_run"]

CORNER = 20.0
"""Degrees: a sharper turn between two segments is a corner, and is never smoothed away."""

_TOUCH = 1e-6
_HANDLES = (0.12, 0.9)
"""The shortest and the longest handle of a faired join, as shares of the distance it spans."""
_LEFT = 0.5
"""What an overlap must leave of an edge up to its next corner, mm."""


class EdgeUsedUp(ValueError):
    """The overlap is longer than the edges that overlap: joined, they would turn inside out."""


class Finish(Enum):
    """How a join is drawn."""

    FAIRED = "faired"
    STRAIGHT = "straight across"


@dataclass(frozen=True, slots=True)
class Bridge:
    """How two chains are joined: what goes from the first one's end and the second one's start, what comes between.

    Attributes:
        back: mm cut off the end of the first chain.
        ahead: mm cut off the start of the second chain.
        cubics: what joins them (nothing where they meet as they are).
    """

    back: float
    ahead: float
    cubics: Chain


def smooth_run(chain: Sequence[Array]) -> float:
    """Arc length from the start of the chain to its first corner, or its end; mm."""
    run = curves.length(chain[0])
    for before, after in pairwise(chain):
        if turn_between(direction_at_end([before]), direction_at_start([after])) > CORNER:
            return run
        run += curves.length(after)
    return run


def bridge(before: Chain, after: Chain, finish: Finish, reach: float, share: float = 1.0) -> Bridge:
    """How to join the end of `before` to the start of `after`.

    Args:
        before: the chain that comes first; only its end matters.
        after: the chain that goes on; only its start matters.
        finish: faired, or straight across.
        reach: fairing length on either side of the gap, mm (less where a corner or the end comes sooner).
        share: the part of a chain's length that may be used, less than 1 where its other end is joined too.

    Raises:
        EdgeUsedUp: the ends overlap by more than there is of the edge.
    """
    gap = after[0][0] - before[-1][3]
    out, onward = direction_at_end(before), direction_at_start(after)
    corner = turn_between(out, onward) > CORNER
    overlap = 0.0 if corner else max(0.0, -float(gap @ _mean(out, onward)))
    rooms = (
        min(smooth_run(reverse_chain(before)), share * chain_length(before)),
        min(smooth_run(after), share * chain_length(after)),
    )
    back, ahead = _cut_back(overlap, rooms)
    ends = trimmed(before, 0.0, back), trimmed(after, ahead, 0.0)
    if not ends[0] or not ends[1]:
        raise EdgeUsedUp
    wide_back, wide_ahead = (min(room, cut + reach) for room, cut in zip(rooms, (back, ahead), strict=True))
    no_room = min(wide_back, wide_ahead) < _TOUCH or reach <= 0
    if corner or no_room or finish is Finish.STRAIGHT or _needs_no_fairing(ends):
        return Bridge(back, ahead, _straight(ends[0][-1][3], ends[1][0][0]))
    return _faired((before, after), (back, ahead), (wide_back, wide_ahead))


def _mean(one: Array, other: Array) -> Array:
    both = one + other
    return np.asarray(both / np.hypot(*both))


def _cut_back(overlap: float, rooms: tuple[float, float]) -> tuple[float, float]:
    """Half the overlap off either end; where one has less than twice that, half its room and the rest off the other.

    Raises:
        EdgeUsedUp: too little of either edge would be left.
    """
    back, ahead = (min(overlap / 2, room / 2) for room in rooms)
    missing = overlap - back - ahead
    if rooms[0] - back > rooms[1] - ahead:
        back += missing
    else:
        ahead += missing
    if overlap > _TOUCH and min(rooms[0] - back, rooms[1] - ahead) < _LEFT:
        raise EdgeUsedUp
    return back, ahead


def _straight(start: Array, end: Array) -> Chain:
    return (curves.line_as_cubic(start, end),) if float(np.hypot(*(end - start))) > _TOUCH else ()


def _needs_no_fairing(ends: tuple[Chain, Chain]) -> bool:
    """Whether the line across the gap goes on in the direction of both edges already."""
    out, onward = direction_at_end(ends[0]), direction_at_start(ends[1])
    if turn_between(out, onward) > 1e-6:
        return False
    step = ends[1][0][0] - ends[0][-1][3]
    norm = float(np.hypot(*step))
    if norm <= _TOUCH:
        return True
    in_line = turn_between(out, step / norm) < 1e-6
    return in_line and is_straight(ends[0][-1]) and is_straight(ends[1][0])


def _faired(chains: tuple[Chain, Chain], cuts: tuple[float, float], wide: tuple[float, float]) -> Bridge:
    before, after = chains
    kept_before, kept_after = trimmed(before, 0.0, wide[0]), trimmed(after, wide[1], 0.0)
    tail = trimmed(before, chain_length(before) - wide[0], cuts[0]) if wide[0] > cuts[0] + _TOUCH else ()
    head = trimmed(after, cuts[1], chain_length(after) - wide[1]) if wide[1] > cuts[1] + _TOUCH else ()
    start = tail[0][0] if tail else before[-1][3]
    end = head[-1][3] if head else after[0][0]
    first, last = direction_at_start(tail or before[-1:]), direction_at_end(head or after[:1])
    if kept_before and turn_between(direction_at_end(kept_before), first) <= CORNER:
        first = direction_at_end(kept_before)
    if kept_after and turn_between(last, direction_at_start(kept_after)) <= CORNER:
        last = direction_at_start(kept_after)
    between = _straight(tail[-1][3] if tail else start, head[0][0] if head else end)
    target = _sampled([*tail, *between, *head])
    ends, directions = np.array([start, end]), np.array([first, last])
    return Bridge(wide[0], wide[1], (fitted(ends, directions, target[:, :2], target[:, 2], _HANDLES),))


def _sampled(chain: Sequence[Array]) -> Array:
    """Points along a chain, about evenly spread by arc length, with their share of the way as third column."""
    lengths = [curves.length(c) for c in chain]
    whole, done, rows = sum(lengths), 0.0, []
    for cubic, length in zip(chain, lengths, strict=True):
        count = max(3, round(60 * length / whole))
        ts = np.linspace(0.0, 1.0, count + 1)[:-1]
        points = curves.evaluate(cubic, ts)
        rows.append(np.column_stack([points, (done + ts * length) / whole]))
        done += length
    return np.vstack(rows)
