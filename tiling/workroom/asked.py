"""What the page asks for, read strictly: each value has its kind and bounds, and a key that nobody knows is refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from enum import Enum
from math import isfinite
from typing import Any, TypeVar

from tiling.failures import UsageWrong

__all__ = ["Asked", "asked"]

E = TypeVar("E", bound=Enum)
_LONGEST = 500
"""Letters of a name or a title."""
_FARTHEST = 100_000.0
"""mm."""
_MANY = 200


class Asked:
    """One object of plain values; each is taken once, and none may be left."""

    def __init__(self, values: Any, where: str = "") -> None:
        if not isinstance(values, Mapping):
            raise UsageWrong(f"{where or 'what is asked'}: is no object.")
        self._values = dict(values)
        self._where = where

    def __contains__(self, key: str) -> bool:
        return self._values.get(key) is not None

    def text(self, key: str, default: str = "") -> str:
        """A text on one line."""
        value = self._take(key, default)
        if not isinstance(value, str) or len(value) > _LONGEST or not value.isprintable():
            raise self._wrong(key, "a short text")
        return value

    def long_text(self, key: str) -> str | None:
        """A text of any length and lines, None where it isn't said."""
        value = self._take(key, None)
        if value is not None and not isinstance(value, str):
            raise self._wrong(key, "a text")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; empty where there is none."""
        found = self._take(key, [])
        if not isinstance(found, list) or len(found) > _MANY:
            raise self._wrong(key, "a list of texts")
        return tuple(Asked({"": one}, key).text("") for one in found)

    def flag(self, key: str) -> bool:
        """Yes or no; no where it isn't said."""
        value = self._take(key, False)
        if not isinstance(value, bool):
            raise self._wrong(key, "true or false")
        return value

    def number(self, key: str, least: float = -_FARTHEST, most: float = _FARTHEST) -> float | None:
        """A number within bounds, None where it isn't said."""
        value = self._take(key, None)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise self._wrong(key, "a number")
        if not least <= value <= most:
            raise self._wrong(key, f"a number from {least:g} to {most:g}")
        return float(value)

    def numbers(self, key: str, count: int) -> tuple[float, ...] | None:
        """So many numbers, None where they aren't said."""
        value = self._take(key, None)
        if value is None:
            return None
        if not isinstance(value, list) or len(value) != count:
            raise self._wrong(key, f"{count} numbers")
        found = [Asked({"": one}, key).number("") for one in value]
        if None in found:
            raise self._wrong(key, f"{count} numbers")
        return tuple(one for one in found if one is not None)

    def whole(self, key: str, least: int, most: int) -> int | None:
        """A whole number within bounds, None where it isn't said."""
        value = self.number(key, least, most)
        if value is None:
            return None
        if value != int(value):
            raise self._wrong(key, "a whole number")
        return int(value)

    def choice(self, key: str, kind: type[E], default: E) -> E:
        """One of the values of an enum."""
        value = self._take(key, None)
        if value is None:
            return default
        for one in kind:
            if one.value == value:
                return one
        raise self._wrong(key, " or ".join(str(one.value) for one in kind))

    def lengths(self, key: str) -> dict[str, float]:
        """Numbers by name."""
        found = self._take(key, {})
        if not isinstance(found, Mapping) or len(found) > _MANY:
            raise self._wrong(key, "numbers by name")
        values = {}
        for name, value in found.items():
            number = Asked({"": value}, key).number("")
            if number is None:
                raise self._wrong(key, "numbers by name")
            values[str(name)] = number
        return values

    def objects(self, key: str) -> list[Any]:
        """A list of objects, not yet read; empty where there is none."""
        found = self._take(key, [])
        if not isinstance(found, list) or len(found) > _MANY:
            raise self._wrong(key, "a list")
        return found

    @contextmanager
    def inner(self, key: str) -> Iterator[Asked]:
        """An object within; empty where there is none."""
        with asked(self._take(key, {}), key) as values:
            yield values

    def plain(self, key: str) -> dict[str, Any]:
        """An object within, not yet read; empty where there is none."""
        return Asked(self._take(key, {}), key).rest()

    def rest(self) -> dict[str, Any]:
        """All that was not taken yet, to be read by somebody else."""
        values, self._values = self._values, {}
        return values

    def done(self) -> None:
        """Refuse what nobody took.

        Raises:
            UsageWrong: there is a key that is unknown.
        """
        if left := [key for key, value in self._values.items() if value is not None]:
            raise UsageWrong(f"{self._where or 'what is asked'}: '{left[0]}' is unknown.")

    def _take(self, key: str, default: Any) -> Any:
        value = self._values.pop(key, None)
        return default if value is None else value

    def _wrong(self, key: str, wanted: str) -> UsageWrong:
        return UsageWrong(f"{key or self._where}: must be {wanted}.")


@contextmanager
def asked(values: Any, where: str = "") -> Iterator[Asked]:
    """The values to take from; what is left at the end is refused.

    Raises:
        UsageWrong: they are no object, a value is of the wrong kind, or a key unknown.
    """
    found = Asked(values, where)
    yield found
    found.done()
