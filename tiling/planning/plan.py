"""The print plan: which window of the layout is printed on which page. Frozen values only.

Layout: the full-size drawing, mm, x right, y down. A *tile* is a window on it; a *page* is the sheet it is printed on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from calibrate.papers import Paper
from calibrate.printer_scale import PageCorrection
from tiling.shapes import Affine, Box, Point, Size

__all__ = [
    "JOIN_MARKS",
    "EmptyPages",
    "Grid",
    "GridCell",
    "Margins",
    "Orientation",
    "Placement",
    "PrintPlan",
    "Tile",
    "cells_beside",
    "parts_of_cells",
    "row_letters",
    "sheet_size",
    "tile_name",
]

GridCell = tuple[int, int]
"""Row and column of a grid, from 0; rows and columns added before the first print's are negative."""

JOIN_MARKS = (1, 2)
"""Versions of the marks at the joins that `drawing/joins.py` and `photo_marks.py` draw; a new sheet gets the last.

Pages printed at different times meet only where their marks are of one version. A change of what has to meet (join
lines, combs, checkers, codes, hatching) is a new version, and the record's format (`record/plan_record.py`) gets a new
version with it: editions that know only the ones before would otherwise draw those beside the new marks. Version 2 has
checkers on outer edges too, and codes.
"""


class Orientation(StrEnum):
    """How the sheet is turned for printing."""

    AUTO = "auto"
    PORTRAIT = "portrait"
    LANDSCAPE = "landscape"

    @property
    def choices(self) -> tuple[Orientation, ...]:
        """The ways in which the sheet may lie."""
        return (Orientation.PORTRAIT, Orientation.LANDSCAPE) if self is Orientation.AUTO else (self,)


class EmptyPages(StrEnum):
    """Which pages are printed on which nothing is drawn."""

    BRIDGE = "bridge"
    INSIDE = "inside"
    ALL = "all"


def sheet_size(paper: Paper) -> Size:
    """The sheet's sides, upright."""
    return Size(paper.width, paper.height)


@dataclass(frozen=True, slots=True)
class Margins:
    """What stays free of drawing along each edge of the page as printed, mm."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def even(cls, width: float) -> Margins:
        """The same on all sides."""
        return cls(width, width, width, width)


def row_letters(row: int) -> str:
    """Row 0 is A, 25 is Z, 26 is AA; rows added above the first print go on in small letters: a, b and so on."""
    if row < 0:
        return row_letters(-row - 1).lower()
    letters = ""
    row += 1
    while row:
        row, digit = divmod(row - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def tile_name(row: int, column: int) -> str:
    """Row letters and column number, from A1; columns added left of the first print are 0, -1 and so on."""
    return f"{row_letters(row)}{column + 1}"


@dataclass(frozen=True, slots=True)
class Grid:
    """A regular grid of overlapping windows.

    `origin` is the top left corner of window A1 on the layout; windows are `window` large (whole mm) and follow
    each other at `step` = window less overlap.
    """

    origin: Point
    window: Size
    overlap: float
    rows: int
    columns: int

    @property
    def step(self) -> Size:
        """From one window's corner to the next."""
        return Size(self.window.width - self.overlap, self.window.height - self.overlap)

    def box(self, row: int, column: int) -> Box:
        """The window of the tile in that row and column (from 0; any integers, also outside the grid)."""
        x = self.origin.x + column * self.step.width
        y = self.origin.y + row * self.step.height
        return Box(x, y, x + self.window.width, y + self.window.height)


@dataclass(frozen=True, slots=True)
class Tile:
    """One window. `row` and `column` count from 0; `name` is fixed once printed (later tiles get new names)."""

    name: str
    row: int
    column: int
    window: Box


def parts_of_cells(cells: Iterable[GridCell]) -> list[frozenset[GridCell]]:
    """The cells that hang together side to side, the first cell's part first."""
    left = dict.fromkeys(cells)
    parts = []
    while left:
        reached = [next(iter(left))]
        del left[reached[0]]
        for cell in reached:
            for near in cells_beside(cell):
                if near in left:
                    del left[near]
                    reached.append(near)
        parts.append(frozenset(reached))
    return parts


def cells_beside(cell: GridCell) -> tuple[GridCell, ...]:
    """The four that share a side with it."""
    row, column = cell
    return ((row, column + 1), (row, column - 1), (row + 1, column), (row - 1, column))


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a piece was laid anew: `move` goes from the drawing to the layout. `piece` is the piece's id."""

    piece: str
    move: Affine


@dataclass(frozen=True, slots=True)
class PrintPlan:
    """Everything that decides what is printed where.

    `page_size` is the sheet as printed (turned for landscape). `window_on_page` is where a tile's window lies on the
    page, mm from its top left corner, after the correction. `tiles` make the taped sheet, row by row; `kept` names
    those of them that an earlier file printed, `bridges` those on which nothing is drawn, printed to hold others or to
    leave no hole; `skipped` are the empty ones that are not. `shared`: pieces were laid over one another,
    each in its own line pattern.
    `pages_as_drawn` is the number of tiles the drawing's own corner and the given options would have needed.
    `scale` is what the drawing was multiplied by to be at its true size, as the person asked.
    `join_marks` is the version of the marks at the joins, one of `JOIN_MARKS` if it can be drawn.
    """

    title: str
    paper: Paper
    page_size: Size
    orientation: Orientation
    margins: Margins
    grid: Grid
    tiles: tuple[Tile, ...]
    skipped: tuple[str, ...]
    layout_size: Size
    correction: PageCorrection = field(default_factory=PageCorrection)
    placements: tuple[Placement, ...] = ()
    shared: bool = False
    kept: frozenset[str] = frozenset()
    pages_as_drawn: int = 0
    grid_shift: Point = field(default_factory=lambda: Point(0.0, 0.0))
    join_marks: int = JOIN_MARKS[-1]
    scale: float = 1.0
    bridges: frozenset[str] = frozenset()

    @property
    def to_print(self) -> tuple[Tile, ...]:
        """The tiles that this file prints, in page order."""
        return tuple(tile for tile in self.tiles if tile.name not in self.kept)

    @property
    def window_on_page(self) -> Box:
        """Where each tile's window lies on the page, mm from the top left corner, correction applied.

        The window is scaled by the correction and centred between the margins.
        """
        width = self.grid.window.width * self.correction.across
        height = self.grid.window.height * self.correction.down
        free = Box(
            self.margins.left,
            self.margins.top,
            self.page_size.width - self.margins.right,
            self.page_size.height - self.margins.bottom,
        )
        x, y = free.centre.x - width / 2, free.centre.y - height / 2
        return Box(x, y, x + width, y + height)

    def to_page(self, tile: Tile) -> Affine:
        """From the layout to the tile's page (mm from the page's top left corner, y down)."""
        spot = self.window_on_page
        return (
            Affine.shift(spot.x0, spot.y0)
            @ Affine.scale(self.correction.across, self.correction.down)
            @ Affine.shift(-tile.window.x0, -tile.window.y0)
        )
