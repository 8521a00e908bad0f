"""A drawing before and after an alteration, one over the other, as a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tiling.drawing.lettering import text_width
from tiling.drawing.picture import picture_of
from tiling.pattern import Label, Line, Mark, Pattern
from tiling.shapes import Affine, Path, Point, Size
from tiling.style import Colour, Stroke, Style

__all__ = ["before_and_after"]

BEFORE = Colour(0.88, 0.42, 0.05)
"""What was there before; what is there now is black, what didn't change is grey."""

SAME = Colour(0.62, 0.62, 0.62)
_LONGEST = 2200
_BEFORE = Stroke(1.0, BEFORE, dashes=(5.0, 2.0))
_NOW = Stroke(1.0)
_SAME = Stroke(0.6, SAME)


def before_and_after(before: Pattern, after: Pattern) -> bytes:
    """A PNG of both: the lines that changed as they were (orange, dashed) under all lines as they are now."""
    marks: list[Mark] = []
    then, now = _runs(before.marks), _runs(after.marks)
    for old in before.marks:
        if isinstance(old, Line) and _run(old) not in now:
            marks.append(_drawn(old, _BEFORE))
    for new in after.marks:
        if isinstance(new, Line):
            marks.append(_drawn(new, _SAME if _run(new) in then else _NOW))
        else:
            marks.append(new)
    size = Size(max(before.size.width, after.size.width), max(before.size.height, after.size.height))
    key, height = _key(size)
    whole = replace(after.with_marks([*marks, *key]), size=Size(size.width, size.height + height), sheets=())
    return picture_of(whole, _LONGEST)


def _key(size: Size) -> tuple[list[Mark], float]:
    """What each kind of line means, in a row below the drawing; and how high that row is, mm."""
    letters = max(size.width, size.height) / 110
    x, y = 2 * letters, size.height + 1.5 * letters
    marks: list[Mark] = []
    for words, stroke in (("before", _BEFORE), ("now", _NOW), ("unchanged", _SAME)):
        run = Path.polyline([Point(x, y), Point(x + 5 * letters, y)])
        width = text_width(words, letters)
        marks += [
            Line(run, Style(stroke)),
            Label(words, Affine.shift(x + 5.8 * letters, y + 0.35 * letters), letters, advance=width),
        ]
        x += 8 * letters + width
    return marks, 3 * letters


def _runs(marks: Sequence[Mark]) -> set[tuple[bytes, bytes]]:
    return {_run(mark) for mark in marks if isinstance(mark, Line)}


def _run(line: Line) -> tuple[bytes, bytes]:
    """Where the line runs, as a key: equal for equal paths (adding 0.0 makes -0.0 the same as 0.0)."""
    return line.path.ops.tobytes(), (line.path.points + 0.0).tobytes()


def _drawn(line: Line, stroke: Stroke) -> Line:
    """The line in one colour; words drawn as outlines keep their look."""
    return line if line.style.stroke is None else replace(line, style=Style(stroke=stroke))
