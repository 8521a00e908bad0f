"""Free places on a drawing: where a block of ours disturbs it least."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from tiling.planning.occupancy import Raster
from tiling.shapes import Box, Point, Size

__all__ = ["Spot", "Spots"]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a block: its box on the layout, and how many square millimetres under it carry ink."""

    box: Box
    inked: int

    @property
    def free(self) -> bool:
        """Whether nothing of the drawing lies there."""
        return self.inked == 0


class Spots:
    """Finds places by a summed-area table over the drawing's raster of inked square millimetres.

    The table's entry (j, i) is the number of inked cells above and left of it, so that the count in any box costs
    four look-ups (a textbook method, Crow 1984).
    """

    def __init__(self, raster: Raster, taken: Sequence[Box] = ()) -> None:
        self._raster = raster
        self._taken = tuple(taken)
        rows, columns = raster.cells.shape
        # A raster holds fewer cells than 2^31.
        self._sums: NDArray[np.int32] = np.zeros((rows + 1, columns + 1), dtype=np.int32)
        np.cumsum(raster.cells, axis=0, dtype=np.int32, out=self._sums[1:, 1:])
        np.cumsum(self._sums[1:, 1:], axis=1, out=self._sums[1:, 1:])

    def without(self, boxes: Sequence[Box]) -> Spots:
        """The same, with boxes on the layout taken as well."""
        other = copy(self)
        other._taken = (*self._taken, *boxes)
        return other

    def ink_in(self, box: Box) -> int:
        """How many square millimetres in a box on the layout carry ink."""
        rows, columns = self._raster.cells.shape
        x, y = self._raster.x0, self._raster.y0
        left, right = (min(max(column, 0), columns) for column in (floor(box.x0 - x), ceil(box.x1 - x)))
        top, bottom = (min(max(row, 0), rows) for row in (floor(box.y0 - y), ceil(box.y1 - y)))
        at = self._sums
        return int(at[bottom, right] - at[top, right] - at[bottom, left] + at[top, left])

    def best(self, within: Box, size: Size, near: Point, step: int = 4) -> Spot | None:
        """The place of a block in a box that covers the least ink; among equals the one nearest to `near`.

        Args:
            within: where the block may lie, on the layout.
            size: of the block, mm.
            near: where the block's top left corner would best be.
            step: places are tried this many mm apart.

        Returns:
            None where the box is smaller than the block.
        """
        xs = _stations(within.x0, within.x1 - size.width, step)
        ys = _stations(within.y0, within.y1 - size.height, step)
        if not len(xs) or not len(ys):
            return None
        left, right = self._columns(xs, 0), self._columns(xs + size.width, 1)
        top, bottom = self._rows(ys, 0), self._rows(ys + size.height, 1)
        at = self._sums
        counts = at[np.ix_(bottom, right)] - at[np.ix_(top, right)] - at[np.ix_(bottom, left)] + at[np.ix_(top, left)]
        for box in self._taken:
            meets_x = (xs < box.x1) & (xs + size.width > box.x0)
            meets_y = (ys < box.y1) & (ys + size.height > box.y0)
            counts = counts + np.where(np.outer(meets_y, meets_x), int(box.width * box.height) + 1, 0)
        least = counts.min()
        rows, columns = np.nonzero(counts == least)
        nearest = np.hypot(xs[columns] - near.x, ys[rows] - near.y).argmin()
        x, y = float(xs[columns[nearest]]), float(ys[rows[nearest]])
        return Spot(Box(x, y, x + size.width, y + size.height), int(least))

    def _columns(self, xs: NDArray[np.float64], upwards: int) -> NDArray[np.int64]:
        return _index(xs - self._raster.x0, self._raster.cells.shape[1], upwards)

    def _rows(self, ys: NDArray[np.float64], upwards: int) -> NDArray[np.int64]:
        return _index(ys - self._raster.y0, self._raster.cells.shape[0], upwards)


def _index(values: NDArray[np.float64], most: int, upwards: int) -> NDArray[np.int64]:
    """Cell boundaries around places, outwards, held to the raster."""
    rounded = np.ceil(values) if upwards else np.floor(values)
    return np.asarray(np.clip(rounded, 0, most), dtype=np.int64)


def _stations(first: float, last: float, step: int) -> NDArray[np.float64]:
    if last < first:
        return np.zeros(0)
    count = int((last - first) // step) + 1
    return first + step * np.arange(count, dtype=np.float64)
