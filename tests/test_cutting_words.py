"""What is written in a piece on how it is cut (the phrases are common practice, no source)."""

from __future__ import annotations

import pytest

from tiling.cutting_words import CuttingWords, cutting_words
from tiling.notes import CutAs


@pytest.mark.parametrize(
    ("texts", "copies", "cut"),
    [
        (["Front", "Cut 1 on the fold, main cloth"], 1, CutAs.FOLD),
        (["CUT  2"], 2, None),
        (["cut two, mirrored"], 2, CutAs.PAIR),
        (["cut 1 pair"], 2, CutAs.PAIR),
        (["cut a pair"], 2, CutAs.PAIR),
        (["2 x zuschneiden, im Stoffbruch"], 2, CutAs.FOLD),
        (["couper 2 fois"], 2, None),
        (["cut 2 lining", "cut 4 main"], 4, None),
        (["place on fold"], 0, CutAs.FOLD),
        (["cut 2 cm outside the line", "cut 2,5 cm off", "cut 1/2 inch"], 0, None),
        (["fold up here: channel for the elastic", "fold line of the hem", "a pair of pockets here"], 0, None),
        ([], 0, None),
    ],
)
def test_copies_pairs_and_folds(texts: list[str], copies: int, cut: CutAs | None) -> None:
    """And nothing read into lengths, hems and lining."""
    assert cutting_words(texts) == CuttingWords(copies, cut)
