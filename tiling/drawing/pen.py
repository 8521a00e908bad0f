"""The drawing surface: a few calls that furniture is made of, one pen that writes PDF and one that records.

All coordinates are mm, x right, y down. What a page shows can be tested as a list of calls before any PDF exists.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING, Protocol

from tiling.drawing.lettering import Face, font_for, text_width
from tiling.drawing.target import paint_target
from tiling.lengths import MM_PER_POINT
from tiling.shapes import Affine, Box, Point, Size

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from calibrate.target import Target

__all__ = ["Anchor", "Ink", "PdfPen", "Pen", "RecordingPen", "Type", "rectangle"]


class Anchor(Enum):
    """Which point of a line of text its place means; the value is the share of its width left of it."""

    START = 0.0
    MIDDLE = 0.5
    END = 1.0


@dataclass(frozen=True, slots=True)
class Ink:
    """A grey from 0 (black) to 1 (paper) and, for lines, a width and dashes in mm."""

    grey: float = 0.0
    width: float = 0.2
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Type:
    """How a text is set: size of the em in mm, weight, anchor, grey, and a turn in degrees clockwise."""

    size: float = 3.0
    face: Face = Face.PLAIN
    anchor: Anchor = Anchor.START
    grey: float = 0.0
    turn: float = 0.0


class Pen(Protocol):
    """What furniture is drawn with."""

    def polyline(self, points: Sequence[Point], ink: Ink, *, closed: bool = False) -> None:
        """Straight lines through the points."""

    def lines(self, ends: Sequence[tuple[Point, Point]], ink: Ink) -> None:
        """Separate straight lines, one stroke for all."""

    def fill(self, points: Sequence[Point], grey: float) -> None:
        """A filled polygon without an outline."""

    def text(self, at: Point, text: str, style: Type) -> None:
        """One line of text with `at` on its baseline."""

    def target(self, target: Target, corner: Point) -> None:
        """The printed target of `calibrate`, its top left corner at `corner`."""

    def under(self, move: Affine) -> Pen:
        """A pen for coordinates that `move` takes to this pen's."""


def rectangle(box: Box) -> list[Point]:
    """A box's corners, clockwise from its top left."""
    return [Point(box.x0, box.y0), Point(box.x1, box.y0), Point(box.x1, box.y1), Point(box.x0, box.y1)]


class PdfPen:
    """Draws on a reportlab canvas.

    Args:
        canvas: its user space is the page in units of `unit` points, y up.
        page: the page's size in mm.
        unit: points per unit of the page (its UserUnit).
        move: from the coordinates drawn in to mm on the page, y down.
    """

    def __init__(self, canvas: Canvas, page: Size, unit: float = 1.0, move: Affine | None = None) -> None:
        self._canvas = canvas
        self._page = page
        self._unit = unit
        self._move = move or Affine()
        self._scale = 1 / (MM_PER_POINT * unit)

    def polyline(self, points: Sequence[Point], ink: Ink, *, closed: bool = False) -> None:
        """See `Pen`."""
        with self._within():
            self._take(ink)
            self._canvas.drawPath(self._path(points, closed=closed), stroke=1, fill=0)

    def lines(self, ends: Sequence[tuple[Point, Point]], ink: Ink) -> None:
        """See `Pen`."""
        with self._within():
            self._take(ink)
            self._canvas.lines([(a.x, a.y, b.x, b.y) for a, b in ends])

    def fill(self, points: Sequence[Point], grey: float) -> None:
        """See `Pen`."""
        with self._within():
            self._canvas.setFillGray(grey)
            self._canvas.drawPath(self._path(points, closed=True), stroke=0, fill=1)

    def text(self, at: Point, text: str, style: Type) -> None:
        """See `Pen`."""
        with self._within():
            self._canvas.setFillGray(style.grey)
            self._canvas.setFont(font_for(text, style.face), style.size)
            self._canvas.translate(at.x, at.y)
            self._canvas.rotate(style.turn)
            self._canvas.scale(1, -1)
            self._canvas.drawString(-text_width(text, style.size, style.face) * style.anchor.value, 0, text)

    def target(self, target: Target, corner: Point) -> None:
        """See `Pen`."""
        self._canvas.saveState()
        s, m = self._scale, self._move
        # The painter measures y upwards from the page's foot, in points: turn its axes into ours.
        ours = Affine(s, 0, 0, -s, 0, self._page.height * s) @ m
        points = Affine(MM_PER_POINT, 0, 0, -MM_PER_POINT, 0, self._page.height)
        both = ours @ points
        self._canvas.transform(both.a, both.b, both.c, both.d, both.e, both.f)
        paint_target(self._canvas, target, self._page.height, corner)
        self._canvas.restoreState()

    def under(self, move: Affine) -> PdfPen:
        """See `Pen`."""
        return PdfPen(self._canvas, self._page, self._unit, self._move @ move)

    @contextmanager
    def _within(self) -> Iterator[None]:
        """mm, y down, as drawn in; the state is as before afterwards."""
        self._canvas.saveState()
        s, m = self._scale, self._move
        full = Affine(s, 0, 0, -s, 0, self._page.height * s) @ m
        self._canvas.transform(full.a, full.b, full.c, full.d, full.e, full.f)
        yield
        self._canvas.restoreState()

    def _take(self, ink: Ink) -> None:
        self._canvas.setStrokeGray(ink.grey)
        self._canvas.setLineWidth(ink.width)
        if ink.dashes:
            self._canvas.setDash(list(ink.dashes), 0)

    def _path(self, points: Sequence[Point], *, closed: bool) -> object:
        path = self._canvas.beginPath()
        first, *rest = points
        path.moveTo(first.x, first.y)
        for point in rest:
            path.lineTo(point.x, point.y)
        if closed:
            path.close()
        return path


@dataclass(frozen=True, slots=True)
class PenCall:
    """One call of a recording pen, in mm on the page: what was called, the points after all moves, text and style."""

    kind: str
    points: tuple[Point, ...]
    style: Ink | Type | None = None
    text: str = ""
    closed: bool = False


@dataclass(slots=True)
class RecordingPen:
    """Keeps the calls, for tests."""

    calls: list[PenCall] = field(default_factory=list)
    move: Affine = field(default_factory=Affine)

    def _moved(self, points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple(self.move.point(p) for p in points)

    def polyline(self, points: Sequence[Point], ink: Ink, *, closed: bool = False) -> None:
        """See `Pen`."""
        self.calls.append(PenCall("polyline", self._moved(points), ink, closed=closed))

    def lines(self, ends: Sequence[tuple[Point, Point]], ink: Ink) -> None:
        """See `Pen`; every line is a call of its own."""
        self.calls.extend(PenCall("line", self._moved(pair), ink) for pair in ends)

    def fill(self, points: Sequence[Point], grey: float) -> None:
        """See `Pen`."""
        self.calls.append(PenCall("fill", self._moved(points), Ink(grey), closed=True))

    def text(self, at: Point, text: str, style: Type) -> None:
        """See `Pen`."""
        self.calls.append(PenCall("text", self._moved([at]), style, text))

    def target(self, target: Target, corner: Point) -> None:
        """See `Pen`; the points are the test square's corners."""
        square = target.square
        box = Box(square.x, square.y, square.right, square.bottom).moved(corner.x, corner.y)
        self.calls.append(PenCall("target", self._moved(rectangle(box)), closed=True))

    def under(self, move: Affine) -> RecordingPen:
        """See `Pen`; calls go to the same list."""
        return RecordingPen(self.calls, self.move @ move)
