"""The drawing surface: a few calls that furniture is made of, one pen that writes PDF and one that records.

All coordinates are mm, x right, y down. What a page shows can be tested as a list of calls before any PDF exists.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING, Protocol

from tiling.content.path_operators import path_operators
from tiling.drawing.lettering import Face, font_for, outlined, text_width
from tiling.drawing.target import paint_target
from tiling.lengths import MM_PER_POINT, decimal_number
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
    """How a text is set: size of the em in mm, weight, anchor, grey, and a turn in degrees clockwise.

    With a `contour` of some mm only the letters' outlines are drawn, so wide.
    """

    size: float = 3.0
    face: Face = Face.PLAIN
    anchor: Anchor = Anchor.START
    grey: float = 0.0
    turn: float = 0.0
    contour: float = 0.0


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
    """Draws on a reportlab canvas, in operators of its own: reportlab's calls cost ten times as much.

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
        scale = 1 / (MM_PER_POINT * unit)
        self._to_units = Affine(scale, 0, 0, -scale, 0, page.height * scale) @ self._move
        self._opening = f"q {_matrix(self._to_units)} cm"

    def polyline(self, points: Sequence[Point], ink: Ink, *, closed: bool = False) -> None:
        """See `Pen`."""
        self._write(f"{_stroke_operators(ink)} {_path_operators(points)} {'s' if closed else 'S'}")

    def lines(self, ends: Sequence[tuple[Point, Point]], ink: Ink) -> None:
        """See `Pen`."""
        path = " ".join(["%.3f %.3f m %.3f %.3f l" % (a.x, a.y, b.x, b.y) for a, b in ends])  # noqa: UP031 - quickest
        self._write(f"{_stroke_operators(ink)} {path} S")

    def fill(self, points: Sequence[Point], grey: float) -> None:
        """See `Pen`."""
        self._write(f"{grey:g} g {_path_operators(points)} h f")

    def text(self, at: Point, text: str, style: Type) -> None:
        """See `Pen`."""
        font = font_for(text, style.face)
        start = -text_width(text, style.size, style.face) * style.anchor.value
        move = Affine.shift(at.x, at.y) @ Affine.turn(style.turn) @ Affine(1.0, 0.0, 0.0, -1.0, start, 0.0)
        contour = f"{style.grey:g} G {style.contour:g} w 1 j " if style.contour else ""
        if font is None:
            outline = outlined(text, style.size, style.face).moved(move)
            paint = (
                f"{contour}{path_operators(outline)} S" if contour else f"{style.grey:g} g {path_operators(outline)} f"
            )
            self._write(paint if len(outline.ops) else "")
            return
        written = self._canvas.beginText()
        written.setFillGray(style.grey)
        written.setFont(font, style.size)
        written.setTextTransform(move.a, move.b, move.c, move.d, move.e, move.f)
        if contour:
            written.setTextRenderMode(1)
        written.textOut(text)
        self._write(f"{contour}{written.getCode()}")

    def target(self, target: Target, corner: Point) -> None:
        """See `Pen`."""
        self._canvas.saveState()
        # The painter measures y upwards from the page's foot, in points: turn its axes into ours.
        both = self._to_units @ Affine(MM_PER_POINT, 0, 0, -MM_PER_POINT, 0, self._page.height)
        self._canvas.transform(both.a, both.b, both.c, both.d, both.e, both.f)
        paint_target(self._canvas, target, self._page.height, corner)
        self._canvas.restoreState()

    def under(self, move: Affine) -> PdfPen:
        """See `Pen`."""
        return PdfPen(self._canvas, self._page, self._unit, self._move @ move)

    def _write(self, operators: str) -> None:
        """mm, y down, as drawn in; the state is as before afterwards."""
        self._canvas.addLiteral(f"{self._opening} {operators} Q")


def _matrix(move: Affine) -> str:
    return " ".join([decimal_number(value, 7) for value in (move.a, move.b, move.c, move.d, move.e, move.f)])


def _stroke_operators(ink: Ink) -> str:
    dashes = f" [{' '.join(f'{dash:g}' for dash in ink.dashes)}] 0 d" if ink.dashes else ""
    return f"{ink.grey:g} G {ink.width:g} w{dashes}"


def _path_operators(points: Sequence[Point]) -> str:
    """Straight lines through the points, to a thousandth of a mm."""
    first, *rest = ["%.3f %.3f" % (point.x, point.y) for point in points]  # noqa: UP031 - the quickest way by far
    return " ".join([f"{first} m", *[f"{place} l" for place in rest]])


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
