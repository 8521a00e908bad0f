"""The fonts carried along: which stands in for a family asked for, and how wide its text runs.

They are as wide as the standard fonts of PDF (ISO 32000-1, 9.6.2.2), go by their names, write European scripts and
Hebrew, and are embedded wherever they are used.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

__all__ = [
    "CARRIED",
    "RIGHT_TO_LEFT",
    "STANDARD",
    "AskedFace",
    "drawn_with",
    "embedded",
    "family_like",
    "fits_winansi",
    "font_file",
    "standard_font",
    "writes_plainly",
]

_FAMILIES = {
    "Helvetica": ("Helvetica", "Helvetica-Bold", "Helvetica-Oblique", "Helvetica-BoldOblique"),
    "Times": ("Times-Roman", "Times-Bold", "Times-Italic", "Times-BoldItalic"),
    "Courier": ("Courier", "Courier-Bold", "Courier-Oblique", "Courier-BoldOblique"),
}
STANDARD = frozenset({*(name for names in _FAMILIES.values() for name in names), "Symbol", "ZapfDingbats"})
"""The names of the 14 fonts that every PDF reader has."""
_FILES = {
    name: f"{face}-{style}"
    for family, face in (("Helvetica", "Sans"), ("Times", "Serif"), ("Courier", "Mono"))
    for name, style in zip(_FAMILIES[family], ("Regular", "Bold", "Italic", "BoldItalic"), strict=True)
}
CARRIED = frozenset(_FILES)
"""Those of the 14 for which a font is carried along: all but the two of signs."""

_MONO = re.compile(r"mono|courier|consol|typewriter|code|fixed")
_SERIF = re.compile(
    r"times|serif|roman|georgia|garamond|palatino|cambria|bookman|book|century|antiqua|baskerville|caslon|didot"
)
_BOLD = ("bold", "black", "heavy", "semibold", "demi")
_SLANTED = ("italic", "oblique")
RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})
"""The bidirectional classes of what is written to the left (Unicode Standard Annex 9)."""
_SUBSET = re.compile(r"^[A-Z]{6}\+")  # what marks a PDF's font as a part of it (ISO 32000-1, 9.6.4)


@dataclass(frozen=True, slots=True)
class AskedFace:
    """A face as a text asks for it: ``DejaVu Sans-BoldItalic`` is family, weight and slant."""

    family: str
    bold: bool = False
    slanted: bool = False

    @classmethod
    def of(cls, name: str) -> AskedFace:
        """From one name, also of a PDF's font (``ABCDEF+Name,Bold``)."""
        name = _SUBSET.sub("", name)
        low = name.lower()
        family, _, cut = name.partition(",")[0].rpartition("-")
        if not family or not any(word in cut.lower() for word in (*_BOLD, *_SLANTED, "roman", "regular")):
            family = name.partition(",")[0]
        return cls(family, any(word in low for word in _BOLD), any(word in low for word in _SLANTED))

    @property
    def name(self) -> str:
        """All in one name."""
        cut = "Bold" * self.bold + "Italic" * self.slanted
        return f"{self.family}-{cut}" if cut else self.family

    @property
    def standard(self) -> str:
        """The name of the standard font that is most like it."""
        return standard_font(family_like(self.family), bold=self.bold, slanted=self.slanted)


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
    """Whether the text has only characters that PDF's own Latin encoding has (ISO 32000-1, annex D.2)."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def font_file(standard: str) -> Path:
    """The file of the font that is carried along for a standard one."""
    return Path(__file__).parent / "fonts" / f"{_FILES[standard]}.ttf"


def drawn_with(standard: str) -> str:
    """The name by which reportlab draws with a standard font's stand-in, which it embeds."""
    return str(embedded(standard).fontName) if standard in CARRIED else standard


@cache
def embedded(standard: str) -> TTFont:
    """The font carried along for a standard one, made known to reportlab."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and rarely needed
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415 - heavy, and rarely needed

    font = TTFont(f"Pageseam{_FILES[standard]}", str(font_file(standard)))
    pdfmetrics.registerFont(font)
    return font


def writes_plainly(text: str, standard: str) -> bool:
    """Whether the font carried along for a standard one has all glyphs, to be set from left to right one by one."""
    if fits_winansi(text):
        return True
    if standard not in CARRIED:
        return False
    known = embedded(standard).face.charToGlyph
    return all(
        ord(c) in known and unicodedata.bidirectional(c) not in RIGHT_TO_LEFT and unicodedata.category(c) != "Mn"
        for c in text
    )
