"""Lay plans: no overlap, every copy once, the fold kept, lengths to buy; against published packings."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from tests.benchmarks.lay_plans import RECORDS, faults, folder, lay_out, load
from tests.cloth.drafts import smock
from tiling.cloth.cutting_list import cutting_rows
from tiling.cloth.fold_row import SPINE, comb, fold_rows, grown
from tiling.cloth.lay_pieces import ClothFold, Layers, LayPiece, lay_pieces
from tiling.cloth.lay_plan import BuyingStep, ClothChoice, Effort, LayPlan, Nap, _check, lay
from tiling.cloth.seam_lines import SeamLines
from tiling.failures import InputUnfit, PageseamError
from tiling.shapes import Affine
from tiling.shapes.regions import area

QUICK = Effort(1.0)


def plan(choice: ClothChoice) -> LayPlan:
    """The smock on this cloth."""
    seam_lines = SeamLines(smock())
    return lay("main", lay_pieces(seam_lines, cutting_rows(seam_lines.pattern), "main", choice.fold), choice, QUICK)


def overlaps(laid: LayPlan) -> float:
    """The largest area that two pieces share, mm², by shapely."""
    shapes = [Polygon(one.ring) for one in laid.laid]
    return max((shapes[i].intersection(shapes[j]).area for i in range(len(shapes)) for j in range(i)), default=0.0)


def piece(ident: str, *ring: tuple[float, float], layers: Layers = Layers.SINGLE) -> LayPiece:
    """A piece by its corners."""
    return LayPiece(ident, ident, 1, 1, False, layers, np.array(ring, dtype=float))


@pytest.mark.parametrize("fold", list(ClothFold))
@pytest.mark.parametrize("nap", list(Nap))
def test_a_lay_holds_every_copy_once_without_overlap_inside_the_cloth(fold: ClothFold, nap: Nap) -> None:
    """Counts, areas and edges by shapely; the gap by distance."""
    choice = ClothChoice(1400.0, fold, nap)
    made = plan(choice)
    whole = {"front": 1, "sleeve": 2, "pocket": 2}
    half = {"front": 1, "sleeve": 1, "pocket": 1}
    assert Counter(one.piece.piece for one in made.laid) == (half if fold is ClothFold.LENGTHWISE else whole)
    assert overlaps(made) < 1e-6
    shapes = [Polygon(one.ring) for one in made.laid]
    apart = min(shapes[i].distance(shapes[j]) for i in range(len(shapes)) for j in range(i))
    assert apart >= choice.gap - 0.3
    low, high = np.min([s.bounds for s in shapes], axis=0), np.max([s.bounds for s in shapes], axis=0)
    assert low[0] == pytest.approx(0.0)
    assert low[1] > -0.1
    assert high[3] < choice.table_width + 0.1
    assert high[2] == pytest.approx(made.length)


def test_pieces_on_the_fold_stay_on_the_fold() -> None:
    """The front's fold at y = 0, exactly."""
    made = plan(ClothChoice(1400.0, ClothFold.LENGTHWISE))
    front = next(one for one in made.laid if one.piece.layers is Layers.ON_FOLD)
    assert front.ring[:, 1].min() == pytest.approx(0.0, abs=1e-9)
    assert np.ptp(front.ring[np.abs(front.ring[:, 1]) < 1e-6][:, 0]) == pytest.approx(650.0)


def test_a_nap_allows_no_half_turn() -> None:
    """Every move is a shift."""
    for fold in ClothFold:
        for one in plan(ClothChoice(1400.0, fold, Nap.ONE_WAY)).laid:
            assert (one.move.a, one.move.d) == (pytest.approx(1.0), pytest.approx(1.0))


def test_use_is_area_of_cloth_cut_over_cloth_laid() -> None:
    """The same pieces, so both ways of laying cut the same area; by the shoelace of each outline."""
    for fold in ClothFold:
        made = plan(ClothChoice(1400.0, fold))
        cut = sum(area(p.ring) for p in lay_pieces(
            SeamLines(smock()), cutting_rows(smock()), "main", ClothFold.NONE))  # fmt: skip
        assert made.use * made.length * 1400.0 == pytest.approx(cut, rel=1e-6)


@pytest.mark.parametrize(
    ("length", "shrinkage", "step", "buy"),
    [
        (1000.0, 0.0, BuyingStep.FIVE_CM, 1000.0),
        (1001.0, 0.0, BuyingStep.FIVE_CM, 1050.0),
        (970.0, 0.03, BuyingStep.FIVE_CM, 1000.0),
        (1000.0, 0.03, BuyingStep.FIVE_CM, 1050.0),
        (914.4, 0.0, BuyingStep.EIGHTH_YARD, 914.4),
        (915.0, 0.0, BuyingStep.EIGHTH_YARD, 914.4 * 9 / 8),
    ],
)
def test_the_length_to_buy_is_need_over_what_the_wash_leaves_rounded_up(
    length: float, shrinkage: float, step: BuyingStep, buy: float
) -> None:
    """To the next 5 cm or 1/8 yd (0.9144 m, exact, to the yard)."""
    assert LayPlan("main", ClothChoice(1400.0, shrinkage=shrinkage, step=step), (), length).buy == pytest.approx(buy)


def test_a_piece_wider_than_the_cloth_is_refused_by_name() -> None:
    """The unfolded front is 54 cm wide; on folded cloth the hint is to open it out."""
    with pytest.raises(InputUnfit, match=r"piece 'front' is 54.0 cm .* main cloth of 50.0 cm"):
        plan(ClothChoice(500.0))
    with pytest.raises(
        InputUnfit, match=r"folded lengthwise \(25.0 cm to lay on\); take wider cloth, or lay it opened out"
    ):
        plan(ClothChoice(500.0, ClothFold.LENGTHWISE))


def test_an_easy_lay_comes_out_as_long_each_time() -> None:
    """Two pieces, one seed; harder lays may end differently, the search being bounded by time."""
    pieces = [piece("a", (0, 0), (300, 0), (300, 200), (0, 200)), piece("b", (0, 0), (300, 0), (0, 200))]
    lays = [lay("main", pieces, ClothChoice(390.0), QUICK) for _ in range(2)]
    assert lays[0].length == pytest.approx(lays[1].length, abs=0.5)


def test_pieces_that_fit_side_by_side_are_laid_so() -> None:
    """As long as the longest of them, which no lay can beat."""
    pieces = [piece("a", (0, 0), (300, 0), (300, 200), (0, 200)), piece("b", (0, 0), (350, 0), (0, 200))]
    made = lay("main", pieces, ClothChoice(410.0, gap=10.0), QUICK)
    assert made.length == 350.0
    assert Polygon(made.laid[0].ring).distance(Polygon(made.laid[1].ring)) == pytest.approx(10.0)


def test_a_lay_of_fold_pieces_only_needs_no_packing() -> None:
    """Interlocking where the outlines let them: two triangles take less than their lengths together."""
    up = piece("a", (0, 0), (400, 0), (0, 200), layers=Layers.ON_FOLD)
    down = piece("b", (0, 0), (400, 0), (400, 200), layers=Layers.ON_FOLD)
    made = lay("main", [up, down], ClothChoice(600.0, ClothFold.LENGTHWISE, gap=0.0), QUICK)
    assert made.length == pytest.approx(800.0)
    assert overlaps(made) < 1e-6


def test_the_row_along_the_fold_is_the_shortest_of_all_orders_and_turns() -> None:
    """A wide foot next to a wide head: turned end for end one nests under the other's slope."""
    slope = piece("a", (0, 0), (300, 0), (100, 200), (0, 200), layers=Layers.ON_FOLD)
    block = piece("b", (0, 0), (100, 0), (100, 20), (0, 20), layers=Layers.ON_FOLD)
    free = fold_rows([slope, block], 0.0, may_turn=True)[0]
    assert max(float(r[:, 0].max()) for r in free.rings()) == pytest.approx(400.0)
    hook = piece("c", (0, 0), (100, 0), (100, 60), (300, 60), (300, 200), (0, 200), layers=Layers.ON_FOLD)
    nested = fold_rows([hook, block], 0.0, may_turn=True)[0]
    assert max(float(r[:, 0].max()) for r in nested.rings()) == pytest.approx(300.0)


def test_the_comb_reaches_from_fold_to_selvedge_and_holds_every_tooth() -> None:
    """So that it fits on the strip in one height only; by shapely."""
    tooth = piece("a", (0, 0), (400, 0), (0, 200), layers=Layers.ON_FOLD)
    row = fold_rows([tooth, tooth], 3.0, may_turn=True)[0]
    ring = comb(row, 703.0, 3.0)
    assert ring[:, 1].min() == 0.0
    assert ring[:, 1].max() == pytest.approx(703.0, abs=0.05)
    assert ring[:, 0].min() == -SPINE
    shape = Polygon(ring).buffer(1e-6)
    assert all(shape.contains(Polygon(r + np.array([0.0, 1.5]))) for r in row.rings())


def test_grown_outlines_keep_the_gap() -> None:
    """Half the gap all round and no more than a quarter of it besides."""
    ring = np.array([(0, 0), (300, 0), (200, 150), (0, 200)], dtype=float)
    around, inner = Polygon(grown(ring, 4.0)), Polygon(ring)
    assert around.contains(inner.buffer(2.0, join_style="mitre", mitre_limit=2.0).buffer(-1e-6))
    assert around.area < inner.buffer(3.1, join_style="mitre", mitre_limit=2.0).area


def test_overlapping_pieces_are_never_given_out() -> None:
    """The last check, on a lay that is wrong on purpose."""
    square = piece("a", (0, 0), (100, 0), (100, 100), (0, 100))
    from tiling.cloth.lay_plan import LaidPiece

    over = [LaidPiece(square, Affine()), LaidPiece(square, Affine.shift(50.0, 0.0))]
    with pytest.raises(PageseamError, match="over each other"):
        _check(over, ClothChoice(1400.0))
    with pytest.raises(PageseamError, match="beyond the cloth"):
        _check([LaidPiece(square, Affine.shift(0.0, 1350.0))], ClothChoice(1400.0))


@pytest.mark.parametrize("name", ["albano", "shirts"])
def test_a_short_lay_of_a_published_instance_is_sound_and_below_the_record(name: str) -> None:
    """Two seconds; record densities from arXiv 2509.13329. The long version is tests/benchmarks/lay_plans.py."""
    if not (folder() / f"{name}.json").exists():
        pytest.skip(f"the ESICUP instances are not in {folder()} (PAGESEAM_OPEN_DATA names another folder)")
    instance = load(name)
    made = lay_out(instance, Effort(2.0))
    assert faults(instance, made) == []
    assert 0.6 < made.use < RECORDS[name] / 100


def test_the_benchmarks_look_where_the_environment_says(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """PAGESEAM_OPEN_DATA names the folder."""
    monkeypatch.setitem(os.environ, "PAGESEAM_OPEN_DATA", str(tmp_path))
    assert folder() == tmp_path / "esicup"
