"""Seams are measured before and after; what no longer fits is a finding, and the partner can follow."""

from __future__ import annotations

from pathlib import Path as FilePath

import pytest

from tests.altering.drawings import levels, line, notes_of, pattern_of, rectangle, through
from tests.drawings import drawing_at
from tiling.altering.alter import Alteration, Matching, alter
from tiling.altering.seams import named_length, seam_changes
from tiling.failures import InputUnfit, UsageWrong
from tiling.notes import LineRef, PieceNote, SeamNote
from tiling.pattern import FindingKind, Pattern, Role

SMOCK = FilePath(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"


@pytest.fixture(scope="module")
def smock() -> Pattern:
    """The sample with its notes."""
    return drawing_at(SMOCK)


def test_the_table_has_both_lengths_and_the_ease(smock: Pattern) -> None:
    """The sleeve cap is 14 mm longer than the armhole it is set into."""
    rows = {change.note.name: change.after for change in seam_changes(smock, smock)}
    assert rows["armhole"].difference == pytest.approx(14.0, abs=0.01)
    assert rows["armhole"].off == pytest.approx(0.0, abs=0.01)
    assert rows["armhole"].first == "sleeve.cap-front + sleeve.cap-back"
    assert rows["side"].first_length == pytest.approx(rows["side"].second_length, abs=0.01)


def test_lines_that_share_a_name_are_added() -> None:
    """Two lines called hem in one piece are one hem in two parts; a cutting line of that name is another matter."""
    marks = [
        line("p", Role.STITCHING, through((0, 0), (30, 40)), "hem"),
        line("p", Role.STITCHING, through((60, 0), (60, 10)), "hem"),
        line("p", Role.CUTTING, through((0, 0), (500, 0)), "hem"),
    ]
    assert named_length(pattern_of(marks), LineRef("p", "hem")) == pytest.approx(60.0)


def test_a_seam_that_names_no_line_says_the_nearest() -> None:
    """The message names the line asked for and the one that is there."""
    marks = [line("front", Role.STITCHING, through((0, 0), (0, 10)), "side")]
    with pytest.raises(InputUnfit, match=r"front\.sied.*did you mean front\.side"):
        named_length(pattern_of(marks), LineRef("front", "sied"))


def test_lengthening_one_piece_alone_is_a_finding(smock: Pattern) -> None:
    """Which seam, by how much, and which piece to alter too."""
    outcome = alter(smock, Alteration(longer=20.0, pieces=("front",)))
    (finding,) = outcome.findings
    assert finding.kind is FindingKind.SEAM_LENGTH_CHANGED
    assert "side seam" in finding.text
    assert "front.side is now 19.9 mm longer against back.side than it was" in finding.text
    assert "alter back too" in str(finding)


def test_a_body_made_narrower_names_the_sleeve(smock: Pattern) -> None:
    """The piece to alter too is the one that wasn't altered, also when the other became shorter."""
    (finding,) = alter(smock, Alteration(around=-40.0)).findings
    assert "front.armhole + back.armhole is now" in finding.text
    assert "shorter against sleeve.cap-front" in finding.text
    assert "alter sleeve too" in str(finding)


def test_a_difference_within_3_mm_is_none(smock: Pattern) -> None:
    """Smaller ones are eased in while sewing."""
    assert not alter(smock, Alteration(longer=2.5, pieces=("front",))).findings


def test_the_partner_follows_when_asked(smock: Pattern) -> None:
    """--match: the back is lengthened by the same amount at its own line, and the side seams fit again."""
    outcome = alter(smock, Alteration(longer=20.0, pieces=("front",), matching=Matching.FOLLOW))
    assert not outcome.findings
    assert set(outcome.altered) == {"front", "back"}
    side = next(change for change in outcome.seams if change.note.name == "side")
    assert side.after.difference == pytest.approx(0.0, abs=0.01)
    assert any("back follows at the side seam: +20.0 mm" in words for words in map(str, outcome.explanation))


def test_the_sleeve_follows_the_body(smock: Pattern) -> None:
    """Front and back widened by 10 mm at each armhole: the cap gets the same 20 mm, 10 at each of its lines."""
    alone = alter(smock, Alteration(around=40.0))
    assert any("armhole" in f.text and "alter sleeve too" in str(f) for f in alone.findings)
    outcome = alter(smock, Alteration(around=40.0, matching=Matching.FOLLOW))
    assert not outcome.findings
    assert any(
        "sleeve follows at the armhole seam: +10.0 mm at each of 2 grading lines." in w
        for w in map(str, outcome.explanation)
    )
    for name in ("armhole", "underarm", "side", "shoulder"):
        change = next(c for c in outcome.seams if c.note.name == name)
        assert abs(change.after.off) < 3.0, name


def test_the_body_is_one_circumference_and_the_sleeve_another(smock: Pattern) -> None:
    """--around is shared over front and back; the sleeve closes on itself and is told apart."""
    outcome = alter(smock, Alteration(around=40.0))
    assert outcome.explanation[0].text == "40.0 mm more around: 10.0 mm at each of 4 grading lines."
    assert "sleeve" in outcome.explanation[1].text
    assert set(outcome.altered) == {"front", "back"}
    sleeve = alter(smock, Alteration(around=20.0, taper=1.0, pieces=("sleeve",)))
    assert sleeve.explanation[0].text == "20.0 mm more around: 10.0 mm at each of 2 grading lines."


def test_a_waistband_is_no_part_of_the_body_and_follows_it() -> None:
    """A piece sewn across the cut has its own line: it is left out of the share, and --match widens it."""
    marks = [*rectangle("front"), *rectangle("back", 600.0)]
    for piece, x in (("front", 100.0), ("back", 600.0)):
        marks.append(line(piece, Role.STITCHING, through((x, 115), (x + 200, 115)), "waist"))
    band = through((100, 900), (500, 900), (500, 960), (100, 960), closed=True)
    marks += [
        line("band", Role.CUTTING, band),
        line("band", Role.GRAINLINE, through((140, 905), (140, 955))),
        line("band", Role.STITCHING, through((100, 915), (500, 915)), "waist"),
        line("band", Role.GRADING, through((300, 895), (300, 965))),
    ]
    notes = notes_of(
        [PieceNote("band")],
        [
            SeamNote("side", (LineRef("front", "side"),), (LineRef("back", "side"),)),
            SeamNote("waist", (LineRef("band", "waist"),), (LineRef("front", "waist"), LineRef("back", "waist"))),
        ],
    )
    outcome = alter(pattern_of(marks, notes), Alteration(around=40.0, matching=Matching.FOLLOW))
    assert "10.0 mm at each of 4 grading lines" in outcome.explanation[0].text
    waist = next(c for c in outcome.seams if c.note.name == "waist")
    assert waist.after.difference == pytest.approx(waist.before.difference, abs=1e-6)
    assert outcome.altered == ("front", "back", "band")


def test_fitting_to_a_person_shows_the_sum(smock: Pattern) -> None:
    """Body + ease = finished; the change is shared, and the level line says where."""
    outcome = alter(smock, Alteration(to={"waist": 900.0}))
    assert outcome.explanation[0].text == (
        "waist: 900.0 mm and 288.0 mm ease make 1188.0 mm, drawn 1148.0 mm, so 40.0 mm more: "
        "10.0 mm at each of 4 grading lines at the waist."
    )
    assert named_length(outcome.pattern, LineRef("front", "waist")) == pytest.approx(297.0, abs=0.01)


def test_two_measures_are_both_met(smock: Pattern) -> None:
    """Waist + 60, hip + 20: the cut opens in a straight line through both, each at its height."""
    outcome = alter(smock, Alteration(to={"waist": 920.0, "hip": 1040.0}))
    for piece in ("front", "back"):
        assert named_length(outcome.pattern, LineRef(piece, "waist")) == pytest.approx(287 + 15, abs=0.01)
        assert named_length(outcome.pattern, LineRef(piece, "hip")) == pytest.approx(302 + 5, abs=0.01)


def test_a_tapered_measure_is_met_at_its_height(smock: Pattern) -> None:
    """With a taper the wide end opens by more, so that the waist gets what it needs."""
    outcome = alter(smock, Alteration(to={"waist": 900.0}, taper=0.0))
    assert named_length(outcome.pattern, LineRef("front", "waist")) == pytest.approx(297.0, abs=0.01)


@pytest.mark.parametrize(
    ("measures", "message"),
    [
        ({"waistt": 900.0}, "did you mean waist"),
        ({"waist": 900.0, "hip": 1000.0, "bust": 1000.0}, "one or two"),
    ],
)
def test_measures_that_cannot_be_used_are_refused(smock: Pattern, measures: dict[str, float], message: str) -> None:
    """An unknown name, or more than a straight cut can follow."""
    with pytest.raises(UsageWrong, match=message):
        alter(smock, Alteration(to=measures))


def test_a_measure_without_its_line_is_refused(smock: Pattern) -> None:
    """The wrist is in the notes, but no line shows where it is taken."""
    with pytest.raises(InputUnfit, match="no line named wrist"):
        alter(smock, Alteration(to={"wrist": 170.0}))


def test_without_measures_in_the_notes_to_is_refused() -> None:
    """--to needs the measures that the pattern was drawn for."""
    with pytest.raises(InputUnfit, match="hold no measures"):
        alter(
            pattern_of([*rectangle(), *levels("panel", 100.0, [(300, 100), (300, 700)], ())]),
            Alteration(to={"hip": 1.0}),
        )


def test_a_body_keeps_its_armhole_when_its_sleeve_is_widened(smock: Pattern) -> None:
    """--match does not widen the body by what the cap needs; the cap is to be eased in, and that is said."""
    for matching in Matching:
        outcome = alter(smock, Alteration(around=40.0, pieces=("sleeve",), matching=matching))
        assert outcome.altered == ("sleeve",)
        (finding,) = outcome.findings
        assert "keep front and back as drawn and ease the difference in" in finding.text and finding.remedy is None
    narrower = alter(smock, Alteration(around=-30.0, pieces=("sleeve",))).findings[0]
    assert "take a smaller amount" in narrower.text


def test_a_partner_without_a_line_there_is_not_advised_to_follow() -> None:
    """Nothing could be cut in it: a line has to be drawn, or the edges trued by hand."""
    other = rectangle("back", 600.0)
    without = [mark for mark in other if mark.tag.role is not Role.LENGTHEN]
    seam = SeamNote("side", (LineRef("front", "side"),), (LineRef("back", "side"),))
    for marks, said in ((other, "alter back too"), (without, "back has no line to cut along there: draw one")):
        pattern = pattern_of([*rectangle("front"), *marks], notes_of((), [seam]))
        (finding,) = alter(pattern, Alteration(longer=20.0, pieces=("front",))).findings
        assert said in str(finding)
        assert (finding.remedy is None) == (marks is without)


def test_a_seam_drawn_with_other_ease_than_noted_reminds_of_its_unaltered_side() -> None:
    """12 mm of ease that nobody noted turn into 8 mm too little: less off than before, and still no seam."""
    front, back = rectangle("front"), rectangle("back", 600.0)
    short = [mark for mark in back if mark.tag.name != "side"]
    short.append(line("back", Role.STITCHING, through((785, 100), (785, 712)), "side"))
    seam = SeamNote("side", (LineRef("front", "side"),), (LineRef("back", "side"),))
    pattern = pattern_of([*front, *short], notes_of((), [seam]))
    (finding,) = alter(pattern, Alteration(longer=20.0, pieces=("front",))).findings
    assert "front.side is now 20.0 mm longer against back.side" in finding.text and "alter back too" in str(finding)
    assert not alter(pattern, Alteration(longer=12.0, pieces=("front",))).findings
