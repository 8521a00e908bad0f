"""Which of the fonts at hand stands in for a CSS font family, how wide its text runs, and which characters it lacks.

At hand are the 14 standard fonts of PDF (ISO 32000-1, section 9.6.2.2) and the Vera font that comes with reportlab.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from pathlib import Path

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from tiling.pattern import FindingKind
from tiling.reading.findings import FindingLog
from tiling.reading.svg_cascade import Computed

__all__ = ["WIDE_FONT", "drawable", "font_of", "width_of"]

WIDE_FONT = "Vera"
"""The embedded font for characters that the standard 14 can't show."""

_FACES = {
    "Helvetica": ("Helvetica", "Helvetica-Bold", "Helvetica-Oblique", "Helvetica-BoldOblique"),
    "Times": ("Times-Roman", "Times-Bold", "Times-Italic", "Times-BoldItalic"),
    "Courier": ("Courier", "Courier-Bold", "Courier-Oblique", "Courier-BoldOblique"),
}
_SAME = {
    "helvetica": "Helvetica", "sans-serif": "Helvetica", "sans": "Helvetica", "system-ui": "Helvetica",
    "ui-sans-serif": "Helvetica", "times": "Times", "times-roman": "Times", "serif": "Times", "ui-serif": "Times",
    "courier": "Courier", "monospace": "Courier", "mono": "Courier", "ui-monospace": "Courier", "vera": WIDE_FONT,
}  # fmt: skip
_SERIF = re.compile(
    r"times|serif|roman|georgia|garamond|palatino|bookman|book|century|antiqua|baskerville|caslon|didot"
)
_MONO = re.compile(r"mono|courier|consol|typewriter|code|fixed")


def font_of(style: Computed, log: FindingLog) -> str:
    """The base font for a text's style; a family that had to be replaced is noted once."""
    bold = style.get("font-weight", "normal").strip().lower()
    heavy = bold in {"bold", "bolder"} or (bold.isdigit() and int(bold) >= 600)
    slanted = style.get("font-style", "normal").strip().lower().split(" ")[0] in {"italic", "oblique"}
    family = _family(style.get("font-family", "sans-serif"), log)
    if family == WIDE_FONT:
        return WIDE_FONT
    return _FACES[family][heavy + 2 * slanted]


def _family(text: str, log: FindingLog) -> str:
    names = [name.strip().strip("'\"").strip() for name in text.split(",")]
    first = next((name for name in names if name), "sans-serif")
    known = _SAME.get(first.lower())
    if known:
        return known
    near = next((_SAME[name.lower()] for name in names if name.lower() in _SAME), None)
    if near is None:
        plain = first.lower()
        serif = _SERIF.search(plain) and "sans" not in plain
        near = "Courier" if _MONO.search(plain) else "Times" if serif else "Helvetica"
    shown = "".join(c for c in first if c.isprintable())[:40]
    log.add(FindingKind.TEXT_FONT_REPLACED, f"The font '{shown}' is not at hand; its text is written in {near}.")
    return near


@cache
def _wide() -> TTFont:
    """The embedded font, read from where reportlab keeps it."""
    return TTFont(WIDE_FONT, str(Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"))


def drawable(text: str, font: str, log: FindingLog) -> str:
    """The font that shows all of the text: the one asked for, or the wide one; what neither has is noted."""
    if _in_standard(text):
        return font
    glyphs = _wide().face.charToGlyph
    missing = sorted({c for c in text if ord(c) not in glyphs and not c.isspace()})
    if missing:
        names = ", ".join(f"U+{ord(c):04X} {unicodedata.name(c, '')}".strip() for c in missing[:5])
        more = f" and {len(missing) - 5} more" if len(missing) > 5 else ""
        log.add(
            FindingKind.GLYPH_MISSING, f"No font at hand has the characters {names}{more}; a box is drawn for them."
        )
    return WIDE_FONT


def _in_standard(text: str) -> bool:
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


@lru_cache(maxsize=4096)
def width_of(text: str, font: str, size: float) -> float:
    """The width of a run of text, in the unit of `size`."""
    if font == WIDE_FONT:
        return float(_wide().stringWidth(text, size))
    return float(pdfmetrics.stringWidth(text, font, size))
