"""Plans: windows, names, pages, and what must hold for every one of them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.printer_scale import PageCorrection
from calibrate.run import Cancelled, Run
from tests.planning.drawings import pattern_of, rectangle, stroke
from tiling.failures import UsageWrong
from tiling.planning.papers import paper_named
from tiling.planning.plan import Margins, Orientation, PrintPlan
from tiling.planning.planner import (
    GridMode,
    PageCounter,
    PlanOptions,
    counts_by_paper,
    plan_pages,
)
from tiling.shapes import Box, Point, Size

A4 = paper_named("a4")
FRAME = pattern_of([rectangle(Box(35, 35, 565, 825))], Size(600, 900), "frame")
point = st.tuples(st.floats(-200, 900), st.floats(-200, 900))
options = st.builds(
    lambda paper, turn, margin, overlap, grid, across, down: PlanOptions(
        paper_named(paper), turn, Margins.even(margin), overlap, grid, PageCorrection(across, down)
    ),
    st.sampled_from(["a4", "letter", "both", "tabloid", "200x280mm", "a2", "roll:914mm"]),
    st.sampled_from(list(Orientation)),
    st.floats(0, 15),
    st.floats(5, 20),
    st.sampled_from(list(GridMode)),
    st.floats(0.95, 1.05),
    st.floats(0.95, 1.05),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(point, point), min_size=1, max_size=6), options)
def test_every_point_of_the_drawing_lies_in_a_printed_tile(
    lines: list[tuple[tuple[float, float], tuple[float, float]]], chosen: PlanOptions
) -> None:
    """Points along every line, wherever on the sheet; neighbours share exactly the overlap; windows fit their page."""
    plan = plan_pages(pattern_of([stroke(line, 0.3) for line in lines]), chosen)
    for (x0, y0), (x1, y1) in lines:
        for share in (0.0, 0.123, 0.25, 0.5, 0.618, 0.875, 1.0):
            spot = Point(x0 + share * (x1 - x0), y0 + share * (y1 - y0))
            assert any(tile.window.holds(spot) for tile in plan.tiles)
    check_grid(plan)


def check_grid(plan: PrintPlan) -> None:
    """What holds for every plan."""
    spots = {(tile.row, tile.column): tile.window for tile in plan.tiles}
    overlap = plan.grid.overlap
    assert overlap == int(overlap) and plan.grid.window == Size(
        int(plan.grid.window.width), int(plan.grid.window.height)
    )
    for (row, column), window in spots.items():
        assert window == plan.grid.box(row, column)
        beside, under = spots.get((row, column + 1)), spots.get((row + 1, column))
        assert beside is None or window.x1 - beside.x0 == overlap
        assert under is None or window.y1 - under.y0 == overlap
    spot, margins = plan.window_on_page, plan.margins
    assert spot.x0 >= margins.left - 1e-6 and spot.x1 <= plan.page_size.width - margins.right + 1e-6
    assert spot.y0 >= margins.top - 1e-6 and spot.y1 <= plan.page_size.height - margins.bottom + 1e-6
    names = [tile.name for tile in plan.tiles]
    assert len({*names, *plan.skipped}) == plan.grid.rows * plan.grid.columns
    assert plan.to_print == plan.tiles
    assert len(names) - len(plan.bridges) <= plan.pages_as_drawn, "but for pages that only hold others"


def test_the_best_grid_saves_pages_and_says_how_many() -> None:
    """A frame of 530 x 790 mm: twelve A4 tiles from its corner, eight on the best grid."""
    plan = plan_pages(FRAME, PlanOptions(A4))
    drawn = plan_pages(FRAME, PlanOptions(A4, grid=GridMode.AS_DRAWN))
    assert (len(plan.tiles), plan.pages_as_drawn, len(drawn.tiles)) == (8, 12, 12)
    assert plan.skipped == ("B2",)
    assert [tile.name for tile in plan.tiles] == ["A1", "A2", "A3", "B1", "B3", "C1", "C2", "C3"]
    assert plan.grid_shift == plan.grid.origin
    assert drawn.grid.origin == Point(0, 0) and drawn.grid_shift == Point(0, 0)


def test_as_drawn_begins_at_the_corner_even_where_it_is_empty() -> None:
    """A1 stays at the drawing's corner; ink before the corner gets tiles before it."""
    far = pattern_of([rectangle(Box(500, 700, 550, 750))])
    plan = plan_pages(far, PlanOptions(A4, Orientation.PORTRAIT, grid=GridMode.AS_DRAWN))
    assert plan.grid.origin == Point(0, 0) and "A1" in plan.skipped
    before = pattern_of([rectangle(Box(-50, -20, 20, 20))])
    plan = plan_pages(before, PlanOptions(A4, Orientation.PORTRAIT, grid=GridMode.AS_DRAWN))
    assert plan.grid.origin == Point(-180, -267) and plan.tiles[0].name == "A1"


def test_a_correction_changes_places_on_a_landscape_page() -> None:
    """Paper runs through the printer the same way: `across` of a portrait page is `down` of a landscape one."""
    correction = PageCorrection(1.05, 0.98)
    portrait = plan_pages(FRAME, PlanOptions(A4, Orientation.PORTRAIT, correction=correction))
    landscape = plan_pages(FRAME, PlanOptions(A4, Orientation.LANDSCAPE, correction=correction))
    assert portrait.grid.window == Size(180, 282) and landscape.grid.window == Size(282, 180)
    assert (landscape.correction.across, landscape.correction.down) == (0.98, 1.05)


@pytest.mark.parametrize(
    ("chosen", "numbers"),
    [
        (PlanOptions(A4, margins=Margins.even(110)), "110.*210 x 297"),
        (PlanOptions(A4, margins=Margins(-1, 0, 0, 0)), "-1"),
        (PlanOptions(A4, overlap=100), "190 x 277 mm; with an overlap of 100 mm"),
        (PlanOptions(A4, overlap=4), "overlap of 4 mm"),
        (PlanOptions(paper_named("74x105mm"), margins=Margins.even(20)), "34 x 65"),
    ],
)
def test_no_room_is_refused_with_the_numbers(chosen: PlanOptions, numbers: str) -> None:
    """Overlap, margins and paper that leave no tile."""
    with pytest.raises(UsageWrong, match=numbers):
        plan_pages(FRAME, chosen)


def test_a_roll_takes_the_drawing_in_one_strip_with_room_for_the_title() -> None:
    """The frame fits a roll of 914 mm the short way, with free paper in one piece behind it."""
    plan = plan_pages(FRAME, PlanOptions(paper_named("roll:914mm")))
    assert len(plan.tiles) == 1
    assert plan.page_size.height == 914 and plan.page_size.width < 750
    window = plan.tiles[0].window
    assert window.x1 - 565 > 100 or window.y1 - 825 > 100
    narrow = plan_pages(FRAME, PlanOptions(paper_named("roll:420mm")))
    assert len(narrow.tiles) == 2
    check_grid(narrow)


def test_look_counts_pages_for_common_papers() -> None:
    """More paper, fewer tiles; never more than as drawn."""
    counts = {count.paper.name: count for count in counts_by_paper(FRAME)}
    assert counts["a4"].tiles == 8 and counts["a4"].tiles_as_drawn == 12
    assert counts["a0"].tiles == 1
    assert all(count.tiles <= count.tiles_as_drawn for count in counts.values())


def test_look_counts_what_pages_makes() -> None:
    """The quick count gives the tiles and the orientation of the whole plan, on every paper."""
    for pattern in (FRAME, pattern_of([rectangle(Box(5, 5, 150, 110))])):
        for count in counts_by_paper(pattern):
            plan = plan_pages(pattern, PlanOptions(count.paper))
            assert (count.tiles, count.orientation) == (len(plan.tiles), plan.orientation)
            assert count.tiles_as_drawn == plan.pages_as_drawn


@settings(max_examples=40, deadline=None)
@given(st.lists(options, min_size=1, max_size=4))
def test_a_counter_plans_one_choice_after_another_as_if_each_were_the_first(choices: list[PlanOptions]) -> None:
    """Tiles, grid, empty ones and orientation, and what it refuses, are those of a drawing read anew."""
    counter = PageCounter.of(FRAME)
    for chosen in choices:
        try:
            expected: object = plan_pages(FRAME, chosen)
        except UsageWrong as refusal:
            with pytest.raises(UsageWrong, match=re.escape(str(refusal))):
                counter.plan(chosen)
        else:
            assert counter.plan(chosen) == expected


def test_a_count_is_called_off() -> None:
    """Reading the ink, searching the grid and counting papers each ask whether to go on."""
    off = Run(cancelled=lambda: True)
    counter = PageCounter.of(FRAME)
    for work in (
        lambda: PageCounter.of(FRAME, off),
        lambda: counter.plan(PlanOptions(A4), off),
        lambda: counter.count(A4, off),
        lambda: counts_by_paper(FRAME, run=off),
    ):
        with pytest.raises(Cancelled):
            work()
