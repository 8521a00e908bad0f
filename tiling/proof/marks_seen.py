"""Whether our marks can be seen on a page, whatever of the drawing lies there.

A page is rendered with our marks and without: where the two pictures differ, a mark stands out from its surroundings.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from tiling.proof.expectation import MarkToSee
from tiling.proof.own_marks import drop_own_marks
from tiling.proof.raster import Darkness, PixelGrid, render
from tiling.shapes import Affine, Box, Point

__all__ = ["unseen_marks"]

_STANDS_OUT = 45
"""Of 255, summed up across a line: less than any line of ours changes, on any ground."""
_PITCH = 0.15
"""mm: on ground about as grey as its halo, a line and the halo beside it weigh each other up in coarser pixels."""


def unseen_marks(groups: Sequence[Sequence[MarkToSee]], page: pypdfium2.PdfPage, move: Affine) -> tuple[MarkToSee, ...]:
    """Those of the marks that don't stand out along enough of their length; leaves the page without any of ours.

    Args:
        groups: what is looked for, those that lie together at a time.
        page: with our marks and the drawing.
        move: from PDFium's page units (as displayed, y down) to mm on the layout.
    """
    grids = [PixelGrid.over(_around(marks).grown(1.0), _PITCH) for marks in groups]
    shown = [render(page, move, grid) for grid in grids]
    drop_own_marks(page)
    unseen: list[MarkToSee] = []
    for marks, grid, one in zip(groups, grids, shown, strict=True):
        bare = render(page, move, grid)
        changed = np.maximum(one, bare) - np.minimum(one, bare)
        unseen += [mark for mark in marks if _share_seen(mark, changed, grid) < mark.share]
    return tuple(unseen)


def _share_seen(mark: MarkToSee, changed: Darkness, grid: PixelGrid) -> float:
    places = np.vstack([_stations(start, end, grid.pitch / 2) for start, end in mark.strokes])
    columns, rows = np.floor((places - (grid.box.x0, grid.box.y0)) / grid.pitch).astype(np.int64).T
    # A third of the nine pixels around is what three across a line sum up to.
    total = np.zeros(len(places), dtype=np.int64)
    for row, column in np.ndindex(3, 3):
        total += _picked(changed, rows + row - 1, columns + column - 1)
    return float(np.count_nonzero(total >= 3 * _STANDS_OUT)) / len(places)


def _picked(picture: Darkness, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> Darkness:
    """The pixels' values; 0 beyond the picture."""
    height, width = picture.shape
    inside = (rows >= 0) & (rows < height) & (columns >= 0) & (columns < width)
    return np.where(inside, picture[np.where(inside, rows, 0), np.where(inside, columns, 0)], 0).astype(np.uint8)


def _stations(start: Point, end: Point, step: float) -> NDArray[np.float64]:
    count = max(2, ceil(start.distance(end) / step))
    return np.linspace((start.x, start.y), (end.x, end.y), count)


def _around(marks: Sequence[MarkToSee]) -> Box:
    ends = [end for mark in marks for stroke in mark.strokes for end in stroke]
    box = Box.around(Box(end.x, end.y, end.x, end.y) for end in ends)
    assert box is not None
    return box
