"""The page map, the order to tape, and the check lines."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import numpy as np
import pytest

from calibrate.printer_scale import PageCorrection
from tests.drawing.making import job_of, line, pattern_of, plan_of, smock, tile_of
from tiling.drawing.change_map import draw_change_map
from tiling.drawing.checklines import DIAGONALS, PER_JOIN, check_lines, crosses_of
from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.lettering import text_width
from tiling.drawing.map_names import names_on_map
from tiling.drawing.page_map import draw_map_page, outlines_in_small
from tiling.drawing.pdf import write_pages
from tiling.drawing.pen import PenCall, RecordingPen, Type
from tiling.drawing.print_job import FrontPage, PrintDetails, PrintJob, build_print_job
from tiling.drawing.spots import Spots
from tiling.drawing.taping import Strip, sheet_parts, taping_of
from tiling.files.inputs import InputFile
from tiling.pattern import Pattern, Role
from tiling.planning.occupancy import Raster, occupancy
from tiling.planning.placing import placed
from tiling.planning.plan import Orientation, Placement, PrintPlan
from tiling.planning.printed import PrintedRecord
from tiling.planning.reprint import Reprint
from tiling.record.printed_file import read_printed
from tiling.shapes import Affine, Box, Size


def map_calls(job: PrintJob) -> list[PenCall]:
    """The calls that draw the map page."""
    pen = RecordingPen()
    draw_map_page(pen, job)
    return pen.calls


def corners() -> Pattern:
    """Two small lines in opposite corners: most tiles are empty."""
    return pattern_of(line((20.0, 20.0), (60.0, 60.0)), line((340.0, 440.0), (380.0, 480.0)))


def test_the_map_names_every_tile_and_marks_the_skipped_ones() -> None:
    """With the page each is on."""
    job = job_of(corners())
    texts = [call.text for call in map_calls(job) if call.kind == "text"]
    assert job.plan.skipped
    for tile in job.plan.tiles:
        assert tile.name in texts
        assert f"page {job.pages[tile.name]}" in texts
    for name in job.plan.skipped:
        assert f"{name} empty" in texts


@pytest.mark.parametrize("paper", ["a4", "letter", "tabloid"])
@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
def test_the_map_page_stays_on_its_page(paper: str, orientation: Orientation) -> None:
    """Twelve millimetres from every edge, with many tiles too."""
    wide = pattern_of(line((0.0, 0.0), (1500.0, 900.0)), line((0.0, 900.0), (1500.0, 0.0)), size=Size(1500.0, 900.0))
    for pattern in (smock(), wide):
        job = job_of(pattern, paper, orientation)
        page = Box(0.0, 0.0, job.plan.page_size.width, job.plan.page_size.height).grown(-9.0)
        for call in map_calls(job):
            assert all(page.holds(point) for point in call.points), call


def box_of_text(call: PenCall) -> Box:
    """What a level text covers."""
    style, at = call.style, call.points[0]
    assert isinstance(style, Type)
    width = text_width(call.text, style.size, style.face)
    left = at.x - width * style.anchor.value
    return Box(left, at.y - 0.72 * style.size, left + width, at.y)


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
def test_pieces_are_named_where_they_lie(paper: str, orientation: Orientation) -> None:
    """Inside their outlines as laid out, clear of the pages' names; what has no name has none there."""
    marks = [
        line((x, 20.0), (x + 150.0, 20.0), (x + 150.0, 480.0), (x, 480.0), (x, 20.0), role=Role.CUTTING, piece=name)
        for name, x in (("front", 20.0), ("pocket", 220.0))
    ]
    pattern = pattern_of(*marks, line((190.0, 20.0), (200.0, 480.0)))
    move = Affine.shift(30.0, 60.0) @ Affine.turn(-8.0)
    plan = replace(plan_of(pattern, paper, orientation), placements=(Placement("pocket", move),))
    job = build_print_job(plan, pattern, ink=occupancy(placed(pattern, plan.placements)))
    texts = [call for call in map_calls(job) if call.kind == "text"]
    named = {call.text: call for call in texts if call.text in {"front", "pocket"}}
    assert set(named) == {"front", "pocket"}
    for name, call in named.items():
        assert not any(
            box_of_text(call).meets(box_of_text(other))
            for other in texts
            if other is not call and " off" not in other.text
        ), name
    assert named["front"].points[0].x < named["pocket"].points[0].x


def test_a_name_lies_in_a_piece_that_is_hollow() -> None:
    """Of a piece shaped like an L the middle of its box is outside."""
    ell = line((0, 0), (30, 0), (30, 460), (390, 460), (390, 490), (0, 490), (0, 0), role=Role.CUTTING, piece="facing")
    (name,) = names_on_map(pattern_of(ell), Affine.scale(0.3), [])
    middle = name.box.centre
    assert middle.x < 9.0 or middle.y > 138.0
    (beside,) = names_on_map(pattern_of(ell), Affine.scale(0.3), [name.box])
    assert not beside.box.meets(name.box)


@pytest.mark.parametrize("orientation", [Orientation.PORTRAIT, Orientation.LANDSCAPE])
@pytest.mark.parametrize("paper", ["a4", "letter", "both"])
def test_the_combs_are_shown_where_there_is_room(paper: str, orientation: Orientation) -> None:
    """A map of few pages, or a flat one, leaves 40 mm: two combs, one true and one off, in a column's width."""
    flat = pattern_of(line((10.0, 10.0), (790.0, 190.0)), line((10.0, 190.0), (790.0, 10.0)), size=Size(800.0, 200.0))
    for pattern in (smock(), flat):
        texts = [call.text for call in map_calls(job_of(pattern, paper, orientation))]
        assert "true" in texts
        assert "0.5 mm off" in texts


def test_pages_are_taped_rows_first() -> None:
    """Row by row from the top, each from left to right."""
    assert taping_of(plan_of(smock())).strips == (Strip("A", ("A1", "A2", "A3")), Strip("B", ("B1", "B2", "B3")))
    text = " ".join(call.text for call in map_calls(job_of(smock())))
    assert text.index("Rows first") < text.index("row B over row A")


def test_parts_that_do_not_touch_are_taped_and_checked_by_themselves() -> None:
    """Two uprights with an empty column between: no strip and no check line leads over the gap, and the map says so."""
    bars = [line((x, 10.0), (x, 490.0)) for x in (20.0, 150.0, 420.0, 780.0)]
    job = job_of(pattern_of(*bars, size=Size(800.0, 500.0)))
    plan = job.plan
    held = [(tile.row, tile.column) for tile in plan.tiles]
    assert {column for _, column in held} == {0, 2, 4}
    assert [strip.tiles for strip in job.taping.strips] == [("A1",), ("A3",), ("A5",), ("B1",), ("B3",), ("B5",)]
    assert job.taping.joined == (("A", "B"),) and job.taping.parts == 3
    assert sheet_parts(plan) == [{"A1", "B1"}, {"A3", "B3"}, {"A5", "B5"}]
    lines = check_lines(plan, pattern_of(*bars))
    assert lines
    assert all(one.from_tile[1:] == one.to_tile[1:] for one in lines)
    said = " ".join(call.text for call in map_calls(job))
    assert "3 parts that do not touch" in said
    assert "parts that do not touch" not in " ".join(call.text for call in map_calls(job_of(smock())))


def test_the_map_stays_small_however_much_is_drawn() -> None:
    """A drawing of ten thousand lines is shown by its longest ones, in a few thousand points."""
    many = [line(*[(10.0 + n % 300 + k, 10.0 + n // 300 + (k % 2)) for k in range(20)]) for n in range(10_000)]
    pattern = pattern_of(*many)
    runs = outlines_in_small(pattern, 0.5)
    assert sum(len(run) for run in runs) < 7000


def test_there_are_at_least_three_check_lines_with_true_lengths() -> None:
    """Both diagonals, the grainline, straight down and across; lengths are those between the crosses."""
    plan = plan_of(smock())
    lines = check_lines(plan, smock())
    assert [one.what for one in lines] == [
        "down to the right",
        "down to the left",
        "grainline of front",
        "straight down",
        "straight across",
    ]
    for one in lines:
        dx, dy = one.end.at.x - one.start.at.x, one.end.at.y - one.start.at.y
        assert one.length == pytest.approx(hypot(dx, dy))
        assert one.from_tile != one.to_tile


def test_crosses_stand_on_the_tiles_named_where_they_are_seen() -> None:
    """Inside the part of the page that is not covered, clear of the join marks."""
    plan = plan_of(smock())
    for one in check_lines(plan, smock()):
        for cross, name in ((one.start, one.from_tile), (one.end, one.to_tile)):
            tile = tile_of(plan, name)
            assert kept_part(tile, joins_of(plan, tile)).grown(-9.9).holds(cross.at)
            assert cross in crosses_of(check_lines(plan, smock()), tile)


def test_crosses_of_the_straight_lines_keep_off_the_drawing_and_those_of_the_diagonals_stay() -> None:
    """Bars lie where straight lines would run: their crosses step aside; what reprints rely on does not move."""
    plan, ink = plan_of(smock()), np.zeros((500, 400), dtype=np.bool_)
    plain = {one.what: one for one in check_lines(plan, smock())}
    for what in ("straight down", "straight across"):
        at = plain[what].start.at
        ink[int(at.y) - 3 : int(at.y) + 4, int(at.x) - 3 : int(at.x) + 4] = True
    spots = Spots(Raster(0, 0, ink))
    aside = {one.what: one for one in check_lines(plan, smock(), spots)}
    for what, one in aside.items():
        moved = one.start.at.distance(plain[what].start.at)
        assert (moved > 3.0) if what.startswith("straight") else moved == 0.0


def test_the_grainline_check_runs_along_the_longest_grainline() -> None:
    """Its ends, moved inwards only as far as a cross needs to keep clear of the joins."""
    two = pattern_of(
        *smock().marks, line((300.0, 200.0), (300.0, 300.0), role=Role.GRAINLINE, piece="pocket"), size=Size(400, 500)
    )
    grain = next(one for one in check_lines(plan_of(two), two) if one.what.startswith("grainline"))
    assert grain.what == "grainline of front"
    assert (grain.start.at.x, grain.end.at.x) == (120.0, 120.0)
    assert grain.length > 250.0


def test_the_allowance_grows_with_joins_and_the_printers_uncertainty() -> None:
    """Half a millimetre a join; 0.1 % of the length more where the printer is known to 0.1 %; to the next half mm."""
    plan = plan_of(smock())
    diagonal = check_lines(plan, smock())[0]
    assert diagonal.allowance == PER_JOIN * 3
    unsure = replace(plan, correction=PageCorrection(1.0, 1.0, "shed printer", 0.001))
    known = check_lines(unsure, smock())[0]
    assert known.allowance == pytest.approx(2.5)
    assert 1.5 + 0.001 * known.length > 2.0


def test_a_single_page_has_no_check_lines_and_no_map() -> None:
    """There is nothing to tape."""
    small = pattern_of(line((10.0, 10.0), (100.0, 100.0)), size=Size(120.0, 120.0))
    job = job_of(small)
    assert job.check_lines == ()
    assert job.front == (FrontPage.SQUARE,)
    assert dict(job.pages) == {"A1": 2}


def test_large_sheets_have_no_front_pages() -> None:
    """Tiles are numbered from page 1 where title, square and map go on the sheet."""
    job = job_of(paper="a1")
    assert job.front == () and dict(job.pages) == {"A1": 1} and job.square_page == 1


def test_only_what_this_file_prints_has_a_page() -> None:
    """A reprint numbers its tiles behind the map of what to change."""
    job = job_of()
    plan = replace(job.plan, kept=frozenset({"A1", "A3", "B2"}))
    details = PrintDetails(reprint=Reprint(plan, PrintedRecord(job.plan, ())))
    again = build_print_job(plan, smock(), details)
    assert again.front == (FrontPage.MAP,) and dict(again.pages) == {"A2": 2, "B1": 3, "B3": 4}
    assert again.sheets == 4 and again.square_page == 0


@pytest.mark.parametrize(("printing", "kept_count"), [(1, 2), (2, 0)])
def test_a_change_map_lists_the_check_lines_whose_crosses_stand_on_the_sheet(printing: int, kept_count: int) -> None:
    """Those between pages printed now, and the diagonals of a first print; a kept page may carry an older cross."""
    plan = plan_of(smock())
    lines = job_of(smock()).check_lines
    own = next(line for line in lines if line.what == "straight down")
    now = {own.from_tile, own.to_tile}
    new = replace(plan, kept=frozenset(tile.name for tile in plan.tiles) - now)
    reprint = Reprint(new, PrintedRecord(plan, (), printing=printing), replace=tuple(sorted(now)))
    pen = RecordingPen()
    draw_change_map(pen, build_print_job(new, smock(), PrintDetails(reprint=reprint)), reprint)
    text = " ".join(call.text for call in pen.calls if call.kind == "text")
    listed = [line.what for line in lines if f"{line.start.number} to {line.end.number}:" in text]
    assert [what for what in listed if what in DIAGONALS] == list(DIAGONALS)[:kept_count]
    assert "straight down" in listed
    assert "straight across" not in listed


def changed(plan: PrintPlan, names: set[str], before: PrintedRecord) -> PrintJob:
    """The job of printing these tiles of the sheet again."""
    new = replace(plan, kept=frozenset(tile.name for tile in plan.tiles) - names)
    reprint = Reprint(new, before, replace=tuple(sorted(names)))
    return build_print_job(new, smock(), PrintDetails(reprint=reprint))


def record_of(job: PrintJob) -> PrintedRecord:
    """What the job's file keeps, read back from its attachment."""
    return read_printed(InputFile("sheet.pdf", write_pages(job)))


def test_check_lines_outlive_reprints_with_their_crosses_and_numbers() -> None:
    """After any chain of reprints every cross that is listed stands on the sheet, on old pages and new ones alike."""
    first = job_of(smock())
    paper = {tile.name: crosses_of(first.check_lines, tile) for tile in first.plan.tiles}
    record = record_of(first)
    for names in ({"A1", "B2"}, {"B2", "C3"}, {"A2"}, {tile.name for tile in first.plan.tiles}):
        job = changed(record.plan, names, record)
        for tile in job.plan.to_print:
            paper[tile.name] = crosses_of(job.check_lines, tile)
        assert {line.what for line in job.check_lines} == {line.what for line in first.check_lines}
        for one in job.check_lines:
            assert one.start in paper[one.from_tile] and one.end in paper[one.to_tile]
        pen = RecordingPen()
        assert job.details.reprint is not None
        draw_change_map(pen, job, job.details.reprint)
        text = " ".join(call.text for call in pen.calls if call.kind == "text")
        assert all(f"{line.start.number} to {line.end.number}:" in text for line in job.check_lines)
        record = record_of(job)


def test_a_full_file_has_the_crosses_of_the_pages_that_are_kept() -> None:
    """Printed by numbers from a full file, a page meets the old ones' crosses too."""
    first = job_of(smock())
    wider = smock().with_marks([*smock().marks, line((500.0, 60.0), (590.0, 1300.0))])
    plan = plan_of(wider)
    fresh = build_print_job(plan, wider)
    assert fresh.check_lines != first.check_lines
    kept = build_print_job(plan, wider, PrintDetails(before=record_of(first)))
    assert kept.check_lines[: len(first.check_lines)] == first.check_lines


def test_a_check_line_goes_with_its_page() -> None:
    """A tile that is no longer part of the sheet takes its lines along; the others stay as they are numbered."""
    first = job_of(smock())
    gone = first.check_lines[0].from_tile
    plan = replace(first.plan, tiles=tuple(tile for tile in first.plan.tiles if tile.name != gone))
    job = changed(plan, {plan.tiles[0].name}, record_of(first))
    left = [line for line in first.check_lines if gone not in {line.from_tile, line.to_tile}]
    assert list(job.check_lines[: len(left)]) == left
    assert all(gone not in {line.from_tile, line.to_tile} for line in job.check_lines)
