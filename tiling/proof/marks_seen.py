"""Whether our marks can be seen on a page, whatever of the drawing lies there.

A page is rendered with our marks and without: where the two pictures differ, a mark stands out from its surroundings.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from tiling.proof.expectation import MarkToSee
from tiling.proof.own_marks import drop_own_marks
from tiling.proof.raster import Darkness, PixelGrid, render
from tiling.shapes import Affine, Box, Point

__all__ = ["unseen_marks"]

_STANDS_OUT = 45
"""Of 255, summed up across a line: less than any line of ours changes, on any ground."""
_BESIDE = (0.6, 0.8, 1.0, 1.2, 1.4)
"""mm: where it must be lighter than on a line that is to be taken for one; dense lines are none."""
_DARK = 100
_HUGE, _DEEP = 500_000_000, 8
"""Pixels: more of them cost more each time that anything of the page is drawn than the whole page does in our pixels;
and how many forms may lie in one another around a picture."""
_PITCH, _FINE_PITCH = 0.15, 0.05
"""mm: on middling ground a darker line and the lighter halo beside it weigh each other up in coarser pixels."""


def unseen_marks(
    groups: Sequence[Sequence[MarkToSee]], page: pypdfium2.PdfPage, move: Affine, *, closely: bool = False
) -> tuple[MarkToSee, ...]:
    """Those of the marks that don't stand out along enough of their length; leaves the page without any of ours.

    Args:
        groups: what is looked for, those that lie together at a time.
        page: with our marks and the drawing.
        move: from PDFium's page units (as displayed, y down) to mm on the layout.
        closely: in pixels that a line and the halo beside it don't share, at nine times the work; for those that were
            not seen otherwise.
    """
    if len(groups) > 1 and _picture_pixels(page) > _HUGE:
        groups = [[mark for marks in groups for mark in marks]]
    grids = [PixelGrid.over(_around(marks).grown(1.0), _FINE_PITCH if closely else _PITCH) for marks in groups]
    shown = [render(page, move, grid) for grid in grids]
    drop_own_marks(page)
    unseen: list[MarkToSee] = []
    for marks, grid, one in zip(groups, grids, shown, strict=True):
        bare = render(page, move, grid)
        changed = np.maximum(one, bare) - np.minimum(one, bare)
        unseen += [mark for mark in marks if _share_seen(mark, changed, one, grid) < mark.share]
    return tuple(unseen)


def _picture_pixels(page: pypdfium2.PdfPage) -> int:
    """How many pixels the pictures on a page have."""
    pictures = page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_IMAGE,), max_depth=_DEEP)
    return sum(width * height for width, height in (picture.get_px_size() for picture in pictures))


def _share_seen(mark: MarkToSee, changed: Darkness, shown: Darkness, grid: PixelGrid) -> float:
    """The share of a mark's length on which the page changes for it, or where a line of the drawing lies just there."""
    runs = [_stations(start, end, grid.pitch / 2) for start, end in mark.strokes]
    places = np.vstack(runs)
    # A third of the nine pixels around is what three across a line sum up to.
    total = np.zeros(len(places), dtype=np.int64)
    for row, column in np.ndindex(3, 3):
        total += _picked(changed, places + grid.pitch * np.array([column - 1, row - 1]), grid)
    seen = total >= 3 * _STANDS_OUT
    if seen.mean() < mark.share:  # only then is it worth looking for the drawing's own lines
        seen |= np.concatenate([_on_a_line(run, shown, grid) for run in runs])
    return float(seen.mean())


def _on_a_line(places: NDArray[np.float64], shown: Darkness, grid: PixelGrid) -> NDArray[np.bool_]:
    """Where along a stroke the page is dark, and lighter on both sides: a line of the drawing runs there."""
    along = places[-1] - places[0]
    aside = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), grid.pitch)
    beside = [_picked(shown, places + aside * step, grid) for away in _BESIDE for step in (away, -away)]
    own = _picked(shown, places, grid).astype(np.int64) - np.max(beside, axis=0)
    return np.asarray(own >= _DARK)


def _picked(picture: Darkness, places: NDArray[np.float64], grid: PixelGrid) -> Darkness:
    """The pixels' values at places, (n, 2) in mm on the layout; 0 beyond the picture."""
    columns, rows = np.floor((places - (grid.box.x0, grid.box.y0)) / grid.pitch).astype(np.int64).T
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
