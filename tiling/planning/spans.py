"""Whether ink lies in a span of cells, for spans all over a raster at once."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

__all__ = ["ink_within"]

Cells = NDArray[np.bool_]
Ints = NDArray[np.intp]


def ink_within(cells: Cells, positions: Ints, span: tuple[int, int], axis: int) -> Cells:
    """For each position p along the axis (rising): whether any cell in [p + span[0], p + span[1]) is inked.

    Spans double up from single cells, so it takes log2(length) passes over the array, eight cells to a byte.
    """
    length, extent = span[1] - span[0], cells.shape[axis]
    if length <= 0:
        lines = cells.shape[1 - axis]
        return np.zeros((len(positions), lines) if axis == 0 else (lines, len(positions)), dtype=np.bool_)
    # run[k] tells of the cells from k - length to k - 1.
    at = np.clip(positions + span[0] + length, 0, extent + length)
    margin = [(0, 0), (0, 0)]
    margin[axis] = (length, length)
    run = np.pad(np.packbits(cells, axis=1) if axis == 0 else _stacked(cells), margin)
    for more in _doublings(length):
        run = run[:-more] | run[more:] if axis == 0 else run[:, :-more] | run[:, more:]
    within = np.take(run, at, axis=axis)
    if axis == 1:
        return _unstacked(within, len(cells))
    return np.unpackbits(within, axis=1, count=cells.shape[1]).view(np.bool_)


def _stacked(cells: Cells) -> NDArray[np.uint8]:
    """Eight bands of rows in the eight bits of a byte: some times as fast as `numpy.packbits` across rows."""
    deep = -(-len(cells) // 8)
    stack = np.zeros((deep, cells.shape[1]), dtype=np.uint8)
    for bit in range(8):
        band = cells[bit * deep : (bit + 1) * deep]
        stack[: len(band)] |= band.view(np.uint8) << bit
    return stack


def _unstacked(stack: NDArray[np.uint8], rows: int) -> Cells:
    """The first rows of what `_stacked` put together."""
    bands = np.empty((8, *stack.shape), dtype=np.uint8)
    for bit in range(8):
        np.right_shift(stack, bit, out=bands[bit])
    bands &= 1
    return bands.reshape(-1, stack.shape[1])[:rows].view(np.bool_)


def _doublings(length: int) -> Iterator[int]:
    """By how much a span grows at each pass, from one cell to `length`."""
    done = 1
    while done < length:
        more = min(done, length - done)
        yield more
        done += more
