"""Fitting a drawing that was altered before: what it measures now counts, not what it was first drawn for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.altering.drawings import line, notes_of, pattern_of, rectangle, through
from tests.planning.retaped import smock
from tiling.altering.alter import Alteration, alter
from tiling.altering.seams import named_length
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.sizes import finished
from tiling.notes import CutAs, LineRef, PieceNote
from tiling.pattern import FindingKind, Pattern, Role


def around(pattern: Pattern, level: str) -> float:
    """The finished measure by hand: front and back lie on the fold, so each level line counts twice."""
    return 2 * sum(named_length(pattern, LineRef(piece, level)) for piece in ("front", "back"))


@pytest.mark.parametrize(
    "first",
    [
        Alteration(around=40.0),
        Alteration(around=-30.0, taper=0.25),
        Alteration(to={"hip": 1060.0}),
        Alteration(to={"hip": 1060.0}, taper=0.5),
        Alteration(longer=30.0),
    ],
    ids=str,
)
@pytest.mark.parametrize("asked", [{"waist": 900.0}, {"waist": 820.0, "hip": 1000.0}])
def test_a_measure_is_met_whatever_was_altered_before(first: Alteration, asked: dict[str, float]) -> None:
    """Ease and all, on the drawing itself; twice in a row; and the notes say of every measure what is true now."""
    pattern = alter(smock(), first).pattern
    for _ in range(2):
        outcome = alter(pattern, Alteration(to=asked))
        pattern = outcome.pattern
        assert not [f for f in outcome.findings if f.kind is FindingKind.NOTES_CONTRADICT_DRAWING]
        assert pattern.notes is not None
        for name in ("waist", "hip"):
            measure = around(pattern, name)
            # Level lines bend where a V has turned them: the sums of lengths hold to the second order of the turn.
            assert measure == pytest.approx(pattern.notes.drawn_for[name] + pattern.notes.ease[name], abs=0.3)
            # The cloth room measures from edge to edge instead, and the edges were trued.
            assert measure == pytest.approx(finished(SeamLines(pattern), name) or 0.0, abs=0.5)
        for name, value in asked.items():
            assert pattern.notes.drawn_for[name] == value


def test_measures_move_along_at_their_own_height() -> None:
    """Tapered to nothing at the hem: the hip gains its share, the wrist nothing."""
    after = alter(smock(), Alteration(around=40.0, taper=0.0)).pattern
    assert after.notes is not None and smock().notes is not None
    gained = {name: after.notes.drawn_for[name] - smock().notes.drawn_for[name] for name in after.notes.drawn_for}
    assert gained["waist"] == pytest.approx(around(after, "waist") - around(smock(), "waist"), abs=0.02)
    assert gained["hip"] == pytest.approx(around(after, "hip") - around(smock(), "hip"), abs=0.02)
    assert 0 < gained["hip"] < gained["waist"] < 40 and gained["wrist"] == 0.0


def test_notes_that_tell_another_measure_than_the_drawing_are_a_finding() -> None:
    """Altered, and the notes left as they were: the level lines are believed, and both sums are said."""
    stale = replace(alter(smock(), Alteration(around=40.0)).pattern, notes=smock().notes)
    outcome = alter(stale, Alteration(to={"waist": 900.0}))
    (said,) = [f for f in outcome.findings if f.kind is FindingKind.NOTES_CONTRADICT_DRAWING]
    assert "1148.0 mm" in said.text and "1188.0 mm" in said.text
    assert around(outcome.pattern, "waist") == pytest.approx(1188.0, abs=0.02)
    now = outcome.pattern.notes
    assert now is not None and (now.drawn_for["waist"], now.drawn_for["hip"]) == (
        900.0,
        pytest.approx(1060.0, abs=0.05),
    )


def test_level_lines_that_can_be_no_measure_are_not_believed() -> None:
    """Half of the garment is not drawn: what the level line of the other half measures is said, and left."""
    marks = [mark for mark in smock().marks if mark.tag.piece != "back"]
    assert smock().notes is not None
    seams = tuple(seam for seam in smock().seams if "back" not in {ref.piece for ref in (*seam.first, *seam.second)})
    half = replace(smock().with_marks(marks), notes=replace(smock().notes, seams=seams))
    outcome = alter(half, Alteration(to={"waist": 900.0}))
    (said,) = [f for f in outcome.findings if f.kind is FindingKind.NOTES_CONTRADICT_DRAWING]
    assert "the notes were believed" in said.text and "574.0 mm" in said.text
    assert "so 40.0 mm more" in outcome.explanation[0].text


def test_a_dart_between_the_seams_leaves_the_measure_to_the_notes() -> None:
    """Where it isn't clear what is sewn, the sums of earlier alterations count."""
    dart = [
        line("panel", Role.STITCHING, through((150, 100), (160, 250))),
        line("panel", Role.STITCHING, through((170, 100), (160, 250))),
    ]
    waist = line("panel", Role.PLACEMENT, through((100, 120), (285, 120)), "waist")
    hip = line("panel", Role.PLACEMENT, through((100, 350), (285, 350)), "hip")
    notes = notes_of([PieceNote("panel", copies=2, cut=CutAs.FOLD)], drawn={"waist": 660.0, "hip": 700.0})
    notes = replace(notes, ease={"waist": 20.0, "hip": 40.0})
    wider = alter(pattern_of([*rectangle(), waist, hip, *dart], notes), Alteration(around=40.0)).pattern
    assert wider.notes is not None and dict(wider.notes.drawn_for) == {"waist": 700.0, "hip": 740.0}
    outcome = alter(wider, Alteration(to={"waist": 720.0}))
    assert "so 20.0 mm more" in outcome.explanation[0].text and not outcome.findings


def test_what_a_measure_without_a_level_line_gained_is_kept() -> None:
    """Two measures, one without a line: it is taken at the line's other end, where earlier amounts were gained too."""
    waist = line("panel", Role.PLACEMENT, through((100, 120), (285, 120)), "waist")
    notes = notes_of([PieceNote("panel", copies=2, cut=CutAs.FOLD)], drawn={"waist": 700.0, "hem": 760.0})
    before = pattern_of([*rectangle(), waist], replace(notes, ease={"waist": 40.0, "hem": 0.0}))
    wider = alter(before, Alteration(around=40.0, taper=0.5)).pattern
    assert wider.notes is not None
    assert wider.notes.drawn_for["hem"] == 760.0 and wider.notes.gained == {"hem": (40.0, 20.0)}
    fitted = alter(wider, Alteration(to={"waist": 760.0, "hem": 800.0}))
    assert "hem: 800.0 mm and 0.0 mm ease make 800.0 mm, drawn 780.0 mm, so 20.0 mm more" in fitted.explanation[1].text
    assert fitted.pattern.notes is not None
    assert not fitted.pattern.notes.gained and fitted.pattern.notes.drawn_for == {"waist": 760.0, "hem": 800.0}
