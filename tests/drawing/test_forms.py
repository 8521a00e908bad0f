"""The drawing on pages: placed pieces, pages that must be shown whole, shared objects."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from tests.drawing.making import line, pattern_of, plan_of
from tests.drawings import drawing_at, drawings_at
from tests.render import ALIKE, compare, render
from tiling.drawing.expected import expectation_of
from tiling.drawing.forms import layout_page
from tiling.drawing.pdf import write_pages
from tiling.drawing.print_job import build_print_job
from tiling.drawing.sheet import full_sheet
from tiling.drawing.sources import parts_of, sources_of
from tiling.pattern import Pattern, Role
from tiling.planning.placing import placed
from tiling.planning.plan import Placement
from tiling.proof.prove import prove
from tiling.shapes import Affine, Box

LAYOUT = Box(0.0, 0.0, 300.0, 260.0)


def two_pieces() -> Pattern:
    """A front and a pocket side by side, and a line that belongs to neither."""
    return pattern_of(
        line((10.0, 10.0), (120.0, 20.0), (110.0, 200.0), (10.0, 10.0), role=Role.CUTTING, piece="front"),
        line((160.0, 10.0), (260.0, 15.0), (250.0, 90.0), (160.0, 10.0), role=Role.CUTTING, piece="pocket"),
        line((5.0, 240.0), (290.0, 250.0)),
        size=LAYOUT.size,
    )


MOVES = (
    Placement("front", Affine.shift(140.0, 5.0)),
    Placement("pocket", Affine.shift(130.0, 200.0) @ Affine.turn(180.0)),
)


def test_placed_pieces_are_drawn_where_they_were_placed() -> None:
    """The same picture as the marks moved one by one."""
    pattern = two_pieces()
    data, _ = layout_page(parts_of(sources_of(pattern), pattern, MOVES), LAYOUT)
    assert compare(render(data), render(full_sheet(placed(pattern, MOVES)))) < ALIKE
    assert compare(render(data), render(full_sheet(pattern))) > 2 * ALIKE


def test_placed_pieces_are_planned_written_and_proved() -> None:
    """Page by page against the layout."""
    pattern = two_pieces()
    plan = replace(plan_of(placed(pattern, MOVES)), placements=MOVES)
    job = build_print_job(plan, pattern)
    prove(write_pages(job), expectation_of(job))


def text_clip_pdf() -> bytes:
    """A page where letters are a clip for lines drawn through them: object by object it would look different."""
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(850, 740), invariant=1)
    canvas.line(20, 20, 800, 700)
    text = canvas.beginText(40, 300)
    text.setFont("Helvetica-Bold", 150)
    text.setTextRenderMode(7)
    text.textOut("SMOCK")
    canvas.drawText(text)
    for x in range(0, 850, 6):
        canvas.line(x, 200, x, 500)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def test_a_page_that_must_be_shown_whole_is_in_the_file_once(tmp_path: Path) -> None:
    """One form for all tiles, each behind its own clip."""
    source = tmp_path / "letters.pdf"
    source.write_bytes(text_clip_pdf())
    pattern = drawing_at(source)
    artwork = pattern.sheets[0].artwork
    assert artwork is not None
    job = build_print_job(plan_of(pattern, "a5"), pattern)
    reader = PdfReader(BytesIO(write_pages(job)))
    forms = set()
    for tile in job.plan.tiles:
        form = reader.pages[job.pages[tile.name] - 1]["/Resources"]["/XObject"].raw_get("/PsDraw0")  # type: ignore[index,union-attr]
        forms.add(form.idnum)
    assert len(job.plan.tiles) > 2
    assert artwork.needs_whole
    assert len(forms) == 1
    prove(write_pages(job), expectation_of(job))


def test_a_sheet_of_marks_between_pdf_pages_keeps_its_place(tmp_path: Path) -> None:
    """Drawings of both kinds in one layout: every mark is drawn once, by the right source."""
    (tmp_path / "one.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">'
        '<path d="M5 5L95 45" fill="none" stroke="#000" stroke-width="1"/></svg>'
    )
    (tmp_path / "two.pdf").write_bytes(full_sheet(two_pieces()))
    pattern = drawings_at([tmp_path / "two.pdf", tmp_path / "one.svg", tmp_path / "two.pdf"])
    sources = sources_of(pattern)
    assert [bool(source.written) for source in sources] == [False, True, False]
    covered = sorted(number for source in sources for number in source.marks)
    assert covered == list(range(len(pattern.marks)))
    assert pattern.size.width == pytest.approx(300.0, abs=1e-3)
    assert pattern.size.height == pytest.approx(260.0 + 20.0 + 50.0 + 20.0 + 260.0, abs=1e-3)
