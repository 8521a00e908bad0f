"""The basic shapes of SVG as paths in user units (SVG 2, chapter 10: the same start points and directions)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from lxml import etree

from tiling.reading.svg_guard import local_name
from tiling.reading.svg_path import parse_path
from tiling.reading.svg_pen import PathPen
from tiling.reading.svg_scene import SvgScene
from tiling.reading.svg_units import Axis, ElementFault, numbers
from tiling.shapes import Path

__all__ = ["SHAPES", "ShapePath", "outline_of"]


@dataclass(frozen=True, slots=True)
class ShapePath:
    """A shape's path in user units, and what was wrong with its data ('' for nothing)."""

    path: Path
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class _Geometry:
    """Gives an element's geometry in user units; style rules come before attributes (SVG 2, section 6.6)."""

    element: etree._Element
    declared: dict[str, str]
    scene: SvgScene

    def text(self, name: str) -> str | None:
        found = self.declared.get(name) or self.element.get(name)
        return None if found is None or found.strip() == "auto" else found

    def side(self, name: str, axis: Axis, default: float = 0.0) -> float:
        return self.scene.length(self.text(name), axis, default)

    @property
    def scale(self) -> float:
        """The largest number of mm a user unit becomes."""
        return max(self.scene.to_sheet.stretch, 1e-9)


def outline_of(element: etree._Element, declared: dict[str, str], scene: SvgScene) -> ShapePath | None:
    """The outline of one of the `SHAPES`, None when it is disabled by a size of zero.

    Args:
        element: the shape.
        declared: what style rules say of it.
        scene: its surroundings.

    Raises:
        ElementFault: a number is not finite, or too large to reckon with.
    """
    try:
        return SHAPES[local_name(element)](_Geometry(element, declared, scene))
    except (OverflowError, ValueError):
        # Squares and roots of 1e300 and the like; the paths themselves are checked on the sheet.
        raise ElementFault("holds a number that is too large or not finite") from None


def _path(of: _Geometry) -> ShapePath:
    return ShapePath(*parse_path(of.element.get("d") or "", of.scale))


def _rect(of: _Geometry) -> ShapePath | None:
    x, y = of.side("x", Axis.X), of.side("y", Axis.Y)
    width, height = of.side("width", Axis.X), of.side("height", Axis.Y)
    if width <= 0 or height <= 0:
        return None
    rx, ry = of.side("rx", Axis.X, -1.0), of.side("ry", Axis.Y, -1.0)
    rx, ry = (ry if rx < 0 else rx), (rx if ry < 0 else ry)
    rx, ry = min(max(rx, 0.0), width / 2), min(max(ry, 0.0), height / 2)
    pen = PathPen(of.scale)
    right, bottom = x + width, y + height
    if rx <= 0 or ry <= 0:
        pen.move(x, y)
        pen.lines([right, y, right, bottom, x, bottom], False)
        pen.close()
        return ShapePath(pen.path())
    pen.move(x + rx, y)
    for (straight, rounded), need in (
        (((right - rx, y), (right, y + ry)), width > 2 * rx),
        (((right, bottom - ry), (right - rx, bottom)), height > 2 * ry),
        (((x + rx, bottom), (x, bottom - ry)), width > 2 * rx),
        (((x, y + ry), (x + rx, y)), height > 2 * ry),
    ):
        if need:
            pen.line(*straight)
        pen.arc((rx, ry), 0.0, (False, True), rounded)
    pen.close()
    return ShapePath(pen.path())


def _circle(of: _Geometry) -> ShapePath | None:
    radius = of.side("r", Axis.DIAGONAL)
    return _round(of, radius, radius)


def _ellipse(of: _Geometry) -> ShapePath | None:
    rx, ry = of.side("rx", Axis.X, -1.0), of.side("ry", Axis.Y, -1.0)
    return _round(of, ry if rx < 0 else rx, rx if ry < 0 else ry)


def _round(of: _Geometry, rx: float, ry: float) -> ShapePath | None:
    if rx <= 0 or ry <= 0:
        return None
    pen = PathPen(of.scale)
    pen.ellipse(of.side("cx", Axis.X), of.side("cy", Axis.Y), rx, ry)
    return ShapePath(pen.path())


def _line(of: _Geometry) -> ShapePath:
    pen = PathPen(of.scale)
    pen.move(of.side("x1", Axis.X), of.side("y1", Axis.Y))
    pen.line(of.side("x2", Axis.X), of.side("y2", Axis.Y))
    return ShapePath(pen.path())


def _polyline(of: _Geometry, *, closed: bool) -> ShapePath:
    values = numbers(of.element.get("points") or "")
    wrong = "has an odd number of coordinates; the last was left out" if len(values) % 2 else ""
    values = values[: len(values) // 2 * 2]
    pen = PathPen(of.scale)
    if values:
        pen.moves(values, False)
        if closed:
            pen.close()
    return ShapePath(pen.path(), wrong)


SHAPES: dict[str, Callable[[_Geometry], ShapePath | None]] = {
    "path": _path,
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
    "line": _line,
    "polyline": partial(_polyline, closed=False),
    "polygon": partial(_polyline, closed=True),
}
"""How each shape element is drawn."""
