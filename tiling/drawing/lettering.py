"""Our own lettering: the font that writes a text in one of our faces, how wide it runs, how it fits a given width."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

from tiling.content.path_operators import path_operators
from tiling.fonts.shaping import plain_font, shaped, width_of
from tiling.shapes import Affine, Path
from tiling.typefaces import standard_font

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["Face", "font_for", "letter", "outlined", "shortened", "text_width", "wrapped"]


class Face(Enum):
    """The two weights of our lettering; the value names the font."""

    PLAIN = standard_font("Helvetica", bold=False, slanted=False)
    BOLD = standard_font("Helvetica", bold=True, slanted=False)


def font_for(text: str, face: Face = Face.PLAIN) -> str | None:
    """The embedded font that writes this text, as reportlab calls it; None where its letters are drawn as outlines."""
    return plain_font(face.value, text)


def outlined(text: str, size: float, face: Face = Face.PLAIN) -> Path:
    """One line as a path to fill, from its baseline's start, y up, in the unit of `size`."""
    return shaped(text, face.value).outline.moved(Affine.scale(size, -size))


def letter(canvas: Canvas, text: str, size: float, face: Face = Face.PLAIN) -> None:
    """Write one line from the canvas's origin, its y up."""
    font = font_for(text, face)
    if font is not None:
        canvas.setFont(font, size)
        canvas.drawString(0, 0, text)
        return
    path = outlined(text, size, face)
    if len(path.ops):
        canvas.addLiteral(f"{path_operators(path)} f")


def text_width(text: str, size: float, face: Face = Face.PLAIN) -> float:
    """Width of one line in the unit of `size`."""
    return width_of(text, face.value, size)


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
