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
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tiling.planning.cover import Demand, bare_corners, fewest_more, swept, tidied
from tiling.planning.occupancy import Raster

__all__ = ["GridAxis", "Layout", "best_layout", "fewest_tiles", "layout_at"]

Cells = NDArray[np.bool_]
Ints = NDArray[np.intp]


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
class _Run:
    """Window positions along one axis: `shifts` shifts for each of `tiles` tiles, the first at cell `start`.

    No ink lies in the first tile's leading strip nor in the last tile's trailing one, at any shift.
    """

    start: int
    shifts: int
    tiles: int
    axis: GridAxis

    @classmethod
    def over(cls, extent: int, axis: GridAxis) -> _Run:
        """All positions that matter for ink of that extent.

        Ink that fits one window takes one, with the ink in its middle: a second could only add tiles.
        """
        if extent <= axis.window:
            return cls(-((axis.window - extent) // 2), 1, 1, axis)
        start = 1 - axis.window
        return cls(start, axis.step, -(-(extent - start) // axis.step), axis)

    @classmethod
    def fixed(cls, extent: int, axis: GridAxis, corner: int) -> _Run:
        """The positions of the one grid that has a window at cell `corner`."""
        start = corner + (-axis.overlap - corner) // axis.step * axis.step
        return cls(start, 1, -(-(extent - start) // axis.step), axis)

    def positions(self) -> Ints:
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


@dataclass(frozen=True, slots=True)
class _Runs:
    """Both axes."""

    rows: _Run
    columns: _Run

    def taken(self, ink: Cells, shifts: Ints) -> Cells:
        """From a map over all positions, the (shifts, rows, columns) tiles of the given shifts (y, x)."""
        rows, columns = self.rows, self.columns
        by_shift = ink.reshape(rows.tiles, rows.shifts, columns.tiles, columns.shifts).transpose(1, 3, 0, 2)
        return np.asarray(by_shift[shifts[:, 0], shifts[:, 1]])


def best_layout(raster: Raster, across: GridAxis, down: GridAxis) -> Layout:
    """The best of all shifts of the grid in 1 mm steps: fewest tiles, bare corners, joins cut, then most room.

    Among shifts equal in all three the first one in reading order is taken. The raster must not be empty.
    """
    raster = raster.trimmed()
    runs = _all_runs(raster, across, down)
    maps = _maps(raster.cells, runs)
    return _preferred(raster, runs, maps, _fewest(maps, runs))


def fewest_tiles(raster: Raster, across: GridAxis, down: GridAxis) -> int:
    """How many tiles `best_layout` prints, for less than half its work."""
    raster = raster.trimmed()
    runs = _all_runs(raster, across, down)
    return int(_fewest(_maps(raster.cells, runs), runs).printed[0].sum())


def layout_at(raster: Raster, across: GridAxis, down: GridAxis, corner: tuple[int, int]) -> Layout:
    """The layout of the grid with a window at `corner`, whole mm (x, y)."""
    raster = raster.trimmed()
    height, width = raster.cells.shape
    rows = _Run.fixed(height, down, corner[1] - raster.y0)
    runs = _Runs(rows, _Run.fixed(width, across, corner[0] - raster.x0))
    maps = _maps(raster.cells, runs)
    return _preferred(raster, runs, maps, _fewest(maps, runs))


def _all_runs(raster: Raster, across: GridAxis, down: GridAxis) -> _Runs:
    height, width = raster.cells.shape
    return _Runs(_Run.over(height, down), _Run.over(width, across))


def _fewest(maps: Demand, runs: _Runs) -> _Ties:
    """The shifts that print the fewest tiles."""
    shape = (runs.rows.tiles, runs.rows.shifts, runs.columns.tiles, runs.columns.shifts)
    forced = maps.core.reshape(shape).sum(axis=(0, 2), dtype=np.int32)
    is_open = _loose(maps, runs).reshape(shape).any(axis=(0, 2))
    best = int(forced[~is_open].min(initial=np.iinfo(np.int32).max))
    closed = np.argwhere((forced == best) & ~is_open)
    shifts, printed = closed, runs.taken(maps.core, closed)
    # Where ink lies in strips only, with no printed tile on it yet, at least one tile more is needed.
    candidates = np.argwhere(is_open & (forced < best))
    if len(candidates):
        found, covers = _opened(maps, runs, candidates, best)
        counts = covers.sum(axis=(1, 2))
        fewest = int(counts.min(initial=best))
        if fewest < best:
            shifts, printed = found[:0], covers[:0]
        kept = counts == fewest
        shifts, printed = np.concatenate([shifts, found[kept]]), np.concatenate([printed, covers[kept]])
        order = np.lexsort((shifts[:, 1], shifts[:, 0]))
        shifts, printed = shifts[order], printed[order]
    return _Ties(shifts, printed)


def _opened(maps: Demand, runs: _Runs, candidates: Ints, best: int) -> tuple[Ints, Cells]:
    """Candidate shifts (y, x) that may need no more than `best` tiles, each with its fewest tiles."""
    demand = Demand(*(runs.taken(getattr(maps, n), candidates) for n in ("core", "right", "below", "corner")))
    sweep = swept(demand)
    counts = sweep.printed.sum(axis=(1, 2))
    best = min(best, int(counts.min()))
    unsure = np.flatnonzero((sweep.at_least < counts) & (sweep.at_least <= best))
    for index in unsure[np.argsort(sweep.at_least[unsure], kind="stable")]:
        if sweep.at_least[index] <= best:
            sweep.printed[index] = fewest_more(demand.at(int(index)))
            best = min(best, int(sweep.printed[index].sum()))
    kept = np.flatnonzero(sweep.printed.sum(axis=(1, 2)) <= best)
    return candidates[kept], tidied(demand.of(kept), sweep.printed[kept])


def _loose(maps: Demand, runs: _Runs) -> Cells:
    """Where ink in a strip lies in no window whose core carries ink, by the strip's left and upper tile."""
    core = maps.core
    dy, dx = runs.rows.shifts, runs.columns.shifts
    beside, under, across = np.zeros_like(core), np.zeros_like(core), np.zeros_like(core)
    beside[:, :-dx] = core[:, dx:]
    under[:-dy] = core[dy:]
    across[:-dy, :-dx] = core[dy:, dx:]
    met = core | beside
    loose = maps.right & ~met
    loose |= maps.below & ~(core | under)
    loose |= maps.corner & ~(met | under | across)
    return loose


def _maps(cells: Cells, runs: _Runs) -> Demand:
    """The four maps over all window positions, (rows x shifts, columns x shifts)."""
    y, x = runs.rows.positions(), runs.columns.positions()
    in_core, in_strip = ink_within(cells, y, runs.rows.core, 0), ink_within(cells, y, runs.rows.strip, 0)
    return Demand(
        core=ink_within(in_core, x, runs.columns.core, 1),
        right=ink_within(in_core, x, runs.columns.strip, 1),
        below=ink_within(in_strip, x, runs.columns.core, 1),
        corner=ink_within(in_strip, x, runs.columns.strip, 1),
    )


def ink_within(cells: Cells, positions: Ints, span: tuple[int, int], axis: int) -> Cells:
    """For each position p along the axis (rising): whether any cell in [p + span[0], p + span[1]) is inked.

    Spans double up from single cells, so it takes log2(length) passes over the array.
    """
    length, extent = span[1] - span[0], cells.shape[axis]
    if length <= 0:
        lines = cells.shape[1 - axis]
        return np.zeros((len(positions), lines) if axis == 0 else (lines, len(positions)), dtype=np.bool_)
    # run[k] tells of the cells from k - length to k - 1.
    at = np.clip(positions + span[0] + length, 0, extent + length)
    if axis == 1:
        run = np.pad(cells, ((0, 0), (length, length)))
        for more in _doublings(length):
            run = run[:, :-more] | run[:, more:]
        return np.take(run, at, axis=1)
    # Eight cells to a byte.
    packed = np.pad(np.packbits(cells, axis=1), ((length, length), (0, 0)))
    for more in _doublings(length):
        packed = packed[:-more] | packed[more:]
    return np.unpackbits(packed[at], axis=1, count=cells.shape[1]).view(np.bool_)


def _doublings(length: int) -> Iterator[int]:
    """By how much a span grows at each pass, from one cell to `length`."""
    done = 1
    while done < length:
        more = min(done, length - done)
        yield more
        done += more


@dataclass(frozen=True, slots=True, eq=False)
class _Ties:
    """Shifts (y, x), (n, 2), that print equally many tiles, and the tiles they print, (n, rows, columns)."""

    shifts: Ints
    printed: Cells


def _preferred(raster: Raster, runs: _Runs, maps: Demand, ties: _Ties) -> Layout:
    """Of shifts with equally many tiles, the one with the fewest bare corners and cut joins, then the most room."""
    printed = ties.printed
    right, below, corner = (runs.taken(getattr(maps, n), ties.shifts) for n in ("right", "below", "corner"))
    # A join's strip reaches along the whole side, so the corners above or left of it belong to it too.
    beside, under = right | corner, below | corner
    beside[:, 1:] |= corner[:, :-1]
    under[:, :, 1:] |= corner[:, :, :-1]
    cut = (beside[:, :, :-1] & printed[:, :, :-1] & printed[:, :, 1:]).sum(axis=(1, 2))
    cut += (under[:, :-1] & printed[:, :-1] & printed[:, 1:]).sum(axis=(1, 2))
    bare = bare_corners(corner, printed)
    fewest = np.flatnonzero(bare == bare.min())
    fewest = fewest[cut[fewest] == cut[fewest].min()]
    rooms = _rooms(raster.cells, runs, _Ties(ties.shifts[fewest], printed[fewest]))
    best = int(fewest[int(np.argmax(rooms))])
    tiles, shift = printed[best], ties.shifts[best]
    rows, columns = np.flatnonzero(tiles.any(axis=1)), np.flatnonzero(tiles.any(axis=0))
    return Layout(
        x0=raster.x0 + runs.columns.start + int(shift[1]) + int(columns[0]) * runs.columns.axis.step,
        y0=raster.y0 + runs.rows.start + int(shift[0]) + int(rows[0]) * runs.rows.axis.step,
        printed=tiles[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1].copy(),
        bare=int(bare[best]),
        cut=int(cut[best]),
        room=int(rooms.max()),
    )


def _rooms(cells: Cells, runs: _Runs, ties: _Ties) -> Ints:
    """For each shift, the least distance from an outer side of a printed tile to the ink in its window, mm."""
    rooms = np.full(len(ties.shifts), np.iinfo(np.int32).max, dtype=np.int64)
    for along, other, turn in ((runs.columns, runs.rows, False), (runs.rows, runs.columns, True)):
        lanes = ink_within(cells, other.positions(), (0, other.axis.window), int(turn))
        printed = ties.printed.transpose(0, 2, 1) if turn else ties.printed
        room = _room_along(lanes.T if turn else lanes, along, ties.shifts[:, ::-1] if turn else ties.shifts, printed)
        rooms = np.minimum(rooms, room)
    return rooms


def _room_along(lanes: Cells, run: _Run, shifts: Ints, printed: Cells) -> Ints:
    """Room before and behind the ink along the lanes, each lane being the ink in one row of windows.

    `lanes` is (lane tiles x lane shifts, cells), `shifts` (lane shift, shift), `printed` (shifts, lanes, tiles).
    """
    extent = lanes.shape[1]
    index = np.arange(extent, dtype=np.int32)
    far = np.int32(2 * extent + 2 * run.axis.window)
    lane_shifts = len(lanes) // printed.shape[1]
    rooms = np.full(len(shifts), np.iinfo(np.int32).max, dtype=np.int64)
    for lane in range(printed.shape[1]):
        # One lane at a time, so that a large sheet needs little memory.
        own = lanes[lane * lane_shifts : (lane + 1) * lane_shifts]
        following = np.minimum.accumulate(np.where(own, index, far)[:, ::-1], axis=1)[:, ::-1]
        preceding = np.maximum.accumulate(np.where(own, index, -far), axis=1)
        row = shifts[:, 0]
        for tile in range(printed.shape[2]):
            here = printed[:, lane, tile]
            start = run.start + tile * run.axis.step + shifts[:, 1]
            end = start + run.axis.window
            before = here & ~(printed[:, lane, tile - 1] if tile else np.zeros_like(here))
            behind = here & ~(printed[:, lane, tile + 1] if tile + 1 < printed.shape[2] else np.zeros_like(here))
            gap = following[row, np.clip(start, 0, extent - 1)] - start
            rooms = np.where(before, np.minimum(rooms, gap), rooms)
            gap = end - 1 - preceding[row, np.clip(end - 1, 0, extent - 1)]
            rooms = np.where(behind, np.minimum(rooms, gap), rooms)
    return rooms
