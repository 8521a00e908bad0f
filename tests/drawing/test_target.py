"""The target on paper: what `calibrate` describes is what the page shows."""

from __future__ import annotations

import io
from ctypes import byref, c_float

import pypdfium2
import pytest
from pypdf import PdfReader
from pypdfium2 import raw
from reportlab.pdfgen.canvas import Canvas

from calibrate.ink import InkTone, Rect
from calibrate.papers import PAPERS, Paper
from calibrate.printer_scale import PageCorrection
from calibrate.target import Target, make_target
from tiling.drawing.target import paint_target
from tiling.drawing.testpage import test_page
from tiling.failures import UsageWrong
from tiling.lengths import MM_PER_POINT
from tiling.proof.square import square_drawn
from tiling.shapes import Point, Size

A4 = Size(210.0, 297.0)
# pytest would take it for a test.
test_page.__test__ = False  # type: ignore[attr-defined]


def painted(target: Target, page: Size, origin: Point | None = None) -> bytes:
    """A page with the target alone."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(page.width / MM_PER_POINT, page.height / MM_PER_POINT))
    paint_target(canvas, target, page.height, origin)
    canvas.save()
    return out.getvalue()


def rectangles(pdf: bytes, page: Size) -> list[tuple[float, float, float, float, int]]:
    """Filled paths of the page as PDFium reads them, in painting order: left, top, width, height in mm and grey."""
    found = []
    document = pypdfium2.PdfDocument(pdf)
    for part in document[0].get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,)):
        mode, stroke = raw.c_int(), raw.FPDF_BOOL()
        raw.FPDFPath_GetDrawMode(part, byref(mode), byref(stroke))
        if not mode.value:
            continue
        sides = [c_float() for _ in range(4)]
        raw.FPDFPageObj_GetBounds(part, *(byref(side) for side in sides))
        left, bottom, right, top = (side.value * MM_PER_POINT for side in sides)
        colour = [raw.c_uint() for _ in range(4)]
        raw.FPDFPageObj_GetFillColor(part, *(byref(channel) for channel in colour))
        found.append((left, page.height - top, right - left, top - bottom, colour[0].value))
    document.close()
    return found


@pytest.mark.parametrize("page", [A4, Size(215.9, 279.4), Size(148.0, 210.0), Size(297.0, 210.0)])
def test_every_mark_lies_where_it_was_described(page: Size) -> None:
    """Each filled rectangle of the target, in order, to 0.001 mm, read back by PDFium; its tone to one step of 255."""
    target = make_target(page.width, page.height)
    described = [shape for shape in target.shapes() if isinstance(shape, Rect)]
    found = rectangles(painted(target, page), page)
    assert len(found) == len(described)
    for (left, top, width, height, grey), shape in zip(found, described, strict=True):
        assert (left, top, width, height) == pytest.approx((shape.x, shape.y, shape.width, shape.height), abs=1e-3)
        assert grey == pytest.approx(shape.ink.value * 255, abs=1.0)


def test_the_comparison_notices_a_shift_of_a_hundredth() -> None:
    """A target painted 0.01 mm off is not taken for the one described."""
    target = make_target(210, 297)
    described = [shape for shape in target.shapes() if isinstance(shape, Rect)]
    found = rectangles(painted(target, A4, Point(0.01, 0.0)), A4)
    assert all(abs(f[0] - shape.x) > 5e-3 for f, shape in zip(found, described, strict=True))


def test_nothing_but_paper_black_and_one_tone_is_used() -> None:
    """A mono laser prints it: no colours, no transparency."""
    greys = {round(f[4] / 255, 2) for f in rectangles(painted(make_target(210, 297), A4), A4)}
    assert greys <= {round(ink.value, 2) for ink in InkTone}


@pytest.mark.parametrize(
    "correction", [PageCorrection(), PageCorrection(1 / 0.97, 1 / 1.02, "shed"), PageCorrection(0.8, 1.25)]
)
def test_the_square_prints_at_a_hundred_millimetres(correction: PageCorrection) -> None:
    """Drawn larger by what the printer takes away: sides of 100 mm times the correction, to 0.001 mm."""
    data = test_page(PAPERS["a4"], correction)
    sides = square_drawn(data, 1, 1.0, Size(100 * correction.across, 100 * correction.down))
    assert sides is not None
    assert sides.width == pytest.approx(100 * correction.across, abs=1e-3)
    assert sides.height == pytest.approx(100 * correction.down, abs=1e-3)


def test_the_test_page_asks_not_to_be_scaled_and_is_the_same_each_time() -> None:
    """PrintScaling None (ISO 32000-1, table 150), A4 to a thousandth of a mm, the same bytes twice."""
    content = test_page(PAPERS["a4"], PageCorrection())
    assert content == test_page(PAPERS["a4"], PageCorrection())
    reader = PdfReader(io.BytesIO(content))
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert float(reader.pages[0].mediabox.width) * MM_PER_POINT == pytest.approx(210.0, abs=1e-3)
    text = reader.pages[0].extract_text()
    for words in ("actual size", "expired,", "blank side up", "Never", "100 mm"):
        assert words in text


@pytest.mark.parametrize("page", [A4, Size(148.0, 210.0), Size(215.9, 279.4), Size(297.0, 420.0), Size(297.0, 210.0)])
def test_words_never_touch_a_mark(page: Size) -> None:
    """Every line of text keeps off every black rectangle of the target."""
    content = test_page(
        Paper("paper", page.width, page.height), PageCorrection(1 / 0.97, 1 / 0.97, "a printer with a rather long name")
    )
    document = pypdfium2.PdfDocument(content)
    words = document[0].get_textpage()
    boxes = [words.get_charbox(n) for n in range(words.count_chars()) if words.get_text_range(n, 1).strip()]
    document.close()
    marks = [r for r in rectangles(content, page) if r[4] == 0 and r[2] < 8]
    for left, bottom, right, top in ((side * MM_PER_POINT for side in box) for box in boxes):
        for x, y, width, height, _ in marks:
            apart = right < x or left > x + width or page.height - bottom < y or page.height - top > y + height
            assert apart, f"text at {left:.1f} {page.height - top:.1f} over a mark at {x:.1f} {y:.1f}"


def test_a_sheet_too_small_for_the_square_is_refused() -> None:
    """The message says how large a sheet must be."""
    with pytest.raises(UsageWrong, match="148 x 200 mm"):
        test_page(Paper("a6", 105.0, 148.0), PageCorrection())
