"""One tile's page: its joins, its name and number, a rule to check it by, and the crosses of check lines."""

from __future__ import annotations

from dataclasses import replace

from tiling.drawing import styles
from tiling.drawing.checklines import CROSS_ARM, crosses_of
from tiling.drawing.joins import draw_joins
from tiling.drawing.lettering import shortened, text_width
from tiling.drawing.name_block import BLOCK, NAME_AT, RULE_AT
from tiling.drawing.pen import Anchor, Ink, Pen, Type
from tiling.drawing.photo_marks import draw_photo_marks
from tiling.drawing.print_job import PrintJob
from tiling.drawing.spots import Spots
from tiling.lengths import MM_PER_INCH
from tiling.planning.plan import Tile
from tiling.planning.printed import Cross
from tiling.shapes import Affine, Box, Point

__all__ = ["draw_cross", "draw_rule", "draw_tile_page"]

_LEADING = 4.0
_RING = 1.6


def draw_tile_page(pen: Pen, job: PrintJob, tile: Tile) -> None:
    """Draw joins, checkers, codes, crosses, name and rule of a tile's page.

    Args:
        pen: takes mm on the page, y down.
        job: where the tile lies, its page's number, where its name goes.
        tile: one of those the job prints.
    """
    plan = job.plan
    on_layout = pen.under(plan.to_page(tile))
    draw_joins(on_layout, plan, tile, job.spots)
    draw_photo_marks(on_layout, plan, tile)
    for cross in crosses_of(job.check_lines, tile):
        draw_cross(on_layout, cross, job.spots)
    place = job.names[tile.name]
    if place is not None:
        block = on_layout.under(Affine.shift(place.x0, place.y0))
        _draw_block(block, job, tile, place.width)
        if place.height >= BLOCK.height:
            draw_rule(block.under(Affine.shift(RULE_AT.x, RULE_AT.y)))


def _draw_block(pen: Pen, job: PrintJob, tile: Tile, width: float) -> None:
    """The name, large; title, the layers that were picked, and page beside it. The block's own corner is the origin."""
    pen.text(NAME_AT, tile.name, styles.NAME)
    x = text_width(tile.name, styles.NAME.size, styles.NAME.face) + 3.0
    texts = [text for text in (job.plan.title, job.facts.layers) if text]
    leading = _LEADING if len(texts) == 1 else styles.SMALL.size * 1.15
    for above, text in enumerate(reversed(texts), start=1):
        shown = shortened(text, styles.SMALL.size, width - x, styles.SMALL.face)
        pen.text(Point(x, NAME_AT.y - above * leading), shown, styles.SMALL)
    pen.text(Point(x, NAME_AT.y), f"page {job.pages[tile.name]} of {job.sheets}", styles.SMALL)


def draw_rule(pen: Pen) -> None:
    """50 mm above the line, 2 in below it, both from a common zero at the origin; mm."""
    ink = Ink(0.1, 0.15)
    inches = 2 * MM_PER_INCH
    ticks = [(Point(10.0 * n, 0.0), Point(10.0 * n, -3.0 if n in {0, 5} else -1.8)) for n in range(6)]
    ticks += [(Point(5.0 + 10.0 * n, 0.0), Point(5.0 + 10.0 * n, -1.1)) for n in range(5)]
    quarter = MM_PER_INCH / 4
    ticks += [(Point(quarter * n, 0.0), Point(quarter * n, _inch_tick(n))) for n in range(9)]
    pen.lines([(Point(0.0, 0.0), Point(inches, 0.0)), *ticks], ink)
    style = replace(styles.NOTE, grey=0.2)
    pen.text(Point(51.8, -1.2), "50 mm", style)
    pen.text(Point(52.4, 2.9), "2 in", style)


def _inch_tick(quarters: int) -> float:
    if quarters % 8 == 0:
        return 3.0
    return {0: 2.4, 2: 1.8}.get(quarters % 4, 1.1)


def draw_cross(pen: Pen, cross: Cross, spots: Spots) -> None:
    """Two hairlines that cross in the point, open in the middle of a ring, with the number where least is drawn."""
    x, y = cross.at.x, cross.at.y
    ink = Ink(0.2, 0.15)
    arm = CROSS_ARM
    pen.lines([(Point(x - arm, y), Point(x + arm, y)), (Point(x, y - arm), Point(x, y + arm))], ink)
    pen.polyline(_octagon(cross.at, _RING), ink, closed=True)
    number = Type(2.8, styles.HEADING.face, Anchor.START, 0.25)
    width, height = text_width(str(cross.number), number.size, number.face), 0.75 * number.size
    boxes = [
        Box(left, foot - height, left + width, foot)
        for foot in (y - 1.9, y + 1.9 + height)
        for left in (x + 1.6, x - 1.6 - width)
    ]
    place = min(boxes, key=lambda box: spots.ink_in(box.grown(0.3)))
    pen.text(Point(place.x0, place.y1), str(cross.number), number)


def _octagon(middle: Point, radius: float) -> list[Point]:
    turns = [Affine.turn(22.5 + 45 * n) for n in range(8)]
    return [middle + turn.point(Point(radius, 0.0)) for turn in turns]
