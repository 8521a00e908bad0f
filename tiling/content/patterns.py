"""Patterns that repeat: refused where nobody could see, draw or print their cells (ISO 32000-2, 8.7.3)."""

from __future__ import annotations

from typing import Final

from pypdf.generic import DictionaryObject, PdfObject

from tiling.content.lexer import number
from tiling.content.scene import Bounds, Matrix
from tiling.content.streams import floats, resolved, word
from tiling.failures import InputUnfit

__all__ = ["check_fineness"]

_MOST_CELLS: Final = 50_000_000
"""Of one pattern on a page; a point's step on A0 has 8 million."""


def check_fineness(raw: PdfObject, parent: Matrix, shown: Bounds) -> None:
    """Refuse a tiling pattern so fine that a viewer or a printer would be busy with its cells for ever.

    Args:
        raw: the pattern; of another kind, it passes.
        parent: from the space that the pattern's own matrix leads to, to mm.
        shown: box around what is visible, mm.

    Raises:
        InputUnfit: its cells on the visible part of the page are too many.
    """
    pattern = resolved(raw)
    if not isinstance(pattern, DictionaryObject) or word(pattern.get("/PatternType")) != "1":
        return
    steps = [number(word(pattern.get(key)).encode("latin-1", "replace")) for key in ("/XStep", "/YStep")]
    cell = abs(steps[0] * steps[1])
    for a, b, c, d, *_ in (floats(pattern.get("/Matrix"), 6) or (1.0, 0.0, 0.0, 1.0), parent):
        cell *= abs(a * d - b * c)
    x0, y0, x1, y1 = shown
    # A step of zero is no pattern to any viewer.
    if cell > 0 and max(0.0, x1 - x0) * max(0.0, y1 - y0) > _MOST_CELLS * cell:
        raise InputUnfit(
            f"a pattern that fills a shape repeats more than {_MOST_CELLS:,} times on the page, too finely to be seen; "
            "fill the shape with a plain colour."
        )
