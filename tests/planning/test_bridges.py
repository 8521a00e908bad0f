"""Pages that would hang on nothing: empty ones are printed so that all of a piece's pages hold, and no more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.planning.drawings import pattern_of
from tiling.pattern import Line, Pattern, Role, Tag
from tiling.planning.bridges import bridges
from tiling.planning.papers import paper_named
from tiling.planning.plan import EmptyPages, Grid, Margins, Orientation, PrintPlan, parts_of_cells
from tiling.planning.planner import GridMode, PlanOptions, counts_by_paper, plan_pages
from tiling.planning.printed import PrintedRecord, recorded
from tiling.planning.reprint import ReprintOptions, plan_reprint
from tiling.record.plan_record import read_record, record_bytes
from tiling.shapes import Affine, Path, Point, Size
from tiling.style import Stroke, Style

GRID = Grid(Point(0.0, 0.0), Size(190.0, 277.0), 10.0, 5, 5)
"""A4 with margins of 10 mm."""


def line(*points: tuple[float, float], piece: str = "", role: Role = Role.PLAIN) -> Line:
    return Line(Path.polyline([Point(x, y) for x, y in points]), Style(Stroke(0.3)), Tag(piece, role))


def panel(piece: str = "panel") -> tuple[Line, Line]:
    """900 x 1300 mm with a short grainline in its middle, on a page whose four neighbours are empty."""
    outline = line((5, 5), (880, 5), (880, 1300), (5, 1300), (5, 5), piece=piece, role=Role.CUTTING)
    return outline, line((450, 600), (450, 700), piece=piece, role=Role.GRAINLINE)


def drawn(*marks: Line) -> Pattern:
    return pattern_of(marks, Size(900.0, 1320.0))


def planned(pattern: Pattern, empty: EmptyPages = EmptyPages.BRIDGE) -> PrintPlan:
    options = PlanOptions(
        paper_named("a4"), Orientation.PORTRAIT, Margins.even(10.0), 10.0, GridMode.AS_DRAWN, empty=empty
    )
    return plan_pages(pattern, options)


def parts_of(plan: PrintPlan) -> int:
    return len(parts_of_cells((tile.row, tile.column) for tile in plan.tiles))


@pytest.mark.parametrize("piece", ["panel", ""])
def test_a_grainline_amid_a_large_piece_is_held(piece: str) -> None:
    """One page leads from it to the outline; whether the drawing names its pieces or not."""
    plan = planned(drawn(*panel(piece)))
    assert parts_of(plan) == 1
    assert len(plan.bridges) == 1
    assert plan.bridges <= {tile.name for tile in plan.tiles}
    assert plan.skipped
    assert not plan.bridges & set(plan.skipped)


def test_pages_that_meet_at_a_corner_only_are_held() -> None:
    """A seam runs from page to page through the corner that four share."""
    slanted = line((20, 20), (60, 20), (360, 540), (320, 540), (20, 20), piece="strap", role=Role.CUTTING)
    corner = slanted.moved(Affine.shift(185.0 - 190.0, 272.0 - 280.0))
    found = bridges({(0, 0), (1, 1)}, GRID.box, drawn(corner))
    assert len(found) == 1
    assert found <= {(0, 1), (1, 0)}


def test_pieces_that_lie_apart_are_not_held_together() -> None:
    """Nothing of cloth hangs on both, so no page is spent on what lies between."""
    small = [line((x, y), (x + 50, y), (x + 50, y + 50), (x, y + 50), (x, y)) for x, y in ((10, 10), (800, 1200))]
    plan = planned(drawn(*small))
    assert parts_of(plan) == 2
    assert plan.bridges == frozenset()


def test_a_ring_of_pages_holds_itself() -> None:
    """Its inner pages stay out unless they are asked for; then all inside are printed, and none beside."""
    outline, _ = panel()
    beside = line((1000, 1290), (1080, 1290), (1080, 1300), (1000, 1290))
    pattern = drawn(outline, beside)
    assert planned(pattern).bridges == frozenset()
    inside = planned(pattern, EmptyPages.INSIDE)
    assert inside.bridges == {f"{row}{column}" for row in "BCD" for column in "234"}
    every = planned(pattern, EmptyPages.ALL)
    assert every.skipped == ()
    assert len(every.tiles) == every.grid.rows * every.grid.columns
    assert inside.bridges < every.bridges


def test_look_counts_the_pages_that_hold_others() -> None:
    """What `look` says, `pages` makes."""
    pattern = drawn(*panel())
    (a4,) = (count for count in counts_by_paper(pattern) if count.paper.name == "a4")
    assert a4.tiles == len(plan_pages(pattern, PlanOptions(paper_named("a4"))).tiles)


def reprinted(plan: PrintPlan, before: Pattern, after: Pattern) -> tuple[PrintPlan, dict[str, tuple[str, ...]]]:
    record = read_record(record_bytes(plan, before, {tile.name: n for n, tile in enumerate(plan.tiles, 3)}))
    assert record.plan.bridges == plan.bridges
    made = plan_reprint(record, after, ReprintOptions())
    return made.plan, {"replace": made.replace, "add": made.add, "remove": made.remove, "keep": made.keep}


def test_an_unchanged_drawing_keeps_the_pages_that_hold_others() -> None:
    """They are not taken away for having no line."""
    pattern = drawn(*panel())
    plan = planned(pattern)
    again, fate = reprinted(plan, pattern, pattern)
    assert fate["keep"] == tuple(tile.name for tile in plan.tiles)
    assert fate["replace"] == fate["add"] == fate["remove"] == ()
    assert again.bridges == plan.bridges


def test_an_alteration_that_leaves_a_page_alone_adds_what_holds_it() -> None:
    """A pocket's place comes to lie amid the panel; one whose line goes, but which holds it, is printed anew."""
    outline, grainline = panel()
    before = drawn(outline)
    made, fate = reprinted(planned(before), before, drawn(outline, grainline))
    assert len(fate["add"]) == 2
    assert len(made.bridges) == 1
    assert parts_of(made) == 1
    led = drawn(outline, grainline, line((450, 20), (450, 590), piece="panel"))
    made, fate = reprinted(planned(led), led, drawn(outline, grainline))
    assert len(made.bridges) == 1
    assert made.bridges <= set(fate["replace"])
    assert parts_of(made) == 1


def test_a_record_from_before_holding_pages_is_reprinted_as_it_was() -> None:
    """A sheet that was taped in two parts needs no page now that it didn't need then."""
    pattern = drawn(*panel())
    plan = planned(pattern)
    kept = tuple(tile for tile in plan.tiles if tile.name not in plan.bridges)
    old = PrintedRecord(replace(plan, tiles=kept, bridges=frozenset()), tuple(recorded(pattern.marks)))
    made = plan_reprint(old, pattern, ReprintOptions())
    assert made.nothing_to_print
    assert made.remove == ()
