"""Pictures of the source, to compare pages with: its own pages, rendered by PDFium where they lie on the layout."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from io import BytesIO

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from pypdf import PageObject, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, PdfObject

from tiling.content.annotations import annotations_of, appearance_of, missing_appearance, stays_upright
from tiling.content.layers import LayerChoice, layer_entries
from tiling.content.operators import FONT_BY_STATE, UNNAMED
from tiling.content.scene import NO_Q
from tiling.content.sheet_source import SheetSource
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.proof.expectation import Expectation, Original
from tiling.proof.raster import Darkness, PixelGrid, page_to_mm, render
from tiling.reading.gather import is_pdf
from tiling.reading.pdf_open import FAULTS, open_pdf, quiet
from tiling.shapes import Box

__all__ = ["SourcePictures", "originals_of"]


def originals_of(
    drawings: Sequence[InputFile], pages: Sequence[int] = (), layers: tuple[str, ...] = ()
) -> tuple[Original, ...]:
    """The PDF pages among the drawings, in the order of the layout.

    Args:
        drawings: as they were read.
        pages: the numbers that were read, from 1; none: all of each file.
        layers: those picked by name.

    Returns:
        Nothing at all where PDFium refuses a file that was mended to be read: its pages can't be told apart then.
    """
    found: list[Original] = []
    for file in drawings:
        if not is_pdf(file):
            continue
        try:
            with closing(pypdfium2.PdfDocument(file.content)) as document:
                numbers = pages or range(1, len(document) + 1)
        except pypdfium2.PdfiumError:
            return ()
        found += [Original(file, number, layers) for number in numbers]
    return tuple(found)


class SourcePictures:
    """Renders the source on the layout, from the files that were read wherever PDFium can show them.

    Keeps the files as prepared for PDFium, so that all pages and pitches of one proof prepare each once.

    Attributes:
        any_flattened: whether annotations were made part of a page.
    """

    def __init__(self, expected: Expectation, *, flattens: bool = True) -> None:
        self._expected = expected
        self._may_flatten = flattens
        self.any_flattened = False
        self._flattened: dict[tuple[int, int], bool] = {}
        self._pages: dict[int, Sequence[PageObject]] = {}
        self._prepared: dict[tuple[int, tuple[str, ...], bool], bytes] = {}
        self._rewritten: dict[tuple[int, tuple[str, ...], bool], bytes] = {}

    def on(self, grid: PixelGrid) -> Darkness:
        """The drawing's ink on a grid over the layout.

        Drawings written from their marks are rendered from their full-size sheet. Where the originals are missing,
        PDFium misreads one, or pieces were placed anew so that the source shows another layout, the layout itself is
        rendered, on one page.
        """
        expected = self._expected
        from_files = [part.source for part in expected.parts if not part.source.written]
        misread = any({FONT_BY_STATE, UNNAMED} & set(source.artwork.reasons) for source in from_files)
        if not (expected.plan.placements or misread or len(from_files) != len(expected.originals)):
            picture = self._as_sources_show(grid)
            if picture is not None:
                return picture
        page, to_layout = expected.on_one_page(grid.box)
        with closing(pypdfium2.PdfDocument(page)) as document:
            return render(document[0], to_layout, grid)

    def _as_sources_show(self, grid: PixelGrid) -> Darkness | None:
        """All sources over one another; None where PDFium can't show one of them."""
        picture = np.zeros(grid.shape, dtype=np.uint8)
        left = list(self._expected.originals)
        for source in (part.source for part in self._expected.parts):
            original = None if source.written else left.pop(0)
            size = source.artwork.size
            place = source.to_layout.box(Box(0.0, 0.0, size.width, size.height)).grown(grid.pitch)
            if not place.meets(grid.box):
                continue
            part, rows, columns = grid.sub(place)
            if original is None:
                shown: Darkness | None = _sheet_picture(source.written, 1, source, part)
            else:
                shown = self._original_picture(original, source, part)
            if shown is None:
                return None
            np.maximum(picture[rows, columns], shown, out=picture[rows, columns])
        return picture

    def _original_picture(self, original: Original, source: SheetSource, grid: PixelGrid) -> Darkness | None:
        """The page as PDFium sees it, or, where it sees nothing in a damaged file, as it sees what pypdf mends."""
        blank = None
        key = id(original.file.content), original.page
        if key not in self._flattened:
            self._flattened[key] = self._may_flatten and self._flattens(original, source)
        flattened = self._flattened[key]
        self.any_flattened |= flattened
        for read in (self._as_printed, self._as_mended):
            try:
                shown = _sheet_picture(read(original, flattened), original.page, source, grid, flattened)
            except (pypdfium2.PdfiumError, ZeroDivisionError):
                continue  # it can't load the page, or takes it for a page without a size
            if shown.any():
                return shown
            blank = shown
        return blank

    def _flattens(self, original: Original, source: SheetSource) -> bool:
        """Whether the page has annotations, and PDFium puts them where they belong.

        An unclosed q of the page moves them, and those that stay upright on a turned page are turned with it.
        """
        try:
            with quiet():
                key = id(original.file.content)
                if key not in self._pages:
                    self._pages[key] = open_pdf(original.file).pages
                page = self._pages[key][original.page - 1]
                upright = [stays_upright(note, page) for note in annotations_of(page)]
                return bool(upright) and not any(upright) and NO_Q not in source.artwork.repairs
        except (InputUnfit, *FAULTS):
            return False

    def _as_printed(self, original: Original, flattened: bool) -> bytes:
        """The file as it was, or rewritten with the layers that are printed set as the ones shown.

        PDFium shows layers as for the screen; what is printed can differ, and others may have been picked. Of
        annotations it shows those that the file has an appearance of.
        """
        key = id(original.file.content), original.layers, flattened
        if key not in self._prepared:
            data = original.file.content
            plain = _opens(data) and not _shows_other_layers(original) and not _to_complete(original, flattened)
            self._prepared[key] = data if plain else self._as_mended(original, flattened)
        return self._prepared[key]

    def _as_mended(self, original: Original, flattened: bool) -> bytes:
        """The file as pypdf reads it, with its layers set; as it was where pypdf can't."""
        key = id(original.file.content), original.layers, flattened
        if key not in self._rewritten:
            self._rewritten[key] = _rewritten(original, flattened)
        return self._rewritten[key]


def _sheet_picture(data: bytes, number: int, source: SheetSource, grid: PixelGrid, flattened: bool = False) -> Darkness:
    """A page that is as large as its source's sheet, with its annotations that print, on the layout.

    As part of the page they blend with it as on ours; drawn over it they do so in other pixels.
    """
    with closing(pypdfium2.PdfDocument(data)) as document:
        if flattened and pdfium.FPDFPage_Flatten(document[number - 1], pdfium.FLAT_PRINT) == pdfium.FLATTEN_FAIL:
            raise pypdfium2.PdfiumError("annotations that can't be drawn")
        page = document[number - 1]
        size = source.artwork.size
        move = source.to_layout @ page_to_mm(page, size.width, size.height)
        return render(page, move, grid, 0 if flattened else pdfium.FPDF_ANNOT | pdfium.FPDF_PRINTING)


def _shows_other_layers(original: Original) -> bool:
    """Whether a viewer may show other layers than are printed."""
    try:
        layers = _layers(open_pdf(original.file).reader.root_object, original.layers)
        if layers is None:
            return False
        properties, shown, hidden = layers
        if any(_has_usage(group) for group in shown):
            return True
        state = properties.get("/D", DictionaryObject()).get_object()
        plain = isinstance(state, DictionaryObject) and not state.get("/OFF") and "/AS" not in state
        return bool(hidden) or not plain or state.get("/BaseState", "/ON") != "/ON"
    except (InputUnfit, *FAULTS):
        return False


def _rewritten(original: Original, flattened: bool) -> bytes:
    try:
        with quiet():
            writer = PdfWriter(clone_from=open_pdf(original.file).reader)
            _fix_layers(writer.root_object, original.layers)
            _add_appearances(writer, original, flattened)
            stream = BytesIO()
            writer.write(stream)
    except (InputUnfit, *FAULTS):
        return original.file.content
    return stream.getvalue()


def _to_complete(original: Original, flattened: bool) -> bool:
    """Whether an annotation must be given the look that viewers would make up for it, or be turned into a stamp."""
    try:
        with quiet():
            opened = open_pdf(original.file)
            root = opened.reader.root_object
            return any(
                (note.get("/Subtype") == "/Widget" and not flattened)
                or (appearance_of(note, root) is None and missing_appearance(note, root) is not None)
                for page in opened.pages
                for note in annotations_of(page)
            )
    except (InputUnfit, *FAULTS):
        return False


def _add_appearances(writer: PdfWriter, original: Original, flattened: bool) -> None:
    """Give annotations the appearances that they lack; those on layers that aren't printed are dropped.

    Form fields that aren't flattened become stamps: PDFium leaves fields to programs that fill them in.
    """
    root = writer.root_object
    choice = LayerChoice.of(layer_entries(root), original.layers)
    for page in writer.pages:
        kept = ArrayObject()
        for note in annotations_of(page):
            if not choice.shows(note.raw_get("/OC") if "/OC" in note else None):
                continue
            made = missing_appearance(note, root) if appearance_of(note, root) is None else None
            if made is not None:
                note[NameObject("/AP")] = DictionaryObject({NameObject("/N"): writer._add_object(made)})
                note[NameObject("/Rect")] = made["/BBox"]
            if note.get("/Subtype") == "/Widget" and not flattened:
                note[NameObject("/Subtype")] = NameObject("/Stamp")
            kept.append(note)
        if kept:
            page[NameObject("/Annots")] = kept
        else:
            page.pop("/Annots", None)


def _opens(data: bytes) -> bool:
    try:
        pypdfium2.PdfDocument(data).close()
    except pypdfium2.PdfiumError:
        return False
    return True


def _layers(root: DictionaryObject, picked: Sequence[str]) -> tuple[DictionaryObject, ArrayObject, ArrayObject] | None:
    """The catalogue's own entry for layers, those that are printed and those that are not; None where it has none."""
    entries = layer_entries(root)
    if not entries:
        return None
    choice = LayerChoice.of(entries, picked)
    properties = root["/OCProperties"].get_object()
    assert isinstance(properties, DictionaryObject)
    groups = properties["/OCGs"].get_object()
    assert isinstance(groups, ArrayObject)
    shown = ArrayObject([group for group in groups if choice.shows(group)])
    return properties, shown, ArrayObject([group for group in groups if not choice.shows(group)])


def _has_usage(group: PdfObject) -> bool:
    """Whether a group says what it is for, which PDFium heeds though no configuration asks for it (8.11.4.4)."""
    found = group.get_object()
    return isinstance(found, DictionaryObject) and "/Usage" in found


def _fix_layers(root: DictionaryObject, picked: Sequence[str]) -> None:
    layers = _layers(root, picked)
    if layers is None:
        return
    properties, shown, hidden = layers
    for group in (*shown, *hidden):
        if _has_usage(group):
            del group.get_object()["/Usage"]
    properties[NameObject("/D")] = DictionaryObject(
        {
            NameObject("/BaseState"): NameObject("/ON"),
            NameObject("/ON"): shown,
            NameObject("/OFF"): hidden,
        }
    )
