"""What keeps its shape at a cut, and the way back: an amount and its opposite leave every line where it was."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiLineString, hausdorff_distance

from calibrate.run import Run
from tests.altering.drawings import line, pattern_of, through
from tests.altering.garments import GARMENTS, skirt
from tiling.altering.alter import Alteration, alter
from tiling.drawing.altered_svg import svg_bytes
from tiling.failures import UsageWrong
from tiling.files.inputs import InputFile
from tiling.pattern import FindingKind, Line, Mark, Pattern, Role
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.shapes import Affine, Op

POCKET = through((190, 260), (260, 260), (260, 330), (225, 350), (190, 330), closed=True)


def furnished() -> list[Mark]:
    """The skirt with a pocket, a hip line, a slanting yoke, a plain slanting line, a welt, a box and a notch."""
    return [
        *skirt(),
        line("skirt", Role.PLACEMENT, POCKET, "pocket"),
        line("skirt", Role.PLACEMENT, through((100, 300), (322, 300)), "hip"),
        line("skirt", Role.PLACEMENT, through((100, 240), (300, 180)), "yoke"),
        line("skirt", Role.PLAIN, through((105, 560), (335, 640))),
        line("skirt", Role.PLACEMENT, through((200, 500), (290, 540)), "welt"),
        line("skirt", Role.PLAIN, through((200, 380), (250, 380), (250, 420), (200, 420), closed=True)),
        line("skirt", Role.NOTCH, through((222, 600), (232, 600))),
        line("pocket", Role.CUTTING, through((600, 260), (690, 260), (690, 330), (645, 350), (600, 330), closed=True)),
    ]


def named(pattern: Pattern, name: str) -> Line:
    """The placement line of that name."""
    return pattern.lines(role=Role.PLACEMENT, name=name)[0]


@pytest.mark.parametrize("around", [48.0, -48.0])
@pytest.mark.parametrize("taper", [1.0, 0.0])
def test_a_pocket_is_not_stretched_and_its_piece_is_named(around: float, taper: float) -> None:
    """All distances between its points stay, it stays closed, and it goes with the side where its middle lies."""
    outcome = alter(pattern_of(furnished()), Alteration(around=around, taper=taper, pieces=("skirt",)))
    pocket = named(outcome.pattern, "pocket").path
    assert pocket.closed
    apart = [np.linalg.norm(p.points[:, None] - p.points[None], axis=2) for p in (POCKET, pocket)]
    assert np.allclose(*apart, atol=1e-9)
    # Its middle lies at x = 225, on the cut: it stays. Moved 10 mm to the right it goes along.
    kept = {f.text for f in outcome.findings if f.kind is FindingKind.SHAPE_KEPT_AT_CUT}
    assert any("the placement line pocket" in text and "the piece pocket still fits it" in text for text in kept)
    beside = [m.moved(Affine.shift(10, 0)) if m.tag.name == "pocket" else m for m in furnished()]
    moved = named(alter(pattern_of(beside), Alteration(around=around, pieces=("skirt",))).pattern, "pocket").path
    assert (moved.points - POCKET.points)[:, 0] == pytest.approx(10.0 + around / 2)


@pytest.mark.parametrize("around", [48.0, -48.0])
def test_straight_slanting_lines_get_no_stair_and_no_notch(around: float) -> None:
    """A line across the piece stays one straight line from end to end; a level one is longer by the amount."""
    after = alter(pattern_of(furnished()), Alteration(around=around, pieces=("skirt",))).pattern
    for mark in (named(after, "yoke"), named(after, "hip"), after.lines(piece="skirt", role=Role.PLAIN)[0]):
        assert list(mark.path.ops) == [Op.MOVE, Op.LINE]
    assert named(after, "hip").path.length() == pytest.approx(222 + around / 2, abs=1e-6)
    assert named(after, "yoke").path.points == pytest.approx(np.array([[100, 240], [300 + around / 2, 180]]))
    assert named(after, "welt").path.length() == pytest.approx(np.hypot(90, 40))


def test_two_lines_of_one_name_move_together() -> None:
    """A flap that lies wholly on the other side goes with its pocket."""
    flap = line("skirt", Role.PLACEMENT, through((190, 245), (215, 245), (215, 255), (190, 255), closed=True), "pocket")
    beside = [m.moved(Affine.shift(20, 0)) if m.tag.name == "pocket" else m for m in furnished()]
    after = alter(pattern_of([*beside, flap]), Alteration(around=48.0, pieces=("skirt",))).pattern
    moves = [new.path.points - old.path.points for old, new in zip([beside[5], flap], [after.marks[5], after.marks[-1]],
             strict=True) if isinstance(old, Line) and isinstance(new, Line)]  # fmt: skip
    assert np.ptp([shift[0] for shift in moves], axis=0).max() < 1e-9


def farthest(before: Pattern, after: Pattern) -> float:
    """The farthest that any line but those to cut along is from where it was, mm (shapely)."""
    worst = 0.0
    for old, new in zip(before.lines(), after.lines(), strict=True):
        if old.tag.role not in {Role.GRADING, Role.LENGTHEN}:
            lines = [MultiLineString(mark.path.flatten(0.005)) for mark in (old, new)]
            worst = max(worst, hausdorff_distance(*lines, densify=0.05))
    return worst


@settings(max_examples=14, deadline=None)
@given(
    name=st.sampled_from(["furnished", *sorted(GARMENTS)]),
    around=st.floats(-60, 60),
    longer=st.floats(-50, 50),
    taper=st.sampled_from([0.0, 0.4, 1.0]),
    fairing=st.sampled_from([None, 0.0, 30.0]),
)
def test_an_amount_and_its_opposite_leave_everything_where_it_was(
    name: str, around: float, longer: float, taper: float, fairing: float | None
) -> None:
    """To 0.1 mm, whatever was not refused: wider then narrower, narrower then wider, longer, shorter, and both."""
    before = pattern_of(furnished() if name == "furnished" else GARMENTS[name]())
    main = (before.pieces[0].ident,)
    around, longer = round(around, 3), round(longer, 3)
    try:
        once = alter(before, Alteration(around, longer, taper=taper, fairing=fairing, pieces=main)).pattern
    except UsageWrong:
        return
    back = alter(once, Alteration(-around, -longer, taper=taper, fairing=fairing, pieces=main)).pattern
    assert farthest(before, back) < 0.1


def test_a_cut_line_that_sticks_far_out_moves_the_same_side_on_the_way_back() -> None:
    """Its own middle lies below the piece; a V opened and closed at it."""
    before = pattern_of(GARMENTS["bodice"]())
    main = (before.pieces[0].ident,)
    there, back = (Alteration(amount, taper=0.0, fairing=0.0, pieces=main) for amount in (27.0, -27.0))
    assert farthest(before, alter(alter(before, there).pattern, back).pattern) < 0.1


def reread(pattern: Pattern) -> Pattern:
    """The pattern written as an SVG and read again."""
    return read_drawings([InputFile("altered.svg", svg_bytes(pattern))], ReadOptions(), Run())


@pytest.mark.parametrize("alteration", [Alteration(40.0, 30.0), Alteration(-40.0, -30.0), Alteration(40.0, taper=0.0)])
def test_the_way_back_leads_through_a_file(alteration: Alteration) -> None:
    """Written to 0.0001 mm and read again in between, everything is back to 0.1 mm."""
    before = pattern_of(furnished())
    asked = {"taper": alteration.taper, "pieces": ("skirt",)}
    once = reread(alter(before, Alteration(alteration.around, alteration.longer, **asked)).pattern)
    wish = Alteration(-(alteration.around or 0.0), -alteration.longer if alteration.longer else None, **asked)
    assert farthest(before, alter(once, wish).pattern) < 0.1


def test_a_line_that_somebody_changed_in_between_counts_as_it_is() -> None:
    """The side moved out by 5 mm by hand stays moved out, though the altered drawing kept how it was."""
    once = alter(pattern_of(skirt()), Alteration(around=40.0)).pattern
    old = once.marks[0]
    assert isinstance(old, Line)
    assert old.tag.said("parts")
    points = old.path.points.copy()
    points[points[:, 0] > 300] += (5.0, 0.0)
    changed = line("skirt", Role.CUTTING, type(old.path)(old.path.ops.copy(), points), "edge")
    marks = [Line(changed.path, changed.style, old.tag), *once.marks[1:]]
    back = alter(pattern_of(marks), Alteration(around=-40.0)).pattern
    assert back.lines(role=Role.CUTTING)[0].path.bounds().x1 == pytest.approx(355.0, abs=0.1)


@pytest.mark.parametrize("x", [244.0, 253.0, 257.0, 261.0, 266.0])
@pytest.mark.parametrize("around", [40.0, -20.0])
def test_a_line_near_a_corner_leads_there_and_back(x: float, around: float) -> None:
    """A grading line a few mm beside the waist's corner (at x = 262), or just past it in the side.

    Right at the corner of the stitching line (x = 253.7) there is too little of its edges for an overlap.
    """
    marks = [m for m in skirt() if m.tag.role is not Role.GRADING]
    before = pattern_of([*marks, line("skirt", Role.GRADING, through((x, 60), (x, 725)), "width")])
    if (x, around) == (253.0, -20.0):
        with pytest.raises(UsageWrong, match="the seam at the grading line about x = 253 mm"):
            alter(before, Alteration(around=around))
        return
    once = alter(before, Alteration(around=around)).pattern
    assert farthest(before, alter(once, Alteration(around=-around)).pattern) < 0.1
