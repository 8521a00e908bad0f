"""The seam table: both lengths, ease asked and found, notches that meet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cloth.drafts import NOTES, mark, pattern, rectangle, smock
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.seams import seam_rows
from tiling.cloth.sewing_report import sewing_report
from tiling.failures import InputUnfit
from tiling.notes import LineRef, Notes, PieceNote, SeamNote
from tiling.pattern import FindingKind, Line, Pattern, Role


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


def turned(line: Line) -> Line:
    """The same line drawn the other way."""
    return replace(line, path=line.path.reversed())


@pytest.mark.parametrize("turn", range(4))
def test_the_ends_that_meet_follow_from_the_corners_not_from_how_a_line_is_drawn(turn: int) -> None:
    """Sides of 300 mm with notches 100 and 130 mm from the top, where both tops meet: 100 belongs to 100."""
    left, right = rectangle("left", 100, 300), rectangle("right", 100, 300, x=200)
    left[1] = turned(left[1]) if turn % 2 else left[1]
    right[3] = turned(right[3]) if turn // 2 else right[3]
    notches = [tick("left", 100, 100), tick("right", 200, 170)]
    notes = Notes(seams=(seam("left.right", "right.left"), replace(seam("left.top", "right.top"), name="top")))
    row = seam_rows(SeamLines(pattern([*left, *right, *notches], notes)))[0]
    places = [(pair.first, pair.second) for pair in row.notches]
    found = {first if first is not None else second for first, second in places}
    assert found in ({100.0, 170.0}, {200.0, 130.0})  # from the top, or from the bottom
    assert len(row.missed) == 2


def test_lines_of_one_piece_run_on_at_the_corner_they_share() -> None:
    """Right edge and bottom as one side: its notch lies 300 + 40 mm from the top, whichever way they are drawn."""
    marks = [*rectangle("left", 100, 300), *rectangle("long", 100, 400, x=400)]
    marks += [mark("left", Role.NOTCH, "", (60, 296), (60, 304)), tick("long", 400, 340)]
    for order in (marks, [turned(line) for line in marks]):
        notes = Notes(
            seams=(seam("long.left", "left.right+left.bottom"), replace(seam("long.top", "left.top"), name="t"))
        )
        (row, _) = seam_rows(SeamLines(pattern(order, notes)))
        (pair,) = row.notches
        assert pair.apart == pytest.approx(0.0, abs=0.01)


def findings(notches: list[Line], ease: float = 0.0) -> list[str]:
    """What the report says of a seam of 300 mm with these notches."""
    marks = [*rectangle("left", 100, 300), *rectangle("right", 100, 300 + ease, x=200)]
    notes = Notes(seams=(seam("left.right", "right.left", -ease),), pieces={"left": PieceNote("left", "Left half")})
    found = sewing_report(pattern([*marks, *notches], notes), {}).findings()
    return [finding.text for finding in found if finding.kind is FindingKind.NOTCHES_APART]


def test_notches_that_meet_are_no_finding() -> None:
    """Nor are those apart by no more than the ease, spread along the seam."""
    assert findings([tick("left", 100, 100), tick("right", 200, 101)]) == []
    assert findings([tick("left", 100, 100), tick("right", 200, 108)], ease=12.0) == []
    assert findings([]) == []


def test_notches_that_miss_their_partner_are_a_finding() -> None:
    """10 mm apart without ease; told by titles and names."""
    (text,) = findings([tick("left", 100, 100), tick("right", 200, 110)])
    assert "100.0 mm along Left half: right and 110.0 mm along right: left miss each other" in text
    (text,) = findings([tick("left", 100, 100), tick("left", 100, 200), tick("right", 200, 100)])
    assert "200.0 mm along Left half: right has no partner" in text


def test_a_side_without_notches_is_a_finding() -> None:
    """Where the other side has one."""
    (text,) = findings([tick("right", 200, 100)])
    assert text == "right: left has a notch, Left half: right has none; draw them on both, or on neither."


def test_no_notes_no_seams() -> None:
    """Nothing to compare."""
    assert seam_rows(SeamLines(smock(None))) == ()
    assert seam_rows(SeamLines(smock(replace(NOTES, seams=())))) == ()
