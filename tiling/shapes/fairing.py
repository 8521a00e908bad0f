"""Joining two ends of an edge that was cut: straight across the gap, then faired so that no step and no kink is left.

Both ends are cut back by a chosen length and one cubic is laid between them. It starts and ends in the directions of
what is left (G1 continuous); its two handles are fitted by least squares to the ends that were cut off and the
straight line across the gap, so a join that needs no fairing comes back as it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

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
from tiling.shapes.corners import CORNER, smooth_run
from tiling.shapes.curves import Array
from tiling.shapes.fitting import fitted

__all__ = ["Bridge", "EdgeUsedUp", "Finish", "bridge", "lead_in"]

_FREE = (float("inf"), float("inf"))
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


def bridge(
    before: Chain,
    after: Chain,
    finish: Finish,
    reach: float,
    rooms: tuple[float, float] = _FREE,
    *,
    drawn_corner: bool = False,
) -> Bridge:
    """How to join the end of `before` to the start of `after`.

    Args:
        before: the chain that comes first; only its end matters.
        after: the chain that goes on; only its start matters.
        finish: faired, or straight across.
        reach: fairing length on either side of the gap, mm (less where a corner or the end comes sooner).
        rooms: how much of the end of `before` and of the start of `after` may be used, mm.
        drawn_corner: whether they met in a corner, however slight, before they were parted.

    Raises:
        EdgeUsedUp: the ends overlap by more than there is of the edge.
    """
    gap = after[0][0] - before[-1][3]
    out, onward = direction_at_end(before), direction_at_start(after)
    corner = drawn_corner or turn_between(out, onward) > CORNER
    overlap = 0.0 if corner else max(0.0, -float(gap @ _mean(out, onward)))
    runs = smooth_run(reverse_chain(before)), smooth_run(after)
    rooms = min(runs[0], rooms[0]), min(runs[1], rooms[1])
    back, ahead = _cut_back(overlap, rooms)
    ends = trimmed(before, 0.0, back), trimmed(after, ahead, 0.0)
    if not ends[0] or not ends[1]:
        raise EdgeUsedUp
    wide_back, wide_ahead = (min(room, cut + reach) for room, cut in zip(rooms, (back, ahead), strict=True))
    no_room = min(wide_back, wide_ahead) < _TOUCH or reach <= 0
    if corner or no_room or finish is Finish.STRAIGHT or _needs_no_fairing(ends):
        return Bridge(back, ahead, _straight(ends[0][-1][3], ends[1][0][0]))
    inside = wide_back < runs[0] - _TOUCH, wide_ahead < runs[1] - _TOUCH
    return _faired((before, after), (back, ahead), (wide_back, wide_ahead), inside)


def lead_in(corner: Array, after: Chain, reach: float) -> Bridge:
    """How to lead a corner that stays where it is into the start of `after`, which lay there before.

    The edge is drawn on to the corner, or cut back to it, and faired on its own side only.

    Raises:
        EdgeUsedUp: the edge lies beyond the corner by more than there is of it.
    """
    onward, run = direction_at_start(after), smooth_run(after)
    beyond = max(0.0, float((corner - after[0][0]) @ onward))
    if run - beyond < _LEFT:
        raise EdgeUsedUp
    wide = min(run, beyond + reach)
    head, kept = trimmed(after, beyond, max(0.0, chain_length(after) - wide)), trimmed(after, wide, 0.0)
    if reach <= 0 or not head:
        return Bridge(0.0, beyond, _straight(corner, trimmed(after, beyond, 0.0)[0][0]))
    last = direction_at_start(kept) if kept and wide < run - _TOUCH else direction_at_end(head)
    target = _sampled([*_straight(corner, head[0][0]), *head])
    ends, directions = np.array([corner, head[-1][3]]), np.array([onward, last])
    return Bridge(0.0, wide, (fitted(ends, directions, target[:, :2], target[:, 2], _HANDLES),))


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


def _faired(
    chains: tuple[Chain, Chain], cuts: tuple[float, float], wide: tuple[float, float], inside: tuple[bool, bool]
) -> Bridge:
    """Faired over the ends of width `wide`; `inside` says which of them ends before a corner or the chain's end."""
    before, after = chains
    kept_before, kept_after = trimmed(before, 0.0, wide[0]), trimmed(after, wide[1], 0.0)
    tail = trimmed(before, chain_length(before) - wide[0], cuts[0]) if wide[0] > cuts[0] + _TOUCH else ()
    head = trimmed(after, cuts[1], chain_length(after) - wide[1]) if wide[1] > cuts[1] + _TOUCH else ()
    start = tail[0][0] if tail else before[-1][3]
    end = head[-1][3] if head else after[0][0]
    first, last = direction_at_start(tail or before[-1:]), direction_at_end(head or after[:1])
    if kept_before and inside[0]:
        first = direction_at_end(kept_before)
    if kept_after and inside[1]:
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
