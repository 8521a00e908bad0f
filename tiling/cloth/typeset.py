"""Setting the booklet: fonts that have the glyphs, paragraphs, ruled tables, and drawings as blocks of the text."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.platypus import Flowable, Paragraph
from reportlab.platypus import Table as RuledTable

from tiling.cloth.outlined import OutlinedParagraph
from tiling.cloth.tables import Table
from tiling.drawing.lettering import Face, font_for, text_width
from tiling.drawing.pen import PdfPen, Pen
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.fonts.shaping import missing_glyphs
from tiling.lengths import MM_PER_POINT
from tiling.shapes import Box, Size
from tiling.typefaces import drawn_with

__all__ = ["GREY", "HAIR", "Drawing", "Setter", "points"]

GREY = Color(0.35, 0.35, 0.35)
HAIR = Color(0.7, 0.7, 0.7)
_BODY, _LEADING = 9.2, 12.6
_CELL = 8.2
_PAD = 4.0
_AIR = 26.0
_APART = 9.0
_OWN = "PageseamGuide"


def points(mm: float) -> float:
    """A length in mm as PDF points."""
    return mm / MM_PER_POINT


class Setter:
    """Sets texts in fonts that can write them, and remembers the characters that none can.

    Args:
        font: a TrueType file to prefer; without it, and for what it lacks, the fonts at hand.

    Raises:
        InputUnfit: the font file can't be used.
    """

    def __init__(self, font: InputFile | None = None) -> None:
        self._own = _registered(font) if font else None
        self._missing: dict[str, None] = {}

    @property
    def missing(self) -> str:
        """Characters met so far that no font has, each once."""
        return "".join(self._missing)

    def font(self, text: str, face: Face = Face.PLAIN) -> str | None:
        """The name of the font for a text; None where it is drawn as outlines."""
        unwritten = missing_glyphs(text, face.value)
        if self._own is not None:
            known = self._own.face.charToGlyph
            # Words that the person's font lacks are set in ours where ours have all of them.
            lacking = [c for c in text if not c.isspace() and ord(c) not in known]
            if not lacking or unwritten:
                self._missing.update(dict.fromkeys(c for c in lacking if c in unwritten))
                return _OWN
        self._missing.update(dict.fromkeys(unwritten))
        return font_for(text, face)

    def width(self, text: str, size: float, face: Face) -> float:
        """How wide one line runs, in points."""
        font = self.font(text, face)
        return text_width(text, size, face) if font is None else float(pdfmetrics.stringWidth(text, font, size))

    def _paragraph(
        self, text: str, face: Face, size: float, leading: float, mark: str | None = None, **looks: object
    ) -> Flowable:
        """The text in a font that has its characters; `looks` are further attributes of reportlab's paragraph style."""
        font = self.font(text, face)
        style = ParagraphStyle("text", fontSize=size, leading=leading, **looks)
        if font is None:
            return OutlinedParagraph(text, face, style, mark or "")
        style.fontName = font
        return Paragraph(escape(text), style, bulletText=mark)

    def words(self, text: str, *, size: float = _BODY, face: Face = Face.PLAIN, grey: bool = False) -> Flowable:
        """A paragraph."""
        colour = GREY if grey else Color(0, 0, 0)
        return self._paragraph(text, face, size, size * _LEADING / _BODY, spaceAfter=size * 0.35, textColor=colour)

    def heading(self, text: str) -> Flowable:
        """A section's heading, with a hairline above."""
        paragraph = self._paragraph(
            text, Face.BOLD, 13, 16, spaceBefore=16, spaceAfter=5, borderPadding=(5, 0, 0, 0), keepWithNext=1
        )
        paragraph.outline_text = text
        return paragraph

    def item(self, text: str, mark: str) -> Flowable:
        """A step or a point of a list, hanging from its mark."""
        bullet = {"bulletFontName": drawn_with("Helvetica"), "bulletFontSize": _BODY}
        return self._paragraph(text, Face.PLAIN, _BODY, _LEADING, mark=mark, leftIndent=14, spaceAfter=2.5, **bullet)

    def table(self, table: Table, width: float) -> list[Flowable]:
        """A ruled table over the full width (points) and its remarks; its head is repeated on every page."""
        table = _filled(table)
        widths = self._widths(table, width)
        cells = [[self._cell(text, i in table.numbers, Face.BOLD) for i, text in enumerate(table.head)]]
        cells += [
            [self._cell(text, i in table.numbers, Face.PLAIN) for i, text in enumerate(row)] for row in table.rows
        ]
        # The remarks are rows as wide as the text, so that no page break parts them from the table's end.
        last, end = len(cells) - 1, len(table.head) - 1
        widths, cells = [*widths, max(width - sum(widths), 0.0)], [[*row, ""] for row in cells]
        cells += [[self.words(remark, size=7.6, grey=True), *[""] * len(table.head)] for remark in table.remarks]
        ruled = RuledTable(cells, colWidths=widths, repeatRows=1, hAlign="LEFT")
        ruled.setStyle(
            [
                ("FONTNAME", (0, 0), (-1, -1), drawn_with("Helvetica")),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), _PAD),
                *(("LEFTPADDING", (i, 0), (i, last), _PAD + _APART) for i in _after_numbers(table)),
                ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
                ("TOPPADDING", (0, 0), (-1, -1), 2.2),
                ("BOTTOMPADDING", (0, 0), (-1, last), 2.8),
                ("BOTTOMPADDING", (0, last + 1), (-1, -1), 0.0),
                ("LINEBELOW", (0, 0), (end, 0), 0.7, Color(0, 0, 0)),
                ("LINEBELOW", (0, 1), (end, last), 0.3, HAIR),
                ("NOSPLIT", (0, last), (-1, -1)),
                *(("SPAN", (0, row), (-1, row)) for row in range(last + 1, len(cells))),
            ]
        )
        return [ruled]

    def _cell(self, text: str, right: bool, face: Face) -> Flowable:
        return self._paragraph(text, face, _CELL, _CELL * 1.25, alignment=2 if right else 0, splitLongWords=1)

    def _room(self, texts: Iterable[str]) -> float:
        """The width of a column whose widest text stands on one line, in points."""
        return max(self.width(text, _CELL, Face.BOLD) for text in texts) + 2 * _PAD + 1

    def _widths(self, table: Table, width: float) -> list[float]:
        """Columns of numbers as wide as they need; columns of words share the rest by their longest text."""
        columns = list(zip(table.head, *table.rows, strict=True))
        wanted = [self._room(column) for column in columns]
        for i in _after_numbers(table):
            wanted[i] += _APART
        spare = width - sum(wanted)
        if spare >= 0:
            # Air between the columns, but not so much that the eye loses the row; the last column takes the rest if
            # it is words.
            air = min(spare / len(wanted), _AIR)
            wanted = [one + air for one in wanted]
            if len(wanted) - 1 not in table.numbers:
                wanted[-1] += width - sum(wanted)
            return wanted
        # A column of words narrower than its longest word would break it: numbers may wrap in their heads instead.
        words = [i for i in range(len(wanted)) if i not in table.numbers]
        for i in table.numbers:
            head, *body = columns[i]
            wanted[i] = self._room([*body, *head.split()])
        room = width - sum(wanted[i] for i in table.numbers)
        total = sum(wanted[i] for i in words)
        if total > room:
            # What gives way is the words' room, not the air around them.
            least = {i: 2 * _PAD + 1 + (_APART if i in _after_numbers(table) else 0.0) for i in words}
            share = (room - sum(least.values())) / max(total - sum(least.values()), 1e-9)
            for i in words:
                wanted[i] = least[i] + max(share, 0.0) * (wanted[i] - least[i])
        else:
            wanted[words[-1]] += room - total
        return wanted


def _filled(table: Table) -> Table:
    """The table without columns in which nothing stands."""
    kept = [i for i, column in enumerate(zip(table.head, *table.rows, strict=True)) if any(column)]
    rows = (table.head, *table.rows)
    head, *body = (tuple(row[i] for i in kept) for row in rows)
    numbers = frozenset(n for n, i in enumerate(kept) if i in table.numbers)
    return replace(table, head=head, rows=tuple(body), numbers=numbers)


def _after_numbers(table: Table) -> list[int]:
    """Columns of words that follow numbers set to the right, and would stick to them."""
    return [i for i in range(1, len(table.head)) if i not in table.numbers and i - 1 in table.numbers]


class Drawing(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A drawing made with our pen, as a block of the text; `size` in mm."""

    def __init__(self, size: Size, draw: Callable[[Pen, Box], object]) -> None:
        super().__init__()
        self._size = size
        self._draw = draw

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """The room it takes, in points (called by platypus)."""
        return points(self._size.width), points(self._size.height)

    def draw(self) -> None:
        """Draw on the canvas (called by platypus, its origin at the block's lower left corner)."""
        self._draw(PdfPen(self.canv, self._size), Box(0.0, 0.0, self._size.width, self._size.height))


def _registered(file: InputFile) -> TTFont:
    """The font made known to reportlab under our own name."""
    try:
        font = TTFont(_OWN, BytesIO(file.content))
    except (TTFError, OSError, ValueError, IndexError, KeyError) as fault:
        raise InputUnfit(
            f"{file.name}: can't be used as a font ({fault}); give a TrueType file (.ttf) with glyf outlines."
        ) from fault
    pdfmetrics.registerFont(font)
    return font
