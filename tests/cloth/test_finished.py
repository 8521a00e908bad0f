"""Finished measures and seams of outlines whose widths are known: by hand, and by quadrature with scipy.

Drawn with what stands inside a piece, and with pieces that lie on or under the outer layer.
"""

from __future__ import annotations

from math import hypot, sqrt

import pytest
from scipy.integrate import quad

from tests.cloth.drafts import mark, pattern, rectangle
from tiling.cloth.seam_lines import LineLengths, SeamLines
from tiling.cloth.seams import seam_rows
from tiling.cloth.sizes import SizeRow, size_rows
from tiling.notes import CutAs, LineRef, Notes, PieceNote, SeamNote
from tiling.pattern import Line, Role

SEAM = 15.0


def skirt(ident: str = "skirt", x: float = 0.0, *, stitched: bool = True) -> list[Line]:
    """A skirt panel cut 310 x 600 at x: seams 15 mm inside (280 wide), waist at the top seam, hip 180 below."""
    lines = rectangle(ident, 310, 600, x)
    if stitched:
        lines += [
            mark(ident, Role.STITCHING, "waist", (x + 15, 15), (x + 295, 15)),
            mark(ident, Role.STITCHING, "side-right", (x + 295, 15), (x + 295, 585)),
            mark(ident, Role.STITCHING, "hem", (x + 295, 585), (x + 15, 585)),
            mark(ident, Role.STITCHING, "side-left", (x + 15, 585), (x + 15, 15)),
        ]
    return [*lines, mark(ident, Role.PLACEMENT, "hip", (x + 100, 195), (x + 180, 195))]


def sizes(marks: list[Line], notes: Notes | None = None) -> dict[str, SizeRow]:
    """The size table by measure."""
    return {row.measure: row for row in size_rows(SeamLines(pattern(marks, notes)))}


def dart(
    x: float,
    half: float,
    deep: float,
    name: str = "",
    top: float = 15.0,
    piece: str = "skirt",
    role: Role = Role.STITCHING,
) -> Line:
    """A dart from the waist: an open V with its point below."""
    return mark(piece, role, name, (x - half, top), (x, top + deep), (x + half, top))


# -- what stands inside a piece --------------------------------------------------------------------------------------

INSIDE = {
    "short dart": [dart(150, 10, 110)],
    "dart of two lines": [
        mark("skirt", Role.STITCHING, "", (140, 15), (150, 125)),
        mark("skirt", Role.STITCHING, "", (160, 15), (150, 125)),
    ],
    "pocket": [mark("skirt", Role.STITCHING, "", (60, 150), (60, 300), (160, 300), (160, 150))],
    "closed pocket": [mark("skirt", Role.STITCHING, "", (60, 150), (60, 300), (160, 300), (160, 150), closed=True)],
    "topstitching": [
        mark("skirt", Role.STITCHING, "", (289, 15), (289, 585)),
        mark("skirt", Role.STITCHING, "", (21, 15), (21, 585)),
    ],
    "topstitching by name": [mark("skirt", Role.STITCHING, "topstitching", (289, 15), (289, 585))],
    "topstitching down the middle": [mark("skirt", Role.STITCHING, "", (155, 15), (155, 585))],
}


@pytest.mark.parametrize("inside", INSIDE.values(), ids=INSIDE)
@pytest.mark.parametrize("stitched", [True, False], ids=["seams drawn", "seams from the allowance"])
def test_what_is_sewn_inside_a_piece_ends_no_width(inside: list[Line], stitched: bool) -> None:
    """280 mm from seam to seam, twice, whatever crosses the hip between the seams and is no dart there."""
    notes = Notes(pieces={"skirt": PieceNote("skirt", copies=2, cut=CutAs.PAIR, seam_allowance=SEAM)})
    marks = [*inside, *skirt(stitched=stitched)]
    assert sizes(marks, notes)["hip"].finished == pytest.approx(560.0, abs=1e-6)


@pytest.mark.parametrize("inside", INSIDE.values(), ids=INSIDE)
def test_a_worked_out_seam_stays_as_long_whatever_is_sewn_inside(inside: list[Line]) -> None:
    """The side is 570 mm between the allowances, though other lines of the piece are drawn as stitching lines."""
    notes = Notes(pieces={"skirt": PieceNote("skirt", seam_allowance=SEAM)})
    lines = SeamLines(pattern([*inside, *skirt(stitched=False)], notes))
    assert lines.line(LineRef("skirt", "right")).length == pytest.approx(570.0, abs=1e-6)


def test_a_seam_drawn_without_a_name_is_not_measured_twice_where_it_is_topstitched() -> None:
    """One closed stitching line and topstitching 6 mm inside it: the right side is 570 mm."""
    marks = [
        *rectangle("skirt", 310, 600),
        mark("skirt", Role.STITCHING, "", (15, 15), (295, 15), (295, 585), (15, 585), closed=True),
        mark("skirt", Role.STITCHING, "", (289, 15), (289, 585)),
    ]
    assert SeamLines(pattern(marks)).line(LineRef("skirt", "right")).length == pytest.approx(570.0, abs=1e-6)


@pytest.mark.parametrize(
    "drawn",
    [
        [dart(150, 12, 300)],
        [dart(150, 12, 300, "dart")],
        [dart(150, 12, 300, "Abnäher")],
        [dart(150, 12, 300, role=Role.DART)],
        [mark("skirt", Role.DART, n, (150 + s * 12, 15), (150, 315)) for n, s in (("", -1), ("", 1))],
        [dart(150, 12, 300, "pince-devant", role=Role.PLACEMENT)],
        [mark("skirt", Role.STITCHING, "", (138, 15), (150, 315), (162, 15), closed=True)],
        [mark("skirt", Role.STITCHING, n, (150 + s * 12, 15), (150, 315)) for n, s in (("", -1), ("", 1))],
        [mark("skirt", Role.STITCHING, n, (150 + s * 12, 15), (150, 315)) for n, s in (("dart-l", -1), ("dart-r", 1))],
        [*(mark("skirt", Role.STITCHING, "dart", (150 + s * 12, 15), (150, 315)) for s in (-1, 1)),
         mark("skirt", Role.STITCHING, "dart", (150, 15), (150, 315))],
    ],
)  # fmt: skip
def test_a_dart_that_is_open_at_the_level_is_taken_off_and_told(drawn: list[Line]) -> None:
    """24 mm at the seam, 300 deep: 180 below it is 24 * 120/300 = 9.6 mm wide."""
    row = sizes([*skirt(), *drawn])["hip"]
    (part,) = row.counted
    assert [(one.word, round(one.width, 6)) for one in part.closings] == [("dart", 9.6)]
    assert row.finished == pytest.approx(280.0 - 9.6, abs=1e-6)


def test_a_diamond_is_taken_off_where_the_level_crosses_it() -> None:
    """A dart in the middle of a dress, 30 mm wide at the level."""
    diamond = mark("skirt", Role.STITCHING, "", (150, 95), (165, 195), (150, 295), (135, 195), closed=True)
    row = sizes([*skirt(), diamond])["hip"]
    assert row.finished == pytest.approx(250.0, abs=1e-6)


def test_a_dart_cut_out_of_the_outline_is_taken_off() -> None:
    """The cutting line runs round it; seams come from an allowance of 10 mm, or are the line itself."""
    outline = [(0, 0), (138, 0), (150, 300), (162, 0), (310, 0), (310, 600), (0, 600)]
    marks = [
        mark("skirt", Role.CUTTING, "outline", *outline, closed=True),
        mark("skirt", Role.PLACEMENT, "hip", (20, 180), (100, 180)),
    ]
    row = sizes(marks)["hip"]
    assert row.finished == pytest.approx(310.0 - 9.6, abs=1e-6)
    assert [one.word for one in row.counted[0].closings] == ["dart"]
    notes = Notes(pieces={"skirt": PieceNote("skirt", seam_allowance=10.0)})
    leg = 10.0 * hypot(12, 300) / 300  # an allowance beside a slanting leg, along the level
    assert sizes(marks, notes)["hip"].finished == pytest.approx(310.0 - 9.6 - 20.0 - 2 * leg, abs=1e-3)


def test_a_pleat_that_is_drawn_is_taken_off_by_its_name_only() -> None:
    """Two lines 40 mm apart from the waist to below the hip; without the name they are topstitching."""
    lines = [mark("skirt", Role.STITCHING, "pleat", (x, 15), (x, 300)) for x in (130, 170)]
    assert sizes([*skirt(), *lines])["hip"].finished == pytest.approx(240.0, abs=1e-6)
    plain = [mark("skirt", Role.STITCHING, "", (x, 15), (x, 300)) for x in (130, 170)]
    assert sizes([*skirt(), *plain])["hip"].finished == pytest.approx(280.0, abs=1e-6)


# -- seams -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("drawn", [dart(150, 10, 110), dart(150, 12, 132, top=-7.0)], ids=["to the seam", "beyond it"])
def test_a_dart_is_taken_off_the_seam_it_opens_at(drawn: Line) -> None:
    """280 mm of waist with a dart of 20: 260 are sewn to the waistband, and rules say so too."""
    notes = Notes(seams=(SeamNote("waist", (LineRef("band", "bottom"),), (LineRef("skirt", "waist"),)),))
    lines = SeamLines(pattern([*skirt(), drawn, *rectangle("band", 260, 40, x=400)], notes))
    (row,) = seam_rows(lines)
    assert row.second_length == pytest.approx(260.0, abs=1e-6)
    assert row.agrees
    assert sum(one.width for one in row.second_closed) == pytest.approx(20.0, abs=1e-6)
    assert LineLengths(lines)["skirt.waist"] == pytest.approx(260.0, abs=1e-6)


def test_a_dart_drawn_as_part_of_the_seams_line_is_taken_off() -> None:
    """The stitching line runs down one leg and up the other."""
    marks = [
        *rectangle("skirt", 310, 600),
        mark("skirt", Role.STITCHING, "waist", (15, 15), (140, 15), (150, 125), (160, 15), (295, 15)),
    ]
    assert SeamLines(pattern(marks)).line(LineRef("skirt", "waist")).length == pytest.approx(260.0, abs=1e-6)


def test_a_neckline_that_comes_to_a_point_is_no_dart() -> None:
    """A V neck's stitching line follows its cutting line."""
    cut = [(0, 0), (60, 0), (150, 160), (240, 0), (300, 0), (300, 600), (0, 600)]
    sewn = mark("front", Role.STITCHING, "neckline", (68, 15), (150, 161 + 14), (232, 15))
    marks = [mark("front", Role.CUTTING, "outline", *cut, closed=True), sewn]
    line = SeamLines(pattern(marks)).line(LineRef("front", "neckline"))
    assert line.closed == ()


def test_notches_behind_a_dart_lie_where_they_do_once_it_is_sewn() -> None:
    """200 mm along the paper is 180 along the seam."""
    lines = SeamLines(pattern([*skirt(), dart(150, 10, 110)]))
    waist = lines.line(LineRef("skirt", "waist"))
    from tiling.shapes import Point

    assert waist.position(Point(215.0, 15.0)) == pytest.approx(180.0, abs=0.01)
    assert waist.position(Point(115.0, 15.0)) == pytest.approx(100.0, abs=0.01)


# -- which pieces count ----------------------------------------------------------------------------------------------


def notes(**pieces: PieceNote) -> Notes:
    """Notes of these pieces."""
    return Notes(pieces={note.ident: note for note in pieces.values()}, drawn_for={"hip": 500.0})


def test_a_lining_with_the_same_level_is_not_added() -> None:
    """In its own cloth, or in the main cloth by its title; both are told, with the reason."""
    own = notes(skirt=PieceNote("skirt", copies=2), inside=PieceNote("inside", copies=2, cloth="lining"))
    row = sizes([*skirt(), *skirt("inside", 400)], own)["hip"]
    assert row.finished == pytest.approx(560.0, abs=1e-6)
    assert [(part.piece, part.layers) for part in row.counted] == [("skirt", 2)]
    assert [(one.piece, one.why) for one in row.left_out] == [("inside", "cut from lining")]
    for title in ("Skirt lining", "Innenfutter", "Doublure de la jupe", "Front facing", "Kieszeń"):
        titled = notes(skirt=PieceNote("skirt", copies=2), inside=PieceNote("inside", title, copies=2))
        assert sizes([*skirt(), *skirt("inside", 400)], titled)["hip"].finished == pytest.approx(560.0, abs=1e-6)


def test_a_front_with_a_pocket_is_a_front() -> None:
    """What follows a with or a for says nothing of what the piece is."""
    titled = notes(skirt=PieceNote("skirt", "Skirt front with pocket"))
    assert sizes(skirt(), titled)["hip"].finished == pytest.approx(280.0, abs=1e-6)


def test_a_patch_that_is_sewn_onto_a_piece_is_not_added() -> None:
    """A patch without a telling name, sewn to a placement line, has a line named hip."""
    patch = [*rectangle("patch", 100, 150, x=400), mark("patch", Role.PLACEMENT, "hip", (410, 50), (490, 50))]
    place = mark("skirt", Role.PLACEMENT, "bag", (60, 150), (60, 300), (160, 300), (160, 150))
    sewn = Notes(seams=(SeamNote("bag", (LineRef("patch", "left"),), (LineRef("skirt", "bag"),)),))
    row = sizes([*skirt(), *patch, place], sewn)["hip"]
    assert row.finished == pytest.approx(280.0, abs=1e-6)
    assert [(one.piece, one.why) for one in row.left_out] == [("patch", "sewn onto skirt")]


def test_a_part_in_another_cloth_counts_where_a_seam_across_the_level_joins_it() -> None:
    """A back in a check is part of the skirt; without the seam it may be an underskirt."""
    pieces = {"skirt": PieceNote("skirt"), "back": PieceNote("back", cloth="check")}
    seam = SeamNote("side", (LineRef("skirt", "side-right"),), (LineRef("back", "side-left"),))
    marks = [*skirt(), *skirt("back", 400)]
    assert sizes(marks, Notes(pieces=pieces, seams=(seam,)))["hip"].finished == pytest.approx(560.0, abs=1e-6)
    row = sizes(marks, Notes(pieces=pieces))["hip"]
    assert row.finished == pytest.approx(280.0, abs=1e-6)
    assert [one.why for one in row.left_out] == ["cut from check"]


def test_a_level_on_either_side_of_a_seam_is_counted_once() -> None:
    """A waistband of 280 mm on a skirt of 280, both with a waist: one of them is what goes round."""
    band = [*rectangle("band", 280, 40, x=400), mark("band", Role.PLACEMENT, "waist", (410, 20), (600, 20))]
    waist = mark("skirt", Role.PLACEMENT, "waist", (15, 15), (295, 15))
    sewn = Notes(seams=(SeamNote("waist", (LineRef("band", "bottom"),), (LineRef("skirt", "waist"),)),))
    assert sizes([*skirt(), waist, *band], sewn)["waist"].finished == pytest.approx(280.0, abs=1e-6)


# -- against quadrature ----------------------------------------------------------------------------------------------

RISE, HALF = 40.0, 240.0
"""The waist of a flared skirt on its fold is y = RISE * (x / HALF)², drawn exactly as a Bezier curve."""


def parabola(start: float, end: float, down: float = 0.0) -> list[tuple[float, ...]]:
    """The stretch of that curve as the steps of a path."""
    k = RISE / HALF**2

    def at(x: float) -> tuple[float, float]:
        return x, down + k * x * x

    third = (end - start) / 3
    one = start + third, down + k * start * start + third * 2 * k * start
    two = end - third, down + k * end * end - third * 2 * k * end
    return [at(start), (*one, *two, *at(end))]


def run(start: float, end: float) -> float:
    """Arc length of the curve between two x, by quadrature."""
    return float(quad(lambda x: sqrt(1.0 + (2 * RISE * x / HALF**2) ** 2), start, end)[0])


def flared(levels: list[Line]) -> list[Line]:
    """Half a skirt on its fold, its side slanting out by 1 in 6, with a curved waist seam as its upper edge."""
    side_end = HALF + 100.0
    return [
        mark("skirt", Role.CUTTING, "waist", *parabola(0.0, HALF)),
        mark("skirt", Role.CUTTING, "side", (HALF, RISE), (side_end, RISE + 600)),
        mark("skirt", Role.CUTTING, "hem", (side_end, RISE + 600), (0, RISE + 600)),
        mark("skirt", Role.FOLD, "fold", (0, RISE + 600), (0, 0)),
        *levels,
    ]


def test_a_curved_waist_with_a_dart_agrees_with_quadrature() -> None:
    """The sewn waist is the curve's length less the stretch between the dart's legs, which is not its chord."""
    k = RISE / HALF**2
    legs = mark("skirt", Role.STITCHING, "", (100, k * 100**2), (118, 150), (140, k * 140**2))
    lines = SeamLines(pattern(flared([legs])))
    assert lines.line(LineRef("skirt", "waist")).length == pytest.approx(run(0, 100) + run(140, HALF), abs=0.01)


def test_a_level_that_is_drawn_as_a_curve_is_measured_along_it() -> None:
    """A hip drawn parallel to the waist, to where it meets the slanting side, by quadrature; on the fold twice."""
    down, k = 180.0, RISE / HALF**2
    # On the side x = HALF + (y - RISE) / 6 and on the level y = down + k x²; the level is drawn to x = HALF and runs on
    # straight from there.
    slope, y = 2 * k * HALF, down + RISE
    beyond = (HALF + (y - RISE) / 6 - HALF) / (1 - slope / 6)
    hip = mark("skirt", Role.PLACEMENT, "hip", *parabola(0.0, HALF, down))
    expected = 2 * (run(0, HALF) + beyond * hypot(1.0, slope))
    noted = Notes(pieces={"skirt": PieceNote("skirt", cut=CutAs.FOLD)})
    assert sizes(flared([hip]), noted)["hip"].finished == pytest.approx(expected, abs=0.02)
