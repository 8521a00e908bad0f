"""The shift of the grid that prints the fewest tiles: every shift is counted, none is sampled.

A tile's window consists of its core, which no other window reaches, and of the strips it shares with its
neighbours. What must be printed follows from one rule: **every inked cell lies in a printed tile**, with as few
tiles as can be. So a tile with ink in its core is printed; ink that lies only in a strip needs one of the tiles that
share it, and no more: a line that ends in the strip under a printed neighbour doesn't need a page of its own.
Of equally few tiles, those are taken that leave no line to pass from page to page over a bare corner (two pages
that meet at no side are awkward to tape), then those with the fewest joins that cut a piece (ink in a join's strip),
then those with the most room between ink and outer sides.

Windows and overlap are whole millimetres and the grid moves by whole millimetres, so the raster's answer is exact.
For every possible window position four maps say whether there is ink in its core, in the strip shared with the
window to its right, with the one below, and in the corner shared by four; the positions of one shift lie `step`
apart, so a strided sum over the maps counts all shifts at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibrate.run import Run
from tiling.planning.cover import Demand, SearchBudget, bare_corners, fewest_more, swept, tidied
from tiling.planning.occupancy import Raster
from tiling.planning.spans import ink_within

__all__ = ["FewestTiles", "GridAxis", "Layout"]

Cells = NDArray[np.bool_]
Ints = NDArray[np.intp]

_SAMPLED = 64
"""Shifts of many whose room is reckoned first: those with less than the best of them are then left out together."""

_TOGETHER = 16_000_000
"""Windows, of all shifts, that are looked at together; a map of them takes a byte for each."""

_FEW = 2000
"""Shifts whose rooms are reckoned one by one."""


@dataclass(frozen=True, slots=True)
class GridAxis:
    """The grid along x or y, whole mm: size of a window, and how much neighbours share."""

    window: int
    overlap: int

    @property
    def step(self) -> int:
        """From one window to the next."""
        return self.window - self.overlap


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where a grid lies and which of its tiles are printed.

    Attributes:
        x0, y0: top left corner of the tile in row 0, column 0, whole mm on the layout.
        printed: (rows, columns), True where the tile is printed; the outer rows and columns hold a printed tile.
        bare: how many inked corners join two printed tiles that meet at no side.
        cut: how many joins between printed tiles have ink in their strip.
        room: mm from the nearest outer side of a printed tile (one without a printed neighbour) to its ink.
    """

    x0: int
    y0: int
    printed: Cells
    bare: int
    cut: int
    room: int

    @property
    def count(self) -> int:
        """How many tiles are printed."""
        return int(self.printed.sum())

    @property
    def merit(self) -> tuple[int, int, int, int]:
        """Sorts layouts, best first: fewest tiles, no bare corners, fewest joins cut, most room."""
        return (self.count, self.bare, self.cut, -self.room)


@dataclass(frozen=True, slots=True)
class _Positions:
    """Window positions along one axis: `shifts` shifts for each of `tiles` tiles, the first at cell `start`.

    No ink lies in the first tile's leading strip nor in the last tile's trailing one, at any shift.
    """

    start: int
    shifts: int
    tiles: int
    axis: GridAxis

    @classmethod
    def all(cls, extent: int, axis: GridAxis) -> _Positions:
        """All positions that matter for ink of that extent.

        Ink that fits one window takes one, with the ink in its middle: a second could only add tiles.
        """
        if extent <= axis.window:
            return cls(-((axis.window - extent) // 2), 1, 1, axis)
        start = 1 - axis.window
        return cls(start, axis.step, -(-(extent - start) // axis.step), axis)

    @classmethod
    def fixed(cls, extent: int, axis: GridAxis, corner: int) -> _Positions:
        """The positions of the one grid that has a window at cell `corner`."""
        start = corner + (-axis.overlap - corner) // axis.step * axis.step
        return cls(start, 1, -(-(extent - start) // axis.step), axis)

    def parts(self, shifts: int) -> Iterator[_Positions]:
        """The same positions, so many shifts at a time."""
        for done in range(0, self.shifts, shifts):
            yield replace(self, start=self.start + done, shifts=min(shifts, self.shifts - done))

    def cells(self) -> Ints:
        """First cell of every window, (tiles, shifts) flattened."""
        return (np.arange(self.tiles)[:, None] * self.axis.step + np.arange(self.shifts) + self.start).ravel()

    @property
    def core(self) -> tuple[int, int]:
        """The part of a window that no other reaches, from its first cell."""
        return (0, self.axis.window) if self.tiles == 1 else (self.axis.overlap, self.axis.step)

    @property
    def strip(self) -> tuple[int, int]:
        """The part of a window that the next one shares; none where there is only one."""
        return (0, 0) if self.tiles == 1 else (self.axis.step, self.axis.window)


@dataclass(frozen=True, slots=True, eq=False)
class _Windows:
    """All windows over some ink: the inked cells, and the windows' positions down and across."""

    ink: Raster
    rows: _Positions
    columns: _Positions

    def demand(self, run: Run) -> Demand:
        """Where ink lies in them, by shift."""
        y, x = self.rows.cells(), self.columns.cells()
        inked = []
        for down in (self.rows.core, self.rows.strip):
            lanes = ink_within(self.ink.cells, y, down, 0)
            for across in (self.columns.core, self.columns.strip):
                run.check()
                inked.append(self.by_shift(ink_within(lanes, x, across, 1)))
        return Demand(*inked)

    def by_shift(self, ink: Cells) -> Cells:
        """A map over all positions (down, across) as (shifts down, shifts across, rows, columns).

        In memory the shifts across stay next to each other and the rows farthest apart, so that work on all shifts at
        once goes straight through.
        """
        rows, columns = self.rows, self.columns
        return ink.reshape(rows.tiles, rows.shifts, columns.tiles, columns.shifts).transpose(1, 3, 0, 2)


@dataclass(frozen=True, slots=True, eq=False)
class FewestTiles:
    """The fewest tiles that any of some shifts of the grid prints.

    Attributes:
        count: how many tiles.
    """

    count: int
    _bands: tuple[_Band, ...]

    @classmethod
    def of_all_shifts(cls, raster: Raster, across: GridAxis, down: GridAxis, run: Run = Run()) -> FewestTiles:
        """Those of all shifts in 1 mm steps. The raster must be trimmed, and not empty.

        Raises:
            Cancelled: by `run`.
        """
        height, width = raster.cells.shape
        return cls._of(raster, _Positions.all(height, down), _Positions.all(width, across), run)

    @classmethod
    def at(cls, raster: Raster, across: GridAxis, down: GridAxis, corner: tuple[int, int]) -> FewestTiles:
        """Those of the one grid that has a window at `corner`, whole mm (x, y)."""
        height, width = raster.cells.shape
        rows = _Positions.fixed(height, down, corner[1] - raster.y0)
        return cls._of(raster, rows, _Positions.fixed(width, across, corner[0] - raster.x0), Run())

    @classmethod
    def _of(cls, raster: Raster, rows: _Positions, columns: _Positions, run: Run) -> FewestTiles:
        deep = max(_TOGETHER // (rows.tiles * columns.tiles * columns.shifts), 1)
        parts = list(rows.parts(deep))
        bands = [_Band.of(_Windows(raster, part, columns), len(parts) == 1, run) for part in parts]
        count = min(band.count for band in bands)
        return cls(count, tuple(band for band in bands if band.count == count))

    def layout(self, run: Run = Run()) -> Layout:
        """Of these shifts the one with the fewest bare corners, then joins cut, then most room; then the first.

        Raises:
            Cancelled: by `run`.
        """
        return min((band.layout(run) for band in self._bands), key=lambda layout: layout.merit)


@dataclass(frozen=True, slots=True, eq=False)
class _Band:
    """Shifts looked at together.

    Attributes:
        count: the fewest tiles that one of them prints.
        tied: (shifts down, shifts across), True for those that print no more.
        printed: (shifts down, shifts across, rows, columns), the tiles they print; other shifts' tiles mean nothing.
        windows: of these shifts.
        demand: where ink lies in them; None where it is made again when it is needed, for want of memory.
    """

    count: int
    tied: Cells
    printed: Cells
    windows: _Windows
    demand: Demand | None

    @classmethod
    def of(cls, windows: _Windows, alone: bool, run: Run) -> _Band:
        """The band of some windows; one of several does without its demand."""
        demand = windows.demand(run)
        run.check()
        return cls(*_fewest(demand, run), windows, demand if alone else None)

    def layout(self, run: Run) -> Layout:
        """As `FewestTiles.layout`, of these shifts."""
        run.check()
        demand = self.demand or self.windows.demand(run)
        right, below, corner, printed = demand.right, demand.below, demand.corner, self.printed
        # A join's strip reaches along the whole side, so the corners above or left of it belong to it too.
        join = right | corner
        join[..., 1:, :] |= corner[..., :-1, :]
        join &= printed
        cut = (join[..., :-1] & printed[..., 1:]).sum(axis=(2, 3), dtype=np.int32)
        np.logical_or(below, corner, out=join)
        join[..., 1:] |= corner[..., :-1]
        join &= printed
        cut += (join[..., :-1, :] & printed[..., 1:, :]).sum(axis=(2, 3), dtype=np.int32)
        bare = bare_corners(corner, printed)
        tied = self.tied & (bare == bare[self.tied].min())
        windows = self.windows
        y, x, room = _roomiest(windows, printed, tied & (cut == cut[tied].min()), run)
        tiles = printed[y, x]
        rows, columns = np.flatnonzero(tiles.any(axis=1)), np.flatnonzero(tiles.any(axis=0))
        return Layout(
            x0=windows.ink.x0 + windows.columns.start + x + int(columns[0]) * windows.columns.axis.step,
            y0=windows.ink.y0 + windows.rows.start + y + int(rows[0]) * windows.rows.axis.step,
            printed=tiles[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1].copy(),
            bare=int(bare[y, x]),
            cut=int(cut[y, x]),
            room=room,
        )


def _fewest(demand: Demand, run: Run) -> tuple[int, Cells, Cells]:
    """The fewest tiles, which shifts print no more, and the tiles each of those prints (as in `FewestTiles`)."""
    forced = demand.core.sum(axis=(2, 3), dtype=np.int32)
    unmet = _strips_without_core(demand)
    best = int(forced[~unmet].min(initial=np.iinfo(np.int32).max))
    tied, printed = (forced == best) & ~unmet, demand.core
    # Where ink lies in strips only, with no printed tile on it yet, at least one tile more is needed.
    candidates = np.argwhere(unmet & (forced < best))
    if len(candidates):
        shifts, covers = _covers(demand, candidates, best, run)
        counts = covers.sum(axis=(1, 2))
        fewest = int(counts.min(initial=best))
        if fewest < best:
            best, tied = fewest, np.zeros_like(tied)
        y, x = shifts[counts == fewest].T
        printed = printed.copy(order="K")
        tied[y, x], printed[y, x] = True, covers[counts == fewest]
    return best, tied, printed


def _covers(demand: Demand, candidates: Ints, best: int, run: Run) -> tuple[Ints, Cells]:
    """Candidate shifts (y, x) that may need no more than `best` tiles, each with its fewest tiles."""
    demand = demand.of((candidates[:, 0], candidates[:, 1]))
    sweep = swept(demand)
    counts = sweep.printed.sum(axis=(1, 2))
    best = min(best, int(counts.min()))
    unsure = np.flatnonzero((sweep.at_least < counts) & (sweep.at_least <= best))
    budget = SearchBudget(run)
    for index in unsure[np.argsort(sweep.at_least[unsure], kind="stable")]:
        if sweep.at_least[index] <= best:
            cover = fewest_more(demand.at(int(index)), budget)
            if cover.sum() < counts[index]:
                sweep.printed[index] = cover
            best = min(best, int(sweep.printed[index].sum()))
    kept = np.flatnonzero(sweep.printed.sum(axis=(1, 2)) <= best)
    return candidates[kept], tidied(demand.of(kept), sweep.printed[kept])


def _strips_without_core(demand: Demand) -> Cells:
    """At which shifts ink in some strip lies in no window whose core carries ink, (shifts down, shifts across)."""
    bare = ~demand.core
    # One array for all three: large ones cost most when they are new.
    strip = demand.right & bare
    strip[..., :-1] &= bare[..., 1:]
    found = strip.any(axis=(2, 3))
    np.logical_and(demand.below, bare, out=strip)
    strip[..., :-1, :] &= bare[..., 1:, :]
    found |= strip.any(axis=(2, 3))
    np.logical_and(demand.corner, bare, out=strip)
    strip[..., :-1] &= bare[..., 1:]
    strip[..., :-1, :] &= bare[..., 1:, :]
    strip[..., :-1, :-1] &= bare[..., 1:, 1:]
    return np.asarray(found | strip.any(axis=(2, 3)))


def _roomiest(windows: _Windows, printed: Cells, tied: Cells, run: Run) -> tuple[int, int, int]:
    """The first of the tied shifts with most room around the ink: y, x and the room, mm."""
    while True:
        run.check()
        many = np.flatnonzero(tied)
        shifts = np.stack(np.unravel_index(many[:: len(many) // _SAMPLED if len(many) > _FEW else 1], tied.shape), 1)
        rooms = _rooms(windows, printed, shifts)
        room = int(rooms.max())
        if len(many) > _FEW:
            roomier = tied & _with_room(windows, printed, room + 1)
            if roomier.any():
                tied = roomier
                continue
            shifts = np.argwhere(tied & _with_room(windows, printed, room))[:1]
            return int(shifts[0, 0]), int(shifts[0, 1]), room
        y, x = shifts[int(np.argmax(rooms))]
        return int(y), int(x), room


def _with_room(windows: _Windows, printed: Cells, room: int) -> Cells:
    """At which shifts no ink lies nearer than `room` mm to an outer side of a printed tile, in its window."""
    near = np.zeros(printed.shape[:2], dtype=np.bool_)
    for axis, along, other in ((1, windows.columns, windows.rows), (0, windows.rows, windows.columns)):
        lanes = ink_within(windows.ink.cells, other.cells(), (0, other.axis.window), 1 - axis)
        tiles = printed if axis else printed.swapaxes(2, 3)
        for span, ahead in (((0, room), 1), ((along.axis.window - room, along.axis.window), -1)):
            outer = tiles.copy(order="K")
            inner, neighbour = (slice(1, None), slice(None, -1))[::ahead]
            # Greater: True here and False beside it.
            np.greater(tiles[..., inner], tiles[..., neighbour], out=outer[..., inner])
            inked = windows.by_shift(ink_within(lanes, along.cells(), span, axis))
            outer &= inked if axis else inked.swapaxes(2, 3)
            near |= outer.any(axis=(2, 3))
    return ~near


def _rooms(windows: _Windows, printed: Cells, shifts: Ints) -> Ints:
    """The least distance from an outer side of a printed tile to the ink in its window, mm, for each shift (y, x)."""
    rooms = np.full(len(shifts), np.iinfo(np.int32).max, dtype=np.int64)
    tiles = printed[shifts[:, 0], shifts[:, 1]]
    for axis, along, other in ((1, windows.columns, windows.rows), (0, windows.rows, windows.columns)):
        used, row = np.unique(shifts[:, 1 - axis], return_inverse=True)
        starts = (np.arange(other.tiles)[:, None] * other.axis.step + used + other.start).ravel()
        lanes = ink_within(windows.ink.cells, starts, (0, other.axis.window), 1 - axis)
        lanes = (lanes if axis else lanes.T).reshape(other.tiles, len(used), -1)
        for lane, ink in enumerate(lanes):
            in_lane = tiles[:, lane] if axis else tiles[:, :, lane]
            where = np.stack([row, shifts[:, axis]], axis=1)
            rooms = np.minimum(rooms, _rooms_in_lane(ink, along, where, in_lane))
    return rooms


def _rooms_in_lane(ink: Cells, along: _Positions, shifts: Ints, printed: Cells) -> Ints:
    """Room before and behind the ink of a lane, which is one row (or column) of windows.

    `ink` is (rows, cells), `shifts` (row of the ink, shift along the lane), `printed` (shifts, tiles).
    """
    extent = ink.shape[1]
    index, far = np.arange(extent, dtype=np.int32), np.int32(2 * extent + 2 * along.axis.window)
    following = np.minimum.accumulate(np.where(ink, index, far)[:, ::-1], axis=1)[:, ::-1]
    preceding = np.maximum.accumulate(np.where(ink, index, -far), axis=1)
    outside = np.zeros((len(shifts), 1), dtype=np.bool_)
    row, starts = shifts[:, :1], along.start + np.arange(along.tiles) * along.axis.step + shifts[:, 1:]
    ends = starts + along.axis.window - 1
    gaps = following[row, np.clip(starts, 0, extent - 1)] - starts
    rooms = np.where(printed & ~np.hstack([outside, printed[:, :-1]]), gaps, far)
    gaps = ends - preceding[row, np.clip(ends, 0, extent - 1)]
    behind = np.where(printed & ~np.hstack([printed[:, 1:], outside]), gaps, far)
    return np.asarray(np.minimum(rooms, behind).min(axis=1))
