"""What is printed besides the tiles, settled before anything is drawn: first page, map, check lines, free places."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tiling.content.sheet_source import SheetSource, SourcePart
from tiling.drawing.block import Block, block_shapes
from tiling.drawing.change_map import SheetChanges
from tiling.drawing.checklines import CheckLine, check_lines
from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.sources import cuts_of, sources_of
from tiling.drawing.spots import Spots
from tiling.pattern import Pattern
from tiling.planning.occupancy import Raster, occupancy
from tiling.planning.papers import takes_first_page
from tiling.planning.placing import placed
from tiling.planning.plan import PrintPlan
from tiling.shapes import Box, Point

__all__ = ["PrintDetails", "PrintJob", "build_print_job"]

_CLEAR_OF_JOIN = 10.0


@dataclass(frozen=True, slots=True)
class PrintDetails:
    """What is said about this print: the date, as text, if at all; for a reprint, what changes on the taped sheet."""

    date: str = ""
    changes: SheetChanges | None = None


@dataclass(frozen=True, slots=True)
class PrintJob:
    """Everything `tiling.drawing.pdf` needs. The plan's page numbers count the pages before the first tile.

    `pattern` is the drawing as read, `laid` with its pieces where the plan has them; `sources` are its contents and
    `cuts` those as they lie on the layout.
    """

    plan: PrintPlan
    pattern: Pattern
    laid: Pattern
    sources: tuple[SheetSource, ...]
    cuts: tuple[SourcePart, ...]
    spots: Spots
    lines: tuple[CheckLine, ...]
    occasion: PrintDetails
    block: Block | None = None

    @property
    def has_first_page(self) -> bool:
        """Whether title and test square have a page of their own."""
        return self.block is None and self.occasion.changes is None

    @property
    def has_map_page(self) -> bool:
        """Whether there is a page with the page map: one tile needs none."""
        return self.occasion.changes is not None or (self.block is None and len(self.plan.tiles) > 1)

    @property
    def square_page(self) -> int:
        """The number of the page with the test square, or 0 where there is none (a reprint)."""
        if self.block is not None:
            return self.plan.tile(self.block.tile).page
        return 1 if self.has_first_page else 0


def build_print_job(
    plan: PrintPlan,
    pattern: Pattern,
    occasion: PrintDetails | None = None,
    ink: Raster | None = None,
    laid: Pattern | None = None,
) -> PrintJob:
    """Settle what goes on which page.

    Sheets up to A3 get a first page, and a page map where there is more than one tile. From A2 up, and on a roll,
    title and square (and a small map) lie on the first tile that has room for them; where none has, they get pages.

    Args:
        plan: tiles with `page` 0 are not printed in this file; the others are numbered anew here.
        pattern: what is drawn, as read; the plan's placements say where its pieces lie.
        occasion: the date, if one is to be printed.
        ink: the layout's `occupancy` where the caller has it already.
        laid: the drawing as laid out, where that is more than its pieces moved; it is drawn from its marks.
    """
    sources = sources_of(laid or pattern)
    cuts = cuts_of(sources, pattern, () if laid else plan.placements)
    laid = laid or placed(pattern, plan.placements)
    spots = Spots(ink or occupancy(laid))
    lines = check_lines(plan, laid, spots)
    crosses = [cross.at for line in lines for cross in (line.start, line.end)]
    spots = spots.without([Box(p.x, p.y, p.x, p.y).grown(7.0) for p in crosses])
    no_block = takes_first_page(plan.paper) or (occasion is not None and occasion.changes is not None)
    block = None if no_block else _block_on_sheet(plan, spots)
    if block is not None:
        spots = spots.without([block.box])
    occasion = occasion or PrintDetails()
    first_pages = 1 if occasion.changes else 0 if block else 1 + (len(plan.tiles) > 1)
    numbered = []
    page = first_pages
    for tile in plan.tiles:
        if tile.page:
            page += 1
        numbered.append(replace(tile, page=page if tile.page else 0))
    plan = replace(plan, tiles=tuple(numbered), first_pages=first_pages)
    return PrintJob(plan, pattern, laid, sources, cuts, spots, lines, occasion, block)


def _block_on_sheet(plan: PrintPlan, spots: Spots) -> Block | None:
    """The first printed tile with room for the block, in any of its shapes, where nothing is drawn."""
    for tile in plan.tiles:
        if not tile.page:
            continue
        joins = joins_of(plan, tile)
        within = kept_part(tile, joins).grown(-_CLEAR_OF_JOIN if joins else 0.0)
        for shape in block_shapes(plan):
            # On a roll the free paper lies after the drawing.
            near = Point(within.x0, within.y1) if plan.paper.roll else within.corner
            spot = spots.best(within, shape.size, near)
            if spot is not None and spot.free:
                return Block(tile.name, spot.box, shape)
    return None
