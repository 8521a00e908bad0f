"""A paragraph of the booklet in letters drawn as outlines: for scripts that no font of ours writes as they are."""

from __future__ import annotations

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable

from tiling.drawing.lettering import Face, letter, text_width
from tiling.fonts.shaping import reads_leftwards

__all__ = ["OutlinedParagraph"]

_CLOSE_SET = "\u2e80"
"""From here on scripts have no spaces between words, and a line may end after any letter."""


class OutlinedParagraph(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Lines broken at spaces, or anywhere in scripts without them.

    Args:
        text: what is written.
        face: the weight.
        style: sizes, spaces, indent, alignment and colour; its font is not used.
        mark: what stands before the first line, in the style's font for marks.
    """

    def __init__(self, text: str, face: Face, style: ParagraphStyle, mark: str = "") -> None:
        super().__init__()
        self._text, self._face, self.style, self._mark = text, face, style, mark
        self._lines: list[str] = []
        self.keepWithNext = getattr(style, "keepWithNext", 0)

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """The room it takes, in points (called by platypus)."""
        self.width = width
        room = width - self.style.leftIndent
        self._lines, line = [], ""
        for word in _words(self._text):
            if line and self._width(line + word.rstrip()) > room:
                self._lines.append(line.rstrip())
                line = ""
            line += word
        self._lines.append(line.rstrip())
        self.height = len(self._lines) * self.style.leading
        return width, self.height

    def getSpaceBefore(self) -> float:  # noqa: N802 - reportlab's name
        """Called by platypus."""
        return float(self.style.spaceBefore)

    def getSpaceAfter(self) -> float:  # noqa: N802 - reportlab's name
        """Called by platypus."""
        return float(self.style.spaceAfter)

    def draw(self) -> None:
        """Draw on the canvas (called by platypus, its origin at the block's lower left corner)."""
        style = self.style
        self.canv.setFillColor(style.textColor)
        right = style.alignment == 2 or reads_leftwards(self._text)
        y = self.height - style.fontSize
        if self._mark:
            self.canv.setFont(style.bulletFontName, style.bulletFontSize)
            self.canv.drawString(0, y, self._mark)
        for line in self._lines:
            self.canv.saveState()
            spare = self.width - self._width(line) if right else style.leftIndent
            self.canv.translate(spare, y)
            letter(self.canv, line, style.fontSize, self._face)
            self.canv.restoreState()
            y -= style.leading

    def _width(self, text: str) -> float:
        return text_width(text, self.style.fontSize, self._face)


def _words(text: str) -> list[str]:
    """What a line may end after, each with the space behind it."""
    parts: list[str] = []
    for word in text.split():
        start = 0
        for at in range(1, len(word)):
            if word[at - 1] >= _CLOSE_SET:
                parts.append(word[start:at])
                start = at
        parts.append(f"{word[start:]} ")
    return parts
