"""The block with a page's name: its parts, and where on the page it disturbs the drawing least."""

from __future__ import annotations

from tiling.drawing.joins import Side, joins_of, kept_part
from tiling.drawing.spots import Spots
from tiling.planning.plan import PrintPlan, Tile
from tiling.shapes import Box, Point, Size

__all__ = ["BLOCK", "NAME_AT", "RULE_AT", "place_of_block"]

BLOCK = Size(66.0, 26.0)
"""Name, title, page number and rule together, mm; a lower one has no rule."""
NAME_AT = Point(0.0, 8.2)
"""Where the name's baseline begins, from the block's corner."""
RULE_AT = Point(1.0, 18.0)
"""The rule's zero."""

_NAME_ALONE = Size(46.0, 11.0)
"""Without the rule, where the drawing leaves no room for it."""
_AIR = 3.0  # kept between block and drawing where there is room
_KEEP_CLEAR = 9.0  # from a join line: combs, checkers and their words
_KEEP_CLEAR_OF_EDGE = 3.0


def place_of_block(plan: PrintPlan, tile: Tile, spots: Spots) -> Box | None:
    """Where the drawing leaves most room, near the top left corner among equals; without the rule where it must be."""
    joins = joins_of(plan, tile)
    kept = kept_part(tile, joins)
    joined = {join.side for join in joins}

    def inset(side: Side) -> float:
        return _KEEP_CLEAR if side in joined else _KEEP_CLEAR_OF_EDGE

    within = Box(
        kept.x0 + inset(Side.LEFT),
        kept.y0 + inset(Side.TOP),
        kept.x1 - inset(Side.RIGHT),
        kept.y1 - inset(Side.BOTTOM),
    )
    for size, air, step in ((BLOCK, _AIR, 4), (BLOCK, 0.5, 2), (_NAME_ALONE, _AIR, 2), (_NAME_ALONE, 0.5, 1)):
        airy = Size(size.width + 2 * air, size.height + 2 * air)
        spot = spots.best(within.grown(air), airy, within.corner, step)
        if spot is not None and spot.free:
            return spot.box.grown(-air)
    spot = spots.best(within, BLOCK, within.corner)
    return spot.box if spot else None
