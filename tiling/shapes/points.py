"""Points, boxes and sizes: the smallest typed values. Millimetres, x to the right, y down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot

__all__ = ["Box", "Point", "Size"]


@dataclass(frozen=True, slots=True)
class Point:
    """A point, or the vector to it, in mm."""

    x: float
    y: float

    def __add__(self, other: Point) -> Point:
        return Point(self.x + other.x, self.y + other.y)

    def __sub__(self, other: Point) -> Point:
        return Point(self.x - other.x, self.y - other.y)

    def __mul__(self, factor: float) -> Point:
        return Point(self.x * factor, self.y * factor)

    __rmul__ = __mul__

    def __neg__(self) -> Point:
        return Point(-self.x, -self.y)

    def dot(self, other: Point) -> float:
        """Scalar product, mm²."""
        return self.x * other.x + self.y * other.y

    def cross(self, other: Point) -> float:
        """The z of the vector product, mm²; positive when `other` lies clockwise of `self` on the page (y down)."""
        return self.x * other.y - self.y * other.x

    @property
    def norm(self) -> float:
        """Length of the vector, mm."""
        return hypot(self.x, self.y)

    def unit(self) -> Point:
        """The vector of length 1 in the same direction; ZeroDivisionError for the null vector."""
        return Point(self.x / self.norm, self.y / self.norm)

    def distance(self, other: Point) -> float:
        """Distance to `other`, mm."""
        return hypot(self.x - other.x, self.y - other.y)


@dataclass(frozen=True, slots=True)
class Size:
    """Width and height in mm."""

    width: float
    height: float

    def turned(self) -> Size:
        """Width and height exchanged."""
        return Size(self.height, self.width)


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, x0 <= x1 and y0 <= y1, in mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Extent in x, mm."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Extent in y, mm."""
        return self.y1 - self.y0

    @property
    def size(self) -> Size:
        """Both extents."""
        return Size(self.width, self.height)

    @property
    def centre(self) -> Point:
        """The middle."""
        return Point((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)

    @property
    def corner(self) -> Point:
        """Top left corner."""
        return Point(self.x0, self.y0)

    def grown(self, by: float) -> Box:
        """The box with every side moved outwards by `by` mm (inwards when negative)."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def moved(self, dx: float, dy: float) -> Box:
        """The box shifted."""
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def union(self, other: Box) -> Box:
        """The smallest box around both."""
        return Box(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))

    def common(self, other: Box) -> Box | None:
        """The shared part, or None where they don't meet; touching edges give a box without area."""
        x0, y0 = max(self.x0, other.x0), max(self.y0, other.y0)
        x1, y1 = min(self.x1, other.x1), min(self.y1, other.y1)
        return Box(x0, y0, x1, y1) if x0 <= x1 and y0 <= y1 else None

    def meets(self, other: Box) -> bool:
        """Whether the closed boxes share a point."""
        return self.x0 <= other.x1 and other.x0 <= self.x1 and self.y0 <= other.y1 and other.y0 <= self.y1

    def covers(self, other: Box) -> bool:
        """Whether the other box lies in this one; edges may touch."""
        return self.x0 <= other.x0 and self.y0 <= other.y0 and other.x1 <= self.x1 and other.y1 <= self.y1

    def holds(self, point: Point) -> bool:
        """Whether the closed box contains the point."""
        return self.x0 <= point.x <= self.x1 and self.y0 <= point.y <= self.y1

    def apart(self, other: Box) -> float:
        """The largest distance between two like sides of the boxes, mm."""
        return max(abs(self.x0 - other.x0), abs(self.y0 - other.y0), abs(self.x1 - other.x1), abs(self.y1 - other.y1))

    @classmethod
    def around(cls, boxes: Iterable[Box]) -> Box | None:
        """The smallest box around all of them, None for none."""
        whole: Box | None = None
        for box in boxes:
            whole = box if whole is None else whole.union(box)
        return whole
