"""What lies on the cloth: copies, mirror images, folds, and the grain along the selvedge."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

from tests.cloth.drafts import NOTES, mark, pattern, rectangle, smock
from tiling.cloth.cutting_list import CutShare, CuttingRow, cutting_rows
from tiling.cloth.lay_pieces import ClothFold, Layers, LayPiece, lay_pieces
from tiling.cloth.seam_lines import SeamLines
from tiling.failures import InputUnfit
from tiling.notes import CutAs
from tiling.pattern import Pattern, Role
from tiling.shapes.regions import area


def laid(drawing: Pattern, fold: ClothFold, cloth: str = "main") -> list[LayPiece]:
    """What lies on one cloth."""
    seam_lines = SeamLines(drawing)
    return lay_pieces(seam_lines, cutting_rows(drawing), cloth, fold)


def one(lines: list, share: CutShare, fold: ClothFold) -> list[LayPiece]:  # type: ignore[type-arg]
    """One piece laid as its share says."""
    drawing = pattern(lines)
    row = CuttingRow(drawing.pieces[0].ident, "One", (share,), noted=True)
    return lay_pieces(SeamLines(drawing), [row], share.cloth, fold)


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
    """Three of a pair."""
    pieces = one(rectangle("cuff", 80, 200), CutShare("main", 3, CutAs.PAIR), ClothFold.LENGTHWISE)
    assert [p.layers for p in pieces] == [Layers.DOUBLE, Layers.SINGLE]


def test_single_pieces_are_doubled_only_where_their_mirror_image_is_the_same() -> None:
    """Two rectangles through both layers; two triangles one by one, since a mirrored one would be wrong."""
    even = one(rectangle("pocket", 160, 180), CutShare("main", 2, CutAs.SINGLE), ClothFold.LENGTHWISE)
    triangle = [
        mark("gusset", Role.CUTTING, "", (0, 0), (120, 0), (0, 90), closed=True),
        mark("gusset", Role.GRAINLINE, "", (30, 20), (30, 60)),
    ]
    uneven = one(triangle, CutShare("main", 2, CutAs.SINGLE), ClothFold.LENGTHWISE)
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


def test_all_pieces_have_their_top_the_same_way_for_a_nap() -> None:
    """An arrow drawn up or down makes no difference: the narrow top of the piece lies at the cut end of the cloth."""
    for ends in (((50, 100), (50, 300)), ((50, 300), (50, 100))):
        lines = [
            mark("panel", Role.CUTTING, "", (40, 0), (60, 0), (100, 400), (0, 400), closed=True),
            mark("panel", Role.GRAINLINE, "", *ends),
        ]
        (piece,) = one(lines, CutShare("main", 1, CutAs.SINGLE), ClothFold.NONE)
        top = piece.ring[piece.ring[:, 0] < 1e-6]
        assert np.ptp(top[:, 1]) == pytest.approx(20.0)


def test_a_mirrored_piece_keeps_its_top_where_it_was() -> None:
    """Mirrored across the grain, not along it."""
    one_, other = [p for p in laid(smock(), ClothFold.NONE) if p.piece == "sleeve"]
    assert other.ring[:, 0] == pytest.approx(one_.ring[:, 0])


def test_interfacing_and_lining_are_cloths_of_their_own() -> None:
    """The pocket's."""
    assert [p.piece for p in laid(smock(), ClothFold.NONE, "interfacing")] == ["pocket"]
    assert len(laid(smock(), ClothFold.NONE, "lining")) == 2


def test_a_fold_askew_to_the_grain_can_not_lie_on_the_fold_of_the_cloth() -> None:
    """A half collar cut on the bias: on open cloth it can be laid."""
    lines = rectangle("collar", 100, 200)[:3]
    lines += [
        mark("collar", Role.FOLD, "", (0, 200), (0, 0)),
        mark("collar", Role.GRAINLINE, "", (20, 20), (80, 80)),
    ]
    share = CutShare("main", 1, CutAs.FOLD)
    with pytest.raises(
        InputUnfit, match=r"'collar': its fold line lies 45° off its grainline.*lay the cloth opened out"
    ):
        one(lines, share, ClothFold.LENGTHWISE)
    assert one(lines, share, ClothFold.NONE)[0].across == pytest.approx((200 + 200) / 2**0.5)


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
