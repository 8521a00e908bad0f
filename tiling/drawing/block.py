"""Title, how to print, test square and page map in one block, on a sheet large enough to carry them itself."""

from __future__ import annotations

from dataclasses import dataclass

from tiling.planning.plan import PrintPlan
from tiling.shapes import Box, Point, Size

__all__ = ["Block", "BlockShape", "block_shapes"]


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


_FLAT = BlockShape(Size(230.0, 120.0), Box(6.0, 6.0, 112.0, 114.0), Point(120.0, 9.0))
_TALL = BlockShape(Size(122.0, 190.0), Box(6.0, 6.0, 116.0, 74.0), Point(10.0, 80.0))
_FLAT_MAP = BlockShape(Size(350.0, 120.0), _FLAT.words, _FLAT.square, Box(230.0, 9.0, 344.0, 114.0))
_TALL_MAP = BlockShape(Size(122.0, 330.0), _TALL.words, _TALL.square, Box(6.0, 190.0, 116.0, 324.0))


def block_shapes(plan: PrintPlan) -> tuple[BlockShape, ...]:
    """The shapes a block may have, the best first."""
    return (_FLAT_MAP, _TALL_MAP) if len(plan.tiles) > 1 else (_FLAT, _TALL)
