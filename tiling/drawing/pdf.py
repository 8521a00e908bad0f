"""The printed file: every page assembled, with what a reader needs to print it at its true size.

A tile's page shows our marks (`/PsMarks`) and the drawing (`/PsDraw0`, …), which holds only what touches the tile's
window and is clipped to it. Fonts and pictures of the source are shared by all pages. Our marks come first, except
where the drawing could hide them: there they come last, lightening dark ground (`/PsHalo`) and then only darkening.
"""

from __future__ import annotations

import hashlib
from io import BytesIO

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, ByteStringObject, FloatObject, NameObject
from reportlab.pdfgen.canvas import Canvas

from calibrate.run import Run
from tiling.drawing import catalogue
from tiling.drawing.first_page import draw_first_page
from tiling.drawing.forms import HALO_ENDS, DrawingForms
from tiling.drawing.halo import HaloPen
from tiling.drawing.page_map import draw_map_page
from tiling.drawing.pen import PdfPen, Pen
from tiling.drawing.print_job import FrontPage, PrintJob
from tiling.drawing.sheet_block import draw_block
from tiling.drawing.tile_page import draw_tile_page
from tiling.lengths import MM_PER_POINT
from tiling.planning.page_space import page_unit, to_units
from tiling.planning.plan import Tile
from tiling.record.plan_record import record_bytes
from tiling.typefaces import drawn_with

__all__ = ["write_pages"]


def write_pages(job: PrintJob, run: Run = Run()) -> bytes:
    """The whole file.

    Args:
        job: what goes on which page.
        run: told of every page.

    Returns:
        The PDF's bytes; the same job gives the same bytes.

    Raises:
        Cancelled: the run was ended.
        InputUnfit: the drawing has a coordinate that is no number, or more points than a record holds.
    """
    plan = job.plan
    writer = PdfWriter()
    run.step("Page", 0, job.sheets)
    writer.append(PdfReader(BytesIO(_our_marks(job, run))), import_outline=False)
    drawing = DrawingForms(writer, job.parts)
    digest = hashlib.sha256()
    for tile in plan.to_print:
        number = job.pages[tile.name]
        page = writer.pages[number - 1]
        digest.update(drawing.put(page, plan, tile, to_units(plan)))
        run.step("Page", number, job.sheets)
    drawing.finish()
    unit = page_unit(plan.page_size)
    for page in writer.pages[: len(job.front)]:
        page.compress_content_streams()
    for page in writer.pages:
        for needless in ("/Rotate", "/Trans"):
            page.pop(needless, None)
        if unit != 1.0:
            page[NameObject("/UserUnit")] = FloatObject(unit)
    reprint = job.details.reprint
    checks = [line.printed for line in job.check_lines]
    record = record_bytes(plan, job.laid, job.pages, reprint.before if reprint else None, checks)
    digest.update(record)
    catalogue.complete(writer, job, record)
    name = ByteStringObject(digest.digest()[:16])
    writer._ID = ArrayObject([name, name])
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue()


def _our_marks(job: PrintJob, run: Run) -> bytes:
    """A PDF with every page, without the drawing."""
    plan = job.plan
    unit = page_unit(plan.page_size)
    points = (plan.page_size.width / MM_PER_POINT / unit, plan.page_size.height / MM_PER_POINT / unit)
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=points, pageCompression=0, invariant=1, initialFontName=drawn_with("Helvetica"))
    pen = PdfPen(canvas, plan.page_size, unit)
    for front in job.front:
        if front is FrontPage.SQUARE:
            draw_first_page(pen, job)
        elif (reprint := job.details.reprint) is not None:
            from tiling.drawing.change_map import draw_change_map  # noqa: PLC0415 - heavy, and only for a reprint

            draw_change_map(pen, job, reprint)
        else:
            draw_map_page(pen, job)
        canvas.showPage()
    for tile in plan.to_print:
        run.check()
        if tile.name in job.covered:
            _draw_own(HaloPen(pen), job, tile)
            canvas.addLiteral(HALO_ENDS.decode("ascii"))
        _draw_own(pen, job, tile)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw_own(pen: Pen, job: PrintJob, tile: Tile) -> None:
    """All of ours on a tile's page."""
    draw_tile_page(pen, job, tile)
    if job.block is not None and job.block.tile == tile.name:
        draw_block(pen.under(job.plan.to_page(tile)), job, job.block)
