"""Which printed tiles change: compared as geometry, both ways, with every piece laid where fewest pages change."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tiling.planning.changes import Cell, TapedSheet, changed_tiles, choose_shifts, kept_clear, piece_change, tiles_at
from tiling.planning.plan import Grid
from tiling.planning.traces import Trace, difference, shift_votes
from tiling.shapes import Affine, Box, Path, Point, Size

GRID = Grid(Point(0.0, 0.0), Size(190.0, 270.0), 10.0, 3, 4)
SLACK = 0.1
SHEET = TapedSheet(GRID, frozenset(Cell(row, column) for row in range(3) for column in range(4)))


def outline(box: Box, piece: str = "front", look: str = "thin") -> Trace:
    """A rectangular piece."""
    return Trace("line", piece, look, Path.rectangle(box))


def bars(piece: str, xs: list[float], top: float = 0.0, height: float = 400.0) -> list[Trace]:
    """Upright lines of one piece, each 1 mm shorter than the one before so that none is like another."""
    return [
        Trace("line", piece, "thin", Path.polyline([Point(x, top), Point(x, top + height - i)]))
        for i, x in enumerate(xs)
    ]


def shifted(traces: list[Trace], dx: float, dy: float = 0.0) -> list[Trace]:
    """All of them moved."""
    return [trace.moved(Affine.shift(dx, dy)) for trace in traces]


def test_a_line_that_stays_makes_no_difference_and_one_that_moves_does_on_both_sides() -> None:
    """A point counts where the old line was and where the new one is."""
    old, new = bars("front", [10.0, 50.0]), bars("front", [10.0, 50.3])
    found = difference(old, new, SLACK)
    assert set(np.round(found[:, 0], 6)) == {50.0, 50.3}
    assert found[:, 2] == pytest.approx(0.3)


def test_a_move_within_the_slack_is_no_difference() -> None:
    """0.1 mm is the slack: 0.09 stays, 0.11 counts."""
    old = bars("front", [10.0])
    assert len(difference(old, shifted(old, 0.09), SLACK)) == 0
    assert len(difference(old, shifted(old, 0.11), SLACK)) > 0


def test_a_line_that_changes_its_look_is_compared_with_lines_of_that_look_only() -> None:
    """A stitching line where the cutting line was is a change."""
    old = [outline(Box(0, 0, 50, 50), look="thick")]
    new = [outline(Box(0, 0, 50, 50), look="dashed")]
    assert len(difference(old, new, SLACK)) > 0


def test_a_line_split_in_two_at_the_same_place_is_the_same_line() -> None:
    """Compared as geometry, not as objects."""
    old = [Trace("line", "front", "thin", Path.polyline([Point(0, 0), Point(0, 100)]))]
    halves = [
        Trace("line", "front", "thin", Path.polyline([Point(0, 0), Point(0, 37)])),
        Trace("line", "front", "thin", Path.polyline([Point(0, 37), Point(0, 100)])),
    ]
    assert len(difference(old, halves, SLACK)) == 0


@given(st.floats(-400, 900), st.floats(-400, 900))
@settings(max_examples=200, deadline=None)
def test_a_point_is_found_in_exactly_the_windows_that_hold_it(x: float, y: float) -> None:
    """Against shapely's boxes, for every cell in reach."""
    found = tiles_at(np.array([[x, y, 1.0]]), GRID)
    point = shapely.Point(x, y)
    expected = set()
    for row in range(-4, 6):
        for column in range(-4, 8):
            box = GRID.box(row, column)
            if shapely.box(box.x0, box.y0, box.x1, box.y1).distance(point) <= 1e-9:
                expected.add(Cell(row, column))
    # A hair's breadth at a window's edge may go either way.
    assert all(cell in expected for cell in found)
    for cell in expected - found.keys():
        box = GRID.box(cell.row, cell.column)
        assert min(abs(x - box.x0), abs(x - box.x1), abs(y - box.y0), abs(y - box.y1)) < 1e-6


@given(st.floats(-30, 30).filter(lambda v: abs(v) > 1), st.floats(-30, 30))
@settings(max_examples=40, deadline=None)
def test_both_sides_of_a_spread_are_found_as_shifts(spread: float, along: float) -> None:
    """The left lines vote for no shift, the right ones for the way back."""
    old = bars("front", [0.0, 40.0, 200.0, 290.0])
    new = old[:2] + shifted(old[2:], spread, along)
    shifts = shift_votes(old, new)
    assert any(shift.distance(Point(0, 0)) < 0.03 for shift in shifts)
    assert any(shift.distance(Point(-spread, -along)) < 0.03 for shift in shifts)


def test_the_side_with_fewer_pages_gives_way() -> None:
    """Three columns of lines on the right of the cut, one on the left: the right stays where it is."""
    old = bars("front", [20.0, 300.0, 500.0, 650.0])
    new = old[:1] + shifted(old[1:], 12.0)
    change = piece_change("front", old, new, SHEET, SLACK)
    choice = choose_shifts([change], SHEET, SLACK)
    assert choice.shifts["front"].x == pytest.approx(-12.0, abs=0.02)
    assert {cell.column for cell in choice.tiles} == {0}
    naive = min(
        len(option.tiles) for option in change.options if abs(option.shift.x) in (0.0, pytest.approx(12.0, abs=0.02))
    )
    assert len(choice.tiles) <= naive


def test_what_a_printed_tile_shows_needs_no_new_one() -> None:
    """A point in the strip between the last printed column and the next is on a printed page already."""
    strip = GRID.box(0, 3).x1 - 5.0
    assert changed_tiles(np.array([[strip, 100.0, 1.0]]), SHEET) == {Cell(0, 3): 1.0}


def test_what_no_printed_tile_shows_gets_one_new_tile() -> None:
    """Beyond the sheet's edge, in a strip that two new tiles could show, one of them is enough."""
    beyond = GRID.box(0, 4).x1 - 5.0
    assert len(changed_tiles(np.array([[beyond, 100.0, 1.0]]), SHEET)) == 1


def test_an_unchanged_drawing_changes_no_tile() -> None:
    """Nothing moved, nothing to print."""
    old = bars("front", [20.0, 300.0])
    assert not choose_shifts([piece_change("front", old, old, SHEET, SLACK)], SHEET, SLACK).tiles


def test_a_drawing_moved_as_a_whole_changes_no_tile() -> None:
    """Edited elsewhere and saved with another origin: it is laid back on the sheet."""
    old = bars("", [20.0, 300.0, 444.0])
    choice = choose_shifts([piece_change("", old, shifted(old, 33.3, -7.7), SHEET, SLACK)], SHEET, SLACK)
    assert not choice.tiles
    assert choice.shifts[""].distance(Point(-33.3, 7.7)) < 0.02


def test_a_piece_that_grew_does_not_run_into_its_neighbour() -> None:
    """The neighbour stands 10 mm beside it and the piece grows by 30 mm: one of them gives way, none overlap."""
    front, back = [outline(Box(0, 0, 300, 400))], [outline(Box(310, 0, 600, 400), "back")]
    wider = [outline(Box(0, 0, 330, 400))]
    changes = [piece_change("front", front, wider, SHEET, SLACK), piece_change("back", back, back, SHEET, SLACK)]
    choice = choose_shifts(changes, SHEET, SLACK)
    front_box = Path.rectangle(Box(0, 0, 330, 400)).moved(
        Affine.shift(choice.shifts["front"].x, choice.shifts["front"].y)
    )
    back_box = Path.rectangle(Box(310, 0, 600, 400)).moved(
        Affine.shift(choice.shifts["back"].x, choice.shifts["back"].y)
    )
    assert (
        not shapely.box(*front_box.points.min(axis=0), *front_box.points.max(axis=0))
        .intersection(shapely.box(*back_box.points.min(axis=0), *back_box.points.max(axis=0)))
        .area
    )


def test_pieces_that_were_drawn_over_each_other_may_stay_so() -> None:
    """Shared paper is not a collision."""
    front, back = [outline(Box(0, 0, 300, 400))], [outline(Box(5, 5, 295, 395), "back")]
    changes = [piece_change("front", front, front, SHEET, SLACK), piece_change("back", back, back, SHEET, SLACK)]
    choice = choose_shifts(changes, SHEET, SLACK)
    assert not choice.tiles
    assert all(shift == Point(0.0, 0.0) for shift in choice.shifts.values())


def test_a_piece_that_grew_does_not_run_onto_words_beside_it() -> None:
    """Words stand 5 mm right of the piece: it grows to the left, though growing to the right costs fewer pages."""
    words = [Trace("text", "", "bold", Path.polyline([Point(390, 100), Point(390, 110)]))]
    printed = [outline(Box(200, 0, 385, 400)), *bars("front", [210.0, 230.0])]
    drawn = [outline(Box(170, 0, 385, 400)), *bars("front", [180.0, 200.0])]
    front = piece_change("front", printed, drawn, SHEET, SLACK)
    beside = piece_change("", words, words, SHEET, SLACK)
    over = choose_shifts([front, beside], SHEET, SLACK)
    clear = choose_shifts([front, kept_clear(beside, [shapely.box(390, 100, 460, 110)], [front])], SHEET, SLACK)
    assert over.shifts["front"] == Point(30.0, 0.0)
    assert clear.shifts["front"] == Point(0.0, 0.0)
    assert len(over.tiles) < len(clear.tiles)


def test_words_that_move_change_every_tile_they_reach() -> None:
    """A heading begins on the first tile and ends on the second; other words at the same place change none."""
    edge, whole = Path.polyline([Point(20, 100), Point(20, 110)]), Path.rectangle(Box(20, 100, 330, 110))
    old = [Trace("text", "", "bold", edge, whole)]
    tiles = changed_tiles(difference(old, shifted(old, 0.0, 5.0), SLACK), SHEET)
    assert set(tiles) == {Cell(0, 0), Cell(0, 1)}
    longer = [Trace("text", "", "bold", edge, Path.rectangle(Box(20, 100, 400, 110)))]
    assert not len(difference(old, longer, SLACK))
