"""What nobody said is not assumed in silence: copies, folds, and pieces that stay as they are."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.altering.drawings import half_skirt, line, notes_of, pattern_of, rectangle, ring, through
from tests.planning.retaped import smock
from tiling.altering.alter import Alteration, alter
from tiling.notes import CutAs, LineRef, PieceNote, SeamNote
from tiling.pattern import Label, Mark, Role, Tag
from tiling.reading.roles import with_roles
from tiling.shapes import Affine


def words(text: str, piece: str = "skirt") -> Label:
    """A text in the middle of the piece."""
    return Label(text, Affine.shift(140.0, 300.0), 8.0, advance=60.0, tag=Tag(piece))


def without_fold() -> list[Mark]:
    """The half-skirt, its fold drawn as part of the outline only."""
    return [mark for mark in half_skirt() if mark.tag.role is not Role.FOLD]


def growth(marks: list[Mark], around: float) -> tuple[float, str]:
    """By how much the paper piece grows at its hip for an amount around, and what is said."""
    outcome = alter(pattern_of(marks), Alteration(around=around))
    widths = [
        max(m.path.bounds().width for m in p.lines(role=Role.CUTTING)) for p in (pattern_of(marks), outcome.pattern)
    ]
    return widths[1] - widths[0], " ".join(str(sentence) for sentence in outcome.explanation)


@pytest.mark.parametrize(
    ("marks", "each", "said"),
    [
        (half_skirt(), 20.0, "skirt once on the fold (nothing says how often it is cut, a fold is drawn)"),
        ([*without_fold(), words("cut 1 on the fold")], 20.0, "skirt once on the fold (as is written in it)"),
        ([*without_fold(), words("place on fold")], 20.0, "skirt once on the fold (nothing says how often"),
        ([*half_skirt(), words("Cut 2")], 10.0, "skirt twice on the fold (as is written in it, a fold is drawn)"),
        (without_fold(), 40.0, "skirt once (nothing says how often it is cut, no fold is drawn or named)"),
    ],
)
def test_an_amount_is_shared_over_the_layers_that_are_shown_and_says_which(
    marks: list[Mark], each: float, said: str
) -> None:
    """40 mm around a skirt: 20 on a piece on the fold however it shows that, and the rest is said beside the amount."""
    grown, sentences = growth(marks, 40.0)
    assert grown == pytest.approx(each, abs=0.01)
    assert said in sentences and "say copies and cut in the notes" in sentences


def test_what_the_notes_say_is_not_said_again() -> None:
    """Both copies and cut are in the sample's notes; one alone is not enough."""
    assert not [s for s in alter(smock(), Alteration(around=40.0)).explanation if "Counted" in s.text]
    notes = notes_of([PieceNote("skirt", copies=1)])
    said = [s.text for s in alter(pattern_of(half_skirt(), notes), Alteration(around=40.0)).explanation]
    assert "Counted: skirt once on the fold (a fold is drawn). If that is wrong" in said[1]
    assert "each of 2 grading lines" in said[0]


def test_the_side_that_lies_on_a_fold_known_by_words_stays_where_it_is() -> None:
    """The fold that `with_roles` finds is kept to as if it were drawn."""
    pattern = with_roles(pattern_of([*without_fold(), words("cut 1 on the fold")]))
    after = alter(pattern, Alteration(around=40.0)).pattern
    before, now = (ring(p.lines(role=Role.CUTTING)[0].path) for p in (pattern, after))
    assert now[:, 0].min() == before[:, 0].min() == 100.0


def test_a_piece_that_goes_around_and_stays_is_named() -> None:
    """The back has no grading line: the front takes it all, and that is said."""
    back = [line("back", Role.CUTTING, through((600, 100), (800, 100), (800, 700), (600, 700), closed=True), "edge"),
            line("back", Role.STITCHING, through((785, 100), (785, 700)), "side")]  # fmt: skip
    seam = SeamNote("side", (LineRef("panel", "side"),), (LineRef("back", "side"),))
    pieces = [PieceNote(ident, copies=1, cut=CutAs.FOLD) for ident in ("panel", "back")]
    sewn = pattern_of([*rectangle(), *back], notes_of(pieces, [seam]))
    said = [str(s) for s in alter(sewn, Alteration(around=40.0)).explanation]
    assert "Left as drawn: back, though sewn to panel and going around." in said
    unsewn = replace(sewn, notes=notes_of(pieces))
    assert "Left as drawn, without a grading line: back." in [
        str(s) for s in alter(unsewn, Alteration(around=40.0)).explanation
    ]
    assert "Left as drawn, without a lengthen line: back." in [
        str(s) for s in alter(unsewn, Alteration(longer=40.0)).explanation
    ]


def test_the_sample_leaves_nothing_that_goes_around() -> None:
    """Its sleeves are sewn across the grading lines, its pocket and facing to nothing along the grain."""
    said = [str(s) for s in alter(smock(), Alteration(around=40.0)).explanation]
    assert not [s for s in said if s.startswith("Left as drawn")]
    alone = [str(s) for s in alter(smock(), Alteration(around=20.0, pieces=("front",))).explanation]
    assert "Left as drawn: back, though sewn to front and going around." in alone
