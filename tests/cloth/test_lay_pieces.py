"""What lies on the cloth: copies, mirror images, folds, and the grain along the selvedge."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon
from shapely.affinity import scale, translate

from tests.cloth.drafts import NOTES, front, mark, pattern, rectangle, smock
from tiling.cloth.cloth_choice import ClothFold
from tiling.cloth.cutting_list import CutShare, CuttingRow, cutting_rows
from tiling.cloth.lay_pieces import Layers, LayPiece, lay_pieces
from tiling.cloth.seam_lines import SeamLines
from tiling.failures import InputUnfit
from tiling.notes import CutAs
from tiling.pattern import Line, Pattern, Role
from tiling.shapes.regions import area


def laid(drawing: Pattern, fold: ClothFold, cloth: str = "main") -> list[LayPiece]:
    """What lies on one cloth."""
    seam_lines = SeamLines(drawing)
    return lay_pieces(seam_lines, cutting_rows(drawing), cloth, fold)


def one(lines: list, share: CutShare, fold: ClothFold) -> list[LayPiece]:  # type: ignore[type-arg]
    """One piece laid as its share says."""
    drawing = pattern(lines)
    row = CuttingRow(drawing.pieces[0].ident, "One", (share,), counted=True)
    return lay_pieces(SeamLines(drawing), [row], share.cloth, fold)


def gusset() -> list[Line]:
    """A triangle, right-angled at its top left corner."""
    return [
        mark("gusset", Role.CUTTING, "", (0, 0), (120, 0), (0, 90), closed=True),
        mark("gusset", Role.GRAINLINE, "", (30, 20), (30, 60)),
    ]


def as_cut(piece: LayPiece, *, wrong_side_up: bool) -> Polygon:
    """The cut piece as its right side shows it, its grain's arrow pointing up: mirrored where the wrong side was up."""
    x, y = piece.ring.T
    # As the arrow points back to the cut end, x runs down the piece; from above, y runs to its left.
    ring = np.stack([-y if piece.arrow < 0 else y, x if piece.arrow < 0 else -x], axis=1)
    return Polygon(ring * ((-1.0, 1.0) if wrong_side_up else (1.0, 1.0)))


def alike(one: Polygon, other: Polygon) -> bool:
    """Whether a shift brings one onto the other, to 1 mm²."""
    by = np.array(other.bounds[:2]) - one.bounds[:2]
    return bool(translate(one, *by).symmetric_difference(other).area < 1.0)


@pytest.mark.parametrize("copies", [1, 2])
@pytest.mark.parametrize("fold", list(ClothFold))
def test_a_single_piece_comes_out_as_drawn_however_the_cloth_lies(fold: ClothFold, copies: int) -> None:
    """By shapely: on the right side of the cut cloth its right angle is at the top left, as on paper.

    Folded, right sides together, cloth shows its wrong side: a piece laid printed side up would come out mirrored.
    """
    drawn = Polygon([(0, 0), (120, 0), (0, 90)])
    pieces = one(gusset(), CutShare("main", copies, CutAs.SINGLE), fold)
    assert len(pieces) == copies
    for piece in pieces:
        assert alike(as_cut(piece, wrong_side_up=fold is ClothFold.LENGTHWISE), drawn)
        assert piece.mirrored == (fold is ClothFold.LENGTHWISE)


@pytest.mark.parametrize("fold", list(ClothFold))
def test_a_lining_comes_out_as_the_mirror_image_of_what_it_lines(fold: ClothFold) -> None:
    """Its right side faces in. A piece cut from lining alone comes out as drawn."""
    shares = (CutShare("main", 1, CutAs.SINGLE), CutShare("lining", 1, CutAs.SINGLE))
    drawing = pattern(gusset())
    drawn = Polygon([(0, 0), (120, 0), (0, 90)])
    for row_shares, mirrored in ((shares, True), (shares[1:], False)):
        row = CuttingRow("gusset", "One", row_shares, counted=True)
        (piece,) = lay_pieces(SeamLines(drawing), [row], "lining", fold)
        wanted = scale(drawn, -1.0, 1.0) if mirrored else drawn
        assert alike(as_cut(piece, wrong_side_up=fold is ClothFold.LENGTHWISE), wanted)


def test_what_is_cut_out_of_a_piece_is_left_hollow() -> None:
    """A circle skirt's waist, by the area of circles; lines of another layer, and another size, are none."""
    t = np.linspace(0, 2 * np.pi, 400, endpoint=False)

    def circle(radius: float, layer: str = "") -> Line:
        line = mark("skirt", Role.CUTTING, "", *zip(900 + radius * np.cos(t), 900 + radius * np.sin(t), strict=True),
                    closed=True)  # fmt: skip
        return replace(line, tag=replace(line.tag, layer=layer))

    share = CutShare("main", 1, CutAs.SINGLE)
    (skirt,) = one([circle(800.0), circle(120.0)], share, ClothFold.NONE)
    assert skirt.cloth_area == pytest.approx(np.pi * (800.0**2 - 120.0**2), rel=1e-3)
    assert area(skirt.hollows[0]) == pytest.approx(np.pi * 120.0**2, rel=1e-3)
    middle = (skirt.ring.min(axis=0) + skirt.ring.max(axis=0)) / 2
    assert skirt.hollows[0].mean(axis=0) == pytest.approx(middle, abs=0.5)
    for other in (circle(120.0, "size 2"), circle(780.0)):
        (skirt,) = one([circle(800.0), other], share, ClothFold.NONE)
        assert skirt.hollows == ()


def test_a_hollow_in_a_half_is_cut_on_both_sides() -> None:
    """A slot in half a front: one on the fold of the cloth, two where it is opened out."""
    slot = mark("front", Role.CUTTING, "slot", (100, 300), (140, 300), (140, 400), (100, 400), closed=True)
    share = CutShare("main", 1, CutAs.FOLD)
    (half,), (whole,) = (one([*front(), slot], share, fold) for fold in (ClothFold.LENGTHWISE, ClothFold.NONE))
    assert [len(piece.hollows) for piece in (half, whole)] == [1, 2]
    assert half.cloth_area == pytest.approx(whole.cloth_area, rel=1e-4)


def test_the_paper_of_a_half_is_said_to_lie_printed_side_down_where_it_does() -> None:
    """Fronts drawn to either side of their fold: most of the paper lies printed side up, the other one down."""
    right = [mark("a", Role.CUTTING, "", (0, 0), (200, 100), (200, 500), (0, 500)),
             mark("a", Role.FOLD, "", (0, 500), (0, 0))]  # fmt: skip
    left = [mark("b", Role.CUTTING, "", (600, 0), (500, 100), (500, 500), (600, 500)),
            mark("b", Role.FOLD, "", (600, 500), (600, 0))]  # fmt: skip
    for lines, downs in (([*right, *left], {"a": False, "b": True}), (right, {"a": False}), (left, {"b": False})):
        assert {piece.piece: piece.mirrored for piece in laid(pattern(lines), ClothFold.LENGTHWISE)} == downs


def test_the_cutting_list_is_laid_copy_by_copy_on_open_cloth() -> None:
    """Front once, unfolded; two sleeves, one mirrored; two pockets as drawn."""
    pieces = laid(smock(), ClothFold.NONE)
    assert [(p.piece, p.mirrored) for p in pieces] == [
        ("front", False), ("sleeve", False), ("sleeve", True), ("pocket", False), ("pocket", False),
    ]  # fmt: skip
    assert {p.layers for p in pieces} == {Layers.SINGLE}


def test_an_unfolded_piece_has_twice_the_area_of_its_half_and_is_symmetric() -> None:
    """Areas by shapely."""
    half = Polygon(SeamLines(smock()).outline("front").ring())
    whole = laid(smock(), ClothFold.NONE)[0]
    assert Polygon(whole.ring).is_valid
    assert Polygon(whole.ring).area == pytest.approx(2 * half.area, rel=2e-4)
    middle = whole.ring[:, 1].max() / 2
    flipped = Polygon(whole.ring * (1, -1) + (0, 2 * middle))
    assert flipped.symmetric_difference(Polygon(whole.ring)).area < 1.0


def test_on_folded_cloth_a_fold_piece_is_its_half_with_its_fold_at_nought() -> None:
    """And counts twice in cloth."""
    front = laid(smock(), ClothFold.LENGTHWISE)[0]
    assert front.layers is Layers.ON_FOLD
    on_fold = front.ring[np.abs(front.ring[:, 1]) < 1e-6]
    assert np.ptp(on_fold[:, 0]) == pytest.approx(650.0)
    assert front.cloth_area == pytest.approx(2 * area(front.ring))


def test_on_folded_cloth_a_pair_is_laid_once_through_both_layers() -> None:
    """Two layers, right sides together, give a left and a right sleeve."""
    sleeves = [p for p in laid(smock(), ClothFold.LENGTHWISE) if p.piece == "sleeve"]
    assert [p.layers for p in sleeves] == [Layers.DOUBLE]


def test_an_odd_pair_leaves_one_for_the_upper_layer() -> None:
    """Three of a pair: the third as drawn, so its paper lies printed side down on the wrong side of the cloth."""
    pieces = one(gusset(), CutShare("main", 3, CutAs.PAIR), ClothFold.LENGTHWISE)
    assert [p.layers for p in pieces] == [Layers.DOUBLE, Layers.SINGLE]
    assert [p.mirrored for p in pieces] == [False, True]


def test_single_pieces_are_doubled_only_where_their_mirror_image_is_the_same() -> None:
    """Two rectangles through both layers; two triangles one by one, since a mirrored one would be wrong."""
    even = one(rectangle("pocket", 160, 180), CutShare("main", 2, CutAs.SINGLE), ClothFold.LENGTHWISE)
    uneven = one(gusset(), CutShare("main", 2, CutAs.SINGLE), ClothFold.LENGTHWISE)
    assert [p.layers for p in even] == [Layers.DOUBLE]
    assert [p.layers for p in uneven] == [Layers.SINGLE] * 2


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 200.0, -45.0])
def test_the_grain_lies_along_the_selvedge_however_the_piece_is_drawn(angle: float) -> None:
    """A strip 400 along its grain and 100 across, drawn at any angle."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))

    def turned(x: float, y: float) -> tuple[float, float]:
        return float(c * x - s * y) + 500, float(s * x + c * y) + 500

    lines = [
        mark("strip", Role.CUTTING, "", *(turned(*p) for p in ((0, 0), (100, 0), (100, 400), (0, 400))), closed=True),
        mark("strip", Role.GRAINLINE, "", turned(50, 100), turned(50, 300)),
    ]
    (piece,) = one(lines, CutShare("main", 1, CutAs.SINGLE), ClothFold.NONE)
    assert np.ptp(piece.ring, axis=0) == pytest.approx([400.0, 100.0])


def test_a_mirrored_piece_keeps_its_top_where_it_was() -> None:
    """Mirrored across the grain, not along it."""
    one_, other = [p for p in laid(smock(), ClothFold.NONE) if p.piece == "sleeve"]
    assert other.ring[:, 0] == pytest.approx(one_.ring[:, 0])


def test_interfacing_and_lining_are_cloths_of_their_own() -> None:
    """The pocket's."""
    assert [p.piece for p in laid(smock(), ClothFold.NONE, "interfacing")] == ["pocket"]
    assert len(laid(smock(), ClothFold.NONE, "lining")) == 2


def half_collar() -> list[Line]:
    """A half collar cut on the bias."""
    return [
        *rectangle("collar", 100, 200)[:3],
        mark("collar", Role.FOLD, "", (0, 200), (0, 0)),
        mark("collar", Role.GRAINLINE, "", (20, 20), (80, 80)),
    ]


def test_a_fold_askew_to_the_grain_can_not_lie_on_the_fold_of_the_cloth() -> None:
    """The whole collar is cut from the upper layer, or, where it doesn't fit there, from cloth opened out."""
    share = CutShare("main", 1, CutAs.FOLD)
    drawing = pattern(half_collar())
    across = (200 + 200) / 2**0.5
    row = CuttingRow("collar", "One", (share,), counted=True)
    for room, layers in ((300.0, Layers.SINGLE), (250.0, Layers.OPENED)):
        (piece,) = lay_pieces(SeamLines(drawing), [row], "main", ClothFold.LENGTHWISE, room)
        assert (piece.layers, piece.unfolded) == (layers, True)
        assert piece.across == pytest.approx(across)
    assert one(half_collar(), share, ClothFold.NONE)[0].across == pytest.approx(across)


@pytest.mark.parametrize(
    ("cut", "copies", "pieces"),
    [(CutAs.SINGLE, 2, [False, False]), (CutAs.PAIR, 2, [False, True]), (CutAs.PAIR, 3, [False, True, False])],
)
def test_pieces_too_wide_for_folded_cloth_are_cut_where_it_is_opened_out(
    cut: CutAs, copies: int, pieces: list[bool]
) -> None:
    """Each copy from one layer that lies right side up: printed side down only where it is the mirror image."""
    row = CuttingRow("gusset", "One", (CutShare("main", copies, cut),), counted=True)
    found = lay_pieces(SeamLines(pattern(gusset())), [row], "main", ClothFold.LENGTHWISE, 119.0)
    assert [piece.layers for piece in found] == [Layers.OPENED] * copies
    assert [piece.mirrored for piece in found] == pieces
    assert [(piece.copy, piece.copies) for piece in found] == [(n, copies) for n in range(1, copies + 1)]


def test_a_fold_line_inside_the_piece_is_refused() -> None:
    """It must lie on the edge."""
    lines = [*rectangle("collar", 100, 200), mark("collar", Role.FOLD, "", (30, 20), (30, 180))]
    notes = replace(NOTES, pieces={})
    with pytest.raises(InputUnfit, match="'collar'"):
        laid(pattern(lines, notes), ClothFold.NONE)


def test_an_outline_that_crosses_itself_is_refused() -> None:
    """A bow tie; and a line that encloses nothing."""
    tie = [mark("tie", Role.CUTTING, "", (0, 0), (100, 100), (100, 0), (0, 100), closed=True)]
    flat = [mark("tie", Role.CUTTING, "", (0, 0), (100, 0), (50, 0), closed=True)]
    for lines in (tie, flat):
        with pytest.raises(InputUnfit, match="'tie': its cutting line crosses itself or encloses nothing"):
            one(lines, CutShare("main", 1, CutAs.SINGLE), ClothFold.NONE)


def test_a_tiny_loop_at_a_join_does_no_harm() -> None:
    """Two ends that overshoot each other by a tenth of a millimetre."""
    steps = [(0, 0), (200, 0), (200, 150), (0, 150), (0.1, -0.1)]
    (piece,) = one(
        [mark("yoke", Role.CUTTING, "", *steps, closed=True)], CutShare("main", 1, CutAs.SINGLE), ClothFold.NONE
    )
    assert Polygon(piece.ring).is_valid
    assert area(piece.ring) == pytest.approx(200 * 150, rel=1e-3)


def test_an_outline_of_very_many_points_stays_manageable() -> None:
    """A circle of 40,000 corners is laid with a few hundred."""
    t = np.linspace(0, 2 * np.pi, 40_000, endpoint=False)
    steps = list(zip(300 + 200 * np.cos(t), 300 + 200 * np.sin(t), strict=True))
    (piece,) = one(
        [mark("hat", Role.CUTTING, "", *steps, closed=True)], CutShare("main", 1, CutAs.SINGLE), ClothFold.NONE
    )
    assert len(piece.ring) < 500
    assert area(piece.ring) == pytest.approx(np.pi * 200**2, rel=1e-3)
