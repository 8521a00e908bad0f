"""The kinds of values that options take, each from a function that reads the text."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from tiling.lengths import MM_PER_INCH, is_in_inches, parse_length, parse_percent

if TYPE_CHECKING:
    from tiling.altering.named_places import NamedPlace
    from tiling.planning.plan import Margins
    from tiling.reading.options import TrueDistance
    from tiling.shapes.straights import Straight

__all__ = [
    "CLOTH_WIDTH",
    "CUT_LINE",
    "DAY",
    "FILE",
    "LENGTH",
    "MARGINS",
    "MEASURE",
    "MEASURES",
    "NAMED_PLACE",
    "RATE",
    "RULER_SIDE",
    "SCALE",
    "SHARE",
    "SHRINKAGE",
    "SIGNED_LENGTH",
    "TOLERANCE",
    "TRUE",
    "RulerSide",
]

_LARGEST_TOLERANCE = 0.05


class _Kind(click.ParamType[Any]):
    """Values read by a function that raises ValueError with what is wrong, and how to write it."""

    def __init__(self, name: str, read: Callable[[str], object]) -> None:
        self.name = name
        self._read = read

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The value; one that is none of a text any more is taken as it is."""
        if not isinstance(value, str):
            return value
        try:
            return self._read(value)
        except ValueError as wrong:
            self.fail(str(wrong), param, ctx)


def _length(text: str) -> float:
    """A length with its unit, as mm; a bare number is refused with a hint."""
    length = parse_length(text)
    if length < 0:
        raise ValueError(f"'{text}' is negative; give a length of nought or more.")
    return length


def _margins(text: str) -> Margins:
    """One length for all sides, or four for left, top, right and bottom, with commas between."""
    from tiling.planning.plan import Margins

    sides = [_length(part.strip()) for part in text.split(",")]
    if len(sides) not in {1, 4}:
        raise ValueError(f"'{text}': give one length, or four: left,top,right,bottom.")
    return Margins.even(sides[0]) if len(sides) == 1 else Margins(*sides)


class RulerSide(NamedTuple):
    """What a ruler shows: a side of the 100 mm square, mm, worked out from the dashed one where it was in inches."""

    mm: float
    dashed: bool


def _ruler_side(text: str) -> RulerSide:
    """A length; inches are those of the dashed square of 4 in."""
    dashed = is_in_inches(text)
    return RulerSide(_length(text) * (100.0 / (4 * MM_PER_INCH) if dashed else 1.0), dashed)


def _tolerance(text: str) -> float:
    """A share in per cent, above 0 and up to 5 %."""
    share = parse_percent(text)
    if not 0 < share <= _LARGEST_TOLERANCE:
        raise ValueError(f"'{text}' is not between 0 % and 5 %.")
    return share


def _shrinkage(text: str) -> float:
    """A share in per cent, from 0 up to but not including 50 %."""
    share = parse_percent(text)
    if not 0 <= share < 0.5:
        raise ValueError(f"'{text}': cloth loses from 0% to under 50% in the wash.")
    return share


def _day(text: str) -> str:
    """A day in ISO 8601, such as 2026-05-01."""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise ValueError(f"'{text}' is no day; write it as 2026-05-01.") from None


def _named_length(text: str, *, bare: bool) -> tuple[str, float]:
    """``NAME=LENGTH``; where `bare` is set, a length alone is taken with an empty name."""
    name, sign, length = text.rpartition("=")
    if not sign and not bare:
        raise ValueError(f"'{text}' names no measure; write it as waist=78cm.")
    if sign and not name.strip():
        raise ValueError(f"'{text}' has no name before the equals sign.")
    mm = _length(length.strip())
    if mm <= 0:
        raise ValueError(f"'{text}' must be more than nought.")
    return name.strip(), mm


def _measures(text: str) -> dict[str, float]:
    """``waist=900mm,hip=1040mm`` as mm by name."""
    measures = {}
    for part in text.split(","):
        name, equals, length = part.partition("=")
        if not equals or not name.strip():
            raise ValueError(f"'{part.strip()}' is no measure; write it as waist=90cm,hip=104cm.")
        measures[name.strip()] = parse_length(length.strip())
        if measures[name.strip()] <= 0:
            raise ValueError(f"'{part.strip()}': a body measure is more than nought.")
    return measures


def _rate(text: str) -> float:
    """A number of px to the inch."""
    try:
        rate = float(text)
    except ValueError:
        rate = 0.0
    if not 1 <= rate <= 10_000:
        raise ValueError(f"'{text}' is no number of px to the inch; write 96, for example, without a unit.")
    return rate


def _scale(text: str) -> float:
    """A factor, plain or in per cent."""
    from tiling.reading.options import LARGEST_SCALE, SMALLEST_SCALE

    try:
        scale = parse_percent(text) if text.rstrip().endswith("%") else float(text)
    except ValueError:
        scale = 0.0
    if not SMALLEST_SCALE <= scale <= LARGEST_SCALE:
        raise ValueError(
            f"'{text}' is no scale; write 1.0214 or 102.14%, from {SMALLEST_SCALE:g} to {LARGEST_SCALE:g}."
        )
    return scale


def _true(text: str) -> TrueDistance:
    """``x1,y1 x2,y2 = length``, every number with its unit, from the drawing's top left corner."""
    from tiling.reading.options import TrueDistance

    points, equals, length = text.rpartition("=")
    if not equals:
        raise ValueError(
            f"'{text}' says no length; write two points and what lies between, '2cm,3cm 22cm,3cm = 20.4cm'."
        )
    line = _cut_line(points)
    try:
        return TrueDistance(line.start, line.end, _length(length.strip()))
    except ValueError as wrong:
        raise ValueError(f"'{text}': {wrong}") from None


def _cut_line(text: str) -> Straight:
    """``x1,y1 x2,y2``, every number with its unit, from the drawing's top left corner."""
    from tiling.shapes import Point
    from tiling.shapes.straights import Straight

    points = [part.split(",") for part in text.split()]
    if len(points) != 2 or any(len(point) != 2 for point in points):
        raise ValueError(f"'{text}' is no line; write two points, such as '25cm,5cm 25cm,70cm'.")
    start, end = (Point(*(parse_length(number) for number in point)) for point in points)
    return Straight(start, end)


def _named_place(text: str) -> NamedPlace:
    """``PIECE LENGTH from [the] EDGE``; a piece's title may have several words."""
    from tiling.altering.named_places import NamedPlace

    found = re.fullmatch(r"(.+?)\s+(\S*\d\S*)\s+from\s+(?:the\s+)?(.+)", " ".join(text.split()))
    if not found:
        raise ValueError(f"'{text}' is no place; write it such as 'front 30cm from the waist'.")
    return NamedPlace(found[1], _length(found[2]), found[3])


class _File(click.Path):
    """A file's name; one that can't be a file's is refused as such, and nothing is made of it."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """See `click.ParamType`."""
        if value == "-":
            self.fail("a dash alone is no file; name one.", param, ctx)
        if str(value).endswith(("/", os.sep)):
            self.fail(f"{value!r} is a folder's name; give that of a file.", param, ctx)
        return super().convert(value, param, ctx)


FILE: click.Path = _File(path_type=Path, readable=False)
"""A file's name; whether it can be read or written is told by those who do it, with the code for that."""
LENGTH = _Kind("length", _length)
SIGNED_LENGTH = _Kind("length", parse_length)
MARGINS = _Kind("length", _margins)
SHARE = _Kind("share", parse_percent)
TOLERANCE = _Kind("share", _tolerance)
SHRINKAGE = _Kind("percent", _shrinkage)
DAY = _Kind("date", _day)
MEASURE = _Kind("name=length", partial(_named_length, bare=False))
CLOTH_WIDTH = _Kind("name=length", partial(_named_length, bare=True))
MEASURES = _Kind("measures", _measures)
CUT_LINE = _Kind("line", _cut_line)
NAMED_PLACE = _Kind("place", _named_place)
RATE = _Kind("number", _rate)
SCALE = _Kind("number", _scale)
TRUE = _Kind("distance", _true)
RULER_SIDE = _Kind("length", _ruler_side)
