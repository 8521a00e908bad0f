"""Where a PDF page's visible part lies and how it maps to the sheet (ISO 32000-2, 7.7.3.3 and 14.11.2)."""

from __future__ import annotations

from dataclasses import dataclass

from pypdf.generic import ArrayObject, DictionaryObject, PdfObject

from tiling.content.lexer import number
from tiling.content.streams import resolved
from tiling.failures import InputUnfit
from tiling.shapes import Affine, Box, Size

__all__ = ["PageFrame", "page_frame", "page_turn"]

MM_PER_UNIT = 25.4 / 72
_LETTER = Box(0.0, 0.0, 612.0, 792.0)
"""What viewers take for a page without a MediaBox."""


@dataclass(frozen=True, slots=True)
class PageFrame:
    """The visible part of a page.

    Attributes:
        box: in default user space units (y up).
        to_mm: from user space to the sheet, mm, y down, as the page is turned for reading.
        size: of the sheet in mm.
        note: what had to be assumed, empty when nothing.
    """

    box: Box
    to_mm: Affine
    size: Size
    note: str = ""


def _inherited(page: DictionaryObject, key: str) -> PdfObject | None:
    node: PdfObject | None = page
    for _ in range(60):
        if not isinstance(node, DictionaryObject):
            return None
        value = resolved(node.get(key))
        if value is not None:
            return value
        node = resolved(node.get("/Parent"))
    return None


def _number(value: PdfObject | None, otherwise: float) -> float:
    try:
        return float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return otherwise


def _box(value: PdfObject | None) -> Box | None:
    if not isinstance(value, ArrayObject) or len(value) < 4:
        return None
    x0, y0, x1, y1 = (number(str(resolved(item)).encode("latin-1", "replace")) for item in list(value)[:4])
    box = Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return box if box.width > 0 and box.height > 0 else None


def page_turn(page: DictionaryObject) -> int:
    """By how many quarters of a turn, clockwise, the page is shown."""
    return round(_number(_inherited(page, "/Rotate"), 0.0) / 90) % 4


def page_frame(page: DictionaryObject) -> PageFrame:
    """The page's CropBox within its MediaBox, turned by Rotate and scaled by UserUnit.

    Raises:
        InputUnfit: the page has no usable size.
    """
    media = _box(_inherited(page, "/MediaBox"))
    note = "" if media else "the page has no MediaBox; US letter was taken, as viewers do"
    media = media or _LETTER
    crop = _box(_inherited(page, "/CropBox"))
    box = (crop.common(media) if crop else None) or media
    if box.width <= 0 or box.height <= 0:
        box = media
    unit = _number(resolved(page.get("/UserUnit")), 1.0)
    if not 0 < unit < 1e6:
        raise InputUnfit(f"the page's UserUnit is {unit:g}; it must be above 0.")
    turn = page_turn(page)
    k = unit * MM_PER_UNIT
    size = Size(box.width * k, box.height * k)
    if max(size.width, size.height) > 1e7:
        raise InputUnfit("the page is larger than ten kilometres; its boxes are damaged.")
    moves = (
        Affine(k, 0.0, 0.0, -k, -box.x0 * k, box.y1 * k),
        Affine(0.0, k, k, 0.0, -box.y0 * k, -box.x0 * k),
        Affine(-k, 0.0, 0.0, k, box.x1 * k, -box.y0 * k),
        Affine(0.0, -k, -k, 0.0, box.y1 * k, box.x1 * k),
    )
    return PageFrame(box, moves[turn], size.turned() if turn % 2 else size, note)
