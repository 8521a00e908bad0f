"""The picture to lay out by: the cloth, every piece at its place, and the figures beside it.

Drawn through `tiling.drawing.pen`, so that what it shows can be tested as a list of calls; PDF by reportlab, PNG by
PDFium from that PDF.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from math import ceil

import numpy as np
from PIL import Image

from tiling.cloth.lay_pieces import ClothFold, Layers
from tiling.cloth.lay_plan import BuyingStep, LaidPiece, LayPlan, Nap
from tiling.cloth.units import Units
from tiling.drawing import styles
from tiling.drawing.lettering import Face, shortened, text_width
from tiling.drawing.pen import Anchor, Ink, PdfPen, Pen, Type, rectangle
from tiling.fonts.shaping import missing_glyphs
from tiling.lengths import MM_PER_INCH, MM_PER_POINT, in_percent
from tiling.shapes import Affine, Box, Point, Size
from tiling.shapes.curves import Array
from tiling.shapes.polylines import crossing_places
from tiling.shapes.regions import polygon_of
from tiling.shapes.straights import Straight
from tiling.typefaces import drawn_with

__all__ = ["draw_lay", "facts", "heading", "key", "lay_pdf", "lay_png"]

_EDGE = Ink(0.15, 0.3)
_FOLD = Ink(0.0, 0.7, (5.0, 1.2, 1.0, 1.2))
_NEED = Ink(0.0, 0.25, (2.0, 1.2))
_OUTLINE = Ink(0.0, 0.22)
_GRAIN = Ink(0.25, 0.15)
_PLAIN_GREY, _TURNED_GREY = 0.95, 0.84
_SIDE = 9.0  # room left of the cloth for its width
_FOOT = 9.0  # room below it for the rule
_HEAD = 4.5  # room above it for the name of the edge
_DPI = 150
_OVER = 1.6
"""A title may be so much longer than its piece is wide: it then stands over the edges, and is not cut short."""
_RIGHT, _DOWN = Point(1.0, 0.0), Point(0.0, 1.0)
_LEAST_REMARK = 1.5
"""Smaller letters (mm) can't be read: words that don't fit then stand over the piece's edge."""


@dataclass(frozen=True, slots=True)
class _Lettering:
    """A piece's two lines of text, and where they stand."""

    at: Point
    turn: float
    size: float
    room: float


def heading(plan: LayPlan, units: Units) -> str:
    """Such as ``main cloth, 140.0 cm wide, folded lengthwise``."""
    folded = ", folded lengthwise" if plan.choice.fold is ClothFold.LENGTHWISE else ", opened out"
    name = plan.cloth if plan.cloth in {"interfacing", "lining"} else f"{plan.cloth} cloth"
    return f"{name}, {units.length(plan.choice.width)} wide{folded}"


def facts(plan: LayPlan, units: Units) -> tuple[str, ...]:
    """The figures: need, buy, use, gap, nap, shrinkage."""
    choice = plan.choice
    step = "5 cm" if choice.step is BuyingStep.FIVE_CM else "1/8 yd"
    washed = f"{in_percent(choice.shrinkage, 1)} lost in the wash and " if choice.shrinkage else ""
    nap = "one way only (nap)" if choice.nap is Nap.ONE_WAY else "half turns allowed"
    return (
        f"length needed {units.length(plan.length)}",
        f"to buy {units.cloth(plan.buy)} ({washed}rounded up to the next {step})",
        f"{in_percent(plan.use, 1)} of the cloth used",
        f"gap between pieces {units.small(choice.gap)}",
        nap,
    )


def draw_lay(pen: Pen, plan: LayPlan, units: Units, box: Box) -> float:
    """Draw the cloth and its pieces into a box, as large as fits, at its top left.

    Returns:
        The y of the lowest thing drawn.
    """
    washed = max(plan.buy * (1.0 - plan.choice.shrinkage), plan.length, 1.0)
    width = plan.choice.table_width
    scale = min((box.width - _SIDE - 2.0) / washed, (box.height - _FOOT - _HEAD) / width)
    corner = Point(box.x0 + _SIDE, box.y0 + _HEAD)
    move = Affine.shift(corner.x, corner.y) @ Affine.scale(scale)
    cloth = Box(corner.x, corner.y, corner.x + washed * scale, corner.y + width * scale)
    for laid in plan.laid:
        _draw_piece(pen, laid, move)
    _draw_cloth(pen, plan, units, cloth, corner.x + plan.length * scale)
    _draw_rule(pen, units, cloth, scale)
    return cloth.y1 + _FOOT


def _draw_cloth(pen: Pen, plan: LayPlan, units: Units, cloth: Box, need: float) -> None:
    pen.polyline(rectangle(cloth), _EDGE, closed=True)
    folded = plan.choice.fold is ClothFold.LENGTHWISE
    if folded:
        pen.polyline([cloth.corner, Point(cloth.x1, cloth.y0)], _FOLD)
    pen.text(Point(cloth.x0, cloth.y0 - 1.4), "fold of the cloth" if folded else "selvedge", styles.NOTE)
    ended = replace(styles.NOTE, anchor=Anchor.END)
    pen.text(Point(cloth.x1, cloth.y1 + 7.6), "both selvedges" if folded else "selvedge", ended)
    if need < cloth.x1 - 0.3:
        pen.polyline([Point(need, cloth.y0), Point(need, cloth.y1)], _NEED)
    across = replace(styles.SMALL, anchor=Anchor.MIDDLE, turn=-90.0)
    pen.text(Point(cloth.x0 - 3.2, cloth.centre.y), units.length(plan.choice.table_width), across)


def _draw_rule(pen: Pen, units: Units, cloth: Box, scale: float) -> None:
    """Ticks along the lower edge every 10 cm or 6 in, numbered where there is room."""
    step, every = (100.0, 5) if units is Units.CM else (6 * MM_PER_INCH, 2)
    while step * every * scale < 14.0:
        every *= 2
    ticks = []
    for number in range(ceil(cloth.width / scale / step - 1e-9)):
        x = cloth.x0 + number * step * scale
        long = number % every == 0
        ticks.append((Point(x, cloth.y1), Point(x, cloth.y1 + (2.2 if long else 1.1))))
        if long:
            words = f"{number * 10}" if units is Units.CM else f"{number * 6}"
            label = words + (f" {units.value}" if number == 0 else "")
            pen.text(Point(x, cloth.y1 + 4.8), label, replace(styles.NOTE, anchor=Anchor.MIDDLE))
    pen.lines(ticks, styles.HAIR)


def _draw_piece(pen: Pen, laid: LaidPiece, move: Affine) -> None:
    ring = move.points(laid.ring)
    corners = [Point(float(x), float(y)) for x, y in ring]
    pen.fill(corners, _TURNED_GREY if laid.piece.mirrored else _PLAIN_GREY)
    pen.polyline(corners, _OUTLINE, closed=True)
    # What no font at hand can write is told by the piece's id.
    title = laid.piece.piece if missing_glyphs(laid.piece.title) else laid.piece.title
    place = _lettering(ring, title)
    _draw_grain(pen, ring, place, backwards=laid.move.a < -0.5)
    title = shortened(title, place.size, place.room * _OVER, Face.BOLD)
    below, step = _remark(laid, place), place.size * 1.15
    along = Affine.turn(place.turn, place.at)
    first = Point(place.at.x, place.at.y + place.size * (0.35 if not below else -0.25))
    bold = Type(place.size, Face.BOLD, Anchor.MIDDLE, turn=place.turn)
    pen.text(along.point(first), title, bold)
    for number, words in enumerate(below):
        spot = along.point(Point(first.x, first.y + step * (0.95 + number * 0.85)))
        size = _fitting(ring, spot, words, upright=place.turn != 0.0)
        if size < _LEAST_REMARK and laid.piece.layers is Layers.ON_FOLD:
            continue  # Its place shows it.
        size = max(min(place.size * 0.75, size), _LEAST_REMARK)
        pen.text(spot, words, replace(bold, size=size, face=Face.PLAIN, grey=0.2))


def _fitting(ring: Array, at: Point, words: str, *, upright: bool) -> float:
    """The size at which words centred on a point stay inside the outline; 0 where the point lies outside."""
    span = _chord(ring, at, _DOWN if upright else _RIGHT)
    room = 2 * min(at.distance(span.start), at.distance(span.end)) if span else 0.0
    return room * 0.95 / text_width(words, 1.0)


def _remark(laid: LaidPiece, place: _Lettering) -> list[str]:
    """The piece's copy, layers and printed side in words, on as many lines as they need."""
    piece = laid.piece
    words = [f"{piece.copy} of {piece.copies}"] if piece.copies > 1 else []
    if piece.layers is Layers.ON_FOLD:
        words.append("on the fold")
    elif piece.layers is Layers.DOUBLE:
        words.append("both layers")
    elif piece.mirrored:
        words.append("printed side down")
    size = place.size * 0.75
    line = ", ".join(words)
    if not line or text_width(line, size) <= place.room:
        return [line] if line else []
    return [shortened(part, size, place.room) for part in words]


def _draw_grain(pen: Pen, ring: Array, place: _Lettering, *, backwards: bool) -> None:
    """The grain, along the cloth, below the words: an arrow to the drawing's top."""
    y = place.at.y + (place.size * 1.5 if place.turn == 0.0 else place.room / 2 + 1.5)
    span = _chord(ring, Point(place.at.x, y), _RIGHT)
    if span is None:
        return
    low, high = span.start.x, span.end.x
    inset = (high - low) * 0.2
    low, high = low + inset, high - inset
    if high - low < 6.0:
        return
    tip, tail = (high, low) if backwards else (low, high)
    head = 1.1 if tip < tail else -1.1
    pen.lines(
        [
            (Point(tail, y), Point(tip, y)),
            (Point(tip, y), Point(tip + head, y - 0.5)),
            (Point(tip, y), Point(tip + head, y + 0.5)),
        ],
        _GRAIN,
    )


def _lettering(ring: Array, title: str) -> _Lettering:
    """In the middle of the widest free place, along the cloth, or upright where only that has room for the title."""
    from shapely import maximum_inscribed_circle  # noqa: PLC0415 - shapely is slow to load

    spoke = np.array(maximum_inscribed_circle(polygon_of(ring), tolerance=0.5).coords)
    at, radius = Point(float(spoke[0, 0]), float(spoke[0, 1])), float(np.linalg.norm(spoke[1] - spoke[0]))
    # The largest circle may sit anywhere in a long piece: go to the middle of the chord.
    level, plumb = _chord(ring, at, _RIGHT), _chord(ring, at, _DOWN)
    along, upright = (span.length if span else 0.0 for span in (level, plumb))
    turn = -90.0 if upright > 1.6 * along and along < 24.0 else 0.0
    if turn and plumb:
        at = plumb.middle
    elif level:
        at = level.middle
    room = max(upright if turn else along, 3.0) * 0.92
    fitting = room / max(text_width(title, 1.0, Face.BOLD), 1e-9)
    return _Lettering(at, turn, max(1.5, min(3.2, radius * 0.55, fitting)), room)


def _chord(ring: Array, at: Point, along: Point) -> Straight | None:
    """The stretch of the straight line through a point that lies in the outline around it; `along` is a unit vector."""
    places = crossing_places(np.vstack([ring, ring[:1]]), at, along)
    before, after = places[places <= 0], places[places > 0]
    if len(before) % 2 == 0 or not len(after):
        return None
    return Straight(at + along * float(before.max()), at + along * float(after.min()))


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
    aspect = max(plan.buy, 1.0) / plan.choice.table_width
    beside = min((long - 40.0) / aspect, short - 65.0)
    upright = min((short - 40.0) / aspect, long - 65.0)
    return Size(short, long) if upright > beside else Size(long, short)


def _draw_page(pen: Pen, plan: LayPlan, title: str, units: Units, page: Size) -> None:
    free = Box(14.0, 13.0, page.width - 12.0, page.height - 11.0)
    style = styles.TITLE
    pen.text(Point(free.x0, free.y0 + style.size), shortened(title, style.size, free.width, style.face), style)
    y = free.y0 + style.size + 6.0
    pen.text(Point(free.x0, y), f"Lay plan: {heading(plan, units)}", styles.HEADING)
    for line in _lines(facts(plan, units), free.width):
        y += 4.6
        pen.text(Point(free.x0, y), line, styles.BODY)
    bottom = draw_lay(pen, plan, units, Box(free.x0, y + 3.5, free.x1, free.y1 - 6.0))
    pen.text(Point(free.x0, min(bottom + 4.0, free.y1)), "  ".join(key(plan)), styles.SMALL)


def key(plan: LayPlan) -> Iterator[str]:
    """Sentences on how to read the picture."""
    yield "The arrows lie along the grain and point to the top of each piece."
    if any(laid.piece.mirrored for laid in plan.laid):
        yield "Darker pieces lie printed side down."
    if plan.choice.fold is ClothFold.LENGTHWISE:
        yield "The cloth lies double, right sides together."
        if any(laid.piece.layers is Layers.SINGLE for laid in plan.laid):
            yield "Pieces marked neither on the fold nor both layers are cut from the upper layer only."


def _lines(parts: Sequence[str], width: float) -> list[str]:
    """The figures in as few lines as fit."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]} · {part}" if lines else part
        if lines and text_width(longer, styles.BODY.size) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines
