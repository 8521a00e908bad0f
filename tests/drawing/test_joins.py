"""Join lines and the marks beside them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.drawing.making import plan_of, smock, tile_of
from tiling.drawing.joins import (
    STEP,
    Comb,
    Join,
    Side,
    combs_of,
    draw_joins,
    joins_of,
    kept_part,
)
from tiling.drawing.pen import RecordingPen
from tiling.drawing.photo_marks import CHECKER_OFFSET, CHECKER_SIDE, checkers_of
from tiling.files.inputs import read_input
from tiling.planning.plan import JOIN_MARKS, PrintPlan
from tiling.proof.raster import PixelGrid, page_to_mm, render
from tiling.record.printed_file import read_printed
from tiling.shapes import Box, Point


def joins_by_side(plan: PrintPlan, name: str) -> dict[Side, Join]:
    """A tile's joins."""
    return {join.side: join for join in joins_of(plan, tile_of(plan, name))}


@pytest.fixture(name="plan", scope="module")
def plan_fixture() -> PrintPlan:
    """Three columns and two rows on A4."""
    return plan_of(smock())


def test_every_side_with_a_neighbour_has_a_join_that_names_it(plan: PrintPlan) -> None:
    """A1 meets A2 on its right and B1 below it, and nothing elsewhere."""
    joins = joins_by_side(plan, "A1")
    assert {side: join.neighbour for side, join in joins.items()} == {Side.RIGHT: "A2", Side.BOTTOM: "B1"}


def test_a_skipped_neighbour_is_no_neighbour(plan: PrintPlan) -> None:
    """Where no page will lie there is nothing to join."""
    without = replace(plan, tiles=tuple(t for t in plan.tiles if t.name != "A2"), skipped=("A2",))
    assert Side.RIGHT not in joins_by_side(without, "A1")


def test_a_page_of_an_earlier_print_is_a_neighbour(plan: PrintPlan) -> None:
    """When single pages are printed again they still meet the old ones."""
    again = replace(plan, kept=frozenset({"A2"}))
    assert joins_by_side(again, "A1")[Side.RIGHT].neighbour == "A2"


def test_both_pages_have_their_join_line_at_the_same_place_in_the_middle_of_the_overlap(plan: PrintPlan) -> None:
    """The right page's left line and the left page's right line are one line on the layout."""
    left, right = joins_by_side(plan, "A1")[Side.RIGHT], joins_by_side(plan, "A2")[Side.LEFT]
    assert left.start.x == right.start.x
    assert left.start.x == tile_of(plan, "A2").window.x0 + plan.grid.overlap / 2
    assert left.start.x == tile_of(plan, "A1").window.x1 - plan.grid.overlap / 2


def test_what_is_seen_of_the_pages_covers_the_layout_once(plan: PrintPlan) -> None:
    """The kept parts of neighbours share an edge and nothing else."""
    kept = {tile.name: kept_part(tile, joins_of(plan, tile)) for tile in plan.tiles}
    assert kept["A1"].x1 == kept["A2"].x0
    assert kept["A1"].y1 == kept["B1"].y0
    area = sum(box.width * box.height for box in kept.values())
    whole = Box.around(kept.values())
    assert whole is not None
    assert area == pytest.approx(whole.width * whole.height)


def meeting_teeth(left: Comb, right: Comb, across: float, along: float) -> int:
    """Which pair of teeth (0: the long ones) is most nearly one straight line once the right page has slipped."""
    best, best_gap = 0, 1e9
    order = [0, *(n * sign for n in range(1, 5) for sign in (-1, 1))]
    for number, one, other in zip(order, left.teeth, right.teeth, strict=True):
        moved = Point(other[1].x + across, other[1].y + along)
        direction = (one[1] - one[0]).unit()
        gap = abs(direction.cross(moved - one[0]))
        if gap < best_gap:
            best, best_gap = number, gap
    return best


@settings(max_examples=30, deadline=None)
@given(st.integers(-2, 2), st.integers(-2, 2))
def test_combs_read_like_a_vernier_along_and_across_the_join(along: int, across: int) -> None:
    """A slip of n steps along the join moves both combs' reading by n; a gap of n steps moves them apart by n.

    Reading one step too far means STEP mm; the pair of readings gives both slips, to a quarter of a millimetre.
    """
    plan = plan_of(smock())
    left = combs_of(joins_by_side(plan, "A1")[Side.RIGHT])
    right = combs_of(joins_by_side(plan, "A2")[Side.LEFT])
    slip = across * STEP, along * STEP
    readings = [meeting_teeth(comb, other, *slip) for comb, other in zip(left, right, strict=True)]
    assert [comb.lean for comb in left] == [1, -1]
    assert readings == [along - across, along + across]


def test_combs_of_both_pages_stand_at_the_same_places(plan: PrintPlan) -> None:
    """Their middles follow from the grid alone, for upright and level joins."""
    for (one, side), (other, opposite) in (
        (("A1", Side.RIGHT), ("A2", Side.LEFT)),
        (("A1", Side.BOTTOM), ("B1", Side.TOP)),
    ):
        combs = combs_of(joins_by_side(plan, one)[side]), combs_of(joins_by_side(plan, other)[opposite])
        assert [c.middle for c in combs[0]] == [c.middle for c in combs[1]]


def test_each_side_has_checkers_near_both_ends_that_mirror_the_neighbours(plan: PrintPlan) -> None:
    """On A1 and A2 they stand opposite each other, the same way from the join line."""
    found = [checker for tile in plan.tiles for checker in checkers_of(plan, tile)]
    mine = sorted((c.middle.x, c.middle.y) for c in found if (c.tile, c.neighbour) == ("A1", "A2"))
    yours = sorted((c.middle.x, c.middle.y) for c in found if (c.tile, c.neighbour) == ("A2", "A1"))
    assert len(mine) == 2
    line = joins_by_side(plan, "A1")[Side.RIGHT].start.x
    assert [y for _, y in mine] == [y for _, y in yours]
    assert [x for x, _ in mine] == [line - CHECKER_OFFSET] * 2
    assert [x for x, _ in yours] == [line + CHECKER_OFFSET] * 2


def test_marks_stay_in_place_when_the_drawing_changes(plan: PrintPlan) -> None:
    """A page printed again after an alteration meets the marks of its old neighbours."""
    pens = RecordingPen(), RecordingPen()
    draw_joins(pens[0], plan, tile_of(plan, "A1"))
    draw_joins(pens[1], replace(plan, title="altered", skipped=()), tile_of(plan, "A1"))
    assert pens[0].calls == pens[1].calls


def test_a_page_names_its_neighbours_and_says_what_to_do(plan: PrintPlan) -> None:
    """Right and bottom strips go under, left and top lines are cut and laid over."""
    pen = RecordingPen()
    draw_joins(pen, plan, tile_of(plan, "B2"))
    words = {call.text for call in pen.calls if call.kind == "text"}
    assert words == {"cut here, lay over B1", "cut here, lay over A2", "goes under B3"}


def test_all_marks_of_a_join_lie_inside_the_window(plan: PrintPlan) -> None:
    """Nothing is drawn where the printer may not print."""
    for tile in plan.tiles:
        pen = RecordingPen()
        draw_joins(pen, plan, tile)
        box = tile.window.grown(1e-9)
        assert all(box.holds(point) for call in pen.calls for point in call.points)


EARLIER = Path(__file__).parents[1] / "record" / "earlier" / "pot-holder.pdf"


def share_met(aside: float) -> float:
    """How many of the marks drawn now, moved aside by some mm, lie on ink of the pages that edition 0.1.0 printed.

    Of every comb tooth its middle, of every checker the middles of its grey squares.
    """
    file = read_input(EARLIER)
    plan = read_printed(file).plan
    document = pypdfium2.PdfDocument(file.content)
    labels = [document.get_page_label(index) for index in range(len(document))]
    met = []
    for tile in plan.tiles:
        page = document[labels.index(tile.name)]
        to_mm = page_to_mm(page, plan.page_size.width, plan.page_size.height)
        grid = PixelGrid.over(tile.window, 0.05)
        shown = render(page, plan.to_page(tile).inverse() @ to_mm, grid)
        teeth = [tooth for join in joins_of(plan, tile) for comb in combs_of(join) for tooth in comb.teeth]
        points = [(start + end) * 0.5 for start, end in teeth]
        for checker in checkers_of(plan, tile):
            points += [checker.middle + Point(step, step) for step in (-CHECKER_SIDE / 4, CHECKER_SIDE / 4)]
        for at in points:
            row, column = (int(way / grid.pitch) for way in (at.y - tile.window.y0, at.x + aside - tile.window.x0))
            met.append(bool(shown[row - 1 : row + 2, column - 1 : column + 2].max() > 40))
    document.close()
    assert len(met) > 150
    return sum(met) / len(met)


def test_pages_printed_by_an_earlier_edition_meet_the_marks_drawn_now() -> None:
    """Version 1 of the join marks is what edition 0.1.0 printed; whoever moves a mark makes a new version."""
    assert 1 in JOIN_MARKS
    assert share_met(0.0) == 1.0
    assert share_met(0.3) < 0.5
