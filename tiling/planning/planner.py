"""From a pattern and options to a `PrintPlan`: which window of the drawing is printed on which page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from math import ceil, floor

import numpy as np

from calibrate.papers import Paper
from calibrate.printable import single_spaced
from calibrate.printer_scale import PageCorrection
from calibrate.run import Run
from tiling.failures import UsageWrong
from tiling.pattern import Pattern
from tiling.planning.fewest import FewestTiles, GridAxis, Layout
from tiling.planning.occupancy import Raster, occupancy
from tiling.planning.papers import COMMON, LONGEST_ROLL
from tiling.planning.plan import (
    EmptyPages,
    Grid,
    GridCell,
    Margins,
    Orientation,
    Placement,
    PrintPlan,
    Tile,
    parts_of_cells,
    sheet_size,
    tile_name,
)
from tiling.reading.options import LONGEST_TITLE
from tiling.shapes import Point, Size

__all__ = [
    "DEFAULT_MARGIN",
    "DEFAULT_OVERLAP",
    "GridMode",
    "PageCounter",
    "PaperCount",
    "PlanOptions",
    "counts_by_paper",
    "plan_pages",
    "window_of",
]

DEFAULT_MARGIN = 10.0
"""mm. Home printers leave 3 to 6.4 mm blank on most edges and up to 12.7 mm at some ink-jets' feed end (from memory);
10 mm is safe on nearly all, and a printer that was measured has its own border."""

DEFAULT_OVERLAP = 10.0
"""mm: wide enough for glue or tape and for the join marks."""

MIN_OVERLAP = 5.0
"""mm. A narrower strip holds neither tape nor join marks."""

MIN_CORE = 20
"""mm of a window that lies under no neighbour, the least along either side."""

ROLL_ROOM = 160
"""mm of free paper below the drawing on a roll, for title, page map and test square."""

ROLL_LEAD = 5
"""mm of free paper before the drawing on a roll."""


class GridMode(StrEnum):
    """Where the grid lies: where it prints the fewest tiles, or with A1 at the drawing's own corner."""

    FEWEST = "fewest"
    AS_DRAWN = "as-drawn"


@dataclass(frozen=True, slots=True)
class PlanOptions:
    """What the person chose. Lengths in mm.

    Attributes:
        overlap: how much neighbouring tiles share at least; rounded up to a whole mm.
        correction: of the printer, as measured on a portrait page: `across` the paper's way through the printer and
            `down` along it. A landscape page goes through the printer the same way, so the two change places there.
        title: overrides the pattern's title.
        placements: where pieces were laid anew, kept in the plan.
        empty: which pages are printed on which nothing is drawn.
    """

    paper: Paper
    orientation: Orientation = Orientation.AUTO
    margins: Margins = field(default_factory=lambda: Margins.even(DEFAULT_MARGIN))
    overlap: float = DEFAULT_OVERLAP
    grid: GridMode = GridMode.FEWEST
    correction: PageCorrection = field(default_factory=PageCorrection)
    title: str = ""
    placements: tuple[Placement, ...] = ()
    empty: EmptyPages = EmptyPages.BRIDGE


@dataclass(frozen=True, slots=True)
class PaperCount:
    """How many tiles a paper needs, with the best grid and with the drawing's own corner."""

    paper: Paper
    orientation: Orientation
    tiles: int
    tiles_as_drawn: int


@dataclass(frozen=True, slots=True)
class _Turned:
    """The options on one orientation of the sheet."""

    orientation: Orientation
    page: Size
    correction: PageCorrection
    across: GridAxis
    down: GridAxis


@dataclass(frozen=True, slots=True, eq=False)
class PageCounter:
    """Plans the pages of a drawing again and again as paper, margins and overlap change, without reading its ink anew.

    `ink` is the pattern's `occupancy`.
    """

    pattern: Pattern
    ink: Raster

    @classmethod
    def of(cls, pattern: Pattern, run: Run = Run()) -> PageCounter:
        """The counter of a pattern.

        Raises:
            InputUnfit: nothing visible is drawn, or the drawing is too large.
            Cancelled: by `run`.
        """
        return cls(pattern, occupancy(pattern, run))

    def plan(self, options: PlanOptions, run: Run = Run()) -> PrintPlan:
        """The plan with the fewest printed tiles that the options allow.

        Between orientations the fewest tiles decide, then the least paper (on a roll), the fewest joins cut, the most
        room, and portrait.

        Raises:
            UsageWrong: margins, overlap and paper leave no room; the message has the numbers.
            Cancelled: by `run`.
        """
        if options.overlap < MIN_OVERLAP:
            raise UsageWrong(
                f"An overlap of {options.overlap:g} mm leaves no room for tape and join marks; "
                f"use {MIN_OVERLAP:g} mm or more."
            )
        turn, layout = _best(self.ink, _tied(self.ink, options, run), options, run)
        return _plan(self.pattern, options, turn, layout, _tiles_as_drawn(self.ink, options))

    def count(self, paper: Paper, run: Run = Run()) -> PaperCount:
        """How many tiles that paper takes with the usual margins and overlap.

        Raises:
            UsageWrong: the paper is too small for them.
            Cancelled: by `run`.
        """
        options = PlanOptions(paper)
        turn, layout = _best(self.ink, _tied(self.ink, options, run), options, run)
        tiles = layout.count + len(_bridges(self.pattern, options, _grid(turn, layout), _printed(layout)))
        return PaperCount(paper, turn.orientation, tiles, _tiles_as_drawn(self.ink, options))


def plan_pages(pattern: Pattern, options: PlanOptions, run: Run = Run()) -> PrintPlan:
    """The plan with the fewest printed tiles that the options allow, see `PageCounter.plan`.

    Raises:
        UsageWrong: margins, overlap and paper leave no room; the message has the numbers.
        InputUnfit: nothing visible is drawn, or the drawing is too large.
        Cancelled: by `run`.
    """
    return PageCounter.of(pattern, run).plan(options, run)


def counts_by_paper(pattern: Pattern, run: Run = Run()) -> tuple[PaperCount, ...]:
    """How many tiles each of the common papers needs with the usual margins and overlap.

    Raises:
        InputUnfit: nothing visible is drawn, or the drawing is too large.
        Cancelled: by `run`.
    """
    counter = PageCounter.of(pattern, run)
    return tuple(counter.count(paper, run) for paper in COMMON)


def window_of(page: Size, margins: Margins, correction: PageCorrection) -> Size:
    """The largest window of whole mm that, once corrected, lies between the margins.

    Raises:
        UsageWrong: nothing is left between the margins.
    """
    width, height = page.width - margins.left - margins.right, page.height - margins.top - margins.bottom
    if min(width, height) < 1 or min(margins.left, margins.top, margins.right, margins.bottom) < 0:
        raise UsageWrong(
            f"Margins of {margins.left:g}, {margins.top:g}, {margins.right:g} and {margins.bottom:g} mm (left, top, "
            f"right, bottom) leave no room on a page of {page.width:g} x {page.height:g} mm; use smaller margins."
        )
    # A hair more than the quotient, so that 190 / 1.0 stays 190.
    return Size(floor(width / correction.across + 1e-9), floor(height / correction.down + 1e-9))


def _tied(ink: Raster, options: PlanOptions, run: Run) -> list[tuple[_Turned, FewestTiles]]:
    """The orientations that need equally few tiles."""
    found = [(turn, _fewest(ink, turn, options, run)) for turn in _turns(options, ink)]
    least = min(fewest.count for _, fewest in found)
    return [(turn, fewest) for turn, fewest in found if fewest.count == least]


def _best(
    ink: Raster, tied: Sequence[tuple[_Turned, FewestTiles]], options: PlanOptions, run: Run
) -> tuple[_Turned, Layout]:
    """The best layout over the given orientations."""
    layouts = ((turn, _layout(ink, turn, fewest.layout(run), options)) for turn, fewest in tied)
    return min(layouts, key=lambda pair: _merit(pair[0], pair[1], options))


def _tiles_as_drawn(ink: Raster, options: PlanOptions) -> int:
    """How many tiles the drawing's own corner needs."""
    corner = replace(options, grid=GridMode.AS_DRAWN)
    return min(_fewest(ink, turn, corner, Run()).count for turn in _turns(corner, ink))


def _turns(options: PlanOptions, ink: Raster) -> list[_Turned]:
    return [_turned(options, orientation, ink) for orientation in options.orientation.choices]


def _turned(options: PlanOptions, orientation: Orientation, ink: Raster) -> _Turned:
    paper, correction = options.paper, options.correction
    landscape = orientation is Orientation.LANDSCAPE
    if landscape:
        correction = replace(correction, across=correction.down, down=correction.across)
    if paper.roll:
        page = _roll_page(options, ink, correction, landscape)
    else:
        page = sheet_size(paper.turned() if landscape else paper)
    window = window_of(page, options.margins, correction)
    overlap = ceil(options.overlap - 1e-9)
    if min(window.width, window.height) < 2 * overlap + MIN_CORE:
        raise UsageWrong(
            f"Paper {paper.name} ({page.width:g} x {page.height:g} mm) less its margins leaves a window of "
            f"{window.width:g} x {window.height:g} mm; with an overlap of {overlap} mm on both sides less than "
            f"{MIN_CORE} mm of it would be new. Use larger paper, smaller margins or less overlap."
        )
    across, down = GridAxis(int(window.width), overlap), GridAxis(int(window.height), overlap)
    return _Turned(orientation, page, correction, across, down)


def _roll_page(options: PlanOptions, ink: Raster, correction: PageCorrection, landscape: bool) -> Size:
    """The piece of the roll that takes the drawing's whole length, and room for title and test square."""
    box, margins, roll = ink.box, options.margins, options.paper.width
    start, end = (box.x0, box.x1) if landscape else (box.y0, box.y1)
    if options.grid is GridMode.AS_DRAWN:
        start = min(start, 0.0)
    along = end - start + ROLL_ROOM
    if landscape:
        length = ceil(along * correction.across + margins.left + margins.right)
        return Size(min(float(length), LONGEST_ROLL), roll)
    length = ceil(along * correction.down + margins.top + margins.bottom)
    return Size(roll, min(float(length), LONGEST_ROLL))


def _fewest(ink: Raster, turn: _Turned, options: PlanOptions, run: Run) -> FewestTiles:
    if options.grid is GridMode.AS_DRAWN:
        return FewestTiles.at(ink, turn.across, turn.down, (0, 0))
    return FewestTiles.of_all_shifts(ink, turn.across, turn.down, run)


def _layout(ink: Raster, turn: _Turned, layout: Layout, options: PlanOptions) -> Layout:
    """The layout as it is printed: on a roll that it fills from side to side, the drawing lies at its start."""
    if options.paper.roll and options.grid is GridMode.FEWEST:
        # The free room in one piece, behind the drawing.
        if turn.orientation is Orientation.LANDSCAPE and layout.printed.shape[1] == 1:
            return replace(layout, x0=ink.x0 - ROLL_LEAD)
        if turn.orientation is Orientation.PORTRAIT and layout.printed.shape[0] == 1:
            return replace(layout, y0=ink.y0 - ROLL_LEAD)
    return layout


def _merit(turn: _Turned, layout: Layout, options: PlanOptions) -> tuple[float, ...]:
    count, *rest = layout.merit
    paper = count * turn.page.width * turn.page.height if options.paper.roll else 0.0
    return (count, paper, *rest)


def _plan(pattern: Pattern, options: PlanOptions, turn: _Turned, layout: Layout, as_drawn: int) -> PrintPlan:
    if options.grid is GridMode.AS_DRAWN:
        layout = _from_corner(layout, turn)
    grid, printed = _grid(turn, layout), _printed(layout)
    bridges = _bridges(pattern, options, grid, printed)
    tiles: list[Tile] = []
    skipped: list[str] = []
    for row in range(grid.rows):
        for column in range(grid.columns):
            name = tile_name(row, column)
            if (row, column) in printed or (row, column) in bridges:
                tiles.append(Tile(name, row, column, grid.box(row, column)))
            else:
                skipped.append(name)
    return PrintPlan(
        title=single_spaced(options.title or pattern.title)[:LONGEST_TITLE],
        paper=options.paper,
        page_size=turn.page,
        orientation=turn.orientation,
        margins=options.margins,
        grid=grid,
        tiles=tuple(tiles),
        skipped=tuple(skipped),
        layout_size=pattern.size,
        correction=turn.correction,
        placements=options.placements,
        scale=pattern.scale,
        bridges=frozenset(tile_name(*cell) for cell in bridges),
        pages_as_drawn=as_drawn,
        grid_shift=Point(_smallest_move(layout.x0, turn.across.step), _smallest_move(layout.y0, turn.down.step)),
    )


def _grid(turn: _Turned, layout: Layout) -> Grid:
    window, overlap = Size(float(turn.across.window), float(turn.down.window)), float(turn.across.overlap)
    return Grid(Point(float(layout.x0), float(layout.y0)), window, overlap, *layout.printed.shape)


def _printed(layout: Layout) -> frozenset[GridCell]:
    """The cells on which something is drawn that lies on no other."""
    return frozenset((int(row), int(column)) for row, column in np.argwhere(layout.printed))


def _bridges(pattern: Pattern, options: PlanOptions, grid: Grid, printed: frozenset[GridCell]) -> frozenset[GridCell]:
    """The empty cells that are printed too."""
    if options.empty is EmptyPages.BRIDGE and len(parts_of_cells(printed)) == 1:
        return frozenset()
    from tiling.planning.bridges import bridges  # noqa: PLC0415 - heavy, and rarely needed

    return bridges(printed, grid.box, pattern, options.empty)


def _from_corner(layout: Layout, turn: _Turned) -> Layout:
    """The layout with empty tiles put before it: A1 lies at the drawing's corner (or before, where ink does)."""
    left, top = max(layout.x0 // turn.across.step, 0), max(layout.y0 // turn.down.step, 0)
    return replace(
        layout,
        x0=layout.x0 - left * turn.across.step,
        y0=layout.y0 - top * turn.down.step,
        printed=np.pad(layout.printed, ((top, 0), (left, 0))),
    )


def _smallest_move(corner: int, step: int) -> float:
    """The smallest move of a grid of that step that brings a window to `corner`, from one at 0."""
    shift = corner % step
    return float(shift - step if 2 * shift > step else shift)
