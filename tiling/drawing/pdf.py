"""The printed file: every page assembled, with what a reader needs to print it at its true size.

A tile's page shows two forms: ours (`/PsMarks`, painted first) and the drawing (`/PsDraw0`, …), which holds only what
touches the tile's window and is clipped to it. Fonts and pictures of the source are shared by all pages.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from io import BytesIO
from math import ceil

from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    StreamObject,
)
from reportlab.pdfgen.canvas import Canvas

from tiling.drawing import catalogue
from tiling.drawing.block import BlockTexts, draw_block
from tiling.drawing.change_map import draw_change_map
from tiling.drawing.checklines import crosses_of
from tiling.drawing.first_page import draw_first_page
from tiling.drawing.job import Job
from tiling.drawing.page_map import draw_map_page
from tiling.drawing.pen import PdfPen
from tiling.drawing.sources import Cut, cuts_of, window_on_sheet
from tiling.drawing.tile_page import draw_tile_page
from tiling.lengths import MM_PER_POINT
from tiling.planning.placing import placed
from tiling.planning.plan import PrintPlan, Tile
from tiling.planning.record import record_bytes
from tiling.shapes import Affine, Box, Size

__all__ = ["DRAWING_FORM", "LARGEST_SIDE", "MARKS_FORM", "page_unit", "write_pages"]

LARGEST_SIDE = 14_400
"""Units a page may be long (ISO 32000-1, annex C.2); a longer one gets a larger unit."""
MARKS_FORM, DRAWING_FORM = "/PsMarks", "/PsDraw"

Progress = Callable[[int, int, str], None]


def page_unit(size: Size) -> float:
    """The page's UserUnit: how many points its unit is, 1 unless a side passes 14,400."""
    longest = max(size.width, size.height) / MM_PER_POINT
    return float(ceil(longest / LARGEST_SIDE - 1e-9)) if longest > LARGEST_SIDE else 1.0


def to_units(plan: PrintPlan) -> Affine:
    """From mm on the page, y down, to the page's user space."""
    scale = 1 / (MM_PER_POINT * page_unit(plan.page_size))
    return Affine(scale, 0.0, 0.0, -scale, 0.0, plan.page_size.height * scale)


def write_pages(job: Job, progress: Progress | None = None) -> bytes:
    """The whole file.

    Args:
        job: what goes on which page.
        progress: called with pages done, pages in all, and what is being done.

    Returns:
        The PDF's bytes; the same job gives the same bytes.
    """
    plan = job.plan
    writer = PdfWriter()
    writer.append(PdfReader(BytesIO(_our_marks(job))), import_outline=False)
    printed = [tile for tile in plan.tiles if tile.page]
    drawing = _Drawing(writer, job)
    digest = hashlib.sha256()
    for tile in printed:
        page = writer.pages[tile.page - 1]
        digest.update(drawing.put(page, tile))
        if progress is not None:
            progress(tile.page, len(writer.pages), "Page")
    drawing.finish()
    unit = page_unit(plan.page_size)
    for page in writer.pages:
        if unit != 1.0:
            page[NameObject("/UserUnit")] = FloatObject(unit)
    changes = job.occasion.changes
    record = record_bytes(plan, placed(job.pattern, plan.placements), changes.before if changes else None)
    digest.update(record)
    catalogue.complete(writer, job, record)
    name = ByteStringObject(digest.digest()[:16])
    writer._ID = ArrayObject([name, name])
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue()


def _our_marks(job: Job) -> bytes:
    """A PDF with every page, without the drawing."""
    plan = job.plan
    unit = page_unit(plan.page_size)
    points = (plan.page_size.width / MM_PER_POINT / unit, plan.page_size.height / MM_PER_POINT / unit)
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=points, pageCompression=1, invariant=1)
    pen = PdfPen(canvas, plan.page_size, unit)
    if job.has_first_page:
        draw_first_page(pen, plan, job.occasion.date)
        canvas.showPage()
    if job.has_map_page:
        if job.occasion.changes is not None:
            draw_change_map(pen, plan, job.pattern, job.occasion.changes)
        else:
            draw_map_page(pen, plan, job.pattern, job.lines)
        canvas.showPage()
    for tile in plan.tiles:
        if not tile.page:
            continue
        draw_tile_page(pen, plan, tile, crosses_of(job.lines, tile), job.spots)
        if job.block is not None and job.block.tile == tile.name:
            texts = BlockTexts(job.pattern, job.lines, job.occasion.date)
            draw_block(pen.under(plan.to_page(tile)), job.block, plan, texts)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


class _Drawing:
    """Puts the drawing on pages: knows the sources, and the objects they share in the written file."""

    def __init__(self, writer: PdfWriter, job: Job) -> None:
        self._writer = writer
        self._plan = job.plan
        self._cuts = cuts_of(job.sources, job.pattern, job.plan)
        self._sources = job.sources
        self._resources = {id(source): writer._add_object(DictionaryObject()) for source in job.sources}
        self._whole: dict[int, IndirectObject] = {}

    def put(self, page: PageObject, tile: Tile) -> bytes:
        """Turn the page's own content into a form and add the tile's drawing after it; returns what was added."""
        forms = DictionaryObject({NameObject(MARKS_FORM): self._form_of_page(page)})
        spot = self._plan.window_on_page
        to_units_ = to_units(self._plan)
        clip = to_units_.box(spot)
        parts = [f"{MARKS_FORM} Do", "q", f"{_numbers(clip.x0, clip.y0, clip.width, clip.height)} re W n"]
        added = b""
        for number, cut in enumerate(self._cuts):
            form, content = self._form_of(cut, tile.window)
            if form is None:
                continue
            name = f"{DRAWING_FORM}{number}"
            forms[NameObject(name)] = form
            move = to_units_ @ self._plan.to_page(tile) @ cut.to_layout @ cut.source.artwork.to_mm
            parts.append(f"q {_numbers(move.a, move.b, move.c, move.d, move.e, move.f)} cm {name} Do Q")
            added += content
        parts.append("Q")
        body = "\n".join(parts).encode("ascii")
        page[NameObject("/Contents")] = self._writer._add_object(_stream(body))
        page[NameObject("/Resources")] = DictionaryObject({NameObject("/XObject"): forms})
        return added + body

    def finish(self) -> None:
        """Put the sources' fonts and pictures into the file: only once all is cut is it known which are used."""
        for source in self._sources:
            shared = self._resources[id(source)].get_object()
            assert isinstance(shared, DictionaryObject)
            shared.update(source.artwork.resources.clone(self._writer))

    def put_all(self, page: PageObject, to_points: Affine) -> None:
        """Show everything, uncut, on a blank page."""
        forms = DictionaryObject()
        parts = []
        for number, cut in enumerate(self._cuts):
            artwork = cut.source.artwork
            sheet = Box(0.0, 0.0, artwork.size.width, artwork.size.height).grown(1e5)
            content = artwork.cut(sheet, only=cut.only) if cut.only is not None else artwork.whole()
            name = f"{DRAWING_FORM}{number}"
            forms[NameObject(name)] = self._add(content, cut)
            move = to_points @ cut.to_layout @ artwork.to_mm
            parts.append(f"q {_numbers(move.a, move.b, move.c, move.d, move.e, move.f)} cm {name} Do Q")
        page[NameObject("/Contents")] = self._writer._add_object(_stream("\n".join(parts).encode("ascii")))
        page[NameObject("/Resources")] = DictionaryObject({NameObject("/XObject"): forms})

    def _form_of_page(self, page: PageObject) -> IndirectObject:
        contents = page.get_contents()
        data = contents.get_data() if contents is not None else b""
        form = _form(data, Box(*(float(v) for v in page.mediabox)))
        form[NameObject("/Resources")] = page["/Resources"]
        return self._writer._add_object(form.flate_encode())

    def _form_of(self, cut: Cut, window: Box) -> tuple[IndirectObject | None, bytes]:
        """The form that draws a cut on one tile, and its content; None where nothing of it is there."""
        artwork = cut.source.artwork
        if artwork.needs_whole:
            key = id(cut.source)
            if key not in self._whole:
                self._whole[key] = self._add(artwork.whole(), cut)
            return self._whole[key], b""
        content = artwork.cut(window_on_sheet(cut, window), only=cut.only)
        if not content.strip():
            return None, b""
        return self._add(content, cut), content

    def _add(self, content: bytes, cut: Cut) -> IndirectObject:
        artwork = cut.source.artwork
        sheet = artwork.to_mm.inverse().box(Box(0.0, 0.0, artwork.size.width, artwork.size.height))
        form = _form(content, sheet)
        form[NameObject("/Resources")] = self._resources[id(cut.source)]
        return self._writer._add_object(form.flate_encode())


def layout_page(job: Job) -> tuple[bytes, Affine]:
    """The whole layout on one page, without our own marks.

    Returns:
        The PDF, and the move from its points (as displayed, y down) to mm on the layout.
    """
    whole = Box.around(tile.window for tile in job.plan.tiles)
    assert whole is not None
    writer = PdfWriter()
    page = writer.add_blank_page(whole.width / MM_PER_POINT, whole.height / MM_PER_POINT)
    scale = 1 / MM_PER_POINT
    to_points = Affine(scale, 0.0, 0.0, -scale, -whole.x0 * scale, whole.y1 * scale)
    drawing = _Drawing(writer, job)
    drawing.put_all(page, to_points)
    drawing.finish()
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue(), Affine.shift(whole.x0, whole.y0) @ Affine.scale(MM_PER_POINT)


def _form(content: bytes, box: Box) -> StreamObject:
    form = _stream(content)
    form[NameObject("/Type")] = NameObject("/XObject")
    form[NameObject("/Subtype")] = NameObject("/Form")
    form[NameObject("/BBox")] = ArrayObject([FloatObject(v) for v in (box.x0, box.y0, box.x1, box.y1)])
    return form


def _stream(content: bytes) -> StreamObject:
    stream = StreamObject()
    stream.set_data(content)
    return stream


def _numbers(*values: float) -> str:
    """Numbers as PDF writes them: never with an exponent, to a millionth of a unit or finer for small ones."""
    return " ".join(f"{value:.10f}".rstrip("0").rstrip(".") for value in values)
