"""What is cut, how often, from which cloth."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cloth.drafts import NOTES, smock
from tiling.cloth.cutting_list import CutShare, cutting_rows
from tiling.failures import InputUnfit
from tiling.notes import CutAs, PieceNote


def test_the_list_follows_the_notes_in_drawing_order() -> None:
    """Main cloth first, then interfacing and lining."""
    rows = cutting_rows(smock())
    assert [row.title for row in rows] == ["Front", "Sleeve", "Pocket"]
    assert [(share.cloth, share.copies) for share in rows[2].shares] == [("main", 2), ("interfacing", 1), ("lining", 2)]


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (CutShare("main", 1, CutAs.FOLD), "1 on the fold"),
        (CutShare("main", 2, CutAs.PAIR), "2, as a mirrored pair"),
        (CutShare("main", 4, CutAs.PAIR), "4, as 2 mirrored pairs"),
        (CutShare("main", 3, CutAs.PAIR), "3: 2 as drawn, 1 mirrored"),
        (CutShare("main", 1, CutAs.SINGLE), "1, single"),
        (CutShare("main", 2, CutAs.SINGLE), "2, as drawn"),
    ],
)
def test_each_way_of_cutting_has_its_words(share: CutShare, words: str) -> None:
    """In the trade's own words."""
    assert share.words() == words


def test_without_notes_a_piece_with_a_fold_line_is_cut_on_the_fold() -> None:
    """And every other piece once; the list knows that it was not told."""
    rows = cutting_rows(smock(None))
    assert [row.shares[0].cut for row in rows] == [CutAs.FOLD, CutAs.SINGLE, CutAs.SINGLE]
    assert not any(row.counted for row in rows)


def test_a_note_for_a_piece_that_is_not_drawn_is_refused() -> None:
    """With the nearest right word."""
    notes = replace(NOTES, pieces={"sleve": PieceNote("sleve")})
    with pytest.raises(InputUnfit, match=r"smock.toml, pieces.sleve: .* did you mean 'sleeve'"):
        cutting_rows(smock(notes))


def test_cutting_on_the_fold_needs_a_fold_line() -> None:
    """The pocket has none."""
    notes = replace(NOTES, pieces={"pocket": PieceNote("pocket", cut=CutAs.FOLD)})
    with pytest.raises(InputUnfit, match=r"pieces.pocket: .* no fold line is drawn"):
        cutting_rows(smock(notes))
