"""Which font writes a text, how wide it comes out, and how it is fitted into a given width.

Helvetica, one of the fourteen fonts that every PDF reader has, writes what WinAnsi holds (ISO 32000-1 annex D.2);
anything else is written in Vera, which ships with reportlab and is embedded.
"""

from __future__ import annotations

from enum import Enum
from functools import lru_cache

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

__all__ = [
    "Face",
    "face_for",
    "fits_winansi",
    "font_for",
    "missing_glyphs",
    "shortened",
    "text_width",
    "wide_font",
    "wrapped",
]


class Face(Enum):
    """The two weights of our lettering; the value names the font for WinAnsi texts and the one for all others.

    The wide ones are for every line of a text of which some lines need them.
    """

    PLAIN = ("Helvetica", "Vera")
    BOLD = ("Helvetica-Bold", "VeraBd")
    WIDE = ("Vera", "Vera")
    WIDE_BOLD = ("VeraBd", "VeraBd")


@lru_cache(maxsize=4)
def _embedded(name: str) -> TTFont:
    font = TTFont(name, f"{name}.ttf")
    pdfmetrics.registerFont(font)
    return font


def fits_winansi(text: str) -> bool:
    """Whether the standard fonts can write the text."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def font_for(text: str, face: Face = Face.PLAIN) -> str:
    """The name of the font that writes this text; an embedded one is made known to reportlab first."""
    standard, wide = face.value
    return standard if standard != wide and fits_winansi(text) else wide_font(face)


def face_for(text: str, face: Face = Face.PLAIN) -> Face:
    """The face for all lines that a text is broken into, so that they look alike."""
    if fits_winansi(text):
        return face
    return Face.WIDE_BOLD if face in {Face.BOLD, Face.WIDE_BOLD} else Face.WIDE


def wide_font(face: Face = Face.PLAIN) -> str:
    """The name of the embedded font, made known to reportlab."""
    name = face.value[1]
    _embedded(name)
    return name


def missing_glyphs(text: str) -> str:
    """The characters that neither the standard fonts nor the embedded one can write, each once."""
    if fits_winansi(text):
        return ""
    known = _embedded("Vera").face.charToGlyph
    return "".join(dict.fromkeys(c for c in text if not fits_winansi(c) and ord(c) not in known))


def text_width(text: str, size: float, face: Face = Face.PLAIN) -> float:
    """Width of one line in the unit of `size`."""
    return float(pdfmetrics.stringWidth(text, font_for(text, face), size))


def shortened(text: str, size: float, width: float, face: Face = Face.PLAIN) -> str:
    """The text, or as much of its beginning as fits `width`, ended by an ellipsis."""
    if text_width(text, size, face) <= width:
        return text
    kept = text
    while kept and text_width(kept.rstrip() + "…", size, face) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def wrapped(text: str, size: float, width: float, face: Face = Face.PLAIN) -> list[str]:
    """The text broken at spaces into lines that fit `width`; a longer word is shortened."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, face) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = shortened(word, size, width, face)
    return [*lines, line] if line or not lines else lines
