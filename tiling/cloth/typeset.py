"""Setting the booklet: fonts that have the glyphs, paragraphs, ruled tables, and drawings as blocks of the text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.platypus import Flowable, Paragraph
from reportlab.platypus import Table as RuledTable

from tiling.cloth.outlined import LINKED, Link, OutlinedParagraph, links_in
from tiling.cloth.tables import Table, filled
from tiling.drawing.lettering import Face, font_for, text_width
from tiling.drawing.pen import PdfPen, Pen
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.fonts.shaping import missing_glyphs, reads_leftwards
from tiling.lengths import MM_PER_POINT, with_fraction_signs
from tiling.shapes import Box, Size
from tiling.typefaces import drawn_with

__all__ = ["GREY", "HAIR", "Drawing", "Linked", "Setter", "points"]

GREY = Color(0.35, 0.35, 0.35)
HAIR = Color(0.7, 0.7, 0.7)
_BODY, _LEADING = 9.2, 12.6
_CELL = 8.2
_PAD = 4.0
_AIR = 26.0
_APART = 9.0
_LONG_REMARKS = 250.0
_WIDE = 200
"""Letters; a text with more is wider than a page."""
_OWN = "PageseamGuide"
_LINK_COLOUR = "#" + LINKED.hexval()[2:]


def points(mm: float) -> float:
    """A length in mm as PDF points."""
    return mm / MM_PER_POINT


@dataclass(frozen=True, slots=True)
class Linked:
    """What leads to and from a paragraph: names in it and the places they lead to, and the place that it is itself."""

    places: tuple[tuple[str, str], ...] = ()
    anchor: str = ""


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
        self, text: str, face: Face, size: float, leading: float, linked: Linked | None = None, **looks: object
    ) -> Flowable:
        """The text in a font that has its characters; `looks` are further attributes of reportlab's paragraph style."""
        text, linked = with_fraction_signs(" ".join(text.split())), linked or Linked()
        mark = str(looks.pop("mark", ""))
        font = self.font(text, face)
        style = ParagraphStyle("text", fontSize=size, leading=leading, splitLongWords=1, **looks)
        links = links_in(text, linked.places)
        if font is None:
            outlined = OutlinedParagraph(text, face, style, mark, links)
            outlined.anchor = linked.anchor
            return outlined
        style.fontName = font
        anchor = f'<a name="{linked.anchor}"/>' if linked.anchor else ""
        return Paragraph(anchor + _marked_up(text, links), style, bulletText=mark or None)

    def words(
        self,
        text: str,
        *,
        size: float = _BODY,
        face: Face = Face.PLAIN,
        grey: bool = False,
        linked: Linked | None = None,
    ) -> Flowable:
        """A paragraph."""
        colour = GREY if grey else Color(0, 0, 0)
        leading = size * _LEADING / _BODY
        return self._paragraph(text, face, size, leading, linked, spaceAfter=size * 0.35, textColor=colour)

    def heading(self, text: str, anchor: str = "") -> Flowable:
        """A section's heading, with a hairline above."""
        looks = {"spaceBefore": 16, "spaceAfter": 5, "borderPadding": (5, 0, 0, 0), "keepWithNext": 1}
        paragraph = self._paragraph(text, Face.BOLD, 13, 16, Linked(anchor=anchor), **looks)
        paragraph.outline_text = text
        return paragraph

    def item(self, text: str, mark: str, *, face: Face = Face.PLAIN, linked: Linked | None = None) -> Flowable:
        """A step or a point of a list, hanging from its mark; without one it goes on below it."""
        looks = {"bulletFontName": drawn_with(face.value), "bulletFontSize": _BODY, "spaceAfter": 2.5}
        indent = max(14.0, self.width(mark, _BODY, face) + 5.0)
        return self._paragraph(text, face, _BODY, _LEADING, linked, mark=mark, leftIndent=indent, **looks)

    def table(self, table: Table, width: float) -> list[Flowable]:
        """A ruled table over the full width (points) and its remarks; its head is repeated on every page."""
        table = filled(table)
        widths = self._widths(table, width)
        leftwards = [all(reads_leftwards(text) for text in column if text) for column in zip(*table.rows, strict=True)]
        right = [i in table.numbers or leftwards[i] for i in range(len(table.head))]
        cells = [[self._cell(text, right[i], Face.BOLD) for i, text in enumerate(table.head)]]
        for row, anchor in zip(table.rows, table.anchors or [""] * len(table.rows), strict=True):
            named = [anchor, *[""] * (len(row) - 1)]
            cells.append([self._cell(text, i in table.numbers, Face.PLAIN, named[i]) for i, text in enumerate(row)])
        # The remarks are rows as wide as the text, so that no page break parts them from the table's end; long ones
        # follow it, so that a page break may part them.
        remarks = [self.words(remark, size=7.6, grey=True) for remark in table.remarks]
        after = []
        if sum(remark.wrap(width, 1e6)[1] for remark in remarks) > _LONG_REMARKS:
            remarks, after = [], remarks
        last, end = len(cells) - 1, len(table.head) - 1
        tallest = max(cell.wrap(room - 2 * _PAD, 1e6)[1] for cell, room in zip(cells[last], widths, strict=True))
        together = [("NOSPLIT", (0, last), (-1, -1))] if tallest < _LONG_REMARKS else []
        widths, cells = [*widths, max(width - sum(widths), 0.0)], [[*row, ""] for row in cells]
        cells += [[remark, *[""] * len(table.head)] for remark in remarks]
        ruled = RuledTable(cells, colWidths=widths, repeatRows=1, splitInRow=1, hAlign="LEFT")
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
                *together,
                *(("SPAN", (0, row), (-1, row)) for row in range(last + 1, len(cells))),
            ]
        )
        return [ruled, *after]

    def _cell(self, text: str, right: bool, face: Face, anchor: str = "") -> Flowable:
        return self._paragraph(text, face, _CELL, _CELL * 1.25, Linked(anchor=anchor), alignment=2 if right else 0)

    def _room(self, texts: Iterable[str]) -> float:
        """The width of a column whose widest text stands on one line, in points."""
        return max(self.width(with_fraction_signs(text[:_WIDE]), _CELL, Face.BOLD) for text in texts) + 2 * _PAD + 1

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
        if total <= room:
            wanted[words[-1]] += room - total
            return wanted
        least = [self._room([word for text in columns[i] for word in text.split() or [""]]) for i in words]
        for i, share in zip(words, _shared([wanted[i] for i in words], least, room), strict=True):
            wanted[i] = share
        return wanted


def _shared(wanted: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """Shares of the room: small wishes in full, the others alike, as far as can be none below its least."""
    shares, left, open_ = list(wanted), room, list(range(len(wanted)))
    while open_:
        each = left / len(open_)
        small = [i for i in open_ if wanted[i] <= each]
        if not small:
            for i in open_:
                shares[i] = each
            break
        left -= sum(wanted[i] for i in small)
        open_ = [i for i in open_ if i not in small]
    lacking = sum(max(low - share, 0.0) for low, share in zip(least, shares, strict=True))
    spare = sum(max(share - low, 0.0) for low, share in zip(least, shares, strict=True))
    if not 0.0 < lacking <= spare:
        return shares
    return [max(share, low) - lacking * max(share - low, 0.0) / spare for low, share in zip(least, shares, strict=True)]


def _marked_up(text: str, links: Sequence[Link]) -> str:
    """The text in reportlab's markup."""
    parts, at = [], 0
    for link in links:
        words = escape(text[link.start : link.end])
        parts += [escape(text[at : link.start]), f'<a href="#{link.to}" color="{_LINK_COLOUR}">{words}</a>']
        at = link.end
    return "".join([*parts, escape(text[at:])])


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
