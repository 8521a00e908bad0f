"""The seam table: both lengths, ease asked and found, notches that meet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cloth.drafts import NOTES, mark, pattern, rectangle, smock
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.seams import seam_rows
from tiling.failures import InputUnfit
from tiling.notes import LineRef, Notes, SeamNote
from tiling.pattern import Line, Pattern, Role


def seam(first: str, second: str, ease: float = 0.0) -> SeamNote:
    """A seam from ``piece.line+piece.line`` on either side."""

    def refs(text: str) -> tuple[LineRef, ...]:
        return tuple(LineRef(*one.split(".")) for one in text.split("+"))

    return SeamNote("test", refs(first), refs(second), ease)


def boards(notes: Notes, notches: list[Line] | None = None) -> Pattern:
    """Two rectangles, 300 and 310 mm high, and one of 140 and 160."""
    lines = [*rectangle("left", 100, 300), *rectangle("right", 100, 310, x=200), *rectangle("long", 100, 600, x=400)]
    return pattern([*lines, *(notches or [])], notes)


def tick(piece: str, x: float, y: float) -> Line:
    """A notch across an upright edge."""
    return mark(piece, Role.NOTCH, "", (x - 4, y), (x + 4, y))


def test_ease_is_how_much_longer_the_first_side_is() -> None:
    """310 against 300 with 8 mm asked: 10 found, 2 too long, within what is let pass."""
    notes = Notes(seams=(seam("right.left", "left.right", 8.0),))
    (row,) = seam_rows(SeamLines(boards(notes)))
    assert (row.first_length, row.second_length) == (pytest.approx(310.0), pytest.approx(300.0))
    assert row.ease_found == pytest.approx(10.0)
    assert row.off == pytest.approx(2.0)
    assert row.agrees


def test_a_seam_off_by_more_than_three_millimetres_does_not_agree() -> None:
    """310 against 300 with no ease asked."""
    (row,) = seam_rows(SeamLines(boards(Notes(seams=(seam("right.left", "left.right"),)))))
    assert not row.agrees


def test_lines_sewn_end_to_end_are_added_up() -> None:
    """300 + 310 against 600."""
    notes = Notes(seams=(seam("left.right+right.left", "long.left"),))
    (row,) = seam_rows(SeamLines(boards(notes)))
    assert row.ease_found == pytest.approx(10.0)


def test_notches_are_paired_at_their_distance_along_the_seam_whichever_way_the_lines_run() -> None:
    """`right` runs down, `left` runs up: the notch 100 mm from the top is 100 from one start and 200 from the other."""
    notches = [tick("left", 100, 100), tick("right", 200, 100)]
    (row,) = seam_rows(SeamLines(boards(Notes(seams=(seam("left.right", "right.left"),)), notches)))
    (pair,) = row.notches
    assert pair.apart == pytest.approx(0.0, abs=1e-6)
    assert round(pair.first or 0.0, 6) in {100.0, 200.0}


def test_a_notch_without_a_partner_is_shown_alone() -> None:
    """One side has a notch more."""
    notches = [tick("left", 100, 100), tick("left", 100, 220), tick("right", 200, 100)]
    (row,) = seam_rows(SeamLines(boards(Notes(seams=(seam("left.right", "right.left"),)), notches)))
    assert sum(pair.apart is None for pair in row.notches) == 1
    assert len(row.notches) == 2


def test_a_notch_at_the_join_of_two_lines_meets_the_notch_opposite() -> None:
    """The long side has a notch where left and right are joined, as a sleeve has at the shoulder seam."""
    notches = [tick("long", 400, 300)]
    (row,) = seam_rows(SeamLines(boards(Notes(seams=(seam("long.left", "left.right+right.left"),)), notches)))
    assert [round(pair.second or 0.0, 6) in {300.0, 310.0} for pair in row.notches] == [True]


def test_double_notches_keep_their_order() -> None:
    """Two notches 5 mm apart on either side, with 8 mm between the pairs: first meets first."""
    notches = [tick("left", 100, 100), tick("left", 100, 105), tick("right", 200, 108), tick("right", 200, 113)]
    (row,) = seam_rows(SeamLines(boards(Notes(seams=(seam("left.right", "right.left"),)), notches)))
    assert {round(abs(pair.apart or 0.0), 6) for pair in row.notches} in ({8.0}, {2.0})


def test_notches_of_other_edges_stay_out() -> None:
    """The front has a notch at its armhole and one at its side: only the first is the armhole's."""
    (row,) = seam_rows(SeamLines(smock()))
    assert len([pair for pair in row.notches if pair.second is not None]) == 1


@pytest.mark.parametrize(
    ("first", "words"),
    [
        ("left.rihgt", "seams 'test': the line 'left.rihgt' is not in the drawing; did you mean 'left.right'"),
        ("lefft.right", "seams 'test': the piece 'lefft' is not in the drawing; did you mean 'left'"),
    ],
)
def test_a_seam_that_names_what_is_not_there_is_refused(first: str, words: str) -> None:
    """File, key and the nearest right word."""
    notes = Notes(seams=(seam(first, "right.left"),), file="boards.toml")
    with pytest.raises(InputUnfit) as caught:
        seam_rows(SeamLines(boards(notes)))
    assert str(caught.value).startswith("boards.toml, ")
    assert words in str(caught.value)


def test_no_notes_no_seams() -> None:
    """Nothing to compare."""
    assert seam_rows(SeamLines(smock(None))) == ()
    assert seam_rows(SeamLines(smock(replace(NOTES, seams=())))) == ()
