"""The test square as drawn on a written page, read back from its path by PDFium."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from ctypes import byref, c_float

import pypdfium2
import pypdfium2.raw as pdfium

from tiling.lengths import MM_PER_POINT
from tiling.proof.own_marks import own_marks
from tiling.shapes import Size

__all__ = ["square_drawn"]

_LEAST, _MOST = 75.0, 130.0


def square_drawn(data: bytes, number: int, unit: float, meant: Size) -> Size | None:
    """The sides, mm, of the closed rectangle among our own marks that is nearest to the size it is meant to have.

    Args:
        data: the written PDF.
        number: of the page, from 1.
        unit: the page's UserUnit.
        meant: the size looked for; only rectangles of 75 to 130 mm a side are considered.

    Returns:
        None where there is no such rectangle.
    """
    scale = MM_PER_POINT * unit
    with closing(pypdfium2.PdfDocument(data)) as document:
        sizes = [Size(width * scale, height * scale) for width, height in _rectangles(document[number - 1])]
    near = [size for size in sizes if all(_LEAST < side < _MOST for side in (size.width, size.height))]
    return min(near, key=lambda s: abs(s.width - meant.width) + abs(s.height - meant.height), default=None)


def _rectangles(page: pypdfium2.PdfPage) -> Iterator[tuple[float, float]]:
    """Width and height of every closed path of four corners in our marks: on a tile's page, those of their forms."""
    forms = [part.raw for part in own_marks(page) if part.type == pdfium.FPDF_PAGEOBJ_FORM] or [None]
    for part in (part for form in forms for part in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_PATH,), form=form)):
        count = pdfium.FPDFPath_CountSegments(part)
        # The square of four inches has as many points and stays open.
        if count in {4, 5} and pdfium.FPDFPathSegment_GetClose(pdfium.FPDFPath_GetPathSegment(part, count - 1)):
            yield _extent(part, count)


def _extent(part: pypdfium2.PdfObject, count: int) -> tuple[float, float]:
    """The path's own width and height, without its line width, in units of the page."""
    move = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(part, byref(move))
    across, up = [], []
    for number in range(count):
        x, y = c_float(), c_float()
        pdfium.FPDFPathSegment_GetPoint(pdfium.FPDFPath_GetPathSegment(part, number), byref(x), byref(y))
        across.append(move.a * x.value + move.c * y.value + move.e)
        up.append(move.b * x.value + move.d * y.value + move.f)
    return max(across) - min(across), max(up) - min(up)
