"""Edits of the notes from the page: what is said is there, all else stays as it was written."""

from __future__ import annotations

import tomllib

import pytest

from tiling.failures import InputUnfit, UsageWrong
from tiling.files.inputs import InputFile
from tiling.reading.notes import read_notes
from tiling.workroom.noted import edited

WRITTEN = """# My smock
title = "Smock"   # as on the packet

[pieces.front]
copies = 1  # cut once
cut = "fold"

[[lines]]
piece = "front"
role = "grading-line"
at = ["12cm", "30cm"]
"""


def test_a_piece_gets_what_is_said_of_it_and_comments_stay() -> None:
    """Only the keys named change."""
    text = edited(WRITTEN, [{"kind": "piece", "id": "front", "copies": 2, "title": "Front panel"}])
    assert tomllib.loads(text)["pieces"]["front"] == {"copies": 2, "cut": "fold", "title": "Front panel"}
    assert "# My smock" in text
    assert "# cut once" in text
    assert "# as on the packet" in text


def test_notes_that_do_not_exist_yet_are_begun() -> None:
    """From nothing to notes that read back."""
    text = edited(
        "",
        [
            {"kind": "piece", "id": "pocket", "copies": 2, "cut": "pair", "allowance_mm": 10, "at": [12.0, 34.5]},
            {"kind": "line", "piece": "pocket", "role": "cutting-line", "name": "opening", "at": [50, 34.5]},
            {"kind": "seam", "first": ["pocket.opening"], "second": ["front.side"], "ease_mm": 5},
            {"kind": "title", "text": "Smock"},
            {"kind": "measures", "of": {"waist": 860}},
            {"kind": "wearer", "who": "child"},
        ],
    )
    notes = read_notes(InputFile("smock.toml", text.encode()))
    assert notes.title == "Smock"
    assert notes.drawn_for == {"waist": 860.0}
    assert notes.pieces["pocket"].copies == 2
    assert notes.pieces["pocket"].seam_allowance == 10.0
    assert [(line.name, line.at) for line in notes.pointed][1][0] == "opening"
    assert notes.seams[0].ease == 5.0
    assert "\n\n[[lines]]" in text


def test_a_place_that_is_pointed_at_already_is_changed_and_not_added() -> None:
    """One entry a line, however often it is named."""
    once = edited(WRITTEN, [{"kind": "line", "piece": "front", "role": "lengthen-line", "at": [120.0, 300.0]}])
    (line,) = tomllib.loads(once)["lines"]
    assert line == {"piece": "front", "role": "lengthen-line", "at": ["12cm", "30cm"]}


def test_what_was_said_can_be_taken_back() -> None:
    """A line and a seam go, and their empty tables with them."""
    seam = {"first": ["front.side"], "second": ["back.side"]}
    with_seam = edited(WRITTEN, [{"kind": "seam", **seam}])
    without = edited(with_seam, [{"kind": "no-seam", **seam}, {"kind": "no-line", "at": [120, 300]}])
    assert "lines" not in tomllib.loads(without)
    assert "seams" not in tomllib.loads(without)


def test_text_that_looks_like_a_table_is_left_alone() -> None:
    """Empty lines are put before tables only where that changes nothing."""
    step = 'title = "S"\n[[steps]]\ntext = """\nFirst\n[front] to [back]\n"""\n'
    text = edited(step, [{"kind": "wearer", "who": "adult"}])
    assert tomllib.loads(text)["steps"] == tomllib.loads(step)["steps"]


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"kind": "nothing"},
        {"kind": "piece"},
        {"kind": "piece", "id": "front", "copies": 0},
        {"kind": "piece", "id": "front", "colour": "red"},
        {"kind": "line", "role": "grading-line"},
        {"kind": "line", "at": [1, 2]},
        {"kind": "line", "at": [1, "2"], "role": "dart"},
        {"kind": "line", "at": [1, 2], "role": "seam"},
        {"kind": "seam", "first": ["front.side"], "second": []},
        "piece",
    ],
)
def test_a_change_that_says_nothing_clear_is_refused(change: object) -> None:
    """Each value has its kind and its bounds."""
    with pytest.raises(UsageWrong):
        edited(WRITTEN, [change])


@pytest.mark.parametrize("text", ["title = ", "pieces = 3\n", "lines = 'none'\n"])
def test_notes_that_hold_something_else_are_not_written_over(text: str) -> None:
    """The person's own text is never thrown away."""
    with pytest.raises(InputUnfit):
        edited(text, [{"kind": "piece", "id": "front", "copies": 2, "at": [1, 2]}])
