"""The printed target: the 100 mm test square with its ring of markers, described in mm.

Nothing here draws: a target is a list of shapes (see :mod:`calibrate.ink`) for whoever paints the page, and
a list of measuring points for whoever reads the photo. Both come from the same numbers, so they can't drift.

The measuring points are saddles: where two black squares touch corner to corner. Ink that spreads, or a pen
width more or less of toner, moves an edge but leaves a saddle where it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from calibrate.area import Area
from calibrate.cardplace import CARD_HEIGHT, CARD_WIDTH, card_place
from calibrate.code import PLACES, RING, Message, digits_of, number_at
from calibrate.ink import InkLine, InkText, InkTone, Rect, Shape, TextEnd
from calibrate.printer_scale import PrinterScale

SQUARE = 100.0
"""Side of the test square, mm."""
INCHES = 101.6
"""Side of the square of four inches from the same corner, mm."""
MARKER = 7.0
"""Side of a marker, mm: five cells and a black border of one cell."""
SADDLE = 3.0
"""Side of each of the two squares that touch in a saddle, mm."""
TICKS = 14
"""How many millimetres of border the ticks at each edge show."""

_HALF_RING = 60.0
_RING_STEP = 20.0
_EDGE = 11.5  # from the field's edge to the middle of the outermost marks: 8 mm clear of the edge
_CELL = MARKER / 7
_WIDEST, _TALLEST = 300.0, 360.0
_FIELD_WIDTH, _FIELD_HEIGHT = 210.0, 297.0
_LEAST, _LEAST_LONG = 148.0, 200.0
_NARROW = 165.0  # below this, ticks and ring would meet half way along the edge
_TICKS_CLEAR = 36.0
_FOOT = 24.0
_SPACING = 38.0


@dataclass(frozen=True, slots=True)
class Marker:
    """A square of coded cells: its place (0 to 27), its number and its middle, mm."""

    place: int
    number: int
    x: float
    y: float

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Top left, top right, bottom right, bottom left, mm."""
        h = MARKER / 2
        return tuple((self.x + dx * h, self.y + dy * h) for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


@dataclass(frozen=True, slots=True)
class Saddle:
    """A measuring point: two black squares touch here.

    ``slope`` is 1 where the black squares lie top left and bottom right of the point, -1 where they lie top
    right and bottom left.
    """

    name: str
    x: float
    y: float
    slope: int


@dataclass(frozen=True, slots=True)
class Target:
    """A target laid out on a page.

    ``field`` is the part of the page it takes up, from the page's top left corner: the whole sheet where
    ``message.whole_sheet``, else the size of an A4 sheet. ``square`` is the 100 mm test square, ``card`` the
    card's outline, ``coin`` the middle of the coin's place (with ``coin_radius``). ``title_band`` and
    ``foot_band`` are left free for words (and, on the first page, the page map); the foot band may have no
    height on a small page.
    """

    message: Message
    field: Area
    square: Area
    card: Area
    coin: tuple[float, float]
    coin_radius: float
    title_band: Area
    foot_band: Area
    markers: tuple[Marker, ...]
    saddles: tuple[Saddle, ...]

    def shapes(self) -> tuple[Shape, ...]:
        """Everything to paint, in painting order."""
        return (
            *card_place(self.card, self.coin, self.coin_radius),
            *_square_shapes(self.square),
            *(shape for marker in self.markers for shape in _marker_shapes(marker)),
            *(shape for saddle in self.saddles for shape in _saddle_shapes(saddle)),
            *_tick_shapes(self),
        )


def make_target(width: float, height: float, correction: PrinterScale | None = None) -> Target:
    """Lay a target out on a page of ``width`` x ``height`` mm.

    Sheets up to 300 x 360 mm carry the target all over; a larger sheet or a roll carries it, the size of an
    A4 sheet, at its top left. ``correction`` is what the page's content will be divided by when it is
    painted; the target only states it.

    Raises:
        ValueError: the page is smaller than 148 x 200 mm.
    """
    if min(width, height) < _LEAST or max(width, height) < _LEAST_LONG:
        text = f"a page of {width:g} x {height:g} mm can't hold the test square: use at least 148 x 200 mm"
        raise ValueError(text)
    whole = width <= _WIDEST and height <= _TALLEST
    field_width = round(width, 1) if whole else min(round(width, 1), _FIELD_WIDTH)
    field_height = round(height, 1) if whole else min(round(height, 1), _FIELD_HEIGHT)
    stated = (correction or PrinterScale()).rounded()
    return target_of(Message(field_width, field_height, whole, stated))


def target_of(message: Message) -> Target:
    """The target whose markers say ``message``."""
    return _laid_out(message)


@lru_cache(maxsize=32)
def _laid_out(message: Message) -> Target:
    field = Area(0.0, 0.0, message.width, message.height)
    x, y, title, foot = _places(field)
    square = Area(x - SQUARE / 2, y - SQUARE / 2, SQUARE, SQUARE)
    digits = digits_of(message)
    middles = [*_ring(x, y, 0.0), *_corners(field)]
    return Target(
        message=message,
        field=field,
        square=square,
        card=Area(x - CARD_WIDTH / 2, square.y + 7.2, CARD_WIDTH, CARD_HEIGHT),
        coin=(x, square.y + 83.3),
        coin_radius=15.5,
        title_band=title,
        foot_band=foot,
        markers=tuple(Marker(p, number_at(p, digits), *middles[p]) for p in range(PLACES)),
        saddles=(*_ring_saddles(x, y), *_edge_saddles(field, square)),
    )


def _places(field: Area) -> tuple[float, float, Area, Area]:
    """The middle of the ring, and the bands left free for words above and below it (or beside it)."""
    outer = _HALF_RING + MARKER / 2
    clear = _EDGE + 9.5
    if field.width > field.height:  # a sheet lying down: words to the left
        x = max(field.width - clear - outer, field.width / 2)
        y = field.height / 2
        title = Area(clear, clear, max(x - outer - 5 - clear, 0.0), field.height - 2 * clear)
        return x, y, title, Area(clear, field.bottom - clear, 0.0, 0.0)
    x = field.width / 2
    spare = field.height - 2 * clear - 2 * outer
    foot = min(_FOOT, max(0.0, spare * 0.3))
    y = max(field.height - clear - foot - outer, field.height / 2) if spare > 0 else field.height / 2
    width = field.width - 2 * clear
    top, bottom = y - outer - 5, y + outer + 5
    return (
        x,
        y,
        Area(clear, clear, width, max(top - clear, 0.0)),
        Area(clear, bottom, width, max(field.height - clear - bottom, 0.0)),
    )


def _ring(x: float, y: float, ahead: float) -> list[tuple[float, float]]:
    """Twenty-four points around the ring, clockwise from its top left, each ``ahead`` mm further on."""
    points: list[tuple[float, float]] = []
    side = RING // 4
    for n in range(RING):
        along = (n % side) * _RING_STEP + ahead - _HALF_RING
        dx, dy = {
            0: (along, -_HALF_RING),
            1: (_HALF_RING, along),
            2: (-along, _HALF_RING),
            3: (-_HALF_RING, -along),
        }[n // side]
        points.append((x + dx, y + dy))
    return points


def _corners(field: Area) -> list[tuple[float, float]]:
    left, top, right, bottom = _EDGE, _EDGE, field.width - _EDGE, field.height - _EDGE
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _ring_saddles(x: float, y: float) -> tuple[Saddle, ...]:
    return tuple(Saddle(f"r{n}", px, py, 1 if n % 2 else -1) for n, (px, py) in enumerate(_ring(x, y, _RING_STEP / 2)))


def _edge_saddles(field: Area, square: Area) -> tuple[Saddle, ...]:
    """Saddles along the field's four edges, where the ring leaves room for them."""
    ring = square.grown(_HALF_RING - SQUARE / 2 + MARKER / 2 + SADDLE + 1.5)
    right, bottom = field.width - _EDGE, field.height - _EDGE
    # The middle of each edge belongs to the ticks.
    across, down = _stations(field.width), _stations(field.height)
    places = [
        *(("t", p, _EDGE) for p in across),
        *(("b", p, bottom) for p in across),
        *(("l", _EDGE, p) for p in down),
        *(("e", right, p) for p in down),
    ]
    return tuple(
        Saddle(f"{side}{n}", px, py, 1 if n % 2 else -1)
        for n, (side, px, py) in enumerate(places)
        if not ring.holds(px, py)
    )


def _stations(length: float) -> list[float]:
    """Where saddles stand along an edge of ``length`` mm: evenly, an even number, none in the middle."""
    first, last = _EDGE + 10.0, length - _EDGE - 10.0
    gaps = max(1, math.ceil((last - first) / _SPACING))
    gaps += 1 - gaps % 2
    return [first + (last - first) * n / gaps for n in range(gaps + 1)]


def _saddle_shapes(saddle: Saddle) -> tuple[Shape, ...]:
    x, y, s = saddle.x, saddle.y, SADDLE
    if saddle.slope > 0:
        return (Rect(x - s, y - s, s, s), Rect(x, y, s, s))
    return (Rect(x, y - s, s, s), Rect(x - s, y, s, s))


def _marker_shapes(marker: Marker) -> tuple[Shape, ...]:
    """A black square and its white cells; runs of white in a row are one rectangle."""
    from calibrate.marker_cells import marker_cells  # noqa: PLC0415 - the marker tables are a heavy import

    left, top = marker.x - MARKER / 2, marker.y - MARKER / 2
    shapes: list[Shape] = [Rect(left, top, MARKER, MARKER)]
    for row, cells in enumerate(marker_cells(marker.number)):
        start = 0
        while start < len(cells):
            end = start
            while end < len(cells) and cells[end]:
                end += 1
            if end > start:
                shapes.append(
                    Rect(left + start * _CELL, top + row * _CELL, (end - start) * _CELL, _CELL, InkTone.PAPER)
                )
            start = end + 1
    return tuple(shapes)


def _square_shapes(square: Area) -> tuple[Shape, ...]:
    """The 100 mm square, and a dashed square of four inches from the same top left corner.

    A ruler measures from the outside of one line to the inside of the opposite one, so lines lie centred on
    the sides.
    """
    x, y = square.x, square.y
    middle, centre = x + SQUARE / 2, y + SQUARE / 2
    far = INCHES
    inches = ((x + SQUARE, y), (x + far, y), (x + far, y + far), (x, y + far), (x, y + SQUARE))
    corners = ((x, y), (square.right, y), (square.right, square.bottom), (x, square.bottom))
    return (
        InkLine(inches, 0.15, dashes=(1.2, 0.8)),
        InkLine(corners, 0.25, closed=True),
        InkText(middle, y - 1.6, "100 mm", 3.2),
        InkText(x - 1.6, centre, "100 mm", 3.2, turn=-90.0),
        InkText(middle, y + far + 3.4, "dashed: 4 in", 2.6),
        InkText(x + far + 3.4, centre, "dashed: 4 in", 2.6, turn=-90.0),
    )


@dataclass(frozen=True, slots=True)
class TickSpine:
    """The line that carries a side's ticks: where it meets the sheet's edge, page mm, and the unit vector inwards."""

    outer_end: tuple[float, float]
    inward: tuple[float, float]


def tick_spines(field: Area) -> dict[str, TickSpine]:
    """The ticks' line at each side of the field."""
    x = field.width / 2 if field.height >= _NARROW else _TICKS_CLEAR
    y = field.height / 2 if field.width >= _NARROW else _TICKS_CLEAR
    return {
        "left": TickSpine((0.0, y), (1.0, 0.0)),
        "top": TickSpine((x, 0.0), (0.0, 1.0)),
        "right": TickSpine((field.width, y), (-1.0, 0.0)),
        "bottom": TickSpine((x, field.height), (0.0, -1.0)),
    }


def _tick_shapes(target: Target) -> tuple[Shape, ...]:
    """A black spine that runs off each edge, a tick at every millimetre, every second one numbered."""
    shapes: list[Shape] = []
    sides = tick_spines(target.field)
    if not target.message.whole_sheet:
        sides = {side: sides[side] for side in ("left", "top")}
    for spine in sides.values():
        (x, y), (ix, iy) = spine.outer_end, spine.inward
        ax, ay = abs(iy), abs(ix)  # along the edge
        end = (x + ix * TICKS, y + iy * TICKS)
        shapes.append(InkLine(((x, y), end), 1.0))
        for n in range(1, TICKS + 1):
            px, py, arm = x + ix * n, y + iy * n, 2.2 if n % 2 == 0 else 1.4
            shapes.append(InkLine(((px - ax * arm, py - ay * arm), (px + ax * arm, py + ay * arm)), 0.12))
            if n % 2 == 0:
                aside = 3.4 if n % 4 == 0 else -3.4
                shapes.append(InkText(px + ax * aside, py + ay * aside + 0.5, str(n), 1.5, TextEnd.MIDDLE))
    return tuple(shapes)
