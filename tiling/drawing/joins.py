"""Where pages meet: join lines, the strips beside them, and the marks that show a slip.

A join line lies in the middle of the overlap of two neighbours, so that a cut that strays a few millimetres to
either side still meets drawing. The page on the right (or below) is cut along its line and laid over the page on the
left (or above), whose strip beyond the line goes under it.

Every mark's place follows from the grid alone, never from the drawing: a page printed again after an alteration
still meets the marks of its old neighbours, and a photo of the taped sheet can be measured with nothing but the plan.
Marks that were changed meet no old neighbours: they are a new version, which `JOIN_MARKS` in `planning/plan.py` lists
and the printed file keeps.

Combs. The teeth of the left (upper) page stand `PITCH` apart along the line, those of the right (lower) page
`PITCH - STEP`, counted from a long middle tooth, and all run on straight across the line. Where the pages meet truly
the long teeth are one straight line; where one page has slipped by n x `STEP` along the teeth's offset, the n-th
teeth from the middle are. Teeth lean at 45°, in one comb to the one side, in the other to the other: a slip along
the line moves both readings the same way, a gap or overlap moves them against each other, so the pair shows both.

What a camera measures by, checkers and codes, is in `photo_marks.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import floor

from tiling.drawing import styles
from tiling.drawing.lettering import text_width
from tiling.drawing.pen import Ink, Pen, Type, rectangle
from tiling.drawing.spots import Spots
from tiling.planning.plan import PrintPlan, Tile
from tiling.shapes import Affine, Box, Point

__all__ = [
    "PITCH",
    "STEP",
    "TEETH",
    "Comb",
    "Join",
    "Side",
    "combs_of",
    "draw_joins",
    "joins_of",
    "kept_part",
    "sides_of",
]

PITCH = 2.5
"""Between the teeth of the left or upper page, mm."""
STEP = 0.25
"""What one tooth further along the comb means, mm."""
TEETH = 4
"""Teeth on either side of the middle one."""
LONG_TOOTH, SHORT_TOOTH = 4.6, 2.6
_PAST = 0.8  # a tooth runs on past the line, so that a cut that strays still meets it
_COMB_APART = 14.0  # from the middle of a pair of combs to each comb's middle tooth
_PAIR_EVERY = 260.0
_LEAST_FOR_PAIR = 84.0
_LEAST_FOR_COMB = 50.0

_WORDS_FROM_END = 12.0
_HATCH_EVERY = 3.5
_STRIP_FOR_TEXT = 3.2
_WORD_STEP = 3.0  # mm between the places tried for words beside a join


class Side(Enum):
    """A side of a tile; the value is the step to the neighbour in (column, row)."""

    LEFT = (-1, 0)
    TOP = (0, -1)
    RIGHT = (1, 0)
    BOTTOM = (0, 1)

    @property
    def lies_over(self) -> bool:
        """Whether this side is cut and laid over the neighbour."""
        return self is Side.LEFT or self is Side.TOP

    @property
    def upright(self) -> bool:
        """Whether the join line runs down the page."""
        return self is Side.LEFT or self is Side.RIGHT


@dataclass(frozen=True, slots=True)
class Join:
    """One side of a tile, with its `neighbour`'s name; empty on an outer edge.

    `start` and `end` are the ends of the join line on the layout, from top to bottom or left to right, as long as
    the window is; `strip` is the part of the window beyond the line.
    """

    side: Side
    neighbour: str
    start: Point
    end: Point
    strip: Box

    @property
    def length(self) -> float:
        """Of the join line, mm."""
        return self.start.distance(self.end)

    @property
    def frame(self) -> Affine:
        """From (along the line, across it to the right or downwards) in mm to the layout."""
        if self.side.upright:
            return Affine(0, 1, 1, 0, self.start.x, self.start.y)
        return Affine(1, 0, 0, 1, self.start.x, self.start.y)

    @property
    def inward(self) -> float:
        """+1 where the own tile lies on the positive side of the line, else -1."""
        return 1.0 if self.side.lies_over else -1.0


@dataclass(frozen=True, slots=True)
class Comb:
    """One page's half of a pair of combs, as lines on the layout; the middle one first, then outwards in pairs."""

    middle: Point
    lean: int
    teeth: tuple[tuple[Point, Point], ...]


def joins_of(plan: PrintPlan, tile: Tile) -> tuple[Join, ...]:
    """The tile's sides that have a neighbour, printed in this file or before."""
    return tuple(side for side in sides_of(plan, tile) if side.neighbour)


def sides_of(plan: PrintPlan, tile: Tile) -> tuple[Join, ...]:
    """All four sides, as if each had a join; `neighbour` is empty where there is none."""
    at = {(other.column, other.row): other.name for other in plan.tiles}
    window, half = tile.window, plan.grid.overlap / 2
    left, right = window.x0 + half, window.x1 - half
    top, bottom = window.y0 + half, window.y1 - half
    lines = {
        Side.LEFT: (Point(left, window.y0), Point(left, window.y1), Box(window.x0, window.y0, left, window.y1)),
        Side.TOP: (Point(window.x0, top), Point(window.x1, top), Box(window.x0, window.y0, window.x1, top)),
        Side.RIGHT: (Point(right, window.y0), Point(right, window.y1), Box(right, window.y0, window.x1, window.y1)),
        Side.BOTTOM: (Point(window.x0, bottom), Point(window.x1, bottom), Box(window.x0, bottom, window.x1, window.y1)),
    }
    return tuple(
        Join(side, at.get((tile.column + side.value[0], tile.row + side.value[1]), ""), *where)
        for side, where in lines.items()
    )


def kept_part(tile: Tile, joins: Sequence[Join]) -> Box:
    """The part of the tile's window that is seen once the sheet is taped."""
    box = tile.window
    x0, y0, x1, y1 = box.x0, box.y0, box.x1, box.y1
    for join in joins:
        match join.side:
            case Side.LEFT:
                x0 = join.start.x
            case Side.TOP:
                y0 = join.start.y
            case Side.RIGHT:
                x1 = join.start.x
            case Side.BOTTOM:
                y1 = join.start.y
    return Box(x0, y0, x1, y1)


def combs_of(join: Join) -> tuple[Comb, ...]:
    """The combs on this tile's side of the join; a pair about every 26 cm, a single one on a very short join."""
    if join.length < _LEAST_FOR_COMB:
        return ()
    if join.length < _LEAST_FOR_PAIR:
        return (_comb(join, join.length / 2, 1),)
    pairs = _pairs(join)
    combs = []
    for n in range(pairs):
        middle = join.length * (2 * n + 1) / (2 * pairs)
        combs += [_comb(join, middle - _COMB_APART, 1), _comb(join, middle + _COMB_APART, -1)]
    return tuple(combs)


def _pairs(join: Join) -> int:
    return max(1, round(join.length / _PAIR_EVERY))


def _comb(join: Join, middle: float, lean: int) -> Comb:
    pitch = PITCH - STEP if join.side.lies_over else PITCH
    frame, inward = join.frame, join.inward
    teeth = []
    for n in (0, *(n * sign for n in range(1, TEETH + 1) for sign in (-1, 1))):
        along = middle + n * pitch
        near, far = -_PAST * inward, (SHORT_TOOTH if n else LONG_TOOTH) * inward
        ends = [frame.point(Point(along + lean * across, across)) for across in (near, far)]
        teeth.append((ends[0], ends[1]))
    return Comb(frame.point(Point(middle, 0.0)), lean, tuple(teeth))


def draw_joins(pen: Pen, plan: PrintPlan, tile: Tile, spots: Spots | None = None) -> None:
    """Draw all of a tile's joins; `pen` takes layout coordinates, `spots` tell where words disturb the drawing least.

    Words need not meet those of the neighbour, so they may give way to what is drawn; all other marks may not.
    """
    joins = joins_of(plan, tile)
    kept = kept_part(tile, joins)
    for join in joins:
        if not join.side.lies_over:
            _hatch(pen, _under_part(join, kept, tile.window))
    for join in joins:
        _draw_line(pen, join, kept)
        _draw_words(pen, join, spots)
        for comb in combs_of(join):
            pen.lines(comb.teeth, styles.TOOTH)


def _under_part(join: Join, kept: Box, window: Box) -> Box:
    """The strip that goes under, without what is cut off, and the corner counted to the right-hand strip."""
    strip = join.strip
    if join.side is Side.RIGHT:
        return Box(strip.x0, kept.y0, strip.x1, window.y1)
    return Box(kept.x0, strip.y0, kept.x1, strip.y1)


def _draw_line(pen: Pen, join: Join, kept: Box) -> None:
    """The join line; where it is cut it runs the whole page, where it is met only as far as it will be seen."""
    if join.side.lies_over:
        pen.polyline([join.start, join.end], styles.CUT_HERE)
        return
    if join.side.upright:
        ends = [Point(join.start.x, kept.y0), Point(join.end.x, kept.y1)]
    else:
        ends = [Point(kept.x0, join.start.y), Point(kept.x1, join.end.y)]
    pen.polyline(ends, styles.MEETS_HERE)


def _draw_words(pen: Pen, join: Join, spots: Spots | None) -> None:
    """What to do with the strip, between the combs; beside the line where the strip is narrow."""
    words = f"cut here, lay over {join.neighbour}" if join.side.lies_over else f"goes under {join.neighbour}"
    strip = join.strip.width if join.side.upright else join.strip.height
    style = styles.STRIP_TEXT
    inside = strip < _STRIP_FOR_TEXT
    across = (2.6 if inside else -(strip / 2)) * join.inward
    turn = 90.0 if join.side.upright else 0.0
    width = text_width(words, style.size, style.face)
    pairs = _pairs(join)
    shares = [n / pairs for n in range(1, pairs)] or ([0.22, 0.78] if join.length > 4 * width else [0.22])
    for share in shares:
        along = _least_inked(join, Point(join.length * share, across), width, join.length / 2 / len(shares), spots)
        middle = join.frame.point(Point(along, across))
        _draw_boxed(pen, middle, words, width, Type(style.size, style.face, style.anchor, style.grey, turn))


def _least_inked(join: Join, best: Point, width: float, reach: float, spots: Spots | None) -> float:
    """How far along the join words of that width disturb the drawing least, near where they would best stand.

    Args:
        join: gives the frame of `best`, (along, across).
        best: the middle of the words where nothing is drawn.
        width: of the words, mm.
        reach: how far from there they may stand, mm.
        spots: where there is ink; None where that is nobody's concern.
    """
    if spots is None:
        return best.x
    on_combs = best.y * join.inward > 0  # there combs and checkers stand too
    taken = [join.frame.inverse().point(comb.middle).x for comb in combs_of(join)] if on_combs else []
    first, last = _WORDS_FROM_END + width / 2, join.length - _WORDS_FROM_END - width / 2
    places = [best.x + step * _WORD_STEP * way for step in range(int(reach / _WORD_STEP) + 1) for way in (1, -1)]
    clear = width / 2 + TEETH * PITCH + LONG_TOOTH
    free = [x for x in places if first <= x <= last and all(abs(x - comb) > clear for comb in taken)]

    def ink(along: float) -> int:
        half = styles.STRIP_TEXT.size
        return spots.ink_in(
            join.frame.box(Box(along - width / 2 - 1.0, best.y - half, along + width / 2 + 1.0, best.y + half))
        )

    # Of equals the first, which is the nearest.
    return min(free, key=ink, default=best.x)


def _draw_boxed(pen: Pen, middle: Point, words: str, width: float, style: Type) -> None:
    """Words centred on a point, on white, so that the hatching keeps clear of them."""
    spin = Affine.shift(middle.x, middle.y) @ Affine.turn(style.turn)
    box = Box(-width / 2 - 1.0, -style.size * 0.62, width / 2 + 1.0, style.size * 0.62)
    pen.fill([spin.point(p) for p in rectangle(box)], 1.0)
    pen.text(spin.point(Point(0.0, style.size * 0.35)), words, style)


def _hatch(pen: Pen, box: Box) -> None:
    """Sparse lines at 45°, on lines fixed to the layout so that strips that meet match."""
    ends = []
    for n in range(floor((box.x0 + box.y0) / _HATCH_EVERY) + 1, floor((box.x1 + box.y1) / _HATCH_EVERY) + 1):
        total = n * _HATCH_EVERY
        x_from, x_to = max(box.x0, total - box.y1), min(box.x1, total - box.y0)
        if x_to > x_from:
            ends.append((Point(x_from, total - x_from), Point(x_to, total - x_to)))
    if ends:
        pen.lines(ends, Ink(styles.HATCH.grey, styles.HATCH.width))
