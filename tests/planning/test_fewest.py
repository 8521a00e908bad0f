"""The exhaustive search for the grid, against brute force written another way: shapely boxes at every shift."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from calibrate.run import Cancelled, Run
from tiling.planning import fewest
from tiling.planning.cover import Demand, SearchBudget, fewest_more
from tiling.planning.fewest import FewestTiles, GridAxis, Layout
from tiling.planning.occupancy import Raster
from tiling.planning.spans import ink_within


def best_layout(raster: Raster, across: GridAxis, down: GridAxis) -> Layout:
    """Of all shifts."""
    return FewestTiles.of_all_shifts(raster.trimmed(), across, down).layout()


def layout_at(raster: Raster, across: GridAxis, down: GridAxis, corner: tuple[int, int]) -> Layout:
    """Of one."""
    return FewestTiles.at(raster.trimmed(), across, down, corner).layout()


def fewest_by_boxes(ink: shapely.Geometry, across: GridAxis, down: GridAxis, shift: tuple[int, int]) -> int:
    """The fewest windows of one shift whose union holds the ink, by trying subsets."""
    x0, y0, x1, y1 = ink.bounds
    windows = []
    for row in range(int((y0 - shift[1]) // down.step) - 2, int((y1 - shift[1]) // down.step) + 2):
        for column in range(int((x0 - shift[0]) // across.step) - 2, int((x1 - shift[0]) // across.step) + 2):
            x, y = shift[0] + column * across.step, shift[1] + row * down.step
            window = shapely.box(x, y, x + across.window, y + down.window)
            if window.intersection(ink).area > 1e-9:
                windows.append(window)
    alone = []
    for index, window in enumerate(windows):
        others = shapely.union_all(windows[:index] + windows[index + 1 :])
        if ink.intersection(window).difference(others).area > 1e-9:
            alone.append(window)
    rest = [window for window in windows if window not in alone]
    left = ink.difference(shapely.union_all(alone)) if alone else ink
    for more in range(len(rest) + 1):
        for chosen in combinations(rest, more):
            if left.difference(shapely.union_all(list(chosen)) if chosen else shapely.Point()).area < 1e-9:
                return len(alone) + more
    raise AssertionError("the windows don't hold the ink")


def raster_of(boxes: list[tuple[int, int, int, int]]) -> Raster:
    """Ink as upright boxes of whole millimetres."""
    cells = np.zeros((60, 60), dtype=np.bool_)
    for x, y, width, height in boxes:
        cells[y : y + height, x : x + width] = True
    return Raster(0, 0, cells)


def uncovered(raster: Raster, layout: Layout, across: GridAxis, down: GridAxis) -> NDArray[np.bool_]:
    """The inked cells that lie in no printed tile."""
    cells = raster.cells.copy()
    for row, column in zip(*np.nonzero(layout.printed), strict=True):
        x, y = layout.x0 + column * across.step - raster.x0, layout.y0 + row * down.step - raster.y0
        cells[max(y, 0) : max(y + down.window, 0), max(x, 0) : max(x + across.window, 0)] = False
    return cells


thin_boxes = st.one_of(
    st.tuples(st.integers(0, 45), st.integers(0, 45), st.integers(1, 15), st.just(1)),
    st.tuples(st.integers(0, 45), st.integers(0, 45), st.just(1), st.integers(1, 15)),
    st.tuples(st.integers(0, 45), st.integers(0, 45), st.integers(1, 4), st.integers(1, 4)),
)
axes = st.builds(lambda step, overlap: GridAxis(step + overlap, overlap), st.integers(7, 11), st.integers(0, 4))


@settings(max_examples=12, deadline=None)
@given(st.lists(thin_boxes, min_size=1, max_size=4), axes, axes)
def test_no_shift_prints_fewer_tiles(boxes: list[tuple[int, int, int, int]], across: GridAxis, down: GridAxis) -> None:
    """The count found is the least of all shifts, and a grid given by its corner has the least of that shift."""
    down = GridAxis(down.step + across.overlap, across.overlap)
    raster = raster_of(boxes)
    ink = shapely.union_all([shapely.box(x, y, x + w, y + h) for x, y, w, h in boxes])
    best = best_layout(raster, across, down)
    shifts = [(x, y) for y in range(down.step) for x in range(across.step)]
    counts = {shift: fewest_by_boxes(ink, across, down, shift) for shift in shifts}
    assert best.count == min(counts.values())
    for shift in (shifts[0], shifts[len(shifts) // 2]):
        assert layout_at(raster, across, down, shift).count == counts[shift]


@settings(max_examples=150, deadline=None)
@given(st.lists(thin_boxes, min_size=1, max_size=9), axes, axes, st.integers(-30, 30), st.integers(-30, 30))
def test_every_inked_cell_lies_in_a_printed_tile(
    boxes: list[tuple[int, int, int, int]], across: GridAxis, down: GridAxis, x: int, y: int
) -> None:
    """Whatever the ink, and on the best grid never more tiles than on another."""
    down = GridAxis(down.step + across.overlap, across.overlap)
    raster = raster_of(boxes)
    best, fixed = best_layout(raster, across, down), layout_at(raster, across, down, (x, y))
    for layout in (best, fixed):
        assert not uncovered(raster, layout, across, down).any()
        assert layout.printed.any(axis=1)[[0, -1]].all() and layout.printed.any(axis=0)[[0, -1]].all()
    assert best.count <= fixed.count
    assert (fixed.x0 - x) % across.step == 0 and (fixed.y0 - y) % down.step == 0


def test_a_line_that_ends_under_a_printed_neighbour_needs_no_page_of_its_own() -> None:
    """Two windows of 20 with 5 in common: ink to 18 lies on the first, although it enters the second's strip."""
    raster = raster_of([(0, 3, 18, 1)])
    across, down = GridAxis(20, 5), GridAxis(20, 5)
    assert layout_at(raster, across, down, (0, 0)).count == 1
    assert layout_at(raster_of([(0, 3, 21, 1)]), across, down, (0, 0)).count == 2


def test_ink_in_a_strip_alone_is_printed_once() -> None:
    """A mark that only the overlap carries needs one of the two tiles; in a corner, one of four."""
    across, down = GridAxis(20, 5), GridAxis(20, 5)
    assert layout_at(raster_of([(16, 3, 2, 2)]), across, down, (0, 0)).count == 1
    assert layout_at(raster_of([(16, 16, 2, 2)]), across, down, (0, 0)).count == 1
    assert layout_at(raster_of([(16, 3, 1, 1), (31, 3, 1, 1)]), across, down, (0, 0)).count == 1


def test_among_equals_fewest_joins_are_cut() -> None:
    """Two squares and a dot on two tiles: of six shifts those that keep the dot out of the strip, then most room."""
    raster = raster_of([(0, 0, 12, 12), (20, 0, 12, 12), (13, 0, 1, 1)])
    layout = best_layout(raster, GridAxis(20, 3), GridAxis(20, 3))
    assert (layout.count, layout.cut, layout.room) == (2, 0, 2)
    assert layout.x0 in {-3, -2}
    assert layout_at(raster, GridAxis(20, 3), GridAxis(20, 3), (-4, -4)).cut == 1


def test_among_equals_most_room_is_left_around_the_ink() -> None:
    """A drawing that fits one window lies in its middle; one that fits two keeps as far from both ends as can be."""
    one = best_layout(raster_of([(5, 5, 10, 6)]), GridAxis(20, 4), GridAxis(20, 4))
    assert (one.x0, one.y0, one.room) == (0, -2, 5)
    two = best_layout(raster_of([(0, 0, 30, 1)]), GridAxis(20, 4), GridAxis(20, 4))
    assert (two.count, two.x0, two.room) == (2, -3, 3)


def test_pages_meet_at_a_side_where_they_can() -> None:
    """A hollow rectangle on A4 whose sides may lie in strips: no line passes from page to page over a bare corner."""
    cells = np.ones((791, 531), dtype=np.bool_)
    cells[1:-1, 1:-1] = False
    layout = best_layout(Raster(35, 35, cells), GridAxis(190, 10), GridAxis(277, 10))
    assert (layout.count, layout.bare) == (8, 0)


@pytest.mark.parametrize("length", [1, 39, 40])
def test_a_long_line_along_a_strip_is_settled_exactly(length: int) -> None:
    """A line that lies in the strip between two columns over many rows prints one tile a row."""
    raster = raster_of([(16, 0, 1, length)])
    layout = layout_at(raster, GridAxis(20, 5), GridAxis(9, 1), (0, 0))
    assert layout.count == -(-max(length - 1, 1) // 8) and layout.printed.shape[1] == 1


@settings(max_examples=100, deadline=None)
@given(
    st.lists(thin_boxes, min_size=1, max_size=6),
    axes,
    axes,
    st.sampled_from([{"_FEW": 3, "_SAMPLED": 2}, {"_TOGETHER": 200}]),
)
def test_many_shifts_are_compared_as_few_are(
    boxes: list[tuple[int, int, int, int]], across: GridAxis, down: GridAxis, bounds: dict[str, int]
) -> None:
    """Leaving out shifts with little room, or taking few at a time, comes to the same layout as one look at all."""
    one_by_one = best_layout(raster_of(boxes), across, down)
    with pytest.MonkeyPatch.context() as patch:
        for name, bound in bounds.items():
            patch.setattr(fewest, name, bound)
        together = best_layout(raster_of(boxes), across, down)
    assert (together.x0, together.y0, together.merit) == (one_by_one.x0, one_by_one.y0, one_by_one.merit)
    assert np.array_equal(together.printed, one_by_one.printed)


@pytest.mark.parametrize("axis", [0, 1])
def test_ink_in_spans_is_what_looking_at_each_cell_shows(axis: int) -> None:
    """Spans that reach beyond the raster, of any length, along rows and columns."""
    cells = np.random.default_rng(3).random((37, 53)) < 0.05
    positions = np.arange(-20, 70)
    lines = cells if axis else cells.T
    for span in ((0, 1), (3, 4), (0, 13), (5, 40), (2, 2)):
        found = ink_within(cells, positions, span, axis)
        cut = [slice(max(p + span[0], 0), max(p + span[1], 0)) for p in positions]
        expected = np.stack([lines[:, part].any(axis=1) for part in cut])
        assert np.array_equal(found, expected.T if axis else expected)


def test_a_search_too_hard_ends_by_count_with_a_cover_that_holds_the_ink() -> None:
    """Ink in every other strip of 121 tiles: the same tiles on every machine, and all ink in one of them."""
    chance = np.random.default_rng(1)
    demand = Demand(np.zeros((1, 11, 11), dtype=np.bool_), *(chance.random((1, 11, 11)) < 0.5 for _ in range(3)))
    search = SearchBudget(left=500)
    printed = fewest_more(demand, search)
    assert search.left < 0
    assert np.array_equal(printed, fewest_more(demand, SearchBudget(left=500)))
    padded = np.pad(printed, ((0, 1), (0, 1)))
    beside, under = padded[:-1, 1:], padded[1:, :-1]
    assert (printed | beside)[demand.right[0]].all() and (printed | under)[demand.below[0]].all()
    assert (printed | beside | under | padded[1:, 1:])[demand.corner[0]].all()


def test_a_search_is_called_off_between_two_choices() -> None:
    """However hard it is."""
    asked = iter([False, False, True])
    demand = Demand(*(np.full((1, 6, 6), at, dtype=np.bool_) for at in (False, True, True, True)))
    with pytest.raises(Cancelled):
        fewest_more(demand, SearchBudget(Run(cancelled=lambda: next(asked))))
