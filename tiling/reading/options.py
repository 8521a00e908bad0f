"""What a person may say about reading a drawing."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tiling.files.inputs import InputFile
from tiling.shapes import Point

__all__ = ["LARGEST_SCALE", "LONGEST_TITLE", "SMALLEST_SCALE", "ReadOptions", "TrueDistance"]

LONGEST_TITLE = 200
"""Characters; it is printed on every page."""


SMALLEST_SCALE, LARGEST_SCALE = 0.01, 100.0
"""By how much a drawing may be scaled: centimetres taken for inches, or points for centimetres, lie far within."""


@dataclass(frozen=True, slots=True)
class TrueDistance:
    """Two points on the drawing as it stands, mm from its top left corner, and how long that really is, mm.

    Raises:
        ValueError: the points are one, the length is none, or they make a scale out of bounds.
    """

    start: Point
    end: Point
    length: float

    def __post_init__(self) -> None:
        if not self.start.distance(self.end) > 0 or not SMALLEST_SCALE <= self.scale <= LARGEST_SCALE:
            raise ValueError(
                f"the points are {self.start.distance(self.end):.6g} mm apart, too far from {self.length:.6g} mm; "
                "check them and their units."
            )

    @property
    def scale(self) -> float:
        """What makes the distance so long."""
        return self.length / self.start.distance(self.end)


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """How a drawing is to be read.

    Attributes:
        layers: names of the layers to draw; empty draws what the file itself shows.
        pages: page numbers of a PDF from 1; empty takes all.
        px_per_inch: how many px the program that wrote an SVG counted to the inch; None is CSS's own 96, reported.
        notes: the pattern's notes; those of several drawings are taken together.
        scale: by what the drawing is scaled to its true size, or the distance in it that is known; None for as it is.
    """

    layers: tuple[str, ...] = ()
    pages: tuple[int, ...] = ()
    px_per_inch: float | None = None
    notes: tuple[InputFile, ...] = ()
    scale: float | TrueDistance | None = None

    def at_scale(self, scale: float) -> ReadOptions:
        """The same for a drawing that was scaled before, when printed or altered, where no other scale is asked for."""
        return self if self.scale is not None or scale == 1.0 else replace(self, scale=scale)
