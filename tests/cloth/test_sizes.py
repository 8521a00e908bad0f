"""Finished measures taken from the drawing, and body measures against a survey of bodies."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.cloth.drafts import NOTES, mark, pattern, rectangle, smock
from tests.drawings import drawing_at
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.sizes import finished, size_rows
from tiling.notes import CutAs, Notes, PieceNote
from tiling.pattern import Pattern, Role

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"

ANSUR_WAIST_WOMEN = (710.0, 1040.0)
ANSUR_HIP_WOMEN = (901.0, 1156.0)
"""5th and 95th percentile of 1,986 women, ANSUR II (2012), columns waistcircumference and buttockcircumference, mm."""


def skirt(copies: int, cut: CutAs, allowance: float = 10.0) -> Pattern:
    """A rectangle 250 x 600 with waist and hip marked across it."""
    lines = rectangle("skirt", 250, 600)
    if cut is CutAs.FOLD:
        lines[3] = mark("skirt", Role.FOLD, "fold", (0, 600), (0, 0))
    lines += [
        mark("skirt", Role.PLACEMENT, "waist", (20, 50), (200, 50)),
        mark("skirt", Role.PLACEMENT, "hip", (20, 250), (200, 250)),
    ]
    note = PieceNote("skirt", copies=copies, cut=cut, seam_allowance=allowance)
    return pattern(lines, Notes(drawn_for={"hip": 800.0}, pieces={"skirt": note}))


@pytest.mark.parametrize(
    ("copies", "cut", "width"),
    [(4, CutAs.PAIR, 4 * 230.0), (2, CutAs.SINGLE, 2 * 230.0), (2, CutAs.FOLD, 2 * 2 * 240.0)],
)
def test_a_finished_measure_is_the_sewn_width_times_the_layers(copies: int, cut: CutAs, width: float) -> None:
    """250 mm less 10 mm at each seam; a fold has no seam and counts twice."""
    assert finished(SeamLines(skirt(copies, cut)), "hip") == pytest.approx(width, abs=1e-6)


def test_ease_found_is_finished_less_body() -> None:
    """920 on a hip of 800."""
    row = next(row for row in size_rows(SeamLines(skirt(4, CutAs.PAIR))) if row.measure == "hip")
    assert row.ease_found == pytest.approx(120.0, abs=1e-6)


def test_the_measures_of_a_person_come_before_those_the_pattern_was_drawn_for() -> None:
    """A hip of 850."""
    row = next(row for row in size_rows(SeamLines(skirt(4, CutAs.PAIR)), {"hip": 850.0}) if row.measure == "hip")
    assert (row.body, row.ease_found) == (850.0, pytest.approx(70.0, abs=1e-6))


def test_before_and_after_an_alteration_stand_side_by_side() -> None:
    """Allowances of 15 and 10 mm stand in for an alteration: 880 before, 920 after."""
    before, after = SeamLines(skirt(4, CutAs.PAIR, 15.0)), SeamLines(skirt(4, CutAs.PAIR))
    row = next(row for row in size_rows(after, before=before) if row.measure == "hip")
    assert (row.before, row.finished) == (pytest.approx(880.0, abs=1e-6), pytest.approx(920.0, abs=1e-6))


def test_a_level_that_is_not_drawn_is_left_open() -> None:
    """No guess: the wrist has a body measure and no finished one."""
    rows = {row.measure: row for row in size_rows(SeamLines(smock()))}
    assert rows["wrist"].finished is None
    assert rows["wrist"].body == 160.0


def test_the_hem_is_the_hem_line_of_the_pieces_that_show_a_level() -> None:
    """The front's hem, on the fold: twice the sewn line."""
    seam_lines = SeamLines(smock())
    hem = finished(seam_lines, "hem")
    assert hem == pytest.approx(2 * (270 - 15 - 0.582 + 0.0), abs=1.0)


def test_a_level_askew_on_the_sheet_is_measured_along_its_own_line() -> None:
    """A piece drawn turned by a quarter: its levels run down the sheet."""
    lines = rectangle("band", 600, 250)
    lines.append(mark("band", Role.PLACEMENT, "hip", (300, 20), (300, 200)))
    notes = Notes(pieces={"band": PieceNote("band", seam_allowance=10.0)})
    assert finished(SeamLines(pattern(lines, notes)), "hip") == pytest.approx(230.0, abs=1e-6)


def test_without_notes_there_is_nothing_to_show_but_what_is_drawn() -> None:
    """The smock's bust, cutting line to fold, twice."""
    rows = size_rows(SeamLines(smock(None)))
    assert [row.measure for row in rows] == ["bust", "hem"]
    assert rows[0].body is None


def test_the_sample_is_drawn_for_a_body_that_exists() -> None:
    """Waist and hip of the potting smock lie between the 5th and 95th percentile of ANSUR II."""
    notes = drawing_at(SAMPLE).notes
    assert notes is not None
    assert ANSUR_WAIST_WOMEN[0] <= notes.drawn_for["waist"] <= ANSUR_WAIST_WOMEN[1]
    assert ANSUR_HIP_WOMEN[0] <= notes.drawn_for["hip"] <= ANSUR_HIP_WOMEN[1]


def test_the_sample_has_the_ease_its_notes_say() -> None:
    """Bust, waist and hip to 0.5 mm, worked out from the drawing."""
    rows = {row.measure: row for row in size_rows(SeamLines(drawing_at(SAMPLE)))}
    for measure in ("bust", "waist", "hip"):
        assert rows[measure].ease_found == pytest.approx(rows[measure].ease_noted, abs=0.5)


def test_notes_without_copies_count_once() -> None:
    """A piece the notes leave out is one layer."""
    notes = replace(NOTES, pieces={})
    assert finished(SeamLines(smock(notes)), "bust") == pytest.approx(finished(SeamLines(smock(None)), "bust"))
