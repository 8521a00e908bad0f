"""Closing a lay up: everything moved at once, as far to the left as it goes, by linear programming.

Each two convex parts near each other keep to their sides of a line that parts them now, as far off each other as the
gap asks; within that, the strip is made as short as can be. Done anew from where things then lie until it no longer
helps. After Li and Milenkovic (1995), with lines of one's own choice in place of their locality of Minkowski sums.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import shapely

from calibrate.run import Run
from tiling.planning.strip import Facing, StripItem, length_of
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import polygon_of

__all__ = ["clearances", "close_up"]

_STEP = 60.0
"""mm that a thing may move in one round, each way."""

_ROUNDS = 12
_ENOUGH = 0.02
"""mm of length gained in a round below which it is left at that."""

_COARSE = 0.15
"""mm by which outlines may be simplified; what comes of it is measured on the outlines themselves."""

_TOUCH = 1e-6
_EASY = 2e-3
"""mm by which the gap may be missed, as far as the check of a lay is concerned."""

_TIDY = 1e-5
"""What it is worth to have each thing far to the left, against the length of the strip."""

OVERLAP = 0.5
"""Area of two outlines in common that is still rounding, mm²."""


def close_up(
    items: Sequence[StripItem], moves: Sequence[Affine], height: float, gap: float, run: Run = Run()
) -> list[Affine] | None:
    """The same lay, closed up; things may lie a few mm over each other or the edge before.

    Args:
        items: the things.
        moves: where each lies.
        height: of the strip, mm; things end up between y = 0 and it.
        gap: least distance between two outlines, mm, true to 2 µm.
        run: ends it early.

    Returns:
        The moves, or None where the things can't be parted from where they lie.

    Raises:
        Cancelled: by `run`.
    """
    strip = _Strip(items, moves, height, gap)
    best: list[Affine] | None = None
    length = np.inf
    for _ in range(_ROUNDS):
        run.check()
        if not strip.solve():
            break
        placed = strip.moves()
        if strip.missed():
            continue
        now = length_of(items, placed)
        if now > length - _ENOUGH:
            break
        best, length = placed, now
    return best


def clearances(rings: Sequence[Array], reach: float) -> Iterator[tuple[int, int, float, float]]:
    """Of each two outlines within reach of each other: which, their distance in mm, the area in common in mm²."""
    shapes = np.array([polygon_of(ring) for ring in rings])
    first, second = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=reach)
    near = first < second
    first, second = first[near], second[near]
    apart = shapely.distance(shapes[first], shapes[second])
    common = shapely.area(shapely.intersection(shapes[first], shapes[second]))
    yield from zip(first.tolist(), second.tolist(), apart.tolist(), common.tolist(), strict=True)


class _Strip:
    """The things at their places, in convex parts."""

    def __init__(self, items: Sequence[StripItem], moves: Sequence[Affine], height: float, gap: float) -> None:
        self._items, self._height, self._gap = items, height, gap
        known: dict[tuple[bytes, Affine, bool], Facing] = {}
        self._facings, shifts = [], []
        for item, move in zip(items, moves, strict=True):
            turn = Affine(move.a, move.b, move.c, move.d)
            key = (item.outline.tobytes(), turn, item.pinned)
            facing = known.setdefault(key, Facing(item, turn, _COARSE))
            self._facings.append(facing)
            shifts.append((move.e - facing.move.e, 0.0 if item.pinned else move.f - facing.move.f))
        self._at = np.array(shifts)
        self._owner = np.array([n for n, facing in enumerate(self._facings) for _ in facing.parts()])
        self._parts = [part for facing in self._facings for part in facing.parts()]
        self._more: dict[tuple[int, int], float] = {}
        self._size = np.array([(facing.length, facing.height) for facing in self._facings])

    def moves(self) -> list[Affine]:
        """Where each lies now."""
        return [
            Affine.shift(float(x), float(y)) @ facing.move
            for (x, y), facing in zip(self._at, self._facings, strict=True)
        ]

    def missed(self) -> bool:
        """Whether two outlines are too near to each other; they are kept further apart from now on."""
        rings = [move.points(item.outline) for move, item in zip(self.moves(), self._items, strict=True)]
        missed = False
        for one, other, apart, common in clearances(rings, self._gap):
            short = self._gap - apart
            if short > _EASY or common > OVERLAP:
                missed = True
                self._more[one, other] = self._more.get((one, other), 0.0) + max(short, 0.02) + _EASY / 2
        return missed

    def solve(self) -> bool:
        """One round: everything as far to the left as the lines between them allow."""
        from scipy.optimize import linprog  # noqa: PLC0415 - heavy
        from scipy.sparse import coo_array  # noqa: PLC0415

        count = len(self._facings)
        one, other, normal, room = self._lines()
        rows = np.arange(len(one))
        # Unknown: a step in x and in y for each thing, then the length. Things keep their sides …
        parted: list[tuple[Any, Any, Array]] = [(rows, 2 * one, normal[:, 0]), (rows, 2 * one + 1, normal[:, 1]),
                  (rows, 2 * other, -normal[:, 0]), (rows, 2 * other + 1, -normal[:, 1])]  # fmt: skip
        # … and end before the length.
        ends = len(one) + np.arange(count)
        parted += [(ends, 2 * np.arange(count), np.ones(count)), (ends, np.full(count, 2 * count), -np.ones(count))]
        row, column, value = (np.concatenate(part) for part in zip(*parted, strict=True))
        matrix = coo_array((value, (row, column)), shape=(len(one) + count, 2 * count + 1)).tocsr()
        limits = np.concatenate([room, -(self._at[:, 0] + self._size[:, 0])])
        low = np.maximum(-self._at, -_STEP)
        high = np.full((count, 2), _STEP)
        high[:, 1] = np.minimum(_STEP, self._height - self._size[:, 1] - self._at[:, 1])
        for number, facing in enumerate(self._facings):
            if facing.pinned:
                low[number, 1] = high[number, 1] = -self._at[number, 1]
        high = np.maximum(high, low)
        bounds = np.vstack([np.stack([low.ravel(), high.ravel()], axis=1), [(0.0, np.inf)]])
        worth = np.append(np.tile((_TIDY, 0.0), count), 1.0)
        found = linprog(worth, A_ub=matrix, b_ub=limits, bounds=bounds, method="highs")
        if found.x is None:
            return False
        self._at = self._at + found.x[:-1].reshape(-1, 2)
        return True

    def _lines(self) -> tuple[Array, Array, Array, Array]:
        """For each two parts near each other: whose they are, the direction between them, the room there is, mm."""
        places = [part + self._at[owner] for part, owner in zip(self._parts, self._owner, strict=True)]
        shapes = np.array([shapely.Polygon(place) for place in places])
        reach = self._gap + 2.0 * _STEP
        first, second = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=reach)
        keep = self._owner[first] < self._owner[second]
        first, second = first[keep], second[keep]
        ends = shapely.get_coordinates(shapely.shortest_line(shapes[first], shapes[second])).reshape(-1, 2, 2)
        step = ends[:, 1] - ends[:, 0]
        apart = np.linalg.norm(step, axis=1)
        normal = step / np.maximum(apart, _TOUCH)[:, None]
        for number in np.flatnonzero(apart <= 1e-4):
            normal[number], apart[number] = _parting(places[first[number]], places[second[number]])
        one, other = self._owner[first], self._owner[second]
        more = np.array([self._more.get((a, b), 0.0) for a, b in zip(one.tolist(), other.tolist(), strict=True)])
        return one, other, normal, apart - self._gap - more


def _parting(one: Array, other: Array) -> tuple[Array, float]:
    """The direction across one of their edges in which two convex parts are furthest apart, and how far, mm."""
    steps = np.vstack([np.roll(one, -1, axis=0) - one, other - np.roll(other, -1, axis=0)])
    normals = np.stack([steps[:, 1], -steps[:, 0]], axis=1)  # outwards of one, inwards of the other
    normals = normals / np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None]
    apart = (other @ normals.T).min(axis=0) - (one @ normals.T).max(axis=0)
    best = int(apart.argmax())
    return normals[best], float(apart[best])
