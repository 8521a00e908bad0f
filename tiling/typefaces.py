"""The fonts at hand: which stands in for a family asked for, how wide its text runs, and which characters it lacks.

At hand are the 14 standard fonts of PDF (ISO 32000-1, 9.6.2.2), which write what WinAnsi holds (annex D.2), and for
all else Vera, which ships with reportlab and is embedded.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

__all__ = [
    "STANDARD",
    "WIDE",
    "WIDE_BOLD",
    "embedded",
    "family_like",
    "fits_winansi",
    "missing_glyphs",
    "standard_font",
    "width_of",
]

WIDE, WIDE_BOLD = "Vera", "VeraBd"
"""The embedded fonts for characters that the standard ones can't show."""

_FAMILIES = {
    "Helvetica": ("Helvetica", "Helvetica-Bold", "Helvetica-Oblique", "Helvetica-BoldOblique"),
    "Times": ("Times-Roman", "Times-Bold", "Times-Italic", "Times-BoldItalic"),
    "Courier": ("Courier", "Courier-Bold", "Courier-Oblique", "Courier-BoldOblique"),
}
STANDARD = frozenset({*(name for names in _FAMILIES.values() for name in names), "Symbol", "ZapfDingbats"})
"""The names of the 14 fonts that every PDF reader has."""

_MONO = re.compile(r"mono|courier|consol|typewriter|code|fixed")
_SERIF = re.compile(
    r"times|serif|roman|georgia|garamond|palatino|cambria|bookman|book|century|antiqua|baskerville|caslon|didot"
)


def family_like(name: str) -> str:
    """The standard family nearest to one asked for: ``Courier``, ``Times`` or ``Helvetica``."""
    plain = name.lower()
    if _MONO.search(plain):
        return "Courier"
    return "Times" if _SERIF.search(plain) and "sans" not in plain else "Helvetica"


def standard_font(family: str, *, bold: bool, slanted: bool) -> str:
    """The name of the standard font of a standard family, by weight and slant."""
    return _FAMILIES[family][bold + 2 * slanted]


def fits_winansi(text: str) -> bool:
    """Whether the standard fonts can write the text."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


@cache
def embedded(name: str) -> TTFont:
    """One of the embedded fonts, made known to reportlab."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and rarely needed
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415 - heavy, and rarely needed

    font = TTFont(name, f"{name}.ttf")
    pdfmetrics.registerFont(font)
    return font


def missing_glyphs(text: str) -> str:
    """The characters that neither the standard fonts nor the embedded one can write, each once."""
    if fits_winansi(text):
        return ""
    known = embedded(WIDE).face.charToGlyph
    return "".join(dict.fromkeys(c for c in text if not fits_winansi(c) and ord(c) not in known))


def width_of(text: str, font: str, size: float) -> float:
    """The width of one line, in the unit of `size`; `font` is a standard one, an embedded one or one made known."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and rarely needed

    if font in {WIDE, WIDE_BOLD}:
        embedded(font)
    return float(pdfmetrics.stringWidth(text, font, size))
