"""What the pages are compared with: the source's own pages, rendered by PDFium where they lie on the layout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
from pypdf import PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject

from tiling.content.layers import LayerChoice, layer_entries
from tiling.content.operators import FONT_BY_STATE, UNNAMED
from tiling.drawing.forms import layout_page
from tiling.drawing.print_job import PrintJob
from tiling.drawing.sources import SheetSource
from tiling.failures import InputUnfit
from tiling.proof.raster import Darkness, PixelGrid, page_to_mm, render
from tiling.reading.pdf_open import FAULTS, open_pdf, quiet
from tiling.shapes import Affine, Box

__all__ = ["Original", "expected_picture"]


@dataclass(frozen=True, slots=True)
class Original:
    """A page of a PDF that was read: its file, its number from 1, and the layers picked by name (none: its own)."""

    file: Path
    page: int = 1
    layers: tuple[str, ...] = ()


def expected_picture(job: PrintJob, originals: Sequence[Original], grid: PixelGrid) -> Darkness:
    """The drawing's ink on a grid over the layout.

    Args:
        job: its sources; drawings written from their marks are rendered from their full-size sheet.
        originals: one for each source that comes from a PDF, in their order. Where they are missing, PDFium misreads
            one, or pieces were placed anew so that the source shows another layout, the layout itself is rendered, on
            one page.
        grid: what to fill.
    """
    from_files = [source for source in job.sources if not source.written]
    misread = any({FONT_BY_STATE, UNNAMED} & set(source.artwork.reasons) for source in from_files)
    if not (job.plan.placements or misread or len(from_files) != len(originals)):
        picture = _as_sources_show(job, originals, grid)
        if picture is not None:
            return picture
    page, to_layout = layout_page(job.cuts, grid.box)
    return _picture(page, 1, to_layout, grid)


def _as_sources_show(job: PrintJob, originals: Sequence[Original], grid: PixelGrid) -> Darkness | None:
    """All sources over one another; None where PDFium can't show one of them."""
    picture = np.zeros(grid.shape, dtype=np.uint8)
    left = list(originals)
    for source in job.sources:
        original = None if source.written else left.pop(0)
        size = source.artwork.size
        place = source.to_layout.box(Box(0.0, 0.0, size.width, size.height)).grown(grid.pitch)
        if not place.meets(grid.box):
            continue
        part, rows, columns = grid.sub(place)
        if original is None:
            shown: Darkness | None = _sheet_picture(source.written, 1, source, part)
        else:
            shown = _original_picture(original, source, part)
        if shown is None:
            return None
        np.maximum(picture[rows, columns], shown, out=picture[rows, columns])
    return picture


def _original_picture(original: Original, source: SheetSource, grid: PixelGrid) -> Darkness | None:
    """The page as PDFium sees it, or, where it sees nothing in a damaged file, as it sees what pypdf mends of it."""
    blank = None
    for read in (_with_layers, _rewritten):
        try:
            shown = _sheet_picture(read(original), original.page, source, grid)
        except (pypdfium2.PdfiumError, ZeroDivisionError):
            continue  # it can't load the page, or takes it for a page without a size
        if shown.any():
            return shown
        blank = shown
    return blank


def _sheet_picture(data: bytes, number: int, source: SheetSource, grid: PixelGrid) -> Darkness:
    """A page that is as large as its source's sheet, on the layout."""
    document = pypdfium2.PdfDocument(data)
    try:
        page = document[number - 1]
        size = source.artwork.size
        return render(page, source.to_layout @ page_to_mm(page, size.width, size.height), grid)
    finally:
        document.close()


def _picture(data: bytes, number: int, to_layout: Affine, grid: PixelGrid) -> Darkness:
    """A page by a move from points, y down, to the layout."""
    document = pypdfium2.PdfDocument(data)
    try:
        return render(document[number - 1], to_layout, grid)
    finally:
        document.close()


def _with_layers(original: Original) -> bytes:
    """The file as it was, or rewritten with the layers that are printed set as the ones shown.

    PDFium shows layers as for the screen; what is printed can differ, and `--layer` picks others.
    """
    return _prepared(original.file, original.layers, original.file.stat().st_mtime_ns)


@lru_cache(maxsize=2)
def _prepared(file: Path, layers: tuple[str, ...], _time: int) -> bytes:
    """As `_with_layers`, for all pages of a file at once."""
    data = file.read_bytes()
    return data if _opens(data) and not _shows_other_layers(file, layers) else _rewritten_file(file, layers, _time)


def _shows_other_layers(file: Path, layers: tuple[str, ...]) -> bool:
    """Whether a viewer may show other layers than are printed."""
    try:
        root = open_pdf(file).reader.root_object
        entries = layer_entries(root)
        if not entries:
            return False
        choice = LayerChoice.of(entries, layers)
        properties = root["/OCProperties"].get_object()
        assert isinstance(properties, DictionaryObject)
        state = properties.get("/D", DictionaryObject()).get_object()
        plain = isinstance(state, DictionaryObject) and not state.get("/OFF") and "/AS" not in state
        shown = plain and state.get("/BaseState", "/ON") == "/ON"
        groups = properties["/OCGs"].get_object()
        assert isinstance(groups, ArrayObject)
        return not shown or not all(choice.shows(group) for group in groups)
    except (InputUnfit, *FAULTS):
        return False


def _rewritten(original: Original) -> bytes:
    """The file as pypdf reads it, with its layers set; as it was where pypdf can't."""
    return _rewritten_file(original.file, original.layers, original.file.stat().st_mtime_ns)


@lru_cache(maxsize=2)
def _rewritten_file(file: Path, layers: tuple[str, ...], _time: int) -> bytes:
    try:
        with quiet():
            writer = PdfWriter(clone_from=open_pdf(file).reader)
            _fix_layers(writer.root_object, layers)
            stream = BytesIO()
            writer.write(stream)
    except (InputUnfit, *FAULTS):
        return file.read_bytes()
    return stream.getvalue()


def _opens(data: bytes) -> bool:
    try:
        pypdfium2.PdfDocument(data).close()
    except pypdfium2.PdfiumError:
        return False
    return True


def _fix_layers(root: DictionaryObject, picked: Sequence[str]) -> None:
    entries = layer_entries(root)
    if not entries:
        return
    choice = LayerChoice.of(entries, picked)
    properties = root["/OCProperties"].get_object()
    assert isinstance(properties, DictionaryObject)
    groups = properties["/OCGs"].get_object()
    assert isinstance(groups, ArrayObject)
    hidden = ArrayObject([group for group in groups if not choice.shows(group)])
    shown = ArrayObject([group for group in groups if choice.shows(group)])
    properties[NameObject("/D")] = DictionaryObject(
        {
            NameObject("/BaseState"): NameObject("/ON"),
            NameObject("/ON"): shown,
            NameObject("/OFF"): hidden,
        }
    )
