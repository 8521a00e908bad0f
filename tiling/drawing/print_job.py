"""A print job: the plan with all that is settled before anything is drawn, page numbers and what is said among it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from calibrate.run import Run
from tiling.content.sheet_source import SheetSource, SourcePart
from tiling.drawing.block import Block, block_shapes
from tiling.drawing.checklines import CheckLine, check_lines, check_lines_on_sheet
from tiling.drawing.covered import covered_tiles
from tiling.drawing.helper_lines import with_thin_helpers
from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.name_block import place_of_block
from tiling.drawing.photo_marks import CODE_CLEAR, codes_of
from tiling.drawing.print_facts import PrintFacts, facts_of
from tiling.drawing.sources import parts_of, sources_of
from tiling.drawing.spots import Spots
from tiling.drawing.taping import Taping, taping_of
from tiling.pattern import Pattern
from tiling.planning.occupancy import Raster, occupancy
from tiling.planning.papers import takes_first_page
from tiling.planning.placing import placed
from tiling.planning.plan import PrintPlan
from tiling.shapes import Box, Point

if TYPE_CHECKING:
    from tiling.planning.printed import PrintedRecord
    from tiling.planning.reprint import Reprint  # loads shapely

__all__ = ["FrontPage", "PrintDetails", "PrintJob", "build_print_job"]

_CLEAR_OF_JOIN = 10.0


class FrontPage(Enum):
    """A page before the tiles: title and test square, or the page map."""

    SQUARE = "square"
    MAP = "map"


@dataclass(frozen=True, slots=True)
class PrintDetails:
    """Details of this one print.

    Attributes:
        date: to be printed; empty for none.
        reprint: what changes on the taped sheet.
        before: the record of the taped sheet, where its check lines are to be this print's too.
    """

    date: str = ""
    reprint: Reprint | None = None
    before: PrintedRecord | None = None

    @property
    def sheet(self) -> PrintedRecord | None:
        """The record of the taped sheet that this print belongs to."""
        return self.reprint.before if self.reprint is not None else self.before


@dataclass(frozen=True, slots=True)
class PrintJob:
    """All that is drawn, page by page.

    Attributes:
        pattern: the drawing as read.
        laid: the drawing with its pieces where the plan has them.
        sources: the drawing's contents.
        parts: the sources as they lie on the layout.
        front: the pages before the tiles.
        pages: the page number, from 1, of every tile that this file prints, by the tile's name.
        names: where on the layout each tile's name goes; None on a page too small for it.
        covered: names of the tiles where the drawing could hide our marks: there they are painted last.
        block: title, test square and map, where they lie on a tile.
        facts: what is said about the print.
        taping: how the sheet is taped.
    """

    plan: PrintPlan
    pattern: Pattern
    laid: Pattern
    sources: tuple[SheetSource, ...]
    parts: tuple[SourcePart, ...]
    spots: Spots
    check_lines: tuple[CheckLine, ...]
    details: PrintDetails
    front: tuple[FrontPage, ...]
    pages: Mapping[str, int]
    facts: PrintFacts
    taping: Taping
    names: Mapping[str, Box | None]
    covered: frozenset[str]
    block: Block | None = None

    @property
    def sheets(self) -> int:
        """How many sheets the printer takes: the file's pages."""
        return len(self.front) + len(self.pages)

    @property
    def square_page(self) -> int:
        """The number of the page with the test square, or 0 where there is none (a reprint)."""
        if self.block is not None:
            return self.pages[self.block.tile]
        return self.front.index(FrontPage.SQUARE) + 1 if FrontPage.SQUARE in self.front else 0


def build_print_job(
    plan: PrintPlan,
    pattern: Pattern,
    details: PrintDetails | None = None,
    ink: Raster | None = None,
    laid: Pattern | None = None,
    run: Run = Run(),
) -> PrintJob:
    """Settle what goes on which page.

    Sheets up to A3 get a first page, and a page map where there is more than one tile. From A2 up, and on a roll,
    title and square (and a small map) lie on the first tile that has room for them; where none has, they get pages.

    Args:
        plan: its `kept` tiles are not printed in this file; the others are numbered here.
        pattern: what is drawn, as read; the plan's placements say where its pieces lie.
        details: the date, if one is to be printed; what changes, of a reprint.
        ink: the layout's `occupancy` where the caller has it already.
        laid: the drawing as laid out, where that is more than its pieces moved; it is drawn from its marks.
        run: asked whether to go on.

    Raises:
        Cancelled: the run was ended.
        InputUnfit: the drawing is too large, or the content written for it can't be printed.
    """
    sources = sources_of(with_thin_helpers(laid or pattern), run)
    parts = parts_of(sources, pattern, () if laid else plan.placements)
    run.check()
    laid = laid or placed(pattern, plan.placements)
    spots = Spots(ink or occupancy(laid))
    run.check()
    details = details or PrintDetails()
    sheet = details.sheet
    lines = check_lines(plan, laid, spots) if sheet is None else check_lines_on_sheet(plan, laid, spots, sheet)
    crosses = [cross.at for line in lines for cross in (line.start, line.end)]
    codes = [code.box.grown(CODE_CLEAR) for tile in plan.tiles for code in codes_of(plan, tile)]
    spots = spots.without([*(Box(p.x, p.y, p.x, p.y).grown(7.0) for p in crosses), *codes])
    own_pages = takes_first_page(plan.paper) or details.reprint is not None
    block = None if own_pages else _block_on_sheet(plan, spots)
    if block is not None:
        spots = spots.without([block.box])
    front = _front_pages(plan, details, block)
    pages = {tile.name: page for page, tile in enumerate(plan.to_print, len(front) + 1)}
    facts = facts_of(plan, len(front) + len(pages), details.date, pattern.picked)
    names = {tile.name: place_of_block(plan, tile, spots) for tile in plan.to_print}
    run.check()
    own = [*(Box(p.x, p.y, p.x, p.y).grown(7.0) for p in crosses), *([block.box] if block else [])]
    covered = covered_tiles(plan, parts, spots, [*own, *(place for place in names.values() if place)])
    return PrintJob(
        plan, pattern, laid, sources, parts, spots, lines, details, front, pages, facts, taping_of(plan), names,
        covered, block,
    )  # fmt: skip


def _front_pages(plan: PrintPlan, details: PrintDetails, block: Block | None) -> tuple[FrontPage, ...]:
    """The test square came with the first print; one tile needs no map; a block has both on a tile."""
    if details.reprint is not None:
        return (FrontPage.MAP,)
    if block is not None:
        return ()
    return (FrontPage.SQUARE, FrontPage.MAP) if len(plan.tiles) > 1 else (FrontPage.SQUARE,)


def _block_on_sheet(plan: PrintPlan, spots: Spots) -> Block | None:
    """The first printed tile with room for the block, in any of its shapes, where nothing is drawn."""
    for tile in plan.to_print:
        joins = joins_of(plan, tile)
        within = kept_part(tile, joins).grown(-_CLEAR_OF_JOIN if joins else 0.0)
        for shape in block_shapes(plan):
            # On a roll the free paper lies after the drawing.
            near = Point(within.x0, within.y1) if plan.paper.roll else within.corner
            spot = spots.best(within, shape.size, near)
            if spot is not None and spot.free:
                return Block(tile.name, spot.box, shape)
    return None
