"""Lay plans: no overlap, every copy once, the fold kept, lengths to buy; against published packings."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations, product
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon
from shapely.affinity import translate

from tests.benchmarks.lay_plans import RECORDS, faults, folder, lay_out, load
from tests.cloth.drafts import smock
from tests.cloth.simple_lay import bottom_left
from tiling.cloth import lay_plan, lay_search
from tiling.cloth.cloth_choice import BuyingStep, ClothChoice, ClothFold, Nap
from tiling.cloth.cutting_list import cutting_rows
from tiling.cloth.fold_row import SPINE, comb, fold_rows, grown
from tiling.cloth.lay_pieces import Layers, LayPiece, lay_pieces
from tiling.cloth.lay_plan import LaidPiece, LayPlan, _check, lay
from tiling.cloth.lay_search import Effort
from tiling.cloth.seam_lines import SeamLines
from tiling.failures import InputUnfit, PageseamError
from tiling.planning.closing_up import close_up
from tiling.planning.packing import PackItem
from tiling.planning.strip import StripItem, length_of
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
    assert apart >= choice.gap - 0.01
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


def row_item(*ring: tuple[float, float]) -> StripItem:
    """A thing that stays at the edge and may lie end for end."""
    return StripItem(np.array(ring, dtype=float), (Affine(), Affine(a=-1.0)), pinned=True)


def test_the_row_along_the_fold_is_the_shortest_of_all_orders_and_turns() -> None:
    """A wide foot next to a wide head: turned end for end one nests under the other's slope."""
    slope = row_item((0, 0), (300, 0), (100, 200), (0, 200))
    block = row_item((0, 0), (100, 0), (100, 20), (0, 20))
    items = [slope, block]
    assert length_of(items, fold_rows(items, 0.0, 1)[0]) == pytest.approx(400.0)
    hook = row_item((0, 0), (100, 0), (100, 60), (300, 60), (300, 200), (0, 200))
    items = [hook, block]
    assert length_of(items, fold_rows(items, 0.0, 1)[0]) == pytest.approx(300.0)


def random_row(seed: int, count: int) -> list[StripItem]:
    """Slanted pieces, some of which reach over their neighbours."""
    random = np.random.default_rng(seed)
    found: list[StripItem] = []
    while len(found) < count:
        foot, low, high = random.uniform(100, 400), *np.sort(random.uniform(-80, 480, 2))
        top = random.uniform(60, 400)
        ring = [(0.0, 0.0), (foot, 0.0), (high, top), (low, top)]
        if Polygon(ring).is_valid and high - low > 30.0:
            found.append(row_item(*ring))
    return found


@pytest.mark.parametrize("seed", range(4))
def test_the_row_is_as_short_as_the_best_of_all_orders(seed: int) -> None:
    """Brute force over 5! orders and 2^5 ways to lie, distances by shapely on the outlines themselves."""
    items, gap = random_row(seed, 5), 10.0
    rings = {}
    for i, item in enumerate(items):
        for turned in (False, True):
            ring = item.outline * ((-1.0, 1.0) if turned else (1.0, 1.0))
            rings[i, turned] = ring - (ring[:, 0].min(), 0.0)
    apart = {(a, b): _behind(rings[a], rings[b], gap) for a in rings for b in rings if a[0] != b[0]}
    best = np.inf
    for order in permutations(range(5)):
        for turns in product((False, True), repeat=5):
            keys, starts = list(zip(order, turns, strict=True)), [0.0]
            for n in range(1, 5):
                starts.append(max(starts[m] + apart[keys[m], keys[n]] for m in range(n)))
            ends = [s + rings[k][:, 0].max() for s, k in zip(starts, keys, strict=True)]
            best = min(best, max(ends) - min(starts))
    found = length_of(items, fold_rows(items, gap, 1)[0])
    assert found == pytest.approx(best, abs=4.0)  # corners of the gap are cut off until the row is closed up
    closed = close_up(items, fold_rows(items, gap, 1)[0], 500.0, gap)
    assert closed is not None
    assert length_of(items, closed) <= best + 0.1


def _behind(one: np.ndarray, other: np.ndarray, gap: float) -> float:
    """The least start of the other behind the one that keeps the gap, to 0.01 mm, by halving."""
    low, high = 0.0, float(one[:, 0].max()) + gap
    while high - low > 0.01:
        middle = (low + high) / 2
        # All places farther right are free too, where the one's right side is met from the right.
        steps = np.linspace(middle, float(one[:, 0].max()) + gap, 25)
        free = all(Polygon(one).distance(translate(Polygon(other), x)) >= gap - 1e-6 for x in steps)
        low, high = (low, middle) if free else (middle, high)
    return high


def test_the_row_does_not_depend_on_the_order_of_drawing() -> None:
    """Seven pieces in many orders: the same length to a hundredth of a millimetre."""
    items = random_row(9, 7)
    lengths = []
    for seed in range(6):
        order = np.random.default_rng(seed).permutation(7)
        shuffled = [items[i] for i in order]
        lengths.append(length_of(shuffled, fold_rows(shuffled, 5.0, 1)[0]))
    assert np.ptp(lengths) < 0.01


def test_the_comb_reaches_from_fold_to_selvedge_and_holds_every_tooth() -> None:
    """So that it fits on the strip in one height only; by shapely."""
    tooth = np.array([(0, 0), (400, 0), (0, 200)], dtype=float)
    rings = [tooth, tooth + np.array([403.0, 0.0])]
    ring = comb(rings, 703.0, 3.0)
    assert ring[:, 1].min() == 0.0
    assert ring[:, 1].max() == pytest.approx(703.0, abs=0.05)
    assert ring[:, 0].min() == -1.5 - SPINE
    shape = Polygon(ring).buffer(1e-6)
    assert all(shape.contains(Polygon(r + np.array([0.0, 1.5]))) for r in rings)


def test_grown_outlines_keep_the_gap() -> None:
    """Half the gap all round and no more than a quarter of it besides."""
    ring = np.array([(0, 0), (300, 0), (200, 150), (0, 200)], dtype=float)
    around, inner = Polygon(grown(ring, 4.0)), Polygon(ring)
    assert around.contains(inner.buffer(2.0, join_style="mitre", mitre_limit=2.0).buffer(-1e-6))
    assert around.area < inner.buffer(3.1, join_style="mitre", mitre_limit=2.0).area


def test_overlapping_pieces_are_never_given_out() -> None:
    """The last check, on a lay that is wrong on purpose."""
    square = piece("a", (0, 0), (100, 0), (100, 100), (0, 100))
    choice = ClothChoice(1400.0, gap=20.0, selvedge=10.0)

    def plan_of(*moves: Affine) -> LayPlan:
        return LayPlan("main", choice, tuple(LaidPiece(square, move) for move in moves), 400.0)

    for at, words in ((50.0, "over each other"), (107.4, "7.4 mm from each other")):
        with pytest.raises(PageseamError, match=words):
            _check(plan_of(Affine.shift(0.0, 10.0), Affine.shift(at, 10.0)))
    for y in (5.0, 1295.0):
        with pytest.raises(PageseamError, match="beyond the cloth"):
            _check(plan_of(Affine.shift(0.0, y)))
    _check(plan_of(Affine.shift(0.0, 10.0), Affine.shift(120.0, 10.0), Affine.shift(0.0, 1290.0)))


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


# -- bottom-left, gaps, selvedges, opened cloth ----------------------------------------------------------------------


def garment(seed: int) -> list[LayPiece]:
    """Slanted fold pieces, panels, bands and small pieces."""
    random = np.random.default_rng(seed)
    pieces = []
    for number in range(3):
        foot, high = random.uniform(300, 700), random.uniform(150, 330)
        top = [(foot - random.uniform(-40, 120), high), (random.uniform(0, 90), high)]
        pieces.append(piece(f"f{number}", (0, 0), (foot, 0), *top, layers=Layers.ON_FOLD))
    for number in range(5):
        length, width = random.uniform(120, 500), random.uniform(60, 420)
        lean = random.uniform(0, length / 2)
        pieces.append(piece(f"p{number}", (0, 0), (length, 0), (length - lean / 2, width), (lean, width)))
    return pieces


@pytest.mark.parametrize(("seed", "gap", "nap"), [(1, 20.0, Nap.ONE_WAY), (2, 0.0, Nap.NONE)])
def test_no_lay_is_longer_than_a_simple_one_nor_depends_on_the_order_of_drawing(
    seed: int, gap: float, nap: Nap
) -> None:
    """Gaps are distances between shapes, all lie between fold and selvedge; the long version is a benchmark."""
    choice = ClothChoice(1400.0, ClothFold.LENGTHWISE, nap, gap=gap, selvedge=10.0)
    pieces, lengths = garment(seed), []
    for order in (pieces, pieces[::-1]):
        made = lay("main", order, choice, Effort(1.0))
        shapes = [Polygon(one.ring) for one in made.laid]
        apart = min(one.distance(other) for n, one in enumerate(shapes) for other in shapes[:n])
        assert apart >= gap - 0.01
        assert overlaps(made) < 1.0
        assert min(shape.bounds[1] for shape in shapes) >= -0.01
        assert max(shape.bounds[3] for shape in shapes) <= 690.01
        lengths.append(made.length)
    assert max(lengths) <= 1.01 * min(lengths)
    assert max(lengths) <= bottom_left(pieces, choice)


def test_the_packing_library_is_given_the_same_problem_whatever_the_order_of_drawing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Pieces in another order, drawn elsewhere (so that rounding differs) and begun at another corner: the same bytes.

    The library's search is chaotic: another last digit sends it another way, and lays parted by 5 %.
    """
    given: list[list[tuple[str, bytes, int]]] = []

    def record(items: Sequence[PackItem], options: object, run: object) -> object:
        given[-1] += [(item.ident, item.outline.tobytes(), item.count) for item in items]
        raise PageseamError("left at that")

    monkeypatch.setattr(lay_search, "pack", record)
    choice = ClothChoice(1400.0, ClothFold.LENGTHWISE, gap=20.0, selvedge=10.0)
    pieces = [*garment(3), piece("like", (0, 0), (300, 0), (0, 100)), piece("ties", (0, 0), (300, 100), (0, 100))]
    moved = [replace(one, ring=np.roll((one.ring + 1000.1) - 1000.1, 2, axis=0)) for one in pieces]
    for order in (pieces, moved[::-1], [*moved[3:], *moved[:3]]):
        given.append([])
        lay("main", order, choice, Effort(0.1))
    assert given[0]
    assert given[0] == given[1] == given[2]


def test_other_ways_to_cut_are_tried_in_the_same_order_whatever_the_order_of_drawing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two pieces of one length and width, one of them slanted: the first that saves cloth is taken."""
    tried: list[list[list[str]]] = []

    def record(pieces: Sequence[LayPiece], *_: object) -> float:
        tried[-1].append(sorted(f"{one.piece} {one.layers}" for one in pieces))
        return 1000.0

    monkeypatch.setattr(lay_plan, "quick_length", record)
    straight = wide("straight", 400.0, 300.0, Layers.ON_FOLD)
    slanted = piece("slanted", (0, 0), (400, 0), (300, 300), (0, 300), layers=Layers.ON_FOLD)
    whole = piece("slanted", (0, 0), (300, 0), (400, 300), (300, 600), (0, 600), layers=Layers.OPENED)
    pieces = [straight, replace(slanted, opened=(whole,))]
    for order in (pieces, pieces[::-1]):
        tried.append([])
        lay("main", order, ClothChoice(1400.0, ClothFold.LENGTHWISE), Effort(0.1))
    assert len(tried[0]) > 2
    assert tried[0] == tried[1]


def test_a_piece_a_hair_wider_than_the_cloth_is_laid() -> None:
    """By less than the check of a lay lets pass; rounding must not leave it without a place."""
    for across in (1400.0 + 0.015, 699.996):
        band = piece("band", (0, 0), (300, 0), (300, across), (0, across))
        made = lay("main", [band], ClothChoice(across if across < 1400.0 else 1400.0, gap=0.0), QUICK)
        assert made.length == pytest.approx(300.0, abs=0.01)


def test_what_fits_by_less_than_the_search_rounds_is_laid() -> None:
    """Bands that fill the cloth lie side by side, though rounded they would take more of it, or less."""
    for width in (233.334, 233.336):
        bands = [piece(f"b{n}", (0, 0), (900 - n, 0), (900 - n, width), (0, width)) for n in range(3)]
        made = lay("main", bands, ClothChoice(3 * width, gap=0.0), QUICK)
        assert made.length == pytest.approx(900.0, abs=0.05)


def test_what_fits_rounded_only_is_laid_otherwise() -> None:
    """Bands two hundredths too wide to lie side by side: without rounding the search lays two abreast."""
    bands = [piece(f"b{n}", (0, 0), (900 - n, 0), (900 - n, 233.34), (0, 233.34)) for n in range(3)]
    made = lay("main", bands, ClothChoice(700.0, gap=0.0), QUICK)
    assert made.length == pytest.approx(1797.0, abs=1.5)
    assert max(float(one.ring[:, 1].max()) for one in made.laid) <= 700.01


def test_what_just_fits_is_laid() -> None:
    """Four bands of a quarter of the width each, gaps and selvedges counted: side by side, none turned away."""
    width = (1400.0 - 20.0 - 3 * 5.0) / 4
    bands = [piece(f"b{n}", (0, 0), (900 - n, 0), (900 - n, width), (0, width)) for n in range(4)]
    made = lay("main", bands, ClothChoice(1400.0, gap=5.0, selvedge=10.0), QUICK)
    assert made.length == pytest.approx(900.0, abs=0.01)


def test_the_comb_costs_no_length() -> None:
    """Fold pieces that fill the fold, others between: as long as the row, to a hundredth."""
    teeth = [piece(f"t{n}", (0, 0), (400, 0), (300, 340), (100, 340), layers=Layers.ON_FOLD) for n in range(3)]
    filling = [piece(f"p{n}", (0, 0), (150, 300), (-150, 300)) for n in range(2)]
    made = lay("main", [*teeth, *filling], ClothChoice(1400.0, ClothFold.LENGTHWISE, gap=4.0), QUICK)
    assert made.length == pytest.approx(3 * 400.0 + 2 * 4.0, abs=0.01)


def wide(ident: str, length: float, across: float, layers: Layers) -> LayPiece:
    """A rectangle, and what is cut in its place where cloth is opened out."""
    double = layers in {Layers.DOUBLE, Layers.ON_FOLD}
    across_open = across * 2 if layers is Layers.ON_FOLD else across
    whole = piece(ident, (0, 0), (length, 0), (length, across_open), (0, across_open), layers=Layers.OPENED)
    opened = (whole,) * (2 if layers is Layers.DOUBLE else 1)
    made = piece(ident, (0, 0), (length, 0), (length, across), (0, across), layers=layers)
    assert double or layers is Layers.SINGLE
    return replace(made, opened=opened)


def test_cloth_is_opened_out_for_a_piece_too_wide_for_it_folded() -> None:
    """A skirt of 90 cm on 140 cm of cloth: two sections, the length that of both, the middle kept at y = 0."""
    skirt = piece("skirt", (0, 0), (800, 0), (800, 900), (0, 900), layers=Layers.OPENED)
    back = wide("back", 600.0, 500.0, Layers.DOUBLE)
    made = lay("main", [skirt, back], ClothChoice(1400.0, ClothFold.LENGTHWISE, gap=10.0, selvedge=10.0), QUICK)
    assert made.opened_at == pytest.approx(605.0)
    assert made.length == pytest.approx(600.0 + 10.0 + 800.0)
    places = {one.piece.piece: one.ring for one in made.laid}
    assert places["back"][:, 1].min() == pytest.approx(0.0, abs=1e-6)
    assert places["skirt"][:, 0].min() == pytest.approx(610.0)
    assert places["skirt"][:, 1].min() >= -690.01 and places["skirt"][:, 1].max() <= 690.01


def test_what_fits_beside_a_wide_piece_is_cut_from_the_opened_cloth_too() -> None:
    """A pair of cuffs beside the skirt takes no length of its own; its two copies are numbered."""
    skirt = piece("skirt", (0, 0), (800, 0), (800, 1000), (0, 1000), layers=Layers.OPENED)
    cuffs = wide("cuff", 300.0, 150.0, Layers.DOUBLE)
    made = lay("main", [skirt, cuffs], ClothChoice(1400.0, ClothFold.LENGTHWISE, gap=10.0), QUICK)
    assert made.length == pytest.approx(800.0)
    assert made.opened_at == 0.0
    assert sorted((one.piece.copy, one.piece.copies) for one in made.laid if one.piece.piece == "cuff") == [
        (1, 2),
        (2, 2),
    ]


def test_where_opening_out_only_saves_cloth_the_plan_says_what_it_saves() -> None:
    """Four fronts 34 cm deep from the fold: four lengths folded, two opened out, where two lie abreast."""
    fronts = [wide(f"front {n}", 600.0, 340.0, Layers.ON_FOLD) for n in range(4)]
    made = lay("main", fronts, ClothChoice(1400.0, ClothFold.LENGTHWISE, gap=10.0), QUICK)
    assert made.length == pytest.approx(1210.0)
    assert made.if_folded == pytest.approx(4 * 600.0 + 3 * 10.0)


def test_a_waistband_leaves_the_fold_where_that_is_shorter() -> None:
    """1.2 m along the fold behind two skirts; whole on the upper layer, beside them, it takes no length."""
    skirts = [wide(f"skirt {n}", 700.0, 500.0, Layers.ON_FOLD) for n in range(2)]
    band = wide("band", 1200.0, 40.0, Layers.ON_FOLD)
    made = lay("main", [*skirts, band], ClothChoice(1400.0, ClothFold.LENGTHWISE, gap=5.0), QUICK)
    assert made.length == pytest.approx(1405.0)
    assert next(one.piece.layers for one in made.laid if one.piece.piece == "band") is Layers.SINGLE


def test_a_piece_too_wide_for_the_opened_cloth_is_refused() -> None:
    """Between the selvedges."""
    skirt = piece("skirt", (0, 0), (800, 0), (800, 1390), (0, 1390), layers=Layers.OPENED)
    with pytest.raises(
        InputUnfit, match=r"'skirt' is 139.0 cm .*\(138.0 cm to lay on between the selvedges\); take wider"
    ):
        lay("main", [skirt], ClothChoice(1400.0, ClothFold.LENGTHWISE, selvedge=10.0), QUICK)
