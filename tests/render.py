"""Pictures of PDF pages by PDFium, an independent renderer, and how far two pictures differ."""

from __future__ import annotations

import numpy as np
import pypdfium2 as pdfium
from numpy.typing import NDArray

__all__ = ["ALIKE", "compare", "page_count", "render"]

ALIKE = 40.0
"""Pictures whose `compare` is below this (at 150 dpi and up) show the same lines."""

Picture = NDArray[np.float64]


def page_count(pdf: bytes) -> int:
    """How many pages PDFium finds."""
    document = pdfium.PdfDocument(pdf)
    try:
        return len(document)
    finally:
        document.close()


def render(pdf: bytes, page: int = 0, dpi: float = 150.0) -> Picture:
    """A page (from 0) as shades of grey: (rows, columns) float64 from 0 (black) to 255 (white)."""
    document = pdfium.PdfDocument(pdf)
    try:
        bitmap = document[page].render(scale=dpi / 72, grayscale=True, draw_annots=False, may_draw_forms=False)
        array = bitmap.to_numpy()
        return np.array(array.reshape(array.shape[0], array.shape[1]), dtype=np.float64)
    finally:
        document.close()


def _spread(picture: Picture, reach: int) -> NDArray[np.float64]:
    """All shifts of the picture by up to `reach` pixels, stacked."""
    rows, columns = picture.shape
    padded = np.pad(picture, reach, mode="edge")
    return np.stack(
        [padded[dy : dy + rows, dx : dx + columns] for dy in range(2 * reach + 1) for dx in range(2 * reach + 1)]
    )


def compare(one: Picture, other: Picture) -> float:
    """The largest difference (0 to 255) that anti-aliasing and half a pixel of shift can't explain.

    Both are blurred over 3 × 3 pixels, so that a thin line weighs the same wherever it falls between pixels; then
    each pixel must lie within what the other picture has in its 3 × 3 neighbourhood. Pictures of unequal size (by
    more than a pixel) differ wholly.
    """
    if max(abs(one.shape[0] - other.shape[0]), abs(one.shape[1] - other.shape[1])) > 1:
        return 255.0
    rows, columns = min(one.shape[0], other.shape[0]), min(one.shape[1], other.shape[1])
    blurred = [_spread(picture[:rows, :columns], 1).mean(axis=0) for picture in (one, other)]
    worst = 0.0
    for mine, yours in (blurred, blurred[::-1]):
        around = _spread(yours, 1)
        excess = np.maximum(mine - around.max(axis=0), around.min(axis=0) - mine)
        worst = max(worst, float(excess.max(initial=0.0)))
    return worst
