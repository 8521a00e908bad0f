"""Pictures of pages by PDFium, an independent renderer, laid exactly on a grid of pixels over the layout."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from tiling.shapes import Affine, Box

__all__ = ["Darkness", "PixelGrid", "difference", "page_to_mm", "render"]

Darkness = NDArray[np.uint8]
"""0 is paper, 255 is black."""

_MOST_PIXELS = 64_000_000
_LONGEST = 30_000
"""Pixels along a side: PDFium draws nothing right beyond 32,000."""


@dataclass(frozen=True, slots=True)
class PixelGrid:
    """Square pixels over a box of the layout, `pitch` mm each; the first one's corner is the box's corner."""

    box: Box
    pitch: float

    @classmethod
    def over(cls, box: Box, pitch: float) -> PixelGrid:
        """A grid over a box, coarser than asked for where that would take too many pixels."""
        least = max((box.width * box.height / _MOST_PIXELS) ** 0.5, box.width / _LONGEST, box.height / _LONGEST)
        return cls(box, max(pitch, least))

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return max(1, ceil(self.box.height / self.pitch)), max(1, ceil(self.box.width / self.pitch))

    def part(self, box: Box) -> tuple[slice, slice]:
        """The rows and columns that lie wholly inside a box."""
        rows, columns = self.shape
        y0, y1 = ceil((box.y0 - self.box.y0) / self.pitch - 1e-9), floor((box.y1 - self.box.y0) / self.pitch + 1e-9)
        x0, x1 = ceil((box.x0 - self.box.x0) / self.pitch - 1e-9), floor((box.x1 - self.box.x0) / self.pitch + 1e-9)
        y0, y1 = (min(max(y, 0), rows) for y in (y0, y1))
        x0, x1 = (min(max(x, 0), columns) for x in (x0, x1))
        return slice(y0, y1), slice(x0, x1)

    def sub(self, box: Box) -> tuple[PixelGrid, slice, slice]:
        """The grid's pixels that touch a box as a grid of their own, and where they lie in this one."""
        rows, columns = self.shape
        y0, x0 = (max(0, floor((a - b) / self.pitch)) for a, b in ((box.y0, self.box.y0), (box.x0, self.box.x0)))
        y1 = min(rows, ceil((box.y1 - self.box.y0) / self.pitch))
        x1 = min(columns, ceil((box.x1 - self.box.x0) / self.pitch))
        x, y = self.box.x0 + x0 * self.pitch, self.box.y0 + y0 * self.pitch
        own = Box(x, y, x + (x1 - x0) * self.pitch - 1e-9, y + (y1 - y0) * self.pitch - 1e-9)
        return PixelGrid(own, self.pitch), slice(y0, y1), slice(x0, x1)


def page_to_mm(page: pypdfium2.PdfPage, width: float, height: float) -> Affine:
    """From PDFium's page units (as displayed, y down) to mm on a sheet of known size in mm."""
    shown_width, shown_height = page.get_size()
    return Affine.scale(width / shown_width, height / shown_height)


def render(page: pypdfium2.PdfPage, to_layout: Affine, grid: PixelGrid, flags: int = 0) -> Darkness:
    """The page's ink on the grid.

    Args:
        page: shown as its boxes and rotation say.
        to_layout: from PDFium's page units (as displayed, y down) to mm on the layout.
        grid: what to fill.
        flags: of PDFium's, for annotations.

    Returns:
        An array of the grid's shape.
    """
    rows, columns = grid.shape
    move = Affine.scale(1 / grid.pitch) @ Affine.shift(-grid.box.x0, -grid.box.y0) @ to_layout
    bitmap = pypdfium2.PdfBitmap.new_native(columns, rows, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, columns, rows)
    matrix = pdfium.FS_MATRIX(move.a, move.b, move.c, move.d, move.e, move.f)
    # What lies beyond the page is not part of it, though PDFium would paint it here.
    shown = move.box(Box(0.0, 0.0, *page.get_size()))
    clip = pdfium.FS_RECTF(
        max(floor(shown.x0), 0), max(floor(shown.y0), 0), min(ceil(shown.x1), columns), min(ceil(shown.y1), rows)
    )
    pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page, ctypes.byref(matrix), ctypes.byref(clip), flags)
    picture = np.array(bitmap.to_numpy(), copy=True).reshape(rows, columns)
    bitmap.close()
    return 255 - picture


def difference(one: Darkness, other: Darkness, reach: int = 1) -> Darkness:
    """How much darker `one` is than `other` anywhere within `reach` pixels, aslant too; 0 where it is lighter."""
    wide = other
    for _ in range(reach):
        around = np.pad(wide, 1)
        tall = np.maximum(np.maximum(around[:-2], around[2:]), around[1:-1])
        wide = np.maximum(np.maximum(tall[:, :-2], tall[:, 2:]), tall[:, 1:-1])
    return np.maximum(one, wide) - wide
