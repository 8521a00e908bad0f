"""The printed target as data: what lies where, on which pages, and what must stay clear."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from calibrate.area import Area
from calibrate.cardplace import CARD_HEIGHT, CARD_WIDTH
from calibrate.ink import Circle, InkLine, InkText, Rect, Shape
from calibrate.printer_scale import PrinterScale
from calibrate.target import MARKER, SADDLE, SQUARE, Target, make_target

PAGES = {
    "A4": (210.0, 297.0),
    "US letter": (215.9, 279.4),
    "A5": (148.0, 210.0),
    "both": (200.0, 280.0),
    "A4 lying": (297.0, 210.0),
    "A3": (297.0, 420.0),
    "A0": (841.0, 1189.0),
    "roll": (914.0, 5000.0),
}


def boxes(target: Target) -> dict[str, Area]:
    """The rectangle of every mark and of the square with its four inch brother."""
    found = {f"m{m.place}": Area(m.x - MARKER / 2, m.y - MARKER / 2, MARKER, MARKER) for m in target.markers}
    found |= {s.name: Area(s.x - SADDLE, s.y - SADDLE, 2 * SADDLE, 2 * SADDLE) for s in target.saddles}
    found["square"] = Area(target.square.x, target.square.y, 101.6, 101.6)
    return found


def overlap(a: Area, b: Area) -> bool:
    """Whether two rectangles share any area."""
    return a.x < b.right and b.x < a.right and a.y < b.bottom and b.y < a.bottom


@pytest.fixture(params=PAGES.values(), ids=PAGES.keys())
def target(request: pytest.FixtureRequest) -> Target:
    """A target on each of the pages."""
    return make_target(*request.param)


def test_everything_measured_keeps_eight_millimetres_from_the_edges(target: Target) -> None:
    """A printer that cuts off 6 mm takes no mark away; the field never leaves the page."""
    for name, box in boxes(target).items():
        assert box.x >= 8.0 - 1e-9, name
        assert box.y >= 8.0 - 1e-9, name
        assert box.right <= target.field.right - 8.0 + 1e-9, name
        assert box.bottom <= target.field.bottom - 8.0 + 1e-9, name


def test_no_mark_touches_another(target: Target) -> None:
    """Markers, saddles and the square lie apart, and clear of the bands left for words."""
    named = boxes(target) | {"title": target.title_band, "foot": target.foot_band}
    for (one, a), (other, b) in itertools.combinations(named.items(), 2):
        assert not overlap(a, b), (one, other)


def test_whatever_is_measured_lies_between_measuring_points(target: Target) -> None:
    """The square, the card and the coin lie inside the ring of saddles, so the map is interpolated there."""
    ring = [s for s in target.saddles if s.name.startswith("r")]
    left, right = min(s.x for s in ring), max(s.x for s in ring)
    top, bottom = min(s.y for s in ring), max(s.y for s in ring)
    assert len(ring) == 24
    for area in (target.square, target.card):
        assert left < area.x
        assert right > area.right
        assert top < area.y
        assert bottom > area.bottom
    assert target.square.holds(*target.coin)


def test_every_page_corner_has_a_marker_and_saddles_near(target: Target) -> None:
    """The corners of the field are held too, for the sheet's edges are measured there."""
    corners = [(0, 0), (target.field.width, 0), (0, target.field.height), (target.field.width, target.field.height)]
    for x, y in corners:
        assert min(max(abs(m.x - x), abs(m.y - y)) for m in target.markers) < 12.0
        assert min(max(abs(s.x - x), abs(s.y - y)) for s in target.saddles) < 22.0


def test_card_outline_is_that_of_iso_7810(target: Target) -> None:
    """ISO/IEC 7810 ID-1: 85.60 x 53.98 mm; the square is 100 mm."""
    assert (target.card.width, target.card.height) == (CARD_WIDTH, CARD_HEIGHT) == (85.60, 53.98)
    assert (target.square.width, target.square.height) == (SQUARE, SQUARE) == (100.0, 100.0)


def test_square_is_drawn_as_a_line_and_its_brother_dashed(target: Target) -> None:
    """A ruler finds a closed full line of 100 mm, and a dashed one of 4 in (101.6 mm, at 25.4 mm to the inch)."""
    strokes = [shape for shape in target.shapes() if isinstance(shape, InkLine)]
    squares = [s for s in strokes if s.closed and not s.dashes]
    sides = {round(max(x for x, _ in s.points) - min(x for x, _ in s.points), 6) for s in squares}
    assert sides == {100.0}
    dashed = [s for s in strokes if s.dashes]
    assert {round(max(x for x, _ in s.points) - min(x for x, _ in s.points), 6) for s in dashed} == {4 * 25.4}


def extent(shape: Shape) -> tuple[float, float, float, float]:
    """Left, top, right and bottom."""
    if isinstance(shape, Rect):
        return shape.x, shape.y, shape.x + shape.width, shape.y + shape.height
    if isinstance(shape, InkLine):
        xs, ys = zip(*shape.points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)
    if isinstance(shape, Circle):
        return shape.x - shape.radius, shape.y - shape.radius, shape.x + shape.radius, shape.y + shape.radius
    return shape.x, shape.y, shape.x, shape.y


def test_nothing_is_painted_outside_the_field(target: Target) -> None:
    """Shapes and the base lines of labels stay on the field."""
    for shape in target.shapes():
        x0, y0, x1, y1 = extent(shape)
        assert min(x0, y0) >= -1e-9, shape
        assert x1 <= target.field.right + 1e-9, shape
        assert y1 <= target.field.bottom + 1e-9, shape


def test_ticks_run_off_every_edge_of_a_whole_sheet() -> None:
    """At each of the four edges a black spine starts on the edge itself."""
    target = make_target(210.0, 297.0)
    starts = {s.points[0] for s in target.shapes() if isinstance(s, InkLine)}
    assert {(0.0, 148.5), (105.0, 0.0), (210.0, 148.5), (105.0, 297.0)} <= starts


def test_asks_for_a_card_with_its_blank_side_up() -> None:
    """The words in the outline never ask for a bank card's face."""
    words = " ".join(s.text for s in make_target(210.0, 297.0).shapes() if isinstance(s, InkText))
    assert "expired, loyalty or library card" in words
    assert "blank side up" in words


def test_a_larger_sheet_carries_an_a4_field_at_its_top_left() -> None:
    """On A0 the target takes up 210 x 297 mm and says that the sheet is larger."""
    target = make_target(841.0, 1189.0)
    assert (target.field.width, target.field.height) == (210.0, 297.0)
    assert not target.message.whole_sheet


def test_a_page_too_small_is_refused() -> None:
    """A6 can't hold a 100 mm square with its ring."""
    with pytest.raises(ValueError, match="148 x 200"):
        make_target(105.0, 148.0)


def test_the_correction_stated_does_not_move_anything() -> None:
    """A correction changes the markers' numbers and nothing else: whoever paints the page scales it."""
    plain, corrected = make_target(210.0, 297.0), make_target(210.0, 297.0, PrinterScale(0.97, 1.02))
    assert plain.saddles == corrected.saddles
    assert [(m.x, m.y) for m in plain.markers] == [(m.x, m.y) for m in corrected.markers]
    assert plain.markers != corrected.markers


def test_little_ink_is_used() -> None:
    """Black and tone together cover less than 6 % of an A4 page."""
    page = np.ones((297 * 4, 210 * 4))
    for shape in make_target(210.0, 297.0).shapes():
        if isinstance(shape, Rect):
            rows = slice(round(shape.y * 4), round((shape.y + shape.height) * 4))
            columns = slice(round(shape.x * 4), round((shape.x + shape.width) * 4))
            page[rows, columns] = shape.ink.value
    assert 0.02 < 1.0 - page.mean() < 0.06
