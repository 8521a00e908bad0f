"""Setting the unit cells of an array that strokes and fills meet, many thousand segments at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tiling.planning.chords import Chords
from tiling.shapes.curves import counted_off

__all__ = ["fill_cells", "stroke_cells"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Cells = NDArray[np.bool_]

_CHUNK = 1 << 14
"""Chords handled at once: the temporary arrays then stay in the processor's cache."""

_MOST_AT_ONCE = 1 << 22
"""Cells whose winding is counted at once, so that a large sheet needs little memory."""

_MOST_MET = 1 << 18
"""Cells met by chords, or rows crossed by edges, at once: one chord may be as long as the sheet."""


@dataclass(frozen=True, slots=True, eq=False)
class _Bits:
    """Parts of chords that lie in one cell each: the cell, and both ends within it (0 to 1, x not falling)."""

    column: Ints
    row: Ints
    xa: Floats
    ya: Floats
    xb: Floats
    yb: Floats
    half: Floats


def stroke_cells(cells: Cells, chords: Chords, origin: tuple[int, int]) -> None:
    """Set every cell that lies closer than its half width to a chord.

    `cells[0, 0]` is the cell whose top left corner is `origin`; cells outside the array are left out. Half widths
    below 1 only (a stroke then reaches no further than the neighbouring cells).
    """
    height, width = cells.shape
    x0, y0 = chords.x0 - origin[0], chords.y0 - origin[1]
    x1, y1 = chords.x1 - origin[0], chords.y1 - origin[1]
    met = np.abs(x1 - x0) + np.abs(y1 - y0) + 2.0
    for part in _parts(np.minimum(met, float(height + width + 4))):
        of, row, ya, xa, yb, xb = _cut(y0[part], x0[part], y1[part], x1[part], height)
        piece, column, xa, ya, xb, yb = _cut(xa, ya, xb, yb, width)
        if len(piece):
            _ink(cells, _Bits(column, row[piece], xa, ya, xb, yb, chords.half[part][of[piece]]))


def _parts(met: Floats) -> Iterator[slice]:
    """Runs of chords that meet a bearable number of cells together, from how many each meets at most."""
    edges = np.searchsorted(np.cumsum(met), np.arange(1, int(met.sum()) // _MOST_MET + 1) * float(_MOST_MET))
    for begin, end in pairwise([0, *edges.tolist(), len(met)]):
        for first in range(begin, end, _CHUNK):
            yield slice(first, min(first + _CHUNK, end))


def _cut(
    x0: Floats, y0: Floats, x1: Floats, y1: Floats, width: int
) -> tuple[Ints, Ints, Floats, Floats, Floats, Floats]:
    """Chords from (x0, y0) to (x1, y1) cut at whole x; pieces farther than one cell beyond 0 to `width` are left out.

    Returns:
        For every piece: the chord it comes from, its column, and its ends xa, ya, xb, yb with x rising and counted from
        the column's edge.
    """
    falls = x0 > x1
    xa, xb = np.where(falls, x1, x0), np.where(falls, x0, x1)
    ya, yb = np.where(falls, y1, y0), np.where(falls, y0, y1)
    low, high = np.floor(xa), np.floor(xb)
    if low.min(initial=0.0) < -1 or high.max(initial=0.0) > width:
        low, high = np.maximum(low, -1.0), np.minimum(high, float(width))
    which, step = counted_off(np.maximum((high - low).astype(np.intp) + 1, 0))
    column = low[which] + step
    slope = (yb - ya) / np.where(xb > xa, xb - xa, 1.0)
    xa, ya, xb, yb, slope = (v[which] for v in (xa, ya, xb, yb, slope))
    left, right = np.maximum(xa, column), np.minimum(xb, column + 1.0)
    start = ya + (left - xa) * slope
    end = np.where(right < xb, ya + (right - xa) * slope, yb)
    left -= column
    right -= column
    return which, column.astype(np.intp), left, start, right, end


def _ink(cells: Cells, bits: _Bits) -> None:
    """Set the bits' own cells and those neighbours that come closer than half a width."""
    height, width = cells.shape
    flat = cells.reshape(-1)
    i, j, half = bits.column, bits.row, bits.half
    inside = bool(i.min() >= 1 and j.min() >= 1 and i.max() < width - 1 and j.max() < height - 1)
    at = j * width + i

    def mark(hit: Ints, di: int, dj: int) -> None:
        if not inside:
            x, y = i[hit] + di, j[hit] + dj
            hit = hit[(x >= 0) & (y >= 0) & (x < width) & (y < height)]
        flat[at[hit] + (dj * width + di)] = True

    if inside:
        flat[at] = True
    else:
        mark(np.arange(len(at)), 0, 0)
    far = 1.0 - half
    left, right = bits.xa < half, bits.xb > far
    up, down = np.minimum(bits.ya, bits.yb) < half, np.maximum(bits.ya, bits.yb) > far
    for side, di, dj in ((left, -1, 0), (right, 1, 0), (up, 0, -1), (down, 0, 1)):
        mark(np.flatnonzero(side), di, dj)
    for side, di in ((left, -1), (right, 1)):
        for level, dj in ((up, -1), (down, 1)):
            hit = np.flatnonzero(side & level)
            mark(hit[_near_corner(bits, hit, float(di > 0), float(dj > 0))], di, dj)


def _near_corner(bits: _Bits, hit: Ints, corner_x: float, corner_y: float) -> Cells:
    """Which of the bits come closer than their half width to a corner of their cell."""
    x, y = bits.xa[hit] - corner_x, bits.ya[hit] - corner_y
    dx, dy = bits.xb[hit] - bits.xa[hit], bits.yb[hit] - bits.ya[hit]
    square = dx * dx + dy * dy
    share = np.clip(-(x * dx + y * dy) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    x += share * dx
    y += share * dy
    return np.asarray(x * x + y * y < bits.half[hit] ** 2)


def fill_cells(cells: Cells, rings: Sequence[Floats], origin: tuple[int, int], *, even_odd: bool) -> None:
    """Set the cells whose middle lies inside the rings (each closed by its first point) by the fill rule.

    Together with the outline's own cells these are all cells that the fill meets. `cells` as for `stroke_cells`.
    """
    start = np.concatenate(rings) - origin
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]) - origin
    height, width = cells.shape
    low, high = start.min(axis=0), start.max(axis=0)
    top, bottom = max(int(np.ceil(low[1] - 0.5)), 0), min(int(np.ceil(high[1] - 0.5)), height)
    left, right = max(int(np.ceil(low[0] - 0.5)), 0), min(int(np.ceil(high[0] - 0.5)), width)
    if top >= bottom or left >= right:
        return
    # Rows whose middle y lies in [y0, y1) of an edge are crossed by it.
    first = np.clip(np.ceil(np.minimum(start[:, 1], end[:, 1]) - 0.5), top, bottom).astype(np.intp)
    last = np.clip(np.ceil(np.maximum(start[:, 1], end[:, 1]) - 0.5), top, bottom).astype(np.intp)
    span = right - left + 1
    # As many rows at once as keep both the cells and the crossings bearable.
    crossed = np.cumsum(np.bincount(first, minlength=bottom + 1) - np.bincount(last, minlength=bottom + 1))
    deep = max(1, min(_MOST_AT_ONCE // span, 4 * _MOST_MET // max(1, int(crossed.max()))))
    for begin in range(top, bottom, deep):
        end_row = min(begin + deep, bottom)
        low_row, high_row = np.maximum(first, begin), np.minimum(last, end_row)
        which, step = counted_off(np.maximum(high_row - low_row, 0))
        row = step + low_row[which]
        share = (row + 0.5 - start[which, 1]) / (end - start)[which, 1]
        x = start[which, 0] + share * (end - start)[which, 0]
        column = np.clip(np.ceil(x - 0.5), left, right).astype(np.intp)
        turn = np.where(end[which, 1] > start[which, 1], 1.0, -1.0)
        places = (row - begin) * span + column - left
        marks = np.bincount(places, weights=turn, minlength=(end_row - begin) * span)
        wound = np.cumsum(marks.reshape(end_row - begin, span)[:, :-1].astype(np.int32), axis=1, dtype=np.int32)
        cells[begin:end_row, left:right] |= (wound % 2 != 0) if even_odd else (wound != 0)
