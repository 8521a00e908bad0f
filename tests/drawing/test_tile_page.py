"""What a tile's page carries besides the drawing, as a list of drawing calls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from calibrate.printer_scale import PageCorrection
from tests.drawing.making import job_of, line, pattern_of, smock, tile_of
from tiling.drawing.checklines import crosses_of
from tiling.drawing.pen import PenCall, RecordingPen
from tiling.drawing.print_job import PrintJob
from tiling.drawing.tile_page import draw_rule, draw_tile_page
from tiling.pattern import Label
from tiling.planning.plan import Tile
from tiling.shapes import Affine, Box, Point, Size


def calls_of(job: PrintJob, name: str) -> list[PenCall]:
    """The calls that draw one tile's page, in mm on the page."""
    pen = RecordingPen()
    draw_tile_page(pen, job, tile_of(job.plan, name))
    return pen.calls


def extent(calls: list[PenCall]) -> Box:
    """The box around all points."""
    points = [point for call in calls for point in call.points]
    return Box(min(p.x for p in points), min(p.y for p in points), max(p.x for p in points), max(p.y for p in points))


def test_a_page_carries_its_name_the_title_and_its_number() -> None:
    """Page i of n counts the sheets that come out of the printer."""
    job = job_of()
    texts = [call.text for call in calls_of(job, "B2")]
    assert "B2" in texts
    assert "Potting smock" in texts
    assert f"page {job.pages['B2']} of {2 + len(job.plan.tiles)}" in texts


@pytest.mark.parametrize(("across", "down"), [(1.0, 1.0), (1.03, 0.97), (0.8, 1.25)])
def test_the_rule_is_scaled_so_that_it_prints_true(across: float, down: float) -> None:
    """50 mm and 2 in across: drawn longer by the correction, so that the printer brings them back."""
    job = job_of(correction=PageCorrection(across, down, "shed printer"))
    level = [
        abs(call.points[0].x - call.points[1].x) / across
        for call in calls_of(job, "A1")
        if call.kind == "line" and abs(call.points[0].y - call.points[1].y) < 1e-9
    ]
    assert any(length == pytest.approx(50.8, abs=1e-9) for length in level)


def test_the_rule_has_ticks_at_50_mm_and_at_2_inches() -> None:
    """From one nought: upwards every 10 mm to 50, downwards every quarter inch to 2 in (25.4 mm each)."""
    pen = RecordingPen()
    draw_rule(pen)
    ticks = [call.points for call in pen.calls if call.kind == "line" and call.points[0].x == call.points[1].x]
    up = sorted(a.x for a, b in ticks if b.y < 0)
    down = sorted(a.x for a, b in ticks if b.y > 0)
    assert up == pytest.approx([5.0 * n for n in range(11)])
    assert down == pytest.approx([25.4 / 4 * n for n in range(9)])


def test_marks_keep_inside_the_window_on_the_page() -> None:
    """What lies outside is not printable; corrected pages too."""
    for correction in (PageCorrection(), PageCorrection(1.04, 0.96, "shed printer")):
        job = job_of(correction=correction)
        window = job.plan.window_on_page.grown(1e-6)
        for tile in job.plan.tiles:
            box = extent(calls_of(job, tile.name))
            assert window.x0 <= box.x0 <= box.x1 <= window.x1
            assert window.y0 <= box.y0 <= box.y1 <= window.y1


def test_the_name_stands_where_the_drawing_leaves_room() -> None:
    """With the left half of a tile full of lines its name moves to the right half."""
    full = [line((10.0, 10.0 + 2 * n), (100.0, 10.0 + 2 * n)) for n in range(130)]
    job = job_of(pattern_of(*full, line((10.0, 300.0), (390.0, 490.0)), size=Size(400.0, 500.0)))
    name = next(call for call in calls_of(job, "A1") if call.text == "A1")
    on_layout = name.points[0].x - job.plan.window_on_page.x0
    assert on_layout > 100.0


def test_the_name_keeps_off_the_drawing_and_leaves_its_rule_out_where_it_must() -> None:
    """Lines every 24 mm leave no room for name and rule together, but for the name between two of them."""
    grid = [line((5.0, 5.0 + 24 * n), (395.0, 5.0 + 24 * n)) for n in range(20)]
    job = job_of(pattern_of(*grid, size=Size(400.0, 500.0)))
    calls = calls_of(job, "A2")
    tile, corner = tile_of(job.plan, "A2"), job.plan.window_on_page.corner
    name = next(call for call in calls if call.text == "A2")
    baseline = name.points[0].y - corner.y + tile.window.y0
    assert 10.0 < (baseline - 5.0) % 24 < 22.0
    assert not any(call.text == "50 mm" for call in calls)
    upright = [line((5.0 + 100 * n, 5.0), (5.0 + 100 * n, 495.0)) for n in range(4)]
    roomy = job_of(pattern_of(*upright, size=Size(400.0, 500.0)))
    for name_of in ("A1", "B1", "B2"):
        calls, tile = calls_of(roomy, name_of), tile_of(roomy.plan, name_of)
        name = next(call for call in calls if call.text == name_of)
        x = name.points[0].x - roomy.plan.window_on_page.x0 + tile.window.x0
        assert any(call.text == "50 mm" for call in calls)
        assert min(abs(x - bar) for bar in (5.0, 105.0, 205.0, 305.0)) >= 2.9


def test_words_of_ours_keep_off_the_drawing_s_words() -> None:
    """What to do with a strip, and the crosses' numbers, stand where the drawing leaves room for them.

    The labels lie where the words and numbers stand on an empty drawing.
    """
    plain = smock()
    job = job_of(plain)
    ours = [(tile, call) for tile in job.plan.to_print for call in words_on(job, tile)]
    in_the_way = [
        Label("on", Affine.shift(at.x - 3.0, at.y + 1.0), 6.0, advance=9.0) for _, call in ours for at in call
    ]
    busy = job_of(replace(plain, marks=(*plain.marks, *in_the_way)))
    assert len(in_the_way) > 12
    assert any(busy.spots.ink_in(box_at(at)) for _, call in ours for at in call)
    for tile in busy.plan.to_print:
        for call in words_on(busy, tile):
            for at in call:
                assert not busy.spots.ink_in(box_at(at)), tile.name


def box_at(middle: Point) -> Box:
    """A square millimetre or two about the middle of a word."""
    return Box(middle.x, middle.y, middle.x, middle.y).grown(0.6)


def words_on(job: PrintJob, tile: Tile) -> Iterator[list[Point]]:
    """Where on the layout the middles of a tile's words about its strips, and of its crosses' numbers, lie."""
    pen = RecordingPen()
    draw_tile_page(pen, job, tile)
    back = job.plan.to_page(tile).inverse()
    numbers = {str(cross.number) for cross in crosses_of(job.check_lines, tile)}
    for call in pen.calls:
        if call.text.startswith(("goes under", "cut here")) or call.text in numbers:
            aside = Point(0.8, -1.0) if call.text in numbers else Point(0.0, 0.0)
            yield [back.point(point) + aside for point in call.points]


def test_no_mark_is_black() -> None:
    """Whatever lies under the drawing is lighter than the drawing's own black."""
    for call in calls_of(job_of(), "A1"):
        grey = getattr(call.style, "grey", 0.5)
        assert grey >= 0.1
