"""The tiles on which the drawing could hide our marks, were they painted before it."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from tiling.content.covering import covering
from tiling.content.sheet_source import SourcePart
from tiling.content.trim import touching
from tiling.drawing.joins import PITCH, TEETH, combs_of, joins_of
from tiling.drawing.photo_marks import CHECKER_SIDE, MARKS_REACH, checkers_of, codes_of
from tiling.drawing.spots import Spots
from tiling.planning.plan import PrintPlan, Tile
from tiling.shapes import Box

__all__ = ["covered_tiles"]

_DENSE_ON_LINE, _DENSE_ON_MARK = 0.2, 0.6
"""Of the square millimetres on a join line, or around another mark: while thin lines ink fewer, it is seen."""
_HALF_LINE = 0.2  # of a join line and what lies right along it, mm
_HALF_COMB = TEETH * PITCH


def covered_tiles(plan: PrintPlan, parts: Sequence[SourcePart], spots: Spots, places: Sequence[Box]) -> frozenset[str]:
    """Names of the printed tiles where something broad, or much that is thin, lies where our marks are.

    Args:
        plan: gives tiles and joins.
        parts: the drawing as it lies on the layout.
        spots: knows where the drawing has ink.
        places: of all other marks of ours, on the layout.
    """
    broad = [(part, covering(part.source.artwork, part.only, abs(part.to_layout.determinant) ** 0.5)) for part in parts]

    def covered(tile: Tile) -> bool:
        joins = joins_of(plan, tile)
        lines = [Box(join.start.x, join.start.y, join.end.x, join.end.y) for join in joins]
        marks = [*(box for place in places if (box := place.common(tile.window))), *_marks_of_grid(plan, tile)]
        zones = [*marks, *(line.grown(MARKS_REACH).union(join.strip) for line, join in zip(lines, joins, strict=True))]
        return (
            any(_density(spots, line.grown(_HALF_LINE)) > _DENSE_ON_LINE for line in lines)
            or any(_density(spots, box) > _DENSE_ON_MARK for box in marks)
            or any(_touched(part, reaches, zones) for part, reaches in broad if len(reaches))
        )

    return frozenset(tile.name for tile in plan.to_print if covered(tile))


def _marks_of_grid(plan: PrintPlan, tile: Tile) -> list[Box]:
    """Boxes around the tile's checkers, combs and codes."""
    middles = [(checker.middle, CHECKER_SIDE / 2) for checker in checkers_of(plan, tile)]
    middles += [(comb.middle, _HALF_COMB) for join in joins_of(plan, tile) for comb in combs_of(join)]
    codes = [code.box for code in codes_of(plan, tile)]
    return [*(Box(at.x, at.y, at.x, at.y).grown(half) for at, half in middles), *codes]


def _density(spots: Spots, box: Box) -> float:
    """How many of the raster's square millimetres that a box touches carry ink, from 0 to 1."""
    cells = (ceil(box.x1) - floor(box.x0)) * (ceil(box.y1) - floor(box.y0))
    return spots.ink_in(box) / max(cells, 1)


def _touched(part: SourcePart, reaches: NDArray[np.float64], zones: Sequence[Box]) -> bool:
    """Whether any of the reaches, mm on the part's sheet, shares a point with a zone on the layout."""
    windows = [part.window_on_sheet(zone) for zone in zones]
    return bool(touching(reaches, np.array([(box.x0, box.y0, box.x1, box.y1) for box in windows])).any())
