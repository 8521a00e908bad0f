"""What is written in a piece on how it is cut from cloth: how often, as pairs, on the fold, from which cloth.

The words are those of `tiling.words`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tiling.guesses import Guess
from tiling.notes import CutAs
from tiling.words import Words, folded

__all__ = ["CuttingWords", "cloth_in", "copies_in", "cut_in", "cutting_words", "of_main_cloth"]

_MOST = 50
"""More copies than this are no copies: a length, a number of a piece."""

_NUMBER = r"(?P<n>\d{1,3})(?![\d.,/]*\s*(?:mm|cm|m|in|inch|inches)\b|[\d.,/]*\s*[\"″%]|[.,/]?\d)"
_TIMES = re.compile(r"(?<![\d.,])(?P<n>\d{1,2})\s*(?:x|×|\*)(?!\s*\d)|(?<!\w)(?:x|×)\s*(?P<m>\d{1,2})(?![\d.,]*\s*\w)")
_ONE = re.compile(r"(?<!\w)(?:1|a|one|ein|une?|una?|uma?|en|ett|jedna)(?!\w)")


@dataclass(frozen=True, slots=True)
class CuttingWords:
    """How often a piece is cut, and how, as is written in it; 0 and None where nothing is."""

    copies: int = 0
    cut: CutAs | None = None


def cutting_words(texts: Iterable[str]) -> CuttingWords:
    """What the texts of a piece say together; what they say of lining and interfacing alone is passed over."""
    said = list(texts)
    words = Words.of(said)
    main = of_main_cloth(said, words)
    counts = [guess.value for guess in (copies_in(text, words) for text in main) if guess is not None]
    cuts = [guess.value for guess in (cut_in(text, words) for text in main) if guess is not None]
    return CuttingWords(next(iter(counts), 0), CutAs.FOLD if CutAs.FOLD in cuts else next(iter(cuts), None))


def of_main_cloth(texts: Sequence[str], words: Words) -> list[str]:
    """The texts that don't speak of another cloth alone."""
    named = [words.named(text, "cloth") for text in texts]
    return [text for text, cloths in zip(texts, named, strict=True) if not cloths or "main" in cloths]


def copies_in(text: str, words: Words) -> Guess[int] | None:
    """How many are cut, as a text says: "cut 2", "2 x", "cut one pair" (two)."""
    plain, why = folded(text), f"the text '{text}'"
    pair = words.says(text, "pair")
    orders = [m.end() for word in words.found(text, "cut") for m in re.finditer(re.escape(word), plain)]
    for end in orders:
        after = re.match(rf"\W*{_NUMBER}", plain[end:])
        spelt = re.match(r"\W*([^\W\d]+)", plain[end:])
        count = int(after["n"]) if after else words.number(spelt[1]) if spelt else None
        if count and count <= _MOST:
            return Guess(2 if count == 1 and pair else count, 0.95, why)
    times = _TIMES.search(plain) or _counted(plain, words.found(text, "times"))
    if times:
        count = int(next(filter(None, times.groups())))
        if 0 < count <= _MOST:
            return Guess(count, 0.9 if orders else 0.8, why)
    return Guess(2, 0.85, why) if orders and pair and _ONE.search(plain) else None


def _counted(plain: str, words: Sequence[str]) -> re.Match[str] | None:
    """A number before one of the words for times."""
    return re.search(rf"{_NUMBER}\s*(?:{'|'.join(map(re.escape, words))})(?!\w)", plain) if words else None


def cut_in(text: str, words: Words) -> Guess[CutAs] | None:
    """How it is cut, as a text says: a pair only where it says too how many."""
    why = f"the text '{text}'"
    if words.says(text, "fold"):
        return Guess(CutAs.FOLD, 0.95, why)
    if words.says(text, "pair") and copies_in(text, words) is not None:
        return Guess(CutAs.PAIR, 0.9, why)
    return None


def cloth_in(text: str, words: Words) -> Guess[str] | None:
    """The cloth that a text names: ``main``, ``lining``, ``interfacing``."""
    named = words.named(text, "cloth")
    return Guess(named[0], 0.9, f"the text '{text}'") if named else None
