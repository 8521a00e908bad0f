"""Reading values out of JSON that anyone may have written: every step says where it is and what it expects."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from typing import Any

from tiling.failures import Action, InputUnfit, Remedy

__all__ = ["JsonValue", "parsed"]


@dataclass(frozen=True, slots=True)
class JsonValue:
    """A value from JSON and its place in the file (``tiles[3].window``).

    Every method that gives something of the value raises `InputUnfit`, as made by `wrong`, where the value is not of
    that kind or not within the bounds.
    """

    value: Any
    place: str

    def wrong(self, what: str) -> InputUnfit:
        """The failure to raise: this place `what`."""
        return InputUnfit(
            f"The print plan kept in the file is damaged: '{self.place or 'its text'}' {what}",
            Remedy(Action.USE_PRINTED_AS_WRITTEN),
        )

    def key(self, name: str, default: float | None = None) -> JsonValue:
        """The value under a key of an object, or the default where the key may be missing."""
        if not isinstance(self.value, dict):
            raise self.wrong("is no table")
        if name not in self.value and default is None:
            raise self.wrong(f"lacks '{name}'")
        return JsonValue(self.value.get(name, default), f"{self.place}.{name}" if self.place else name)

    def items(self, most: int, *, exactly: bool = False) -> Iterator[JsonValue]:
        """The items of a list of at most (or exactly) that many."""
        if not isinstance(self.value, list):
            raise self.wrong("is no list")
        if len(self.value) > most or (exactly and len(self.value) != most):
            raise self.wrong(f"has {len(self.value)} items where {most} are the {'number' if exactly else 'most'}")
        return (JsonValue(item, f"{self.place}[{index}]") for index, item in enumerate(self.value))

    def whole(self, least: int, most: int) -> int:
        """A whole number within bounds."""
        if isinstance(self.value, bool) or not isinstance(self.value, int) or not least <= self.value <= most:
            raise self.wrong(f"is no whole number from {least} to {most}")
        return self.value

    def number(self, least: float, most: float) -> float:
        """A finite number within bounds."""
        if isinstance(self.value, bool) or not isinstance(self.value, int | float):
            raise self.wrong("is no number")
        if not least <= self.value <= most or not isfinite(self.value):
            raise self.wrong(f"is no number from {least:g} to {most:g}")
        return float(self.value)

    def numbers(self, count: int, least: float, most: float) -> tuple[float, ...]:
        """So many finite numbers within bounds."""
        return tuple(item.number(least, most) for item in self.items(count, exactly=True))

    def text(self, longest: int) -> str:
        """A text of at most so many characters."""
        if not isinstance(self.value, str) or len(self.value) > longest:
            raise self.wrong(f"is no text of at most {longest} characters")
        return self.value

    def texts(self, most: int, longest: int) -> list[str]:
        """A list of at most so many texts; a drawing in many colours has thousands of such lists."""
        found = self.value
        short = isinstance(found, list) and len(found) <= most
        if short and all(isinstance(text, str) and len(text) <= longest for text in found):
            return list(found)
        return [item.text(longest) for item in self.items(most)]  # raises, and says where

    def flag(self) -> bool:
        """True or false."""
        if not isinstance(self.value, bool):
            raise self.wrong("is neither true nor false")
        return self.value


def parsed(data: bytes, largest: int) -> JsonValue:
    """JSON text of at most `largest` bytes.

    Raises:
        InputUnfit: larger, or no JSON (NaN and Infinity aren't).
    """
    whole = JsonValue(None, "")
    if len(data) > largest:
        raise whole.wrong(f"is larger than {largest / 1e6:.0f} MB")
    try:
        return JsonValue(json.loads(data.decode("utf-8"), parse_constant=_no_number), "")
    except (ValueError, RecursionError):
        raise whole.wrong("is not readable") from None


def _no_number(text: str) -> float:
    raise ValueError(text)
