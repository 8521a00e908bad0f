"""Pages on which nothing is drawn, printed all the same: to hold their neighbours, or to leave no hole in a piece.

Lines pass from page to page at their sides, or over a corner; a grainline or a text in the middle of a large piece may
stand on a page whose neighbours are all empty. Taped, such pages would hang on nothing. Which pages hold each other
follows from the grid: those that share a side. What must hold together is a piece.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

import shapely

from tiling.helper_lines import HELPERS
from tiling.marks import mark_shape
from tiling.pattern import Pattern
from tiling.planning.layout import LayoutPiece, find_pieces
from tiling.planning.plan import EmptyPages, GridCell, cells_beside, parts_of_cells
from tiling.shapes import Box

__all__ = ["bridges"]

_OUTSIDE = 1.001
"""What an empty page beside a piece costs, where one in it costs 1: of equally few those in it are taken."""
_SLIVER = 1.0
"""mm of a piece's lines that may lie on no page of a part before the part is said not to hold all of it."""


def bridges(
    cells: Collection[GridCell],
    window: Callable[[int, int], Box],
    pattern: Pattern,
    which: EmptyPages = EmptyPages.BRIDGE,
) -> frozenset[GridCell]:
    """The empty pages that are printed besides those of `cells`.

    Args:
        cells: of the grid, which are printed because something is drawn there.
        window: of a row and column, on the layout.
        pattern: the drawing as laid out.
        which: those that a piece's pages need to hang together; those inside pieces as well; or all up to the outer
            rows and columns that are printed.
    """
    rows, columns = ({cell[axis] for cell in cells} for axis in (0, 1))
    empty = {
        (row, column)
        for row in range(min(rows), max(rows) + 1)
        for column in range(min(columns), max(columns) + 1)
        if (row, column) not in cells
    }
    if which is EmptyPages.ALL or not empty:
        return frozenset(empty)
    if which is EmptyPages.BRIDGE and len(parts_of_cells(cells)) == 1:
        return frozenset()
    pieces = [piece for piece in find_pieces(pattern) if not piece.body.is_empty]
    added: set[GridCell] = set()
    if which is EmptyPages.INSIDE:
        for piece in pieces:
            shapely.prepare(piece.outline)
        added = {cell for cell in empty if _is_inside(window(*cell), pieces)}
    for piece in pieces:
        added |= _bridged(_Held(frozenset(cells) | added, frozenset(empty) - added, window), piece, pattern)
    return frozenset(added)


@dataclass(frozen=True, slots=True)
class _Held:
    """Cells that are printed, empty ones between them, and where each lies on the layout."""

    printed: frozenset[GridCell]
    empty: frozenset[GridCell]
    window: Callable[[int, int], Box]


def _bridged(held: _Held, piece: LayoutPiece, pattern: Pattern) -> frozenset[GridCell]:
    """The empty cells by which all of a piece's lines come to lie in one part."""
    near = Box(*piece.outline.bounds)
    if len(parts := parts_of_cells(held.printed)) == 1:
        return frozenset()
    marks = [pattern.marks[index] for index in piece.marks]
    ink = shapely.union_all([mark_shape(mark) for mark in marks if mark.tag.role not in HELPERS])
    holding = []
    for part in parts:
        windows = [held.window(*cell) for cell in part]
        paper = shapely.union_all([shapely.box(w.x0, w.y0, w.x1, w.y1) for w in windows if w.meets(near)])
        if not shapely.is_empty(paper):
            holding.append((part, paper))
    # The part that holds most of it comes first; others are led to it while any line lies on none of those so far.
    holding.sort(key=lambda pair: -shapely.intersection(ink, pair[1]).length)
    added: set[GridCell] = set()
    whole: frozenset[GridCell] = frozenset()
    for part, paper in holding:
        if whole and shapely.intersection(ink, paper).length > _SLIVER:
            added |= _shortest(whole | added, part, held, piece)
        elif whole:
            continue
        whole |= part
        ink = shapely.difference(ink, paper)
        if ink.is_empty or ink.length <= _SLIVER:
            break
    return frozenset(added)


def _shortest(
    start: Collection[GridCell], goal: Collection[GridCell], held: _Held, piece: LayoutPiece
) -> set[GridCell]:
    """The fewest empty cells that lead from one part to another (Dijkstra), rather inside the piece than beside it."""
    queue: list[tuple[float, GridCell, tuple[GridCell, ...]]] = [(0.0, cell, ()) for cell in sorted(start)]
    seen: set[GridCell] = set()
    while queue:
        cost, cell, path = heappop(queue)
        if cell in goal:
            return set(path)
        if cell in seen:
            continue
        seen.add(cell)
        for near in cells_beside(cell):
            if near in held.printed and near not in seen:
                heappush(queue, (cost, near, path))
            elif near in held.empty and near not in seen:
                price = 1.0 if _is_inside(held.window(*near), [piece]) else _OUTSIDE
                heappush(queue, (cost + price, near, (*path, near)))
    return set()


def _is_inside(window: Box, pieces: Sequence[LayoutPiece]) -> bool:
    """Whether the middle of an empty window lies in a piece: then nearly all of it does."""
    middle = shapely.Point(window.centre.x, window.centre.y)
    return any(piece.outline.covers(middle) for piece in pieces)
