"""A font of the machine embedded as a font, for text that needs no shaping: smaller, and it can be selected."""

from __future__ import annotations

import struct
import unicodedata
from functools import cache
from typing import TYPE_CHECKING

from tiling.fonts.machine import MachineFont
from tiling.typefaces import RIGHT_TO_LEFT

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["text_font"]

_LARGEST = 5_000_000
"""Bytes; reportlab takes seconds over larger files."""
# Scripts whose letters stand side by side as they are: Latin to Armenian, signs, East Asia's.
_SIDE_BY_SIDE = ((0x20, 0x58F), (0x1E00, 0x2BFF), (0x2E80, 0x9FFF), (0xAC00, 0xD7A3), (0xFF00, 0xFFEF))


def text_font(face: MachineFont, text: str) -> str | None:
    """The name by which reportlab writes all of the text in this face; None where its outlines are to be drawn."""
    if not all(any(low <= ord(c) <= high for low, high in _SIDE_BY_SIDE) for c in text):
        return None
    if any(
        unicodedata.category(c) in {"Mn", "Mc", "Cf"} or unicodedata.bidirectional(c) in RIGHT_TO_LEFT for c in text
    ):
        return None
    font = _known(face)
    return font.fontName if font is not None and all(ord(c) in font.face.charToGlyph for c in text) else None


@cache
def _known(face: MachineFont) -> TTFont | None:
    """The font made known to reportlab; None for outlines that aren't quadratic, and fonts that forbid embedding."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and rarely needed
    from reportlab.pdfbase.ttfonts import TTFError, TTFont  # noqa: PLC0415 - heavy, and rarely needed

    try:
        if face.varies or face.file.stat().st_size > _LARGEST:
            return None
        font = TTFont(f"{face.file}#{face.index}", str(face.file), subfontIndex=face.index)
    except (TTFError, OSError, ValueError, LookupError, struct.error):
        return None
    pdfmetrics.registerFont(font)
    # Of two files whose font says the same name reportlab knows only the first: the second is drawn as outlines.
    return font if pdfmetrics.getFont(font.fontName) is font else None
