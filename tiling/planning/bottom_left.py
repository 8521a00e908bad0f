"""Laying things one by one, each as far to the left as it goes, in many orders: simple, and never far from good.

The order decides how short the strip becomes. It is searched by moving one thing at a time, from several orders that
usually serve; the same things give the same lay, whatever order they are given in and however busy the machine is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np

from calibrate.run import Run
from tiling.planning.strip import Facing, StripItem, Surrounding, kinds_of
from tiling.shapes import Affine
from tiling.shapes.curves import Array

__all__ = ["BottomLeft", "Laid"]

_LEVELS = 100
"""Heights at which a place is looked for, besides those at which things touch."""

_LEAST_STEP = 8.0
"""mm; heights nearer to each other are not worth their time."""

_STARTS = 3
"""Searches that go on beside each other."""

_COARSE = 1.0
"""mm by which outlines may be simplified; what overlaps by so much is parted when the lay is closed up."""

_PER_PLACE, _PER_PAIR = 2e4, 2e5
"""What a place and a pair of things cost besides, in the same units as looking at regions."""

_TOUCH = 1e-6
"""mm; nearer than this, things touch."""


Turn = tuple[int, int]
"""Which thing is next, and which way it faces: a number among its facings, or `_ANY` for the one that ends first."""

_ANY = -1
_TURNED = 0.25
"""Share of changes that turn a thing and leave the order."""

_WARMTH = 0.015
"""Share by which a lay may be longer than the one it was changed from and still be gone on from, at first."""

_COMPACT = 0.02
"""What it is worth that things end early on the whole, against the length."""


@dataclass(frozen=True, slots=True)
class Laid:
    """All items at their places: their order, their moves by item, the length taken, mm, and what it is judged by."""

    order: tuple[Turn, ...]
    moves: tuple[Affine, ...]
    length: float
    worth: float


class BottomLeft:
    """A strip that things are laid on from the left.

    Args:
        items: the things; each fits on the strip's height in at least one facing.
        height: of the strip, mm.
        gap: between outlines, mm.
    """

    def __init__(self, items: Sequence[StripItem], height: float, gap: float) -> None:
        self._kinds = kinds_of(items, _COARSE)
        self._height, self._gap = height, gap
        self._around: dict[tuple[int, int], Surrounding] = {}
        self._work = 0.0

    def lay(self, order: Sequence[Turn], run: Run = Run()) -> Laid:
        """Each item in turn, where its right end comes least far; of equal places the one nearest to y = 0."""
        placed: list[tuple[Facing, float, float]] = []
        moves: dict[int, Affine] = {}
        ends: list[float] = []
        for index, facing in order:
            run.check()
            right, number, x, y = min(self._places(index, facing, placed), key=lambda place: (place[0], place[3]))
            found = self._kinds[index][number]
            placed.append((found, x, y))
            moves[index] = Affine.shift(x, y) @ found.move
            ends.append(right)
        length = max(ends, default=0.0)
        worth = length + _COMPACT * sum(ends) / max(len(ends), 1)
        return Laid(tuple(order), tuple(moves[index] for index in range(len(moves))), length, worth)

    def search(self, work: float, seed: int, starts: Sequence[Sequence[int]] = (), run: Run = Run()) -> list[Laid]:
        """The shortest lays of several searches, shortest first: one thing at a time is moved in the order, or turned.

        Longer lays are gone on from at first, less and less so (threshold accepting, Dueck and Scheuer 1990).

        Args:
            work: how much to do, in regions looked at (some hundred million a second on a machine of 2020).
            seed: of the orders tried.
            starts: orders to begin from besides the usual ones.
            run: ends it early.

        Raises:
            Cancelled: by `run`.
        """
        random, begun = Random(seed), self._work
        orders = [[(index, _ANY) for index in order] for order in (*self._usual_orders(), *starts)]
        found: dict[float, Laid] = {}
        for order in orders:
            if not found or self._work - begun < work:
                laid = self.lay(order, run)
                found[laid.length] = laid
        best = [found[length] for length in sorted(found)[:_STARTS]]
        now = list(best)
        while (used := (self._work - begun) / work) < 1.0 and len(self._kinds) > 1:
            for number, laid in enumerate(now):
                other = self.lay(self._changed(laid.order, random), run)
                if other.worth <= laid.worth * (1.0 + _WARMTH * max(0.9 - used, 0.0)) + _TOUCH:
                    now[number] = other
                if other.worth < best[number].worth - _TOUCH:
                    best[number] = other
        return sorted(best, key=lambda laid: laid.length)

    def _places(
        self, index: int, wanted: int, placed: Sequence[tuple[Facing, float, float]]
    ) -> Iterator[tuple[float, int, float, float]]:
        """Right end, number of the facing, x and y for each way that an item may face, or the one that is wanted."""
        fitting = [n for n, facing in enumerate(self._kinds[index]) if facing.height <= self._height + _TOUCH]
        for number in [wanted] if wanted in fitting else fitting:
            facing = self._kinds[index][number]
            x, y = self._leftmost(facing, placed)
            yield x + facing.length, number, x, y

    def _changed(self, order: Sequence[Turn], random: Random) -> list[Turn]:
        """The order with one thing moved elsewhere or turned, or two exchanged."""
        changed = list(order)
        one, other = random.sample(range(len(changed)), 2)
        what = random.random()
        if what < _TURNED:
            index, _ = changed[one]
            changed[one] = index, random.randrange(_ANY, len(self._kinds[index]))
        elif what < (1.0 + _TURNED) / 2:
            changed[one], changed[other] = changed[other], changed[one]
        else:
            changed.insert(other, changed.pop(one))
        return changed

    def _usual_orders(self) -> Iterator[tuple[int, ...]]:
        """By size, by length, by width, pinned ones first or where their size puts them."""
        facings = [kind[0] for kind in self._kinds]
        names = [tuple(np.round(facing.ring, 3).ravel().tolist()) for facing in facings]
        keys: list[Callable[[Facing], float]] = [
            lambda f: f.length * f.height, lambda f: f.length, lambda f: f.height, lambda f: max(f.length, f.height),
        ]  # fmt: skip
        for key in keys:
            for first in (True, False):
                yield tuple(
                    sorted(
                        range(len(facings)),
                        key=lambda i: (not facings[i].pinned and first, -round(key(facings[i]), 3), names[i]),
                    )
                )

    def _leftmost(self, facing: Facing, placed: Sequence[tuple[Facing, float, float]]) -> tuple[float, float]:
        """The place for a facing among what lies there already: least x, then least y."""
        free = max(self._height - facing.height, 0.0)
        around = [(self._surrounding(other, facing), x, y) for other, x, y in placed]
        ys = np.zeros(1) if facing.pinned else _heights(free, around)
        spans = [surrounding.spans(ys - y) for surrounding, _, y in around]
        begin = np.vstack([s[0] + x for s, (_, x, _) in zip(spans, around, strict=True)] or [np.empty((0, len(ys)))])
        end = np.vstack([s[1] + x for s, (_, x, _) in zip(spans, around, strict=True)] or [np.empty((0, len(ys)))])
        self._work += _PER_PLACE + len(ys) * sum(surrounding.size for surrounding, _, _ in around)
        xs = _first_free(begin, end)
        at = int(np.lexsort((ys, np.round(xs, 6)))[0])
        return float(xs[at]), float(ys[at])

    def _surrounding(self, one: Facing, other: Facing) -> Surrounding:
        key = (id(one), id(other))
        if key not in self._around:
            self._around[key] = Surrounding(one, other, self._gap)
            self._work += _PER_PAIR
        return self._around[key]


def _heights(free: float, around: Sequence[tuple[Surrounding, float, float]]) -> Array:
    """Heights to look at: evenly, and where the thing would touch what lies there from above or below."""
    count = min(_LEVELS, int(free / _LEAST_STEP) + 1) + 1
    touching = [y + edge for s, _, y in around for edge in (s.low.min(), s.high.max())]
    ys = np.concatenate([np.linspace(0.0, free, count), touching])
    return np.unique(ys[(ys >= 0.0) & (ys <= free)])


def _first_free(begin: Array, end: Array) -> Array:
    """For each column the least x from 0 that lies in the inside of no span (begin, end)."""
    xs = np.zeros(begin.shape[1])
    while True:
        inside = (begin < xs - _TOUCH) & (end > xs + _TOUCH)
        onward = np.where(inside, end, -np.inf).max(axis=0, initial=-np.inf)
        if not (onward > xs).any():
            return xs
        xs = np.maximum(xs, onward)
