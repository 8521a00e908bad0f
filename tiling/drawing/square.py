"""The test square on a page: the target that a photo of it is measured by, or the plain square for a ruler alone."""

from __future__ import annotations

from calibrate.area import Area
from calibrate.printer_scale import PageCorrection
from calibrate.target import Target, make_target
from tiling.drawing.pen import Anchor, Ink, Pen, Type, rectangle
from tiling.shapes import Box, Point, Size

__all__ = ["FOUR_INCHES", "box_of", "draw_plain_square", "target_for"]

_SQUARE = 100.0
FOUR_INCHES = 101.6
"""mm; the side of the dashed square drawn around the test square."""


def target_for(page: Size, correction: PageCorrection) -> Target | None:
    """The target of a page in mm, stating the correction already applied; None where the page is too small for it."""
    try:
        return make_target(page.width, page.height, correction.printer_scale())
    except ValueError:
        return None


def box_of(area: Area) -> Box:
    """A part of the target as a box, mm on its page."""
    return Box(area.x, area.y, area.right, area.bottom)


def draw_plain_square(pen: Pen, corner: Point) -> None:
    """Draw a square of 100 mm inside a dashed one of 4 in, lines centred on the sides, without markers."""
    x, y = corner.x, corner.y
    around = [
        Point(x + _SQUARE, y),
        Point(x + FOUR_INCHES, y),
        Point(x + FOUR_INCHES, y + FOUR_INCHES),
        Point(x, y + FOUR_INCHES),
        Point(x, y + _SQUARE),
    ]
    pen.polyline(around, Ink(0.0, 0.15, (1.2, 0.8)))
    pen.polyline(rectangle(Box(x, y, x + _SQUARE, y + _SQUARE)), Ink(0.0, 0.25), closed=True)
    label = Type(3.2, anchor=Anchor.MIDDLE)
    pen.text(Point(x + 50.0, y + 7.0), "100 mm", label)
    pen.text(Point(x + 7.0, y + 50.0), "100 mm", Type(3.2, anchor=Anchor.MIDDLE, turn=-90.0))
    pen.text(Point(x + 50.0, y + 97.0), "dashed: 4 in", Type(2.6, anchor=Anchor.MIDDLE))
