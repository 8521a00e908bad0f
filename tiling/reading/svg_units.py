"""Numbers, lengths and lists of them as SVG writes them, in px (user units).

Absolute units: CSS Values and Units Level 4, section 6.2 (1in = 96px = 2.54cm = 25.4mm = 72pt = 6pc, 1Q = 1/4 mm).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from math import isfinite, sqrt

__all__ = ["CSS_PX_PER_INCH", "PER_INCH", "Axis", "ElementFault", "Lengths", "number", "numbers", "split_unit"]

CSS_PX_PER_INCH = 96.0
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FIND = re.compile(_NUMBER)
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([A-Za-z]*|%)\s*")
_NOT_FINITE = re.compile(r"\b(?:nan|inf|infinity)\b", re.IGNORECASE)
PER_INCH = {"in": 1.0, "cm": 2.54, "mm": 25.4, "q": 101.6, "pt": 72.0, "pc": 6.0}
"""How many of each go to the inch."""


class ElementFault(Exception):
    """An element's own content is unfit; the walker adds file, line and name."""


class Axis(Enum):
    """Which side of the viewport a per cent length is taken from."""

    X = "x"
    Y = "y"
    DIAGONAL = "diagonal"


def split_unit(text: str) -> tuple[float, str] | None:
    """The number and its unit in lower case ('' for none), or None when the text is no length.

    Raises:
        ElementFault: not finite.
    """
    found = _LENGTH.fullmatch(text)
    if found is None:
        _refuse_infinite(text)
        return None
    value = float(found[1])
    if not isfinite(value):
        raise ElementFault(f"the length '{text.strip()[:40]}' is not finite")
    return value, found[2].lower()


def number(text: str | None, default: float) -> float:
    """A plain number; the default when it is missing or no number."""
    parsed = split_unit(text) if text else None
    return parsed[0] if parsed and not parsed[1] else default


def numbers(text: str) -> list[float]:
    """All numbers in a list separated by spaces or commas.

    Raises:
        ElementFault: one of them is not finite.
    """
    _refuse_infinite(text)
    values = [float(word) for word in _FIND.findall(text)]
    if not all(map(isfinite, values)):
        raise ElementFault("a number in it is not finite")
    return values


def _refuse_infinite(text: str) -> None:
    if _NOT_FINITE.search(text):
        raise ElementFault(f"'{text.strip()[:40]}' is not a finite number")


@dataclass(frozen=True, slots=True)
class Lengths:
    """Turns lengths into user units: `width` and `height` are the viewport's, in user units."""

    width: float
    height: float
    px_per_inch: float = CSS_PX_PER_INCH
    root_font: float = 16.0

    def length(self, text: str | None, axis: Axis, default: float = 0.0, font: float = 16.0) -> float:
        """The length in user units, or the default when missing or unreadable; `font` is the font size for em."""
        if not text:
            return default
        parsed = split_unit(text)
        if parsed is None:
            return default
        value, unit = parsed
        if unit in {"", "px"}:
            return value
        factor = self._factor(unit, axis, font)
        return default if factor is None else value * factor

    def _factor(self, unit: str, axis: Axis, font: float) -> float | None:
        per_inch = PER_INCH.get(unit)
        if per_inch is not None:
            return self.px_per_inch / per_inch
        if unit == "%":
            return self._side(axis) / 100
        return {
            "em": font,
            "ex": font / 2,
            "ch": font / 2,
            "rem": self.root_font,
            "vw": self.width / 100,
            "vh": self.height / 100,
            "vmin": min(self.width, self.height) / 100,
            "vmax": max(self.width, self.height) / 100,
        }.get(unit)

    def _side(self, axis: Axis) -> float:
        if axis is Axis.X:
            return self.width
        if axis is Axis.Y:
            return self.height
        # SVG 2, section 8.9: sqrt((w² + h²) / 2)
        return sqrt((self.width**2 + self.height**2) / 2)
