"""The halo of our marks: what is lightened around them, so that they are seen on dark ground too.

It is painted before the marks and over the drawing, and only lightens: on white paper nothing of it shows, a black
area turns grey along our marks, and a black line that runs under them stays darker than the paper around it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from calibrate.target import Target
from tiling.drawing.pen import Ink, Pen, Type
from tiling.shapes import Affine, Point

__all__ = ["HALO_GREY", "HaloPen"]

HALO_GREY = 0.7
"""Light enough to be seen on black, dark enough for a black line under it to be seen on white."""
_REACH = 0.15
"""On either side of a mark, mm: what a home printer still shows."""


@dataclass(frozen=True, slots=True)
class HaloPen:
    """Draws with another pen the halo of what it is told to draw; marks paler than the halo (hatching) get none."""

    pen: Pen

    def polyline(self, points: Sequence[Point], ink: Ink, *, closed: bool = False) -> None:
        """See `Pen`."""
        if ink.grey < HALO_GREY:
            self.pen.polyline(points, _widened(ink), closed=closed)

    def lines(self, ends: Sequence[tuple[Point, Point]], ink: Ink) -> None:
        """See `Pen`."""
        if ink.grey < HALO_GREY:
            self.pen.lines(ends, _widened(ink))

    def fill(self, points: Sequence[Point], grey: float) -> None:
        """See `Pen`; what is paper there is lightened whole, anything else around its edge."""
        if grey < HALO_GREY:
            self.pen.polyline(points, Ink(HALO_GREY, 2 * _REACH), closed=True)
        else:
            self.pen.fill(points, HALO_GREY)

    def text(self, at: Point, text: str, style: Type) -> None:
        """See `Pen`."""
        self.pen.text(at, text, replace(style, grey=HALO_GREY, contour=2 * _REACH))

    def target(self, target: Target, corner: Point) -> None:
        """See `Pen`; the target lies on a page of its own."""

    def under(self, move: Affine) -> HaloPen:
        """See `Pen`."""
        return HaloPen(self.pen.under(move))


def _widened(ink: Ink) -> Ink:
    return Ink(HALO_GREY, ink.width + 2 * _REACH, ink.dashes)
