"""A drawing before and after an alteration, one over the other, as a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tiling.drawing.picture import picture_of
from tiling.pattern import Colour, Line, Mark, Pattern, Stroke, Style

__all__ = ["before_and_after"]

BEFORE = Colour(0.88, 0.42, 0.05)
"""What was there before; what is there now is black, what didn't change is grey."""

SAME = Colour(0.62, 0.62, 0.62)
_LONGEST = 2200


def before_and_after(before: Pattern, after: Pattern) -> bytes:
    """A PNG of both: the lines that changed as they were (orange, dashed) under all lines as they are now."""
    marks: list[Mark] = []
    kept = {id(mark) for mark in before.marks}
    for old in before.marks:
        if isinstance(old, Line) and not _is_in(old, after.marks):
            marks.append(_drawn(old, Stroke(1.0, BEFORE, dashes=(5.0, 2.0))))
    for new in after.marks:
        if not isinstance(new, Line):
            marks.append(new)
        elif id(new) in kept or _is_in(new, before.marks):
            marks.append(_drawn(new, Stroke(0.6, SAME)))
        else:
            marks.append(_drawn(new, Stroke(1.0)))
    return picture_of(after.with_marks(marks), _LONGEST)


def _is_in(line: Line, marks: Sequence[Mark]) -> bool:
    return any(isinstance(mark, Line) and (mark is line or mark.path == line.path) for mark in marks)


def _drawn(line: Line, stroke: Stroke) -> Line:
    """The line in one colour; words drawn as outlines keep their look."""
    return line if line.style.stroke is None else replace(line, style=Style(stroke=stroke))
