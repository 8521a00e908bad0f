"""Affine moves of the plane, in the order of numbers that SVG and PDF both use."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, radians, sin

import numpy as np
from numpy.typing import NDArray

from tiling.shapes.points import Box, Point

__all__ = ["Affine"]


@dataclass(frozen=True, slots=True)
class Affine:
    """x' = a·x + c·y + e and y' = b·x + d·y + f (SVG `matrix(a b c d e f)`, PDF `a b c d e f cm`)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def shift(cls, dx: float, dy: float) -> Affine:
        """A translation."""
        return cls(e=dx, f=dy)

    @classmethod
    def scale(cls, x: float, y: float | None = None) -> Affine:
        """A scaling about the origin; one number scales both axes."""
        return cls(a=x, d=x if y is None else y)

    @classmethod
    def turn(cls, degrees: float, about: Point | None = None) -> Affine:
        """A rotation, clockwise on the page (y points down), about a point (default: the origin)."""
        cosine, sine = cos(radians(degrees)), sin(radians(degrees))
        spin = cls(cosine, sine, -sine, cosine)
        if about is None:
            return spin
        return cls.shift(about.x, about.y) @ spin @ cls.shift(-about.x, -about.y)

    def __matmul__(self, first: Affine) -> Affine:
        """`(self @ first)` applies `first`, then `self`."""
        return Affine(
            self.a * first.a + self.c * first.b,
            self.b * first.a + self.d * first.b,
            self.a * first.c + self.c * first.d,
            self.b * first.c + self.d * first.d,
            self.a * first.e + self.c * first.f + self.e,
            self.b * first.e + self.d * first.f + self.f,
        )

    @property
    def determinant(self) -> float:
        """Area factor; negative when the move mirrors."""
        return self.a * self.d - self.b * self.c

    @property
    def stretch(self) -> float:
        """The largest factor by which any length grows (largest singular value)."""
        mean, diff = hypot(self.a + self.d, self.b - self.c), hypot(self.a - self.d, self.b + self.c)
        return (mean + diff) / 2

    def inverse(self) -> Affine:
        """The move back; ZeroDivisionError when the plane is squashed flat."""
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def point(self, point: Point) -> Point:
        """One point moved."""
        return Point(self.a * point.x + self.c * point.y + self.e, self.b * point.x + self.d * point.y + self.f)

    def points(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """An (n, 2) array of points moved, as a new array."""
        moved: NDArray[np.float64] = points @ np.array(((self.a, self.b), (self.c, self.d)))
        moved += np.array((self.e, self.f))
        return moved

    def box(self, box: Box) -> Box:
        """The upright box around the moved box."""
        corners = [self.point(Point(x, y)) for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
        xs, ys = [p.x for p in corners], [p.y for p in corners]
        return Box(min(xs), min(ys), max(xs), max(ys))
