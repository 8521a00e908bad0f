"""How lines and fills look: colours, strokes and styles, as every room passes them on."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["BLACK", "Colour", "Stroke", "Style"]


@dataclass(frozen=True, slots=True)
class Colour:
    """Red, green and blue from 0 to 1 (sRGB as written in the source)."""

    red: float
    green: float
    blue: float

    @property
    def is_white(self) -> bool:
        """Whether printing it leaves no ink."""
        return min(self.red, self.green, self.blue) >= 0.999


BLACK = Colour(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn; width and dashes in mm. Caps and joins have the numbers of PDF and PostScript."""

    width: float
    colour: Colour = BLACK
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0
    cap: int = 0
    join: int = 0
    miter_limit: float = 4.0
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Style:
    """Stroke and fill of a path; None means not stroked, not filled."""

    stroke: Stroke | None = None
    fill: Colour | None = None
    fill_opacity: float = 1.0
    even_odd: bool = False

    @property
    def leaves_ink(self) -> bool:
        """Whether anything of it can be seen on white paper."""
        stroked = self.stroke is not None and not self.stroke.colour.is_white and self.stroke.opacity > 0
        filled = self.fill is not None and not self.fill.is_white and self.fill_opacity > 0
        return stroked or filled
