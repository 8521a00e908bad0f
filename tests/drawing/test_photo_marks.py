"""Checkers and codes, by which a photo of the taped sheet is measured."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import combinations

import pytest

from tests.drawing.making import job_of, plan_of, smock, tile_of
from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.pen import RecordingPen
from tiling.drawing.photo_marks import CODE_CLEAR, CODE_SIDE, checkers_of, codes_of, draw_photo_marks
from tiling.planning.plan import PrintPlan, Tile
from tiling.shapes import Box, Point


@pytest.fixture(name="plan", scope="module")
def plan_fixture() -> PrintPlan:
    """Three columns and two rows on A4."""
    return plan_of(smock())


def squares(plan: PrintPlan, row: int, column: int) -> frozenset[tuple[int, int]]:
    """Which squares of the code of the tile in a row and column are grey, as (row, column)."""
    tile = Tile("any", row, column, plan.grid.box(row, column))
    code = codes_of(plan, tile)[0]
    step = CODE_SIDE / 4
    return frozenset(
        (round((box.y0 - code.box.y0) / step), round((box.x0 - code.box.x0) / step)) for box in code.squares
    )


def test_no_two_pages_codes_are_alike_in_fewer_than_four_squares(plan: PrintPlan) -> None:
    """On a sheet of up to 16 x 16 pages, also where rows and columns were added above and on the left."""
    found = [squares(plan, row, column) for row in range(-3, 13) for column in range(-2, 14)]
    assert min(len(one ^ other) for one, other in combinations(found, 2)) == 4
    assert {len(one) for one in found} <= set(range(4, 13))


def test_rows_and_columns_are_words_of_the_extended_hamming_code(plan: PrintPlan) -> None:
    """Its words lie 4 squares apart 14 times and 8 once (MacWilliams and Sloane, The Theory of Error-Correcting Codes,
    1977, the weights of the first-order Reed-Muller code of length 8; from memory).
    """
    upper = [frozenset(at for at in squares(plan, row, 0) if at[0] < 2) for row in range(16)]
    lower = [frozenset(at for at in squares(plan, 0, column) if at[0] >= 2) for column in range(16)]
    for words in (upper, lower):
        assert Counter(len(words[5] ^ other) for other in words) == {0: 1, 4: 14, 8: 1}


def test_a_page_carries_its_code_upright_near_all_its_corners(plan: PrintPlan) -> None:
    """The same four times, as far from the joins everywhere, so that every corner has three marks."""
    tile = tile_of(plan, "A2")
    inner = tile.window.grown(-plan.grid.overlap / 2)
    codes = codes_of(plan, tile)
    corners = [Point(x, y) for y in (inner.y0, inner.y1) for x in (inner.x0, inner.x1)]
    for code, corner in zip(codes, corners, strict=True):
        away = code.box.centre - corner
        assert (abs(away.x), abs(away.y)) == pytest.approx((14.0, 14.0))
        moved = [(box.x0 - code.box.x0, box.y0 - code.box.y0) for box in code.squares]
        assert moved == [
            pytest.approx((box.x0 - codes[0].box.x0, box.y0 - codes[0].box.y0)) for box in codes[0].squares
        ]


def test_outer_edges_carry_checkers_where_a_page_added_later_has_its_join(plan: PrintPlan) -> None:
    """Eight on every page; a neighbour that comes with a reprint finds them where it expects them."""
    tile = tile_of(plan, "A1")
    places = {checker.middle for checker in checkers_of(plan, tile)}
    assert len(places) == 8
    assert Counter(checker.neighbour for checker in checkers_of(plan, tile)) == {"": 4, "A2": 2, "B1": 2}
    grown = replace(plan, tiles=(*plan.tiles, Tile("A0", 0, -1, plan.grid.box(0, -1))))
    assert {checker.middle for checker in checkers_of(grown, tile)} == places


def test_pages_of_the_first_version_have_checkers_at_joins_only(plan: PrintPlan) -> None:
    """What is printed again meets what was printed then."""
    before = replace(plan, join_marks=1)
    assert all(checker.neighbour for tile in plan.tiles for checker in checkers_of(before, tile))
    assert not any(codes_of(before, tile) for tile in plan.tiles)


def test_all_of_it_lies_inside_the_window(plan: PrintPlan) -> None:
    """Nothing is drawn where the printer may not print."""
    for tile in plan.tiles:
        pen = RecordingPen()
        draw_photo_marks(pen, plan, tile)
        box = tile.window.grown(1e-9)
        assert pen.calls
        assert all(box.holds(point) for call in pen.calls for point in call.points)


def test_a_page_too_small_for_four_codes_has_none(plan: PrintPlan) -> None:
    """On a strip of 40 mm they would lie over each other."""
    tile = replace(tile_of(plan, "A1"), window=Box(0.0, 0.0, 40.0, 200.0))
    assert codes_of(plan, tile) == ()


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_names_and_crosses_keep_clear_of_the_codes(paper: str) -> None:
    """Also the crosses of a grainline, whose places the drawing gives."""
    job = job_of(smock(), paper)
    for tile in job.plan.tiles:
        codes = [code.box.grown(CODE_CLEAR - 1e-6) for code in codes_of(job.plan, tile)]
        kept = kept_part(tile, joins_of(job.plan, tile))
        assert len(codes) == 4
        assert all(kept.holds(Point(x, y)) for box in codes for x in (box.x0, box.x1) for y in (box.y0, box.y1))
        crosses = [cross.at for line in job.check_lines for cross in (line.start, line.end)]
        marks = [*(Box(at.x, at.y, at.x, at.y).grown(4.0) for at in crosses), job.names.get(tile.name)]
        assert not [mark for mark in marks if mark for box in codes if mark.common(box)]
