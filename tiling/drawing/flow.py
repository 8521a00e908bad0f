"""Words set down a column: headings, paragraphs and numbered steps, smaller where they would not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from tiling.drawing import styles
from tiling.drawing.lettering import wrapped
from tiling.drawing.pen import Pen, Type
from tiling.shapes import Box, Point

__all__ = ["TextRole", "Words", "set_columns", "set_words", "words_fit"]

_SIZES = (1.15, 1.07, 1.0, 0.94, 0.88, 0.82, 0.76, 0.7)
_LEADING = 1.34


class TextRole(Enum):
    """A paragraph's role, which settles its type and the space before it."""

    TITLE = "title"
    HEADING = "heading"
    BODY = "body"
    STEP = "step"
    SMALL = "small"


_STYLE = {
    TextRole.TITLE: styles.TITLE,
    TextRole.HEADING: styles.HEADING,
    TextRole.BODY: styles.BODY,
    TextRole.STEP: styles.BODY,
    TextRole.SMALL: styles.SMALL,
}
_BEFORE = {TextRole.TITLE: 0.0, TextRole.HEADING: 2.6, TextRole.BODY: 0.9, TextRole.STEP: 0.7, TextRole.SMALL: 0.9}
_INDENT = 5.0


@dataclass(frozen=True, slots=True)
class Words:
    """One paragraph; a step is set beside its `mark` (a number, a dash)."""

    kind: TextRole
    text: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class _SetLine:
    at: Point
    text: str
    style: Type


def set_words(pen: Pen, words: Sequence[Words], box: Box) -> float:
    """Set paragraphs down a box, at the largest size (of a few) at which they fit.

    Args:
        pen: takes the box's coordinates.
        words: from the top.
        box: mm, y down.

    Returns:
        The y below the last line. At the smallest size what does not fit runs on below the box.
    """
    return set_columns(pen, [(words, box)])[0]


def words_fit(words: Sequence[Words], box: Box) -> bool:
    """Whether the paragraphs fit the box (mm) at the smallest size."""
    return _laid_out(words, box, _SIZES[-1])[1] <= box.y1


def set_columns(pen: Pen, columns: Sequence[tuple[Sequence[Words], Box]]) -> list[float]:
    """Set several columns at one size, the largest at which all fit; returns the y below each one's last line."""
    for scale in _SIZES:
        laid_out = [_laid_out(words, box, scale) for words, box in columns]
        if all(end <= box.y1 for (_, end), (_, box) in zip(laid_out, columns, strict=True)):
            break
    for lines, _ in laid_out:
        for line in lines:
            pen.text(line.at, line.text, line.style)
    return [end for _, end in laid_out]


def _laid_out(words: Sequence[Words], box: Box, scale: float) -> tuple[list[_SetLine], float]:
    lines: list[_SetLine] = []
    y = box.y0
    for number, paragraph in enumerate(words):
        style = _STYLE[paragraph.kind]
        style = replace(style, size=style.size * scale)
        y += _BEFORE[paragraph.kind] * scale if number else 0.0
        indent = _INDENT * scale if paragraph.kind is TextRole.STEP else 0.0
        if paragraph.mark:
            lines.append(_SetLine(Point(box.x0, y + style.size), paragraph.mark, style))
        for text in wrapped(paragraph.text, style.size, box.width - indent, style.face):
            lines.append(_SetLine(Point(box.x0 + indent, y + style.size), text, style))
            y += style.size * _LEADING
    return lines, y
