"""Title, how to print, test square and page map in one block, on a sheet large enough to carry them itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tiling.drawing import styles
from tiling.drawing.checklines import CheckLine
from tiling.drawing.first_page import draw_plain_square, sheet_words
from tiling.drawing.flow import set_words
from tiling.drawing.page_map import draw_map_block
from tiling.drawing.pen import Pen, rectangle
from tiling.pattern import Pattern
from tiling.planning.plan import PrintPlan
from tiling.shapes import Affine, Box, Point, Size

__all__ = ["Block", "BlockShape", "BlockTexts", "block_shapes", "draw_block"]


@dataclass(frozen=True, slots=True)
class BlockShape:
    """How a block's parts lie in it, from its own corner, mm; without a map where there is one tile only."""

    size: Size
    words: Box
    square: Point
    map: Box | None = None


@dataclass(frozen=True, slots=True)
class Block:
    """A block in its place: the tile that carries it, and its box on the layout."""

    tile: str
    box: Box
    shape: BlockShape


@dataclass(frozen=True, slots=True)
class BlockTexts:
    """What a block shows besides the plan."""

    pattern: Pattern
    lines: Sequence[CheckLine]
    date: str


_FLAT = BlockShape(Size(230.0, 120.0), Box(6.0, 6.0, 112.0, 114.0), Point(120.0, 9.0))
_TALL = BlockShape(Size(122.0, 190.0), Box(6.0, 6.0, 116.0, 74.0), Point(10.0, 80.0))
_FLAT_MAP = BlockShape(Size(350.0, 120.0), _FLAT.words, _FLAT.square, Box(230.0, 9.0, 344.0, 114.0))
_TALL_MAP = BlockShape(Size(122.0, 330.0), _TALL.words, _TALL.square, Box(6.0, 190.0, 116.0, 324.0))


def block_shapes(plan: PrintPlan) -> tuple[BlockShape, ...]:
    """The shapes a block may have, the best first."""
    return (_FLAT_MAP, _TALL_MAP) if len(plan.tiles) > 1 else (_FLAT, _TALL)


def draw_block(pen: Pen, block: Block, plan: PrintPlan, texts: BlockTexts) -> None:
    """Draw the block; `pen` takes layout coordinates and already scales by the correction."""
    own = pen.under(Affine.shift(block.box.x0, block.box.y0))
    shape = block.shape
    own.polyline(rectangle(Box(0.0, 0.0, shape.size.width, shape.size.height)), styles.FAINT, closed=True)
    set_words(own, sheet_words(plan, texts.date), shape.words)
    draw_plain_square(own, shape.square)
    if shape.map is not None:
        draw_map_block(own, plan, texts.pattern, texts.lines, shape.map)
