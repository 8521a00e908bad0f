"""Small PDFs from content written by hand, and the check that tiles give them back."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NullObject,
    NumberObject,
    PdfObject,
    TextStringObject,
)

from tests.render import ALIKE, compare, render
from tiling.content import Artwork, LayerChoice
from tiling.shapes import Box

__all__ = ["artwork_of", "assert_gives_back", "first_page", "form", "grid", "obj", "pdf_of", "stream", "tiles_of"]

Plain = object


def obj(value: Plain) -> PdfObject:
    """A Python value as a PDF object: names are strings with a slash, text is bytes."""
    if isinstance(value, PdfObject):
        return value
    if isinstance(value, dict):
        return DictionaryObject({NameObject(key): obj(one) for key, one in value.items()})
    if isinstance(value, (list, tuple)):
        return ArrayObject([obj(one) for one in value])
    return _PLAIN[type(value)](value)


_PLAIN = {
    type(None): lambda _: NullObject(),
    bool: BooleanObject,
    int: NumberObject,
    float: lambda value: FloatObject(repr(value)),
    str: NameObject,
    bytes: lambda value: TextStringObject(value.decode()),
}


def stream(data: bytes, **keys: Plain) -> DecodedStreamObject:
    """A stream with those keys (without their slash)."""
    made = DecodedStreamObject()
    made.set_data(data)
    for key, value in keys.items():
        made[NameObject(f"/{key}")] = obj(value)
    return made


def form(data: bytes, box: Sequence[float] = (-1000, -1000, 1000, 1000), **keys: Plain) -> DecodedStreamObject:
    """A form XObject."""
    return stream(data, Type="/XObject", Subtype="/Form", BBox=list(box), **keys)


def pdf_of(
    content: bytes | Sequence[bytes],
    resources: dict[str, Plain] | None = None,
    page: dict[str, Plain] | None = None,
    catalogue: dict[str, Plain] | None = None,
) -> bytes:
    """A file of one page, 300 by 200 units unless told otherwise. Streams and dicts named in values become indirect."""
    writer = PdfWriter()
    sheet = writer.add_blank_page(300, 200)
    for key, value in {"/MediaBox": [0, 0, 300, 200], **(page or {})}.items():
        sheet[NameObject(key)] = _indirect(writer, obj(value))
    parts = [content] if isinstance(content, bytes) else list(content)
    refs = [writer._add_object(stream(part)) for part in parts]
    sheet[NameObject("/Contents")] = refs[0] if len(refs) == 1 else ArrayObject(refs)
    if resources is not None:
        sheet[NameObject("/Resources")] = _indirect(writer, obj(resources))
    for key, value in (catalogue or {}).items():
        writer.root_object[NameObject(key)] = _indirect(writer, obj(value))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _indirect(writer: PdfWriter, value: PdfObject, seen: dict[int, PdfObject] | None = None) -> PdfObject:
    """Streams, and dictionaries with a /Type, as indirect objects; the same object always as the same one."""
    seen = writer.__dict__.setdefault("_made_by_test", {}) if seen is None else seen
    if id(value) in seen:
        return seen[id(value)]
    if isinstance(value, ArrayObject):
        return ArrayObject([_indirect(writer, one, seen) for one in value])
    if not isinstance(value, DictionaryObject):
        return value
    shared = isinstance(value, DecodedStreamObject) or "/Type" in value
    if shared:
        seen[id(value)] = writer._add_object(value)
    for key in list(value):
        value[NameObject(key)] = _indirect(writer, value.raw_get(key), seen)
    return seen.get(id(value), value)


def first_page(pdf: bytes) -> PageObject:
    """The first page, ready to be read."""
    return PdfReader(io.BytesIO(pdf)).pages[0]


def artwork_of(pdf: bytes, choice: LayerChoice | None = None) -> Artwork:
    """The first page as artwork."""
    return Artwork.from_page(first_page(pdf), layers_shown=choice)


def grid(artwork: Artwork, columns: int, rows: int, overlap: float = 3.0) -> list[Box]:
    """Windows that cover the sheet, mm."""
    width, height = artwork.size.width / columns, artwork.size.height / rows
    return [
        Box(c * width, r * height, (c + 1) * width + overlap, (r + 1) * height + overlap)
        for r in range(rows)
        for c in range(columns)
    ]


def tiles_of(pdf: bytes, artwork: Artwork, windows: Sequence[Box], *, whole: bool = False) -> bytes:
    """One page for each window, as large as the source's page, with the window's content clipped to it.

    The content lies in a form, as on the pages that are printed.
    """
    page = first_page(pdf)
    writer = PdfWriter()
    contents = [artwork.whole() if whole else artwork.cut(window) for window in windows]
    shared = writer._add_object(artwork.resources.clone(writer))
    back = artwork.to_mm.inverse()
    for window, content in zip(windows, contents, strict=True):
        made = writer.add_blank_page(10, 10)
        for key in ("/MediaBox", "/CropBox", "/Rotate", "/UserUnit"):
            value = page.get_inherited(key) if key != "/UserUnit" else page.get(key)
            if value is not None:
                made[NameObject(key)] = value.clone(writer)
        part = form(content, (-20000, -20000, 20000, 20000))
        part[NameObject("/Resources")] = shared
        made[NameObject("/Resources")] = obj({"/XObject": {"/T": writer._add_object(part)}})
        box = back.box(window)
        clip = b"q %f %f %f %f re W n /T Do Q" % (box.x0, box.y0, box.width, box.height)
        made[NameObject("/Contents")] = writer._add_object(stream(clip))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def assert_gives_back(
    pdf: bytes, artwork: Artwork | None = None, *, source: bytes | None = None, most: float = 3.0, soft: bool = False
) -> int:
    """Every tile of a 3 by 2 grid shows, pixel by pixel, what the source shows there.

    Args:
        pdf: the source, one page.
        artwork: how it was read; read here where left out.
        source: what PDFium is to show instead of `pdf` (where layers are picked).
        most: the largest difference (of 255) of any pixel; 3 is rounding.
        soft: compare as `tests.render.compare` does, where PDFium itself smooths clipped edges another way.

    Returns:
        How many pixels were inked.
    """
    artwork = artwork or artwork_of(pdf)
    dpi = 144.0 / float(first_page(pdf).get("/UserUnit", 1.0))
    expected = render(source or pdf, 0, dpi)
    scale = (expected.shape[1] / artwork.size.width, expected.shape[0] / artwork.size.height)
    windows = grid(artwork, 3, 2)
    tiles = tiles_of(pdf, artwork, windows, whole=artwork.needs_whole)
    for number, window in enumerate(windows):
        shown = render(tiles, number, dpi)
        rows = slice(max(0, int(window.y0 * scale[1]) + 2), max(0, int(window.y1 * scale[1]) - 2))
        columns = slice(max(0, int(window.x0 * scale[0]) + 2), max(0, int(window.x1 * scale[0]) - 2))
        pair = shown[rows, columns], expected[rows, columns]
        worst = compare(*pair) if soft else float(np.abs(pair[0] - pair[1]).max())
        assert worst <= (ALIKE if soft else most), f"tile {number} differs by {worst} of 255"
    return int((expected < 200).sum())
