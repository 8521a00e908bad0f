"""Truing: the parts of a line that was cut, joined again as with a ruler and a French curve.

An edge that is straight on both sides of a cut is ruled anew from corner to corner; where a curve goes on instead of a
corner, its last handle is turned into the ruled line. Every other edge is faired near the cut (`fairing`). A cutting
line follows the stitching line inside it: where that was trued, the allowance is what it was before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.altering.allowance import Guide, followed, ruled_along
from tiling.shapes import curves
from tiling.shapes.chains import (
    Chain,
    chain_length,
    direction_at_end,
    direction_at_start,
    is_straight,
    point_along,
    reverse_chain,
    trimmed,
    turn_between,
)
from tiling.shapes.corners import CORNER, Stretch, corners_of, straight_stretch
from tiling.shapes.curves import Array
from tiling.shapes.fairing import Bridge, EdgeUsedUp, Finish, bridge, lead_in

__all__ = ["FAIRING", "EdgeUsedUp", "Trued", "Truing"]

FAIRING, LONGEST, STEEPEST = 50.0, 200.0, 20.0
"""Fairing where none is asked for, mm on either side: at least, at most, and per mm of the step."""

NEARLY = 6.0
"""An edge that turns by less than this (degrees) within the fairing length is nearly straight."""

_CLOSED = 0.005
"""mm; parts nearer to each other than this meet again: what writing and reading a drawing may leave between them."""

_IN_LINE, _PARALLEL = 0.05, 0.3
"""Degrees up to which two directions are one, and up to which two halves of an edge have only been shifted."""

_SAG = 0.6
"""mm by which a ruled line may leave an edge whose halves were turned: what a sharp pencil hides."""

_RE_AIMED, _RE_RULED = 1.5, 12.0
"""Degrees by which a curve may be turned into a ruled line, and a straight edge about its corner."""

_LEAST_RULED = 60.0
"""mm; a straight stretch between curves that is shorter than this is part of them."""

_STEP = 0.3
"""mm by which both ends of a level line at a gap may lie to the side of each other."""


@dataclass(frozen=True, slots=True, eq=False)
class Trued:
    """A line that was joined again, and how its joins may guide the line beside it."""

    chain: Chain
    guides: tuple[Guide, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Join:
    """Two chains joined: what is left of them, and what lies between."""

    head: Chain
    section: Chain
    tail: Chain

    @property
    def chain(self) -> Chain:
        return (*self.head, *self.section, *self.tail)


@dataclass(frozen=True, slots=True, eq=False)
class Truing:
    """How the parts of a line are joined.

    Attributes:
        fairing: length on either side of a gap over which an edge is faired, mm; None: it is ruled where it is
            straight, else faired as far as the step asks for, `FAIRING` at least.
        level: whether the line measures a width: straight parts then stay as they are, with a straight line across
            the gap, unless that makes a step.
        guides: joins of the stitching line that it has to follow.
    """

    fairing: float | None
    level: bool = False
    guides: tuple[Guide, ...] = ()

    def trued(self, parts: Sequence[Chain], corners: Sequence[bool], *, closed: bool) -> Trued:
        """The parts in order as one chain; `corners` says after which of them a corner was drawn at the cut.

        Raises:
            EdgeUsedUp: parts overlap by more than there is of an edge.
        """
        guides: list[Guide] = []
        whole = parts[0]
        for number, part in enumerate(parts[1:], 1):
            last = 0.5 if number > 1 or closed else 1.0
            next_ = 0.5 if number < len(parts) - 1 or closed else 1.0
            rooms = last * chain_length(parts[number - 1]), next_ * chain_length(part)
            whole = self._joined((whole, part), rooms, corners[number - 1], guides).chain
        if closed and len(parts) > 1:
            first, second = _parted(whole)
            rooms = 0.5 * chain_length(parts[-1]), 0.5 * chain_length(parts[0])
            whole = self._joined((second, first), rooms, corners[-1], guides).chain
        return Trued(whole, tuple(guides))

    def _joined(
        self, chains: tuple[Chain, Chain], rooms: tuple[float, float], corner: bool, guides: list[Guide]
    ) -> _Join:
        before, after = chains
        gap, turn = after[0][0] - before[-1][3], turn_between(direction_at_end(before), direction_at_start(after))
        if float(np.hypot(*gap)) < _CLOSED and (turn < _IN_LINE or turn > CORNER or corner):
            return _Join(before, (), (_begun(after[0], before[-1][3]), *after[1:]))
        guide = min(self.guides, key=lambda g: g.distance(before, after), default=None)
        if guide is not None and guide.distance(before, after) > Guide.NEAR:
            guide = None
        join = None if corner else self._ruled(before, after, guide)
        if join is None:
            found = self._bridge(before, after, rooms, corner)
            join = _Join(trimmed(before, 0.0, found.back), found.cubics, trimmed(after, found.ahead, 0.0))
            if guide is not None and not corner and self.fairing != 0.0:
                along = followed(chains, (found.back, found.ahead), join.chain, guide)
                join = join if along is None else _Join(*along)
        if join.section:
            guides.append(Guide.of(before, after, join.head, join.section, join.tail))
        return join

    def _ruled(self, before: Chain, after: Chain, guide: Guide | None) -> _Join | None:
        """Both straight edges as one straight line from corner to corner; None where nobody would rule it."""
        back, on = straight_stretch(reverse_chain(before)), straight_stretch(after)
        if not (back.count and on.count) or (self.fairing is not None and not self.level):
            return None
        start, end = back.end, on.end
        out, onward = (before[-1][3] - start) / back.length, (end - after[0][0]) / on.length
        if turn_between(out, onward) > CORNER:
            return None
        if self.level and not _makes_step(after[0][0] - before[-1][3], out, onward):
            return None
        if not self.level and not _would_be_ruled(back, on, before[-1][3], after[0][0]):
            return None
        if float((end - start) @ (out + onward)) <= 0:
            raise EdgeUsedUp
        head, tail = before[: len(before) - back.count], after[on.count :]
        if guide is not None:
            start, end = ruled_along(guide, (start, end), (head, tail), (back.at_corner, on.at_corner))
        way = (end - start) / np.hypot(*(end - start))
        if head:
            turn = None if back.at_corner else _turn(out, way)
            head = (*head[:-1], _begun(head[-1][::-1], start, turn)[::-1].copy())
        if tail:
            tail = (_begun(tail[0], end, None if on.at_corner else _turn(onward, way)), *tail[1:])
        return _Join(head, (curves.line_as_cubic(start, end),), tail)

    def _bridge(self, before: Chain, after: Chain, rooms: tuple[float, float], corner: bool) -> Bridge:
        out, onward = direction_at_end(before), direction_at_start(after)
        gap = after[0][0] - before[-1][3]
        if not corner and turn_between(out, onward) > 2 * CORNER:
            # The end of a dart's leg, or a corner beside the cut: the edge that lies in the gap's direction goes on.
            if _runs_along(onward, gap) and not _runs_along(out, gap):
                return lead_in(before[-1][3], after, self._reach(before, after))
            if _runs_along(out, gap) and not _runs_along(onward, gap):
                found = lead_in(after[0][0], reverse_chain(before), self._reach(before, after))
                return Bridge(found.ahead, 0.0, reverse_chain(found.cubics))
        if self.level and straight_stretch(reverse_chain(before)).count and straight_stretch(after).count:
            return _measured(before, after, bridge(before, after, Finish.STRAIGHT, 0.0, rooms, drawn_corner=corner))
        return bridge(before, after, Finish.FAIRED, self._reach(before, after), rooms, drawn_corner=corner)

    def _reach(self, before: Chain, after: Chain) -> float:
        """Fairing length: as asked, else so long that a step is hardly seen (a slope of about 1 in 20).

        Only where the edge is nearly straight: a curve keeps its shape beyond `FAIRING`.
        """
        if self.fairing is not None:
            return self.fairing
        gap, along = after[0][0] - before[-1][3], direction_at_end(before)
        reach = min(STEEPEST * abs(float(gap[0] * along[1] - gap[1] * along[0])), LONGEST)
        while reach > FAIRING and max(_bend(reverse_chain(before), reach), _bend(after, reach)) > NEARLY:
            reach *= 0.8
        return max(reach, FAIRING)


def _measured(before: Chain, after: Chain, found: Bridge) -> Bridge:
    """Both cut back so far that the line over an overlap adds nothing to the width that was asked for."""
    more = chain_length(found.cubics) / 2
    if not found.back or more < _CLOSED:
        return found
    back, ahead = found.back + more, found.ahead + more
    ends = trimmed(before, 0.0, back)[-1][3], trimmed(after, ahead, 0.0)[0][0]
    return Bridge(back, ahead, (curves.line_as_cubic(*ends),))


def _parted(ring: Chain) -> tuple[Chain, Chain]:
    """An opened ring parted well away from its ends, at a corner where it has one."""
    if len(ring) == 1:
        return (halves := curves.split(ring[0], 0.5))[:1], halves[1:]
    ends = np.cumsum([curves.length(cubic) for cubic in ring])
    places = corners_of(ring, closed=False) or list(range(len(ring) - 1))
    at = min(places, key=lambda i: abs(float(ends[i] - ends[-1] / 2)))
    return ring[: at + 1], ring[at + 1 :]


def _runs_along(direction: Array, gap: Array) -> bool:
    return abs(float(direction @ gap)) > float(np.cos(np.radians(CORNER)) * np.hypot(*gap))


def _makes_step(gap: Array, out: Array, onward: Array) -> bool:
    """Whether a straight line across the gap turns off and back again; halves that were only shifted are ruled."""
    along = (out + onward) / np.hypot(*(out + onward))
    aside = abs(float(along[0] * gap[1] - along[1] * gap[0]))
    return turn_between(out, onward) < _PARALLEL or aside > _STEP


def _would_be_ruled(back: Stretch, on: Stretch, tip: Array, other: Array) -> bool:
    chord = on.end - back.end
    length = float(np.hypot(*chord))
    if length < 1e-6 or (not (back.at_corner and on.at_corner) and back.length + on.length < _LEAST_RULED):
        return False
    out, onward = (tip - back.end) / back.length, (on.end - other) / on.length
    if turn_between(out, onward) > _PARALLEL:
        off = [abs(float(chord[0] * d[1] - chord[1] * d[0])) / length for d in (tip - back.end, other - back.end)]
        if max(off) > _SAG:
            return False
    kinks = turn_between(out, chord / length), turn_between(chord / length, onward)
    return all(
        kink < (_RE_RULED if stretch.at_corner else _RE_AIMED) for kink, stretch in zip(kinks, (back, on), strict=True)
    )


def _turn(one: Array, other: Array) -> Array:
    """The matrix that turns row vectors as one unit direction lies to another."""
    cosine, sine = float(one @ other), float(one[0] * other[1] - one[1] * other[0])
    return np.array([[cosine, sine], [-sine, cosine]])


def _begun(cubic: Array, point: Array, turn: Array | None = None) -> Array:
    """The cubic begun at a point near its own beginning, its first handle turned along."""
    if is_straight(cubic):
        return curves.line_as_cubic(point, cubic[3])
    handle = cubic[1] - cubic[0]
    return np.array([point, point + (handle if turn is None else handle @ turn), cubic[2], cubic[3]])


def _bend(chain: Chain, distance: float) -> float:
    """By how many degrees the chain turns from its start to a distance along it."""
    segment, t = point_along(chain, distance)
    there = curves.derivative(chain[segment], t)
    norm = float((there @ there) ** 0.5)
    return turn_between(direction_at_start(chain), there / norm) if norm > 1e-9 else 0.0
