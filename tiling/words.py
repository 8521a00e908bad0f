"""The trade's common words in nine languages, as data, and which of them stand in a text."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

__all__ = ["LANGUAGES", "Words", "folded"]

LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pt", "sv", "pl")

_APART = str.maketrans({"ß": "ss", "ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe"})
_TELLING = ("cut", "fold", "grain", "lengthen", "allowance", "piece", "times", "dart", "without")
"""Tables by whose words a drawing's language is told."""


def folded(text: str) -> str:
    """The text in small letters without accents, as words are compared; every space is one blank."""
    plain = unicodedata.normalize("NFKD", text.casefold().translate(_APART))
    return " ".join("".join(c for c in plain if not unicodedata.combining(c)).split())


@dataclass(frozen=True, slots=True)
class Words:
    """The words of some languages: what is a pair in one may mean nothing of the kind in another."""

    languages: tuple[str, ...] = LANGUAGES

    @classmethod
    def of(cls, texts: Iterable[str]) -> Words:
        """The words of the languages in which the texts are written, and English: half the world mixes it in."""
        plain = [folded(text) for text in texts]
        score = {
            language: sum(len(_pattern(subject, (language,)).findall(text)) for subject in _TELLING for text in plain)
            for language in LANGUAGES
        }
        best = max(score.values(), default=0)
        kept = [language for language in LANGUAGES if best and score[language] > 0.6 * best]
        return cls(tuple(dict.fromkeys([*kept, "en"])) if kept else LANGUAGES)

    def says(self, text: str, subject: str) -> bool:
        """Whether a word for the subject (a table of words.toml, such as ``fold`` or ``level.waist``) stands in it."""
        return bool(_pattern(subject, self.languages).search(folded(text)))

    def found(self, text: str, subject: str) -> list[str]:
        """The words for the subject that stand in the text."""
        return [match[0] for match in _pattern(subject, self.languages).finditer(folded(text))]

    def named(self, text: str, group: str) -> list[str]:
        """Which subjects of a group (``level``, ``piece``, ``cloth``) the text names, the longest word first."""
        hits = {name: self.found(text, f"{group}.{name}") for name in _table()[group]}
        longest = {name: max(map(len, words)) for name, words in hits.items() if words}
        return sorted(longest, key=lambda name: -longest[name])

    def number(self, word: str) -> int | None:
        """A number from one to ten written as a word."""
        lists = (_table()["number"][language] for language in self.languages)
        return next((words.index(folded(word)) + 1 for words in lists if folded(word) in words), None)


@cache
def _pattern(subject: str, languages: tuple[str, ...]) -> re.Pattern[str]:
    every = {folded(word) for table in _tables(subject) for language in languages for word in table.get(language, ())}
    ordered = sorted(every, key=len, reverse=True)
    return re.compile(r"(?<!\w)(?:" + "|".join(_expressions(ordered) or (r"(?!)",)) + ")")


def _tables(subject: str) -> list[Mapping[str, list[str]]]:
    """The table of the subject, or those of its group."""
    table: Any = _table()
    for part in subject.split("."):
        table = table[part]
    first = next(iter(table.values()))
    return [table] if isinstance(first, list) else list(table.values())


def _expressions(words: list[str]) -> list[str]:
    return [re.escape(word[:-1]) + r"\w*" if word.endswith("-") else re.escape(word) + r"(?!\w)" for word in words]


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(files("tiling").joinpath("words.toml").read_text(encoding="utf-8"))
