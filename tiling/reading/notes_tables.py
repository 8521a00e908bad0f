"""Tables of a notes file, read strictly: a key nobody asks for is refused, with its line and the nearest right word."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, NoReturn, TypeVar

from calibrate.spelling import closest_word
from tiling.failures import InputUnfit
from tiling.lengths import LengthUnclear, parse_length, parse_percent
from tiling.notes import LineRef
from tiling.reading.toml_lines import KeyPath, TomlLines

__all__ = ["NotesBook", "NotesTable", "nearest_words", "plain_text"]

_UNSEEN = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_RENAMED = {"interfacing": "interface"}
"""Keys by their names, and what they were called before."""

_Choice = TypeVar("_Choice", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class NotesBook:
    """The file being read, for messages."""

    file: str
    lines: TomlLines
    outdated: list[tuple[str, str]] = field(default_factory=list)

    def refuse(self, path: KeyPath, words: str) -> NoReturn:
        """Raise InputUnfit for the key at `path`."""
        raise InputUnfit(f"{self.place(path)}: {words}")

    def place(self, path: KeyPath) -> str:
        """File, line and key, as messages begin."""
        shown = ".".join(plain_text(str(part)) for part in path if isinstance(part, str))
        return f"{self.file}, line {self.lines.line(path)}: {shown}"


class NotesTable:
    """One table of the file; every key asked for counts as known."""

    def __init__(self, book: NotesBook, path: KeyPath, content: Any) -> None:
        if not isinstance(content, Mapping):
            book.refuse(path, "must be a table of keys and values.")
        self.book = book
        self.path = path
        self.content: Mapping[str, Any] = content
        self._asked: list[str] = []

    def refuse(self, key: str, words: str) -> NoReturn:
        """Raise InputUnfit for one of this table's keys."""
        self.book.refuse((*self.path, key), words)

    def done(self) -> None:
        """Refuse any key that nobody asked for."""
        for key in self.content:
            if key not in self._asked and key not in (_RENAMED.get(asked) for asked in self._asked):
                near = nearest_words(key, self._asked)
                self.refuse(key, f"unknown key '{plain_text(key)}'{near} Known here: {', '.join(self._asked)}.")

    def value(self, key: str) -> Any:
        """The value as written, None when the key is missing; a key may stand under the name it had before."""
        self._asked.append(key)
        old = _RENAMED.get(key)
        if old is None or old not in self.content:
            return self.content.get(key)
        if key in self.content:
            self.refuse(old, f"is what {key} was called; keep only one of them.")
        self.book.outdated.append((self.book.place((*self.path, old)), key))
        return self.content[old]

    def text(self, key: str, default: str = "") -> str:
        """A string."""
        found = self.value(key)
        if found is None:
            return default
        if not isinstance(found, str):
            self.refuse(key, f'must be text in quotes, such as {key} = "…".')
        return plain_text(found)

    def paragraphs(self, key: str) -> str:
        """A text of several paragraphs, parted in the file by empty lines and here by line ends."""
        self.text(key)
        found = str(self.content.get(key, ""))
        return "\n".join(filter(None, (plain_text(part) for part in re.split(r"\n[ \t]*\n", found))))

    def needed(self, key: str) -> str:
        """A string that must be there."""
        found = self.text(key)
        if not found:
            self.refuse(key, f'is missing; add {key} = "…".')
        return found

    def rule(self, key: str) -> str:
        """A rule that must be there: a string, or a plain number."""
        found = self.content.get(key)
        if isinstance(found, int | float) and not isinstance(found, bool):
            self._asked.append(key)
            return repr(found)
        return self.needed(key)

    def whole(self, key: str, default: int, least: int) -> int:
        """A whole number from `least` to 1000."""
        found = self.value(key)
        if found is None:
            return default
        if not isinstance(found, int) or isinstance(found, bool) or not least <= found <= 1000:
            self.refuse(key, f"must be a whole number from {least} to 1000.")
        return found

    def length(self, key: str) -> float | None:
        """A length in mm."""
        found = self.value(key)
        return None if found is None else self.as_length(key, found)

    def as_length(self, key: str, found: Any) -> float:
        """A value of this table as a length in mm."""
        return self._measured(key, found, parse_length, "12mm")

    def share(self, key: str) -> float | None:
        """A share from 0 to 1, written in per cent."""
        found = self.value(key)
        if found is None:
            return None
        share = self._measured(key, found, parse_percent, "50%")
        if not 0 <= share <= 1:
            self.refuse(key, "must lie between 0% and 100%.")
        return share

    def _measured(self, key: str, found: Any, parse: Callable[[str], float], example: str) -> float:
        if not isinstance(found, str):
            self.refuse(key, f'needs its unit and quotes, such as {key} = "{example}".')
        try:
            return parse(found)
        except LengthUnclear as unclear:
            self.refuse(key, str(unclear))

    def choice(self, key: str, kind: type[_Choice]) -> _Choice | None:
        """One of an enumeration's words."""
        word = self.text(key)
        if not word:
            return None
        try:
            return kind(word)
        except ValueError:
            words = [member.value for member in kind if member.value]
            self.refuse(key, f"'{word}' is not one of {', '.join(words)}{nearest_words(word, words)}")

    def table(self, key: str) -> NotesTable:
        """A table inside this one, empty when missing."""
        found = self.value(key)
        return NotesTable(self.book, (*self.path, key), {} if found is None else found)

    def tables(self, key: str) -> list[NotesTable]:
        """The tables of an array of tables."""
        found = self.value(key)
        if found is None:
            return []
        if not isinstance(found, list):
            self.refuse(key, f"must be written as [[{key}]].")
        return [NotesTable(self.book, (*self.path, key, i), content) for i, content in enumerate(found)]

    def lengths(self, key: str, *, least: float | None = None) -> dict[str, float]:
        """A table of lengths by free names."""
        inner = self.table(key)
        values = {plain_text(name): inner.as_length(name, value) for name, value in inner.content.items()}
        for name, value in values.items():
            if least is not None and value < least:
                inner.refuse(name, "must not be negative.")
        return values

    def pairs_of_lengths(self, key: str) -> dict[str, tuple[float, float]]:
        """A table of two lengths each by free names."""
        inner = self.table(key)
        for name, value in inner.content.items():
            if not isinstance(value, list) or len(value) != 2:
                inner.refuse(name, f'must be two lengths, such as {plain_text(name)} = ["40mm", "20mm"].')
        return {
            plain_text(name): (inner.as_length(name, wide), inner.as_length(name, narrow))
            for name, (wide, narrow) in inner.content.items()
        }

    def refs(self, key: str) -> tuple[LineRef, ...]:
        """Lines written ``piece.line``, one or a list."""
        found = self.value(key)
        words = found if isinstance(found, list) else [found]
        if not words or not all(isinstance(word, str) for word in words):
            self.refuse(key, f'must name a line as "piece.line", or several: {key} = ["front.side", "front.hem"].')
        return tuple(self._ref(key, word) for word in words)

    def _ref(self, key: str, word: str) -> LineRef:
        piece, dot, name = plain_text(word).rpartition(".")
        if not dot or not piece or not name:
            self.refuse(key, f"'{plain_text(word)}' must be written as piece.line, such as front.side.")
        return LineRef(piece, name)


def nearest_words(word: str, known: Collection[str]) -> str:
    """``; the nearest is 'x'.``, or that there are none."""
    close = closest_word(word, known, least=0.0)
    return "; there are none." if close is None else f"; the nearest is '{close}'."


def plain_text(text: str) -> str:
    """Text without characters that steer a terminal or turn the writing round."""
    return " ".join("".join(" " if ord(c) < 32 or 127 <= ord(c) < 160 else c for c in _UNSEEN.sub("", text)).split())
