"""The notes' copy beside an altered drawing: the new measures, and every other character as it was."""

from __future__ import annotations

import tomllib

import pytest

from tiling.files.notes_copy import notes_for_altered

WAYS = {
    "a table": '[drawn-for]\nwaist = "860mm"  # loosely\nhip = "1020mm"\n\n[pieces.front]\ncopies = 1\n',
    "an inline table": 'title = "Smock"\ndrawn-for = { waist = "860mm", hip = "1020mm" } # both\n',
    "dotted keys": 'drawn-for.waist = "860mm"\ndrawn-for.hip = "1020mm"\n[pieces.front]\ncopies = 1\n',
    "a byte order mark": '\ufeff[drawn-for]\nwaist = "860mm"\nhip = "1020mm"\n',
    "quotes and carriage returns": "[ 'drawn-for' ]\r\n\"waist\" = '860mm'\r\nhip = '1020mm'\r\n",
}


@pytest.mark.parametrize("text", WAYS.values(), ids=WAYS)
def test_only_the_measure_changes_however_the_table_is_written(text: str) -> None:
    """A second alteration to a body measure starts from what the first one reached."""
    copy = notes_for_altered(text, {"waist": 921.5})
    before, after = tomllib.loads(text.removeprefix("\ufeff")), tomllib.loads(copy)
    assert after["drawn-for"] == {"waist": "921.5mm", "hip": "1020mm"}
    assert {**after, "drawn-for": None} == {**before, "drawn-for": None}
    for kept in ("# loosely", "# both", "\r\n"):
        assert (kept in copy) == (kept in text)


def test_measures_that_stay_are_left_as_they_are_written() -> None:
    """In whatever unit."""
    text = '[drawn-for]\nwaist = "86cm"\nhip = "40 1/4in"\n'
    assert notes_for_altered(text, {"waist": 860.0, "hip": 1022.35}) == text
    assert notes_for_altered(text, {"waist": 861.0, "hip": 1022.35}) == text.replace("86cm", "861mm")


def test_what_was_gained_is_a_table_that_comes_and_goes() -> None:
    """For measures without a level line; read back, added to, and taken away once a measure is known again."""
    text = '[drawn-for]\nhem = "760mm"\n\n[[lines]]\npiece = "front"\n'
    once = notes_for_altered(text, {"hem": 760.0}, {"hem": (40.0, 20.0)})
    assert tomllib.loads(once)["gained"] == {"hem": ["40mm", "20mm"]} and once.startswith(text)
    assert tomllib.loads(notes_for_altered(once, {"hem": 800.0}, {})) == tomllib.loads(text.replace("760", "800"))


def test_notes_without_a_new_measure_are_copied_as_they_are() -> None:
    """Byte for byte, comments and all."""
    text = "# mine\n[drawn-for]\nwaist='860mm'"
    assert notes_for_altered(text, {}) == text


def test_measures_are_written_to_a_thousandth_of_a_millimetre() -> None:
    """More digits than anyone measures, so that amounts can be taken back."""
    assert 'waist = "1228.346mm"' in notes_for_altered(WAYS["a table"], {"waist": 1228.34567})


def test_places_that_moved_are_written_and_others_left() -> None:
    """In their order among those lines that have one; comments and units of the others stay."""
    text = (
        '[[lines]]\nrole = "grainline"\nat = ["1in", "2in"]  # straight\n'
        '[[lines]]\nrole = "grading-line"\npiece = "a"\npoints = [["1cm", "1cm"], ["2cm", "2cm"]]\n'
        '[[lines]]\nrole = "dart"\nat = ["3cm", "4cm"]  # pointed\n'
    )
    assert notes_for_altered(text, {}, None, [(25.4, 50.8), (30.04, 40.0)]) == text
    assert notes_for_altered(text, {}, None, [(25.4, 50.8), (31.256, 40.0)]) == text.replace(
        '["3cm", "4cm"]', '["3.13cm", "4cm"]'
    )
    with pytest.raises(ValueError, match="zip"):
        notes_for_altered(text, {}, None, [(25.4, 50.8)])
