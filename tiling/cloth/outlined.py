"""A paragraph of the booklet in letters drawn as outlines: for scripts that no font of ours writes as they are."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable

from tiling.drawing.lettering import Face, letter, text_width
from tiling.fonts.shaping import reads_leftwards

__all__ = ["LINKED", "Link", "OutlinedParagraph", "links_in"]

LINKED = Color(0.1, 0.28, 0.5)
"""Of words that lead to another place in the booklet."""

_CLOSE_SET = "\u2e80"
"""From here on scripts have no spaces between words, and a line may end after any letter."""

_OPENING, _CLOSING = "（「『【〈《［｛", "、。，．！？：；）」』】〉》］｝ー…々"
"""No line ends with the first of these, and none begins with the second."""


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead somewhere: where in a text, and the place's name in the booklet."""

    start: int
    end: int
    to: str


def links_in(text: str, places: Sequence[tuple[str, str]]) -> list[Link]:
    """Where names stand in a text as words of their own, the longest first; each with the place it leads to."""
    low, taken, found = text.casefold(), [False] * len(text), []
    if len(low) != len(text):  # A few letters have no lower case of the same length.
        low = text
    for name, to in sorted(places, key=lambda place: -len(place[0])):
        at = low.find(name.casefold())
        while name and at >= 0:
            end = at + len(name)
            alone = not (at and text[at - 1].isalnum()) and not (end < len(text) and text[end].isalnum())
            if (alone or name[0] >= _CLOSE_SET) and not any(taken[at:end]):
                taken[at:end] = [True] * (end - at)
                found.append(Link(at, end, to))
            at = low.find(name.casefold(), end)
    return sorted(found, key=lambda link: link.start)


class OutlinedParagraph(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Lines broken at spaces, in scripts without them anywhere, and in words wider than the text.

    Args:
        text: what is written.
        face: the weight.
        style: sizes, spaces, indent, alignment and colour; its font is not used.
        mark: what stands before the first line, in the style's font for marks.
        links: words of the text that lead somewhere.
    """

    def __init__(
        self, text: str, face: Face, style: ParagraphStyle, mark: str = "", links: Sequence[Link] = ()
    ) -> None:
        super().__init__()
        self._text, self._face, self.style, self._mark = text, face, style, mark
        self._links = tuple(links)
        self._lines: list[tuple[int, str]] = []
        self._broken = False
        self._widths: dict[str, float] = {}
        self.anchor = ""
        self.keepWithNext = getattr(style, "keepWithNext", 0)

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """The room it takes, in points (called by platypus)."""
        self.width = width
        if not self._broken:
            self._lines = self._broken_lines(width - self.style.leftIndent)
        self.height = len(self._lines) * self.style.leading
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        """The lines that fit the height, and the others (called by platypus)."""
        if not self._broken:
            self.wrap(width, height)
        fitting = int(height / self.style.leading + 1e-6)
        if fitting < 1 or fitting >= len(self._lines):
            return []
        return [self._part(self._lines[:fitting], self._mark), self._part(self._lines[fitting:], "")]

    def _part(self, lines: list[tuple[int, str]], mark: str) -> OutlinedParagraph:
        part = OutlinedParagraph(self._text, self._face, self.style, mark, self._links)
        part._lines, part._broken = lines, True
        part.anchor = self.anchor if lines[0][0] == 0 else ""
        return part

    def getSpaceBefore(self) -> float:  # noqa: N802 - reportlab's name
        """Called by platypus."""
        return float(self.style.spaceBefore)

    def getSpaceAfter(self) -> float:  # noqa: N802 - reportlab's name
        """Called by platypus."""
        return float(self.style.spaceAfter)

    def minWidth(self) -> float:  # noqa: N802 - reportlab's name
        """The widest that can't be broken (called by platypus's tables)."""
        return max((self._width(word) for _, word in _words(self._text)), default=0.0)

    def draw(self) -> None:
        """Draw on the canvas (called by platypus, its origin at the block's lower left corner)."""
        style = self.style
        leftwards = reads_leftwards(self._text)
        right = style.alignment == 2 or leftwards
        y = self.height - style.fontSize
        if self.anchor:
            self.canv.bookmarkHorizontal(self.anchor, 0, self.height)
        if self._mark:
            self.canv.setFillColor(style.textColor)
            self.canv.setFont(style.bulletFontName, style.bulletFontSize)
            if leftwards:
                self.canv.drawRightString(self.width, y, self._mark)
            else:
                self.canv.drawString(0, y, self._mark)
        for start, line in self._lines:
            x = self.width - self._width(line) - (style.leftIndent if leftwards else 0.0) if right else style.leftIndent
            linked = [link for link in self._links if link.start < start + len(line) and link.end > start]
            self.canv.saveState()
            self.canv.setFillColor(style.textColor)
            self.canv.translate(x, y)
            letter(self.canv, line, style.fontSize, self._face)
            self.canv.restoreState()
            for link in linked:
                self._link(line, link, start, (x, y), whole=leftwards)
            y -= style.leading

    def _link(self, line: str, link: Link, start: int, at: tuple[float, float], *, whole: bool) -> None:
        """Make the words lead there: those alone, or in writing to the left the line they stand on."""
        first, last = max(link.start - start, 0), min(link.end - start, len(line))
        before = 0.0 if whole else self._width(line[:first])
        words = line if whole else line[first:last]
        x, y = at[0] + before, at[1]
        size = self.style.fontSize
        if not whole:
            self.canv.saveState()
            self.canv.setFillColor(LINKED)
            self.canv.translate(x, y)
            letter(self.canv, words, size, self._face)
            self.canv.restoreState()
        self.canv.linkRect(
            "", link.to, (x, y - 0.2 * size, x + self._width(words), y + 0.8 * size), relative=1, thickness=0
        )

    def _width(self, text: str) -> float:
        return text_width(text, self.style.fontSize, self._face)

    def _word_width(self, word: str) -> float:
        if word not in self._widths:
            self._widths[word] = self._width(word)
        return self._widths[word]

    def _broken_lines(self, room: float) -> list[tuple[int, str]]:
        lines: list[tuple[int, str]] = []
        begin, line, wide = 0, "", 0.0
        for at, word in _words(self._text):
            # Words are measured one by one: to shape every beginning of every line anew would take minutes.
            bare, whole = self._word_width(word.rstrip()), self._word_width(word)
            if line and wide + bare > room:
                lines.append((begin, line.rstrip()))
                line = ""
            if not line:
                begin, wide = at, 0.0
            line, wide, bare = line + word, wide + whole, wide + bare
            while len(line.rstrip()) > 1 and bare > room:
                kept = self._fitting(line, room)
                lines.append((begin, line[:kept]))
                begin, line = begin + kept, line[kept:]
                bare = wide = self._width(line)
        return [*lines, (begin, line.rstrip())]

    def _fitting(self, word: str, room: float) -> int:
        """How many letters of a word that is too wide fit, never parting a letter from its marks."""
        low, high = 1, len(word)
        while low + 1 < high:
            middle = (low + high) // 2
            low, high = (middle, high) if self._width(word[:middle]) <= room else (low, middle)
        while low > 1 and unicodedata.combining(word[low]):
            low -= 1
        return low


def _words(text: str) -> list[tuple[int, str]]:
    """What a line may end after, each with the space behind it, and where in the text it begins."""
    parts: list[tuple[int, str]] = []
    start = 0
    for at in range(1, len(text)):
        before, here = text[at - 1], text[at]
        spaced = before == " " and here != " "
        close = before >= _CLOSE_SET and before not in _OPENING and here not in _CLOSING and here != " "
        if spaced or (close and not unicodedata.combining(here)):
            parts.append((start, text[start:at]))
            start = at
    return [*parts, (start, text[start:])]
