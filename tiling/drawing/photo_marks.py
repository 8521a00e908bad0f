"""The marks by which a photo of the taped sheet is measured: checkers beside the joins, and the page's code.

Checkers. Four squares, two of them grey, near each end of every side of a page, `CHECKER_OFFSET` from where the join
line is, or would be on an outer edge.

Code. Near every corner of a page the same 4 x 4 squares, upright, no two pages of a sheet up to 16 x 16 alike in fewer
than four of them: the upper half tells the row, the lower the column, each as a word of the extended Hamming code
(8, 4) (R. W. Hamming, "Error detecting and error correcting codes", Bell System Technical Journal 29, 1950). Pages
that are alike but for their names are told apart by it; and lying away from both joins it gives every corner a third
mark, which a neighbour that slipped far doesn't cover.

Places follow from the grid alone, as those of all join marks do. Version 1 has checkers at joins only, and no codes.
"""

from __future__ import annotations

from dataclasses import dataclass

from tiling.drawing import styles
from tiling.drawing.joins import Join, sides_of
from tiling.drawing.pen import Pen, rectangle
from tiling.planning.plan import PrintPlan, Tile
from tiling.shapes import Box, Point

__all__ = [
    "CHECKER_OFFSET",
    "CHECKER_SIDE",
    "CODE_CLEAR",
    "CODE_SIDE",
    "MARKS_REACH",
    "Checker",
    "PageCode",
    "checkers_of",
    "clear_of_codes",
    "codes_of",
    "draw_photo_marks",
]

CHECKER_SIDE = 4.0
"""Side of a checker of 2 x 2 squares, mm."""
CHECKER_OFFSET = 2.75
"""From the join line to a checker's middle, mm: with the usual overlap it lies within the shared strip."""
MARKS_REACH = CHECKER_OFFSET + CHECKER_SIDE / 2
"""How far from the join line checkers, and the shorter combs, reach, mm."""
CODE_SIDE, CODE_CLEAR = 6.0, 1.5
"""Side of a page's code, and of the paper around it on which no other mark of ours stands, mm."""
_CHECKER_FROM_END = 12.0
_CODE_FROM_CORNER = 14.0  # its middle, from both join lines
_FIRST_WITH_CODES = 2
_PARITY = (0b0111, 0b1011, 0b1101, 0b1110)
"""Which of four bits each check bit sums up: the extended Hamming code (8, 4)."""
_SPREAD = 0b01011010
"""Turned over in every half of a code, so that none is empty and none is full."""


@dataclass(frozen=True, slots=True)
class Checker:
    """A checker's middle on the layout, and the tile that carries it.

    `neighbour` is across the join line; empty on an outer edge.
    """

    tile: str
    neighbour: str
    middle: Point


@dataclass(frozen=True, slots=True)
class PageCode:
    """A page's code near one of its corners: its box on the layout, and its grey squares."""

    box: Box
    squares: tuple[Box, ...]


def checkers_of(plan: PrintPlan, tile: Tile) -> tuple[Checker, ...]:
    """The checkers one page carries."""
    return tuple(
        Checker(tile.name, side.neighbour, side.frame.point(Point(along, CHECKER_OFFSET * side.inward)))
        for side in sides_of(plan, tile)
        if side.neighbour or plan.join_marks >= _FIRST_WITH_CODES
        for along in _checker_places(side, plan.grid.overlap)
    )


def codes_of(plan: PrintPlan, tile: Tile) -> tuple[PageCode, ...]:
    """The codes one page carries: four, or none on a small page or of the first version."""
    window = tile.window.grown(-plan.grid.overlap / 2)
    middles = window.grown(-_CODE_FROM_CORNER)
    if plan.join_marks < _FIRST_WITH_CODES or min(middles.width, middles.height) < CODE_SIDE + 2 * CODE_CLEAR:
        return ()
    bits = f"{_word(tile.row):08b}{_word(tile.column):08b}"
    return tuple(_code(Point(x, y), bits) for y in (middles.y0, middles.y1) for x in (middles.x0, middles.x1))


def clear_of_codes(plan: PrintPlan) -> float:
    """How far from a page's seen edges a mark is clear of its codes, mm; 0 where there are none."""
    if plan.join_marks < _FIRST_WITH_CODES:
        return 0.0
    return plan.grid.overlap / 2 + _CODE_FROM_CORNER + CODE_SIDE / 2 + CODE_CLEAR


def draw_photo_marks(pen: Pen, plan: PrintPlan, tile: Tile) -> None:
    """Draw a tile's checkers and codes; `pen` takes layout coordinates."""
    for checker in checkers_of(plan, tile):
        draw_checker(pen, checker.middle)
    for code in codes_of(plan, tile):
        draw_code(pen, code)


def draw_checker(pen: Pen, middle: Point) -> None:
    """Two grey squares that touch in `middle`, top left and bottom right of it, and two of bare paper."""
    half = CHECKER_SIDE / 2
    for dx in (-half, 0.0):
        for dy in (-half, 0.0):
            corner = middle + Point(dx, dy)
            square = Box(corner.x, corner.y, corner.x + half, corner.y + half)
            pen.fill(rectangle(square), styles.CHECKER_GREY if dx == dy else 1.0)


def draw_code(pen: Pen, code: PageCode) -> None:
    """Grey squares on bare paper."""
    pen.fill(rectangle(code.box), 1.0)
    for square in code.squares:
        pen.fill(rectangle(square), styles.CHECKER_GREY)


def _checker_places(side: Join, overlap: float) -> tuple[float, ...]:
    """How far along the line the checkers stand: near both ends of what is seen of it."""
    first = overlap / 2 + _CHECKER_FROM_END
    return (first, side.length - first) if side.length > 2 * first + CHECKER_SIDE else ()


def _word(number: int) -> int:
    """Eight bits of a row's or a column's number: its last four, and their check bits."""
    data = number % 16
    checks = ((data & which).bit_count() % 2 for which in _PARITY)
    word = data
    for check in checks:
        word = word << 1 | check
    return word ^ _SPREAD


def _code(middle: Point, bits: str) -> PageCode:
    half, step = CODE_SIDE / 2, CODE_SIDE / 4
    box = Box(middle.x - half, middle.y - half, middle.x + half, middle.y + half)
    corners = [(box.x0 + step * (n % 4), box.y0 + step * (n // 4)) for n, bit in enumerate(bits) if bit == "1"]
    return PageCode(box, tuple(Box(x, y, x + step, y + step) for x, y in corners))
