"""Paints the test square's target onto a page: the shapes of `calibrate.target`, to a thousandth of a mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from calibrate.ink import Circle, InkLine, InkText, Rect, TextEnd
from tiling.lengths import MM_PER_POINT
from tiling.shapes import Point
from tiling.typefaces import drawn_with

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from calibrate.ink import Shape
    from calibrate.target import Target

__all__ = ["LABEL_FONT", "paint_target"]

LABEL_FONT = "Helvetica"
"""Labels are for people and are never measured."""

_BUTT, _MITRED = 0, 0


def paint_target(canvas: Canvas, target: Target, page_height: float, origin: Point | None = None) -> None:
    """Paint every shape of the target in its painting order.

    Args:
        canvas: a canvas whose user space is the page in points, y up; a transform set on it (a
            correction, for one) applies to the target too. Its state is the same afterwards.
        target: what to paint.
        page_height: height of the page in mm, from which y is measured downwards.
        origin: where the target's top left corner lies on the page, mm; the page's corner when left out.

    """
    corner = origin or Point(0.0, 0.0)
    canvas.saveState()
    # From here on: mm, with the target's own corner as origin and y still up (text is painted upright).
    canvas.translate(corner.x / MM_PER_POINT, (page_height - corner.y) / MM_PER_POINT)
    canvas.scale(1 / MM_PER_POINT, 1 / MM_PER_POINT)
    canvas.setLineCap(_BUTT)
    canvas.setLineJoin(_MITRED)
    for shape in target.shapes():
        _paint(canvas, shape)
    canvas.restoreState()


def _paint(canvas: Canvas, shape: Shape) -> None:
    """One shape, in mm, y down in the shape and up on the canvas."""
    match shape:
        case Rect():
            # Most of the target; reportlab's own calls cost ten times as much.
            place = f"{shape.x:.4f} {-shape.y - shape.height:.4f} {shape.width:.4f} {shape.height:.4f}"
            canvas.addLiteral(f"{shape.ink.value:g} g {place} re f")
        case InkLine():
            _pen(canvas, shape)
            path = canvas.beginPath()
            first, *rest = shape.points
            path.moveTo(first[0], -first[1])
            for x, y in rest:
                path.lineTo(x, -y)
            if shape.closed:
                path.close()
            canvas.drawPath(path, stroke=1, fill=0)
        case Circle():
            _pen(canvas, shape)
            canvas.circle(shape.x, -shape.y, shape.radius, stroke=1, fill=0)
        case InkText():
            _write(canvas, shape)


def _pen(canvas: Canvas, shape: InkLine | Circle) -> None:
    canvas.setStrokeGray(shape.ink.value)
    canvas.setLineWidth(shape.width)
    canvas.setDash(list(shape.dashes), 0)


def _write(canvas: Canvas, label: InkText) -> None:
    canvas.saveState()
    canvas.setFillGray(label.ink.value)
    canvas.translate(label.x, -label.y)
    canvas.rotate(-label.turn)
    canvas.setFont(drawn_with(LABEL_FONT), label.height)
    draw = {
        TextEnd.START: canvas.drawString,
        TextEnd.MIDDLE: canvas.drawCentredString,
        TextEnd.END: canvas.drawRightString,
    }[label.anchor]
    draw(0, 0, label.text)
    canvas.restoreState()
