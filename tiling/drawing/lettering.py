"""Our own lettering: the font that writes a text in one of our faces, how wide it runs, how it fits a given width."""

from __future__ import annotations

from enum import Enum

from tiling.typefaces import WIDE, WIDE_BOLD, embedded, fits_winansi, standard_font, width_of

__all__ = [
    "Face",
    "face_for",
    "font_for",
    "shortened",
    "text_width",
    "wide_font",
    "wrapped",
]


class Face(Enum):
    """The two weights of our lettering; the value names the font for WinAnsi texts and the one for all others.

    The wide ones are for every line of a text of which some lines need them.
    """

    PLAIN = (standard_font("Helvetica", bold=False, slanted=False), WIDE)
    BOLD = (standard_font("Helvetica", bold=True, slanted=False), WIDE_BOLD)
    WIDE = (WIDE, WIDE)
    WIDE_BOLD = (WIDE_BOLD, WIDE_BOLD)


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
    embedded(name)
    return name


def text_width(text: str, size: float, face: Face = Face.PLAIN) -> float:
    """Width of one line in the unit of `size`."""
    return width_of(text, font_for(text, face), size)


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
