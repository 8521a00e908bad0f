"""The known word that a mistyped one comes nearest to, for "did you mean"."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

__all__ = ["closest_word"]

_LONGEST = 80
"""Characters of a word that are compared: the time grows with the square of its length."""


def closest_word(word: str, known: Iterable[str], least: float = 0.6) -> str | None:
    """The known word most like `word`; None where none is like enough.

    Args:
        word: as it was written.
        known: what would have been right.
        least: likeness from 0 (nothing in common) to 1 (the same) that counts: twice the length of what both have in
            common over the sum of their lengths (Ratcliff and Obershelp).
    """
    return next(iter(get_close_matches(word[:_LONGEST], list(known), n=1, cutoff=least)), None)
