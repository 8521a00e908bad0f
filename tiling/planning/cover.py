"""The fewest further tiles that cover ink lying only where tiles overlap.

A *need* is an inked strip or corner, none of whose tiles is printed for ink in its core: at least one of the two
(or four) tiles that share it must be. A sweep over many shifts of the grid at once gives a cover and a lower bound;
where they differ, `fewest_more` searches.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from calibrate.run import Run

__all__ = ["Demand", "SearchBudget", "Swept", "bare_corners", "fewest_more", "swept", "tidied"]

Cells = NDArray[np.bool_]
_Tile = tuple[int, int]
_Need = frozenset[_Tile]


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """Ink per tile, (shifts ..., rows, columns): in its core, and in the strips to the right, below, and both at once.

    There may be more than one axis of shifts; `swept`, `tidied` and `fewest_more` take one.
    """

    core: Cells
    right: Cells
    below: Cells
    corner: Cells

    def at(self, index: int) -> Demand:
        """One shift alone, still with three dimensions."""
        return self.of(slice(index, index + 1))

    def of(self, part: slice | NDArray[np.intp] | tuple[NDArray[np.intp], ...]) -> Demand:
        """Some of the shifts."""
        return Demand(self.core[part], self.right[part], self.below[part], self.corner[part])

    def mirrored(self, axis: int) -> Demand:
        """The same with rows (axis 1) or columns (axis 2) in the opposite order.

        A strip belongs to the tile before it, so strips across that axis move on by one; the last one is empty.
        """
        core, right, below, corner = (np.flip(v, axis) for v in (self.core, self.right, self.below, self.corner))
        if axis == 1:
            return Demand(core, right, np.roll(below, -1, axis), np.roll(corner, -1, axis))
        return Demand(core, np.roll(right, -1, axis), below, np.roll(corner, -1, axis))


@dataclass(frozen=True, slots=True, eq=False)
class Swept:
    """A cover for every shift, (shifts, rows, columns), and the fewest tiles any cover could have, (shifts,)."""

    printed: Cells
    at_least: NDArray[np.int64]


def swept(demand: Demand) -> Swept:
    """A cover by a sweep in reading order: a need not met yet prints its last tile, which meets most of what follows.

    The lower bound is the number of tiles with ink in their core and of needs that have no tile in common.
    """
    printed, taken = demand.core.copy(), demand.core.copy()
    at_least = demand.core.sum(axis=(1, 2), dtype=np.int64)
    _, rows, columns = demand.core.shape
    for strip, down, across in ((demand.right, 0, 1), (demand.below, 1, 0), (demand.corner, 1, 1)):
        for row in range(rows):
            for column in range(columns):
                inked = strip[:, row, column]
                if not inked.any():
                    continue
                tiles = (slice(None), slice(row, row + down + 1), slice(column, column + across + 1))
                last = (slice(None), min(row + down, rows - 1), min(column + across, columns - 1))
                printed[last] |= inked & ~printed[tiles].any(axis=(1, 2))
                apart = inked & ~taken[tiles].any(axis=(1, 2))
                at_least += apart
                taken[tiles] |= apart[:, None, None]
    return Swept(printed, at_least)


def bare_corners(corner: Cells, printed: Cells) -> NDArray[np.int64]:
    """For each shift, how many inked corners join two printed tiles that meet at no side: awkward to tape."""
    a, b = printed[..., :-1, :-1], printed[..., :-1, 1:]
    c, d = printed[..., 1:, :-1], printed[..., 1:, 1:]
    bare = corner[..., :-1, :-1] & ((a & d & ~b & ~c) | (b & c & ~a & ~d))
    return np.asarray(bare.sum(axis=(-2, -1), dtype=np.int64))


def tidied(demand: Demand, printed: Cells) -> Cells:
    """Covers at least as small, with fewer bare corners where a sweep from another corner of the sheet gives one."""
    merit = printed.sum(axis=(1, 2), dtype=np.int64) * 1000 + bare_corners(demand.corner, printed)
    best, order = printed.copy(), np.arange(len(printed))
    for axes in ((), (1,), (2,), (1, 2)):
        turned = demand
        for axis in axes:
            turned = turned.mirrored(axis)
        cover = np.flip(swept(turned).printed, axes)
        other = cover.sum(axis=(1, 2), dtype=np.int64) * 1000 + bare_corners(demand.corner, cover)
        better = order[other < merit]
        best[better], merit[better] = cover[better], other[better]
    return best


@dataclass(slots=True)
class SearchBudget:
    """How many choices `fewest_more` may still try, over all shifts together; then it keeps the best cover so far.

    A bound on work, not on time, so that every machine comes to the same tiles. Patterns take none to some hundred
    choices; ink in every other strip of a hundred tiles can take more than the bound.
    """

    run: Run = field(default_factory=Run)
    left: int = 20_000

    def spend(self) -> bool:
        """Whether one choice more may be tried.

        Raises:
            Cancelled: by `run`.
        """
        self.run.check()
        self.left -= 1
        return self.left >= 0


def fewest_more(demand: Demand, budget: SearchBudget) -> Cells:
    """Which tiles of a single shift to print, (rows, columns): those with ink in their core, and the fewest more."""
    core: Cells = demand.core[0]
    printed: Cells = core.copy()
    needs: set[_Need] = set()
    for strip, down, across in ((demand.right, 0, 1), (demand.below, 1, 0), (demand.corner, 1, 1)):
        for row, column in zip(*np.nonzero(strip[0]), strict=True):
            r, c = int(row), int(column)
            tiles = {(y, x) for y in (r, r + down) for x in (c, c + across)}
            inside = frozenset(t for t in tiles if t[0] < core.shape[0] and t[1] < core.shape[1])
            if not any(core[tile] for tile in inside):
                needs.add(inside)
    for group in _groups(sorted(needs, key=sorted)):
        for tile in _fewest(group, budget):
            printed[tile] = True
    return printed


def _groups(needs: list[_Need]) -> list[list[_Need]]:
    """The needs by connected tiles; each group can be solved on its own."""
    groups: list[tuple[set[_Tile], list[_Need]]] = []
    for need in needs:
        tiles, held = set(need), [need]
        apart = []
        for group in groups:
            if group[0] & need:
                tiles |= group[0]
                held = group[1] + held
            else:
                apart.append(group)
        groups = [*apart, (tiles, held)]
    return [held for _, held in groups]


def _fewest(needs: list[_Need], budget: SearchBudget) -> tuple[_Tile, ...]:
    """The smallest set of tiles that meets every need: depth first, cut off by the needs that lie apart."""
    best: tuple[_Tile, ...] = tuple({max(need) for need in needs})

    def choose(chosen: tuple[_Tile, ...], left: list[_Need]) -> None:
        nonlocal best
        if not left:
            best = chosen if len(chosen) < len(best) else best
            return
        if not budget.spend() or len(chosen) + _apart(left) >= len(best):
            return
        hardest: _Need = min(left, key=len)
        for tile in sorted(hardest, reverse=True):
            choose((*chosen, tile), [need for need in left if tile not in need])

    choose((), needs)
    return best


def _apart(needs: list[_Need]) -> int:
    """How many needs, picked one after the other, have no tile in common: no fewer tiles can meet them."""
    taken: set[_Tile] = set()
    count = 0
    for need in sorted(needs, key=len):
        if not taken & need:
            taken |= need
            count += 1
    return count
