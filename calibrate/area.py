"""An upright rectangle of a page, by which the target and what is laid on it are placed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Area:
    """An upright rectangle of the page, mm."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of its right side."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of its bottom side."""
        return self.y + self.height

    def grown(self, by: float) -> Area:
        """The rectangle with every side moved outwards."""
        return Area(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies inside."""
        return self.x <= x <= self.right and self.y <= y <= self.bottom
