"""The whole drawing in small, as a PNG, rendered by PDFium."""

from __future__ import annotations

from io import BytesIO

import pypdfium2

from tiling.drawing.forms import layout_page
from tiling.drawing.sources import parts_of, sources_of
from tiling.lengths import MM_PER_POINT
from tiling.pattern import Pattern
from tiling.shapes import Box

__all__ = ["picture_of"]

_LONGEST = 1600
_FINEST = 150 / 25.4  # pixels per mm


def picture_of(pattern: Pattern, longest: int = _LONGEST) -> bytes:
    """The drawing as it is read, in colour, on white.

    Args:
        pattern: what to show.
        longest: pixels along the longer side; fewer for a small drawing, which is shown at 150 dpi at most.

    Returns:
        A PNG file; the same drawing gives the same bytes.
    """
    box = Box(0.0, 0.0, pattern.size.width, pattern.size.height)
    data, _ = layout_page(parts_of(sources_of(pattern), pattern, ()), box)
    per_mm = min(_FINEST, longest / max(box.width, box.height))
    document = pypdfium2.PdfDocument(data)
    try:
        image = document[0].render(scale=per_mm * MM_PER_POINT).to_pil()
    finally:
        document.close()
    stream = BytesIO()
    image.save(stream, "PNG", optimize=True)
    return stream.getvalue()
