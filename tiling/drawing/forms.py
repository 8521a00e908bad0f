"""The drawing on pages: one form per page with what touches its window, fonts and pictures shared by all.

A source whose look could differ object by object (see-through groups, shadings) is put into the file once, whole, and
shown behind each page's clip.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from pypdf import PageObject, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    StreamObject,
)

from tiling.content.sheet_source import SourcePart
from tiling.lengths import MM_PER_POINT, decimal_number
from tiling.planning.page_space import (
    BLENDING,
    DRAWING_FORM,
    HALO_FORM,
    MARKS_FIRST,
    MARKS_FORM,
    MARKS_LAST,
    PAPER_FIRST,
)
from tiling.planning.plan import PrintPlan, Tile
from tiling.shapes import Affine, Box

__all__ = ["HALO_ENDS", "DrawingForms", "layout_page"]

HALO_ENDS = b"\n%halo ends\n"
"""Between our marks' halo and the marks in a page's own content."""

_FAR = 1e5
_QUICK = 1  # zlib level: a fifth of the time of the usual one for a tenth more bytes


class DrawingForms:
    """Puts the drawing on pages: knows its sources, and the objects they share in the written file."""

    def __init__(self, writer: PdfWriter, parts: Sequence[SourcePart]) -> None:
        self._writer = writer
        self._parts = parts
        self._sources = {id(part.source): part.source for part in parts}
        self._resources = {key: writer._add_object(DictionaryObject()) for key in self._sources}
        self._whole: dict[int, IndirectObject] = {}

    def put(self, page: PageObject, plan: PrintPlan, tile: Tile, to_units: Affine) -> bytes:
        """Turn the page's own content into forms and show the tile's part of the drawing with them.

        Args:
            page: of the writer; its content so far is our own marks. With their halo before them, which `HALO_ENDS`
                ends, they come after the drawing; else before it.
            plan: places the tile's window.
            tile: what to show.
            to_units: from mm on the page, y down, to the page's user space.

        Returns:
            What was added to the file, to tell one file from another.
        """
        forms = self._forms_of_page(page)
        last = HALO_FORM in forms
        clip = to_units.box(plan.window_on_page)
        shown = [PAPER_FIRST if last else MARKS_FIRST]
        shown += ["q", f"{_numbers(clip.x0, clip.y0, clip.width, clip.height)} re W n"]
        added = b""
        for number, part in enumerate(self._parts):
            form, content = self._form_of(part, tile.window)
            if form is None:
                continue
            forms[NameObject(f"{DRAWING_FORM}{number}")] = form
            shown.append(_shown(to_units @ plan.to_page(tile) @ part.to_layout @ part.source.artwork.to_mm, number))
            added += content
        shown.append("Q")
        if not last:
            return added + self._show(page, forms, shown)
        added += self._show(page, forms, [*shown, MARKS_LAST])
        states = {NameObject(name): _dictionary("/ExtGState", BM=mode) for name, mode in BLENDING.items()}
        resources = page["/Resources"]
        assert isinstance(resources, DictionaryObject)
        resources[NameObject("/ExtGState")] = DictionaryObject(states)
        page[NameObject("/Group")] = _dictionary("/Group", S="/Transparency", CS="/DeviceRGB")
        return added

    def put_all(self, page: PageObject, to_points: Affine) -> None:
        """Show everything, uncut, on a blank page; `to_points` goes from the layout's mm to the page's points."""
        forms = DictionaryObject()
        shown = []
        for number, part in enumerate(self._parts):
            forms[NameObject(f"{DRAWING_FORM}{number}")] = self._add(_uncut(part), part)
            shown.append(_shown(to_points @ part.to_layout @ part.source.artwork.to_mm, number))
        self._show(page, forms, shown)

    def finish(self) -> None:
        """Put the sources' fonts and pictures into the file: only once all is cut is it known which are used."""
        for key, source in self._sources.items():
            shared = self._resources[key].get_object()
            assert isinstance(shared, DictionaryObject)
            shared.update(source.artwork.resources.clone(self._writer))

    def _show(self, page: PageObject, forms: DictionaryObject, shown: Sequence[str]) -> bytes:
        body = "\n".join(shown).encode("ascii")
        contents = page.get("/Contents")
        own = contents.get_object() if contents is not None else None
        if isinstance(own, StreamObject):
            own.set_data(body)  # what it held is a form now, and would stay in the file unused
        else:
            page[NameObject("/Contents")] = self._writer._add_object(_stream(body))
        page[NameObject("/Resources")] = DictionaryObject({NameObject("/XObject"): forms})
        return body

    def _forms_of_page(self, page: PageObject) -> DictionaryObject:
        contents = page.get_contents()
        halo, ended, marks = (contents.get_data() if contents is not None else b"").rpartition(HALO_ENDS)
        forms = DictionaryObject()
        for name, data in ((HALO_FORM, halo), (MARKS_FORM, marks)) if ended else ((MARKS_FORM, marks),):
            form = _form(data, Box(*(float(v) for v in page.mediabox)))
            form[NameObject("/Resources")] = page["/Resources"]
            if ended:  # blended with the page as one picture, not mark by mark
                group = _dictionary("/Group", S="/Transparency", CS="/DeviceRGB")
                group[NameObject("/I")] = BooleanObject(True)
                form[NameObject("/Group")] = group
            forms[NameObject(name)] = self._writer._add_object(form.flate_encode(level=_QUICK))
        return forms

    def _form_of(self, part: SourcePart, window: Box) -> tuple[IndirectObject | None, bytes]:
        """The form that draws a part on one tile, and its content; None where nothing of it is there."""
        artwork = part.source.artwork
        if artwork.needs_whole:
            if id(part) not in self._whole:
                content = _uncut(part)
                self._whole[id(part)] = self._add(content, part)
                return self._whole[id(part)], content
            return self._whole[id(part)], b""
        content = artwork.cut(part.window_on_sheet(window), only=part.only)
        return (self._add(content, part), content) if content.strip() else (None, b"")

    def _add(self, content: bytes, part: SourcePart) -> IndirectObject:
        artwork = part.source.artwork
        sheet = artwork.to_mm.inverse().box(Box(0.0, 0.0, artwork.size.width, artwork.size.height))
        form = _form(content, sheet)
        form[NameObject("/Resources")] = self._resources[id(part.source)]
        return self._writer._add_object(form.flate_encode(level=_QUICK))


def layout_page(parts: Sequence[SourcePart], box: Box) -> tuple[bytes, Affine]:
    """A box of the layout on one page, the drawing only.

    Returns:
        The PDF, and the move from its points (as displayed, y down) to mm on the layout.
    """
    writer = PdfWriter()
    page = writer.add_blank_page(box.width / MM_PER_POINT, box.height / MM_PER_POINT)
    scale = 1 / MM_PER_POINT
    drawing = DrawingForms(writer, parts)
    drawing.put_all(page, Affine(scale, 0.0, 0.0, -scale, -box.x0 * scale, box.y1 * scale))
    drawing.finish()
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue(), Affine.shift(box.x0, box.y0) @ Affine.scale(MM_PER_POINT)


def _uncut(part: SourcePart) -> bytes:
    """All that a part draws, not cut to any window."""
    artwork = part.source.artwork
    if part.only is None:
        return artwork.whole()
    return artwork.cut(Box(0.0, 0.0, artwork.size.width, artwork.size.height).grown(_FAR), only=part.only)


def _shown(move: Affine, number: int) -> str:
    return f"q {_numbers(move.a, move.b, move.c, move.d, move.e, move.f)} cm {DRAWING_FORM}{number} Do Q"


def _dictionary(kind: str, **names: str) -> DictionaryObject:
    entries = {"Type": kind, **names}
    return DictionaryObject({NameObject(f"/{key}"): NameObject(name) for key, name in entries.items()})


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
    """Numbers as PDF writes them, to a ten thousand millionth: factors that lengths of many metres are scaled by."""
    return " ".join(decimal_number(value, 10) for value in values)
