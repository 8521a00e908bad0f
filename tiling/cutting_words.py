"""What is written in a piece on how it is cut from cloth: how often, as pairs, on the fold.

The phrases are common practice, from memory (English, German, French, Spanish, Italian and Dutch).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from tiling.notes import CutAs

__all__ = ["CuttingWords", "cutting_words"]

_NUMBERS = {"a": 1, "one": 1, "two": 2, "three": 3, "four": 4}
_NUMBER = rf"(?P<n>\d{{1,2}}|{'|'.join(_NUMBERS)})"
_NO_LENGTH = r"(?!\s*(?:[.,]\d|/|mm|cm|in\b|inch|\"|″|%|\d))"
_COPIES = (
    re.compile(rf"\b(?:cut|couper|coupez|cortar|tagliare|knip)\s+{_NUMBER}\b{_NO_LENGTH}"),
    re.compile(rf"\b{_NUMBER}\s*(?:x|×|mal)\s*(?:zuschneiden|couper|cortar|tagliare|knippen|cut)\b"),
)
_FOLD = re.compile(
    r"\b(?:on|to|at|against)\s+(?:the\s+|a\s+)?fold\b|\bfold of (?:the )?(?:cloth|fabric)|\b(?:cloth|fabric) fold\b"
    r"|\bstoffbruch\b|\bim bruch\b|\b(?:sur|au) (?:la |le )?pli(?:ure)?\b|\b(?:al|sobre el|en el) doblez\b"
    r"|\b(?:sulla|alla|su) (?:piega|ripiegatura)\b|\bstofvouw\b"
)
_PAIR = re.compile(r"\bpairs?\b|\bmirrored\b|\bgegengleich\b")
_OTHER_CLOTH = re.compile(r"\blining\b|\binterfacing\b|\bfutter\b|\beinlage\b|\bdoublure\b|\bforro\b")
_MAIN_CLOTH = re.compile(r"\bmain\b|\bfabric\b|\bcloth\b|\bself\b")


@dataclass(frozen=True, slots=True)
class CuttingWords:
    """How often a piece is cut, and how, as is written in it; 0 and None where nothing is."""

    copies: int = 0
    cut: CutAs | None = None


def cutting_words(texts: Iterable[str]) -> CuttingWords:
    """What the texts of a piece say together; what they say of lining and interfacing alone is passed over."""
    copies, cut = 0, None
    for text in texts:
        words = " ".join(text.casefold().split())
        if _OTHER_CLOTH.search(words) and not _MAIN_CLOTH.search(words):
            continue
        found = next((match for pattern in _COPIES if (match := pattern.search(words))), None)
        if found is not None and not copies:
            number = found["n"]
            copies = _NUMBERS.get(number) or int(number)
            if re.match(r"\s*pairs?\b", words[found.end("n") :]):
                copies *= 2
        if _FOLD.search(words):
            cut = CutAs.FOLD
        elif cut is None and found is not None and _PAIR.search(words):
            cut = CutAs.PAIR
    return CuttingWords(copies, cut)
