"""What to lift and move so that every join is true, with as few joins lifted as can be found.

Two ways are tried. By groups: pages that hang together by true joins move as one; what is moved next is the page, or
the group, that brings most joins into order for each one that must be lifted for it; how far follows from the joins to
all that stays, or, where these don't agree, to one group of it. By pages, for sheets of which most joins are off: each
page that must be moved goes where it belongs among all pages, so that moves never add up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees

import numpy as np

from calibrate.arrays import Array
from calibrate.taped.printed import PrintedJoin
from calibrate.taped.solving import Solution

__all__ = ["Lift", "least_lifts"]

_SHARE = 0.95
"""Of the tolerance: what is moved by hand is to lie better than it must."""
_ARM = 100.0
"""mm; how far from a page's middle a turn is weighed against a shift."""
_ROUNDS = 6
"""Of weighing down joins that don't fit a move, since what lies on their other side must move too."""


@dataclass(frozen=True, slots=True)
class Lift:
    """What to lift and where to move it.

    Attributes:
        pages: that move together; what holds them to each other stays.
        joins: the pairs of pages whose join is lifted.
        move: of the pages' common middle, x to the right and y down, mm.
        turn: about that, degrees clockwise.
    """

    pages: tuple[str, ...]
    joins: tuple[tuple[str, str], ...]
    move: tuple[float, float]
    turn: float


def least_lifts(solution: Solution, joins: Sequence[PrintedJoin], tolerance: float) -> tuple[Lift, ...]:
    """What to lift, in order; none where all joins are true.

    Args:
        solution: how the pages lie.
        joins: that were measured.
        tolerance: mm that a page may have slipped at a join's end.
    """
    places = _Places(solution, joins)
    ways = [way(places, _SHARE * tolerance) for way in (_by_groups, _by_pages)]
    return min(ways, key=lambda way: (way.left, len({pair for lift in way.lifts for pair in lift.joins}))).lifts


@dataclass(frozen=True, slots=True)
class _Way:
    """Lifts in order, and how many joins are still off once they are made."""

    lifts: tuple[Lift, ...]
    left: int


def _by_groups(places: _Places, most: float) -> _Way:
    lifts: list[Lift] = []
    moved: set[frozenset[str]] = set()
    bad = places.bad(most)
    while bad:
        together = _together(places, bad)
        groups = [group for group in _groups(places, bad, together) if group not in moved]
        tried = [(group, places.fitted(group, to)) for group in groups for to in (None, *together)
                 if to is None or (not to & group and places.between(group, to))]  # fmt: skip
        better = [(places.moved(group, move).bad(most), group, move) for group, move in tried]
        better = [one for one in better if len(one[0]) < len(bad)]
        if not better:
            break
        bad, group, move = max(better, key=lambda one: (len(bad) - len(one[0])) / len(places.around(one[1])))
        moved.add(group)
        lifts.append(_lift(places, group, move))
        places = places.moved(group, move)
    return _Way(tuple(lifts), len(bad))


def _by_pages(places: _Places, most: float) -> _Way:
    lifts: list[Lift] = []
    wanted = places.homeward()
    bad = places.bad(most)
    while bad:
        pages = sorted({name for join in bad for name in (join.first, join.second)} & wanted.keys())
        if not pages:
            break
        tried = [(places.moved(frozenset({name}), wanted[name]).bad(most), name) for name in pages]
        bad, name = min(tried, key=lambda one: len(one[0]))
        group, move = frozenset({name}), wanted.pop(name)
        lifts.append(_lift(places, group, move))
        places = places.moved(group, move)
    return _Way(tuple(lifts), len(bad))


def _lift(places: _Places, group: frozenset[str], move: Array) -> Lift:
    pages = tuple(name for name in places.names if name in group)
    around = tuple((join.first, join.second) for join in places.around(group))
    return Lift(pages, around, (float(move[0]), float(move[1])), degrees(float(move[2])))


def _groups(
    places: _Places, bad: Sequence[PrintedJoin], together: Sequence[frozenset[str]]
) -> list[frozenset[str]]:
    """The pages at bad joins, each alone, and what hangs together by good joins, but for the largest of it."""
    alone = {frozenset({name}) for join in bad for name in (join.first, join.second)}
    groups = alone | (set(together) - {max(together, key=len)})
    return sorted((group for group in groups if places.around(group)), key=lambda group: (len(group), sorted(group)))


def _together(places: _Places, bad: Sequence[PrintedJoin]) -> list[frozenset[str]]:
    """What hangs together by good joins."""
    good = [join for join in places.joins if join not in bad]
    left, together = set(places.names), []
    while left:
        group, ahead = set(), {min(left)}
        while ahead:
            name = ahead.pop()
            group.add(name)
            ahead |= {
                n for join in good if name in {join.first, join.second} for n in (join.first, join.second)
            } - group
        left -= group
        together.append(frozenset(group))
    return together


class _Places:
    """How pages lie: of each its middle (2,), and its shift and turn (3,)."""

    def __init__(
        self,
        solution: Solution,
        joins: Sequence[PrintedJoin],
        moves: dict[str, list[tuple[Array, Array]]] | None = None,
    ) -> None:
        self._solution, self.joins = solution, tuple(joins)
        self._moves = moves or {}
        self.names = tuple(dict.fromkeys(name for join in joins for name in (join.first, join.second)))

    def slip(self, join: PrintedJoin, at: Array) -> Array:
        """Of a join at one of its ends, once all moves are made."""
        slip = self._solution.slip(join.first, join.second, at)[0]
        return np.asarray(slip + self._by(join.second, at) - self._by(join.first, at))

    def _by(self, name: str, at: Array) -> Array:
        total = np.zeros(2)
        for middle, move in self._moves.get(name, []):
            total += _carried(at - middle) @ move
        return total

    def bad(self, most: float) -> list[PrintedJoin]:
        """The joins of which an end slipped by more."""
        return [join for join in self.joins if any(np.hypot(*self.slip(join, at)) > most for at in join.ends)]

    def around(self, group: frozenset[str]) -> list[PrintedJoin]:
        """The joins between a group and the rest."""
        return [join for join in self.joins if (join.first in group) != (join.second in group)]

    def between(self, group: frozenset[str], other: frozenset[str]) -> list[PrintedJoin]:
        """The joins between two groups."""
        return [join for join in self.around(group) if {join.first, join.second} & other]

    def middle(self, group: frozenset[str]) -> Array:
        """Of a group."""
        return np.asarray(np.mean([self._solution.pose(name)[0] for name in group], axis=0))

    def fitted(self, group: frozenset[str], to: frozenset[str] | None = None) -> Array:
        """The shift and turn (3,) about its middle that bring a group nearest to the rest, or to another group."""
        middle = self.middle(group)
        joins = self.around(group) if to is None else self.between(group, to)
        ends = [(1.0 if join.second in group else -1.0, join, at) for join in joins for at in join.ends]
        rows = np.vstack([_carried(at - middle) for _, _, at in ends])
        wanted = np.concatenate([-sign * self.slip(join, at) for sign, join, at in ends])
        weight = np.ones(len(wanted))
        for _ in range(_ROUNDS):
            # A join with one end shows no turn: a ridge keeps it at none.
            normal = rows.T @ (rows * weight[:, None]) + np.diag([0.0, 0.0, 1e3])
            move = np.linalg.solve(normal, rows.T @ (weight * wanted))
            weight = 1.0 / np.maximum(np.abs(wanted - rows @ move), 0.1)
        return np.asarray(move)

    def homeward(self) -> dict[str, Array]:
        """For each page the shift and turn (3,) about its middle to where it belongs among all pages as they lie."""
        middles, lie = (np.array(one) for one in zip(*map(self._solution.pose, self.names), strict=True))
        about = middles.mean(axis=0)
        rows = np.array([np.vstack([_carried(middle - about), [0.0, 0.0, _ARM]]) for middle in middles])
        seen = lie * (1.0, 1.0, _ARM)
        weight = np.ones(len(self.names))
        for _ in range(_ROUNDS):
            normal = np.einsum("p,pij,pik->jk", weight, rows, rows)
            common = np.linalg.solve(normal, np.einsum("p,pij,pi->j", weight, rows, seen))
            rest = seen - rows @ common
            weight = 1.0 / np.maximum(np.linalg.norm(rest, axis=1), 0.1)
        return {name: -one / (1.0, 1.0, _ARM) for name, one in zip(self.names, rest, strict=True)}

    def moved(self, group: frozenset[str], move: Array) -> _Places:
        """The same with a group moved."""
        middle = self.middle(group)
        moves = {
            name: [*self._moves.get(name, []), *([(middle, move)] if name in group else [])] for name in self.names
        }
        return _Places(self._solution, self.joins, moves)


def _carried(away: Array) -> Array:
    """What a shift and a turn do to a place (2,) so far from the turn's middle, (2, 3)."""
    x, y = away
    return np.array([[1.0, 0.0, -y], [0.0, 1.0, x]])
