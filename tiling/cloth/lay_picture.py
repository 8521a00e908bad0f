"""The picture to lay out by: the cloth, every piece at its place, and the figures beside it.

Drawn through `tiling.drawing.pen`, so that what it shows can be tested as a list of calls; PDF by reportlab, PNG by
PDFium from that PDF. The cloth's length runs across the picture, or down it where that draws it larger.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from math import ceil

import numpy as np
from PIL import Image
from shapely.geometry.base import BaseGeometry

from tiling.cloth.cloth_choice import Band, ClothFold
from tiling.cloth.lay_labels import Block, arrow_in, block_in, number_in
from tiling.cloth.lay_plan import LaidPiece, LayPlan
from tiling.cloth.lay_words import facts, heading, key, piece_words
from tiling.cloth.units import Units
from tiling.drawing import styles
from tiling.drawing.lettering import shortened, text_width, wrapped
from tiling.drawing.pen import Anchor, Ink, PdfPen, Pen, Type
from tiling.fonts.shaping import missing_glyphs
from tiling.lengths import MM_PER_INCH, MM_PER_POINT, with_fraction_signs
from tiling.shapes import Affine, Box, Point, Size
from tiling.shapes.regions import polygon_of
from tiling.typefaces import drawn_with

__all__ = ["draw_lay", "facts", "heading", "key", "lay_pdf", "lay_png", "lay_size"]

_EDGE = Ink(0.15, 0.3)
_FOLD = Ink(0.0, 0.7, (5.0, 1.2, 1.0, 1.2))
_CREASE = Ink(0.45, 0.2, (5.0, 1.2, 1.0, 1.2))
_KEPT_FREE = Ink(0.7, 0.1, (0.6, 0.8))
_NEED = Ink(0.0, 0.25, (2.0, 1.2))
_OUTLINE = Ink(0.0, 0.22)
_GRAIN = Ink(0.25, 0.15)
_PLAIN_GREY, _TURNED_GREY, _PAPER = 0.95, 0.84, 1.0
_START, _END, _FOOT, _HEAD = 7.0, 7.0, 9.0, 4.5
"""mm of room before and behind the cloth for its width, below it for the rule, above it for the name of the edge."""

_LINE = 3.4
"""mm from one line of the list below the picture to the next."""

_LIST_SHARE = 0.4
"""Share of the picture's height that the list may take."""

_DPI = 150


@dataclass(frozen=True, slots=True)
class _View:
    """How the cloth is seen: its move to the picture in mm, the scale, and whether its length runs down."""

    plan: LayPlan
    move: Affine
    scale: float
    turned: bool

    def at(self, x: float, y: float) -> Point:
        """A place on the cloth in the picture."""
        return self.move.point(Point(x, y))

    def beside(self, x: float, y: float, out: Point) -> Point:
        """The place so many mm of the picture off one on the cloth, in the cloth's directions."""
        return self.at(x + out.x / self.scale, y + out.y / self.scale)

    def along(self, style: Type) -> Type:
        """Letters that run along the cloth."""
        return replace(style, turn=90.0) if self.turned else style

    def across(self, style: Type) -> Type:
        """Letters that run across it."""
        return style if self.turned else replace(style, turn=-90.0)


def draw_lay(pen: Pen, plan: LayPlan, units: Units, box: Box) -> float:
    """Draw the cloth and its pieces into a box, as large as fits, at its top left.

    Pieces too small for their words bear numbers, which are explained below the picture.

    Returns:
        The y of the lowest thing drawn.
    """
    most = int(_LIST_SHARE * box.height / _LINE)
    rows = 0
    while True:  # What is listed takes room, and in less room more may have to be listed.
        view, lowest = _view(plan, Box(box.x0, box.y0, box.x1, box.y1 - _LINE * rows - (2.0 if rows else 0.0)))
        labels = _labels(view)
        listed = _listed(labels, plan, box.width)
        if len(listed) <= rows or rows == most:
            break
        rows = min(len(listed), most)
    if len(listed) > most:
        listed = [*listed[: most - 1], "…"]
    for laid, label in zip(plan.laid, labels, strict=True):
        _draw_piece(pen, view, laid, label)
    _draw_cloth(pen, view)
    _draw_edges(pen, view, units)
    _draw_rule(pen, view, units)
    for line in listed:
        lowest += _LINE
        pen.text(Point(box.x0, lowest), line, styles.SMALL)
    return lowest


def lay_size(plan: LayPlan, room: Size) -> Size:
    """The room that a plan is to be drawn in, mm: all of it, or half its height.

    Where the picture takes less than half the width it would leave most of a page empty, and half the height does if
    all its words find room there.
    """
    whole, _ = _view(plan, Box(0.0, 0.0, room.width, room.height))
    width = (_band(plan).width if whole.turned else _length(plan)) * whole.scale
    if width > room.width / 2:
        return room
    half = Size(room.width, room.height / 2)
    view, _ = _view(plan, Box(0.0, 0.0, half.width, half.height))
    return room if _listed(_labels(view), plan, half.width) else half


def _band(plan: LayPlan) -> Band:
    """The cloth's edges across, opened out or not, mm."""
    return Band(0.0 if plan.opened_at is None else -plan.choice.width / 2, plan.choice.table_width)


def _length(plan: LayPlan) -> float:
    """The length of cloth shown: what is bought, as it comes out of the wash, mm."""
    return max(plan.buy * (1.0 - plan.choice.shrinkage), plan.length, 1.0)


def _room(turned: bool) -> tuple[float, float]:
    """What stands around the cloth across the page and down it, mm."""
    along, across = _START + _END, _HEAD + _FOOT
    return (across, along) if turned else (along, across)


def _scale(plan: LayPlan, room: Size, *, turned: bool) -> float:
    """How large the cloth can be drawn in some room, its length across or down."""
    along, across = _length(plan), _band(plan).width
    wide, high = (across, along) if turned else (along, across)
    beside, below = _room(turned)
    return min((room.width - beside) / wide, (room.height - below) / high)


def _view(plan: LayPlan, box: Box) -> tuple[_View, float]:
    """The better of the two ways to see the cloth, and the y below it."""
    room = Size(box.width, box.height)
    turned = _scale(plan, room, turned=True) > 1.1 * _scale(plan, room, turned=False)
    scale, band = _scale(plan, room, turned=turned), _band(plan)
    if turned:
        # The cloth's start is at the top; the edge that is at the top otherwise is on the right.
        corner = Point(box.x0 + _FOOT + band.high * scale, box.y0 + _START)
        move = Affine.shift(corner.x, corner.y) @ Affine.turn(90.0) @ Affine.scale(scale)
        return _View(plan, move, scale, turned), corner.y + _length(plan) * scale + _END
    corner = Point(box.x0 + _START, box.y0 + _HEAD - band.low * scale)
    move = Affine.shift(corner.x, corner.y) @ Affine.scale(scale)
    return _View(plan, move, scale, turned), corner.y + band.high * scale + _FOOT


def _draw_cloth(pen: Pen, view: _View) -> None:
    """The cloth's edges, its fold, where it is opened out, what is kept free, and where the lay ends."""
    plan, end, at = view.plan, _length(view.plan), view.at
    choice, band, opened = plan.choice, _band(plan), plan.opened_at
    # Folded up to `start`, opened out from there.
    start = end if opened is None and choice.fold is ClothFold.LENGTHWISE else opened or 0.0

    def line(x0: float, y0: float, x1: float, y1: float, ink: Ink) -> None:
        pen.polyline([at(x0, y0), at(x1, y1)], ink)

    corners = [at(start, band.low), at(end, band.low), at(end, band.high), at(0.0, band.high)]
    pen.polyline([*corners, at(0.0, max(band.low, 0.0)), at(start, max(band.low, 0.0))], _EDGE, closed=True)
    if start:
        line(0.0, 0.0, start, 0.0, _FOLD)
    if start and opened is not None:
        line(start, 0.0, start, band.high, _NEED)
    if opened is not None:
        line(start, 0.0, end, 0.0, _CREASE)
    if choice.selvedge:
        line(0.0, band.high - choice.selvedge, end, band.high - choice.selvedge, _KEPT_FREE)
        if start < end:
            line(start, band.low + choice.selvedge, end, band.low + choice.selvedge, _KEPT_FREE)
    if (end - plan.length) * view.scale > 0.3:
        line(plan.length, band.low, plan.length, band.high, _NEED)


def _draw_edges(pen: Pen, view: _View, units: Units) -> None:
    """What each edge is, and how wide the cloth lies."""
    plan, end = view.plan, _length(view.plan)
    band, opened = _band(plan), plan.opened_at
    folded = plan.choice.fold is ClothFold.LENGTHWISE and opened != 0.0
    above, below = Point(0.0, -1.4), Point(0.0, 7.6)
    last = replace(styles.NOTE, anchor=Anchor.END)
    if folded:
        pen.text(view.beside(0.0, 0.0, above), "fold of the cloth", view.along(styles.NOTE))
    if not folded or opened is not None:
        name = "selvedge" if not folded else "selvedge, cloth opened out"
        pen.text(view.beside(end, band.low, above), name, view.along(last))
    pen.text(view.beside(end, band.high, below), "both selvedges" if folded else "selvedge", view.along(last))
    middle = replace(styles.SMALL, anchor=Anchor.MIDDLE)
    low = 0.0 if opened is None or opened else band.low
    before, behind = Point(-3.2, 0.0), Point(5.2, 0.0)
    lying = with_fraction_signs(units.length(band.high - low))
    pen.text(view.beside(0.0, (low + band.high) / 2, before), lying, view.across(middle))
    if opened:
        pen.text(
            view.beside(end, 0.0, behind), with_fraction_signs(units.length(plan.choice.width)), view.across(middle)
        )


def _draw_rule(pen: Pen, view: _View, units: Units) -> None:
    """Ticks along the lower edge every 10 cm or 6 in, numbered where there is room."""
    step, every = (100.0, 5) if units is Units.CM else (6 * MM_PER_INCH, 2)
    while step * every * view.scale < 14.0:
        every *= 2
    edge, ticks = _band(view.plan).high, []
    for number in range(ceil(_length(view.plan) / step - 1e-9)):
        x, long = number * step, number % every == 0
        ticks.append((view.at(x, edge), view.beside(x, edge, Point(0.0, 2.2 if long else 1.1))))
        if long:
            words = f"{number * 10}" if units is Units.CM else f"{number * 6}"
            label = words + (f" {units.value}" if number == 0 else "")
            style = replace(styles.NOTE, anchor=Anchor.MIDDLE)
            pen.text(view.beside(x, edge, Point(0.0, 4.8)), label, view.along(style))
    pen.lines(ticks, styles.HAIR)


# -- pieces --------------------------------------------------------------------------------------------------------


def _shape(view: _View, laid: LaidPiece) -> BaseGeometry:
    """The piece's area in the picture, without its hollows."""
    shape = polygon_of(view.move.points(laid.ring))
    for hollow in laid.hollows:
        shape = shape.difference(polygon_of(view.move.points(hollow)))
    return shape


def _name(laid: LaidPiece) -> str:
    """Its title; what no font at hand can write is told by the piece's id."""
    return laid.piece.piece if missing_glyphs(laid.piece.title) else laid.piece.title


def _labels(view: _View) -> list[tuple[BaseGeometry, Block | None]]:
    """For each piece its area, and its words where they find room."""
    shapes = [_shape(view, laid) for laid in view.plan.laid]
    return [
        (shape, block_in(shape, _name(laid), piece_words(view.plan, laid)))
        for shape, laid in zip(shapes, view.plan.laid, strict=True)
    ]


def _listed(labels: Sequence[tuple[BaseGeometry, Block | None]], plan: LayPlan, width: float) -> list[str]:
    """What the numbers stand for, in as few lines as fit."""
    parts = []
    for number, (laid, (_, block)) in enumerate(zip(plan.laid, labels, strict=True), 1):
        if block is None:
            words = ", ".join(piece_words(plan, laid))
            parts.append(f"{number} {_name(laid)}{f' ({words})' if words else ''}")
    return _lines(parts, width, styles.SMALL.size)


def _draw_piece(pen: Pen, view: _View, laid: LaidPiece, label: tuple[BaseGeometry, Block | None]) -> None:
    rings = [view.move.points(ring) for ring in (laid.ring, *laid.hollows)]
    outline, *hollows = [[Point(float(x), float(y)) for x, y in ring] for ring in rings]
    pen.fill(outline, _TURNED_GREY if laid.face_down else _PLAIN_GREY)
    pen.polyline(outline, _OUTLINE, closed=True)
    for hollow in hollows:
        pen.fill(hollow, _PAPER)
        pen.polyline(hollow, _OUTLINE, closed=True)
    shape, block = label
    block = block or number_in(shape, view.plan.laid.index(laid) + 1)
    along = Point(0.0, 1.0) if view.turned else Point(1.0, 0.0)
    arrow = arrow_in(shape, block.room, along)
    if arrow is not None:
        tip, tail = (arrow.end, arrow.start) if laid.arrow > 0 else (arrow.start, arrow.end)
        back = (tail - tip).unit() * 1.1
        aside = Point(-back.y, back.x) * 0.45
        pen.lines([(tail, tip), (tip, tip + back + aside), (tip, tip + back - aside)], _GRAIN)
    for line in block.lines:
        grey = 0.0 if line.face is block.lines[0].face else 0.2
        pen.text(line.at, line.text, Type(line.size, line.face, Anchor.MIDDLE, grey, block.turn))


# -- files ---------------------------------------------------------------------------------------------------------


def lay_pdf(plans: Sequence[LayPlan], title: str, units: Units, paper: Size) -> bytes:
    """One page per plan, turned so that the cloth comes out larger; the same plans give the same bytes."""
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - loaded when used

    stream = BytesIO()
    canvas = Canvas(stream, invariant=1, initialFontName=drawn_with("Helvetica"))
    canvas.setTitle(f"{title}: lay plan")
    canvas.setCreator("pageseam")
    for number, plan in enumerate(plans, 1):
        page = _page_for(plan, paper)
        canvas.setPageSize((page.width / MM_PER_POINT, page.height / MM_PER_POINT))
        canvas.bookmarkPage(f"lay{number}")
        canvas.addOutlineEntry(heading(plan, units), f"lay{number}")
        _draw_page(PdfPen(canvas, page), plan, title, units, page)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def lay_png(plans: Sequence[LayPlan], title: str, units: Units, paper: Size) -> bytes:
    """The same pages one below the other as one picture."""
    import pypdfium2  # noqa: PLC0415 - loaded when used

    document = pypdfium2.PdfDocument(lay_pdf(plans, title, units, paper))
    pages = [_without_foot(page.render(scale=_DPI / 72, grayscale=True).to_pil()) for page in document]
    document.close()
    sheet = Image.new("L", (max(page.width for page in pages), sum(page.height for page in pages)), 255)
    y = 0
    for page in pages:
        sheet.paste(page, (0, y))
        y += page.height
    stream = BytesIO()
    sheet.save(stream, "PNG", dpi=(_DPI, _DPI), optimize=True)
    return stream.getvalue()


def _without_foot(page: Image.Image) -> Image.Image:
    """The picture without the empty paper below the drawing."""
    lowest = int(np.flatnonzero((np.asarray(page) < 250).any(axis=1)).max(initial=0))
    return page.crop((0, 0, page.width, min(page.height, lowest + _DPI // 3)))


def _page_for(plan: LayPlan, paper: Size) -> Size:
    """The paper upright or on its side."""
    long, short = max(paper.width, paper.height), min(paper.width, paper.height)
    papers = [Size(short, long), Size(long, short)]
    rooms = [Size(paper.width - 26.0, paper.height - 58.0) for paper in papers]
    scales = [max(_scale(plan, room, turned=turned) for turned in (False, True)) for room in rooms]
    return papers[0] if scales[0] > scales[1] else papers[1]


def _draw_page(pen: Pen, plan: LayPlan, title: str, units: Units, page: Size) -> None:
    free = Box(14.0, 13.0, page.width - 12.0, page.height - 11.0)
    style = styles.TITLE
    pen.text(Point(free.x0, free.y0 + style.size), shortened(title, style.size, free.width, style.face), style)
    y = free.y0 + style.size + 6.0
    pen.text(Point(free.x0, y), f"Lay plan: {heading(plan, units)}", styles.HEADING)
    for line in _lines(facts(plan, units), free.width, styles.BODY.size):
        y += 4.6
        pen.text(Point(free.x0, y), line, styles.BODY)
    y += 1.0
    for line in wrapped(" ".join(key(plan, units)), styles.SMALL.size, free.width):
        y += _LINE
        pen.text(Point(free.x0, y), line, styles.SMALL)
    draw_lay(pen, plan, units, Box(free.x0, y + 3.0, free.x1, free.y1))


def _lines(parts: Sequence[str], width: float, size: float) -> list[str]:
    """Parts in as few lines as fit."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]} · {part}" if lines else part
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines
