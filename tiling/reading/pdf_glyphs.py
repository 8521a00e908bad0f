"""A PDF page as a drawing that can be changed: lines as lines, words as outlines, and findings for what is neither.

Each glyph's shape comes from PDFium, which draws it, so that no font has to travel along.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pypdfium2
import pypdfium2.raw as pdfium

from tiling.files.inputs import InputFile
from tiling.pattern import Finding, FindingKind, Label, Line, Mark, Pattern, Picture, Role
from tiling.shapes import Affine, Path, PathBuilder, Point, Size
from tiling.style import Style

__all__ = ["as_drawing", "with_outlined_words"]

_FINE = 1_000_000
"""PDFium maps to whole device units: a page is taken as this many across and down."""

_LINE, _CURVE, _MOVE = 0, 1, 2


@dataclass(frozen=True, slots=True)
class _Glyph:
    """One character: its shape and its origin on the sheet, mm."""

    character: str
    origin: Point
    path: Path


def as_drawing(pattern: Pattern, file: InputFile, pages: Sequence[int] = ()) -> Pattern:
    """The PDF's lines and words (as outlines) alone; its pictures and shadings are left out, and said so.

    Arguments as for `with_outlined_words`.
    """
    outlined, left = with_outlined_words(pattern, file, pages)
    # What is white may cover something; edges that were recognised leave no ink, and are what names of lines stand for.
    kept = [
        mark
        for mark in outlined.marks
        if isinstance(mark, Label)
        or (
            isinstance(mark, Line)
            and (mark.style.leaves_ink or mark.style.fill is not None or mark.tag.role is not Role.PLAIN)
        )
    ]
    lost = sum(isinstance(mark, Picture) for mark in outlined.marks)
    findings = []
    if lost:
        text = f"{lost} picture{'s' * (lost > 1)}, shadings or drawn signs can't be changed and are left out"
        findings.append(Finding(FindingKind.NOT_CARRIED, text, file.file_name))
    if left:
        text = f"{left} run{'s' * (left > 1)} of text could not be outlined and may look different in another font"
        findings.append(Finding(FindingKind.TEXT_FONT_REPLACED, text, file.file_name))
    return outlined.with_marks(kept, findings)


def with_outlined_words(pattern: Pattern, file: InputFile, pages: Sequence[int] = ()) -> tuple[Pattern, int]:
    """The pattern with labels drawn as filled outlines, and how many labels stayed words.

    A label stays as it is where PDFium finds other characters at its place, or a glyph without a shape.

    Args:
        pattern: read from this file alone, with these pages.
        file: the PDF.
        pages: page numbers from 1; empty for all.
    """
    marks: list[Mark] = list(pattern.marks)
    left = 0
    document = pypdfium2.PdfDocument(file.content)
    try:
        numbers = list(pages) or list(range(1, len(document) + 1))
        ends = [*(sheet.first_mark for sheet in pattern.sheets[1:]), len(marks)]
        for number, sheet, end in zip(numbers, pattern.sheets, ends, strict=True):
            labels = [i for i in range(sheet.first_mark, end) if isinstance(marks[i], Label)]
            if not labels:
                continue
            place = Affine.shift(sheet.place.x0, sheet.place.y0)
            glyphs = list(_glyphs(document[number - 1], sheet.place.size, place))
            for index in labels:
                label = marks[index]
                assert isinstance(label, Label)
                outlined = _outlined(label, glyphs)
                left += outlined is None
                marks[index] = outlined or label
    finally:
        document.close()
    return replace(pattern, marks=tuple(marks)), left


def _outlined(label: Label, glyphs: Sequence[_Glyph]) -> Line | None:
    """The label's glyphs as one filled line, None where they are not all found."""
    wanted = "".join(label.text.split())
    back = label.at.inverse()
    own = []
    for glyph in glyphs:
        spot = back.point(glyph.origin)
        if -0.1 <= spot.x <= label.advance + 0.1 and abs(spot.y) < 0.1 * label.size:
            own.append((spot.x, glyph))
    found = "".join(glyph.character for _, glyph in own)
    # The same words may lie at the same place more than once, on other layers.
    start = found.find(wanted)
    if not wanted or start < 0:
        return None
    paths = [glyph.path for _, glyph in own[start : start + len(wanted)]]
    if any(not len(path) for path in paths):
        return None
    style = Style(fill=label.colour, fill_opacity=label.opacity)
    # What it says goes on with it: how a piece is cut is read in its words.
    extra = tuple(sorted({**dict(label.tag.extra), "text": label.text}.items()))
    return Line(Path.joined(paths), style, replace(label.tag, extra=extra), label.clip)


def _glyphs(page: Any, size: Size, place: Affine) -> Iterator[_Glyph]:
    """All characters of a page that are no blanks."""
    to_sheet = place @ _to_sheet(page, size)
    words = page.get_textpage()
    try:
        for index in range(pdfium.FPDFText_CountChars(words)):
            code = pdfium.FPDFText_GetUnicode(words, index)
            run = pdfium.FPDFText_GetTextObject(words, index)
            if not run or not chr(code).strip():
                continue
            x, y = ctypes.c_double(), ctypes.c_double()
            pdfium.FPDFText_GetCharOrigin(words, index, x, y)
            matrix, height = pdfium.FS_MATRIX(), ctypes.c_float()
            pdfium.FPDFText_GetMatrix(words, index, matrix)
            pdfium.FPDFTextObj_GetFontSize(run, height)
            em = height.value
            glyph = Affine(matrix.a * em, matrix.b * em, matrix.c * em, matrix.d * em, x.value, y.value)
            shape = _shape(pdfium.FPDFTextObj_GetFont(run), code)
            yield _Glyph(chr(code), to_sheet.point(Point(x.value, y.value)), shape.moved(to_sheet @ glyph))
    finally:
        words.close()


def _to_sheet(page: Any, size: Size) -> Affine:
    """From the page's own units (y up) to the sheet in mm, with its rotation and boxes as PDFium has them."""

    def seen(x: float, y: float) -> Point:
        across, down = ctypes.c_int(), ctypes.c_int()
        pdfium.FPDF_PageToDevice(page, 0, 0, _FINE, _FINE, 0, x, y, across, down)
        return Point(across.value / _FINE * size.width, down.value / _FINE * size.height)

    far = 1000.0
    origin, right, up = seen(0.0, 0.0), seen(far, 0.0), seen(0.0, far)
    u, v = (right - origin) * (1 / far), (up - origin) * (1 / far)
    return Affine(u.x, u.y, v.x, v.y, origin.x, origin.y)


def _shape(font: Any, code: int) -> Path:
    """A glyph's outline for a font of size 1; empty where the font has none."""
    build = PathBuilder()
    glyph = pdfium.FPDFFont_GetGlyphPath(font, code, 1.0)
    count = pdfium.FPDFGlyphPath_CountGlyphSegments(glyph) if glyph else 0
    handles: list[tuple[float, float]] = []
    for index in range(max(count, 0)):
        segment = pdfium.FPDFGlyphPath_GetGlyphPathSegment(glyph, index)
        x, y = ctypes.c_float(), ctypes.c_float()
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == _MOVE:
            build.move(x.value, y.value)
        elif kind == _LINE:
            build.line(x.value, y.value)
        elif kind == _CURVE:
            handles.append((x.value, y.value))
            if len(handles) == 3:
                build.curve(*handles[0], *handles[1], *handles[2])
                handles = []
        if pdfium.FPDFPathSegment_GetClose(segment):
            build.close()
    return build.path()
