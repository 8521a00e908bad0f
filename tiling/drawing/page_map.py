"""The page map: the whole layout in small, the order to tape, and the check lines with their lengths."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tiling.drawing import styles
from tiling.drawing.checklines import CheckLine
from tiling.drawing.flow import TextRole, Words, set_columns, set_words
from tiling.drawing.joins import Join, Side, combs_of, joins_of, kept_part
from tiling.drawing.lettering import text_width
from tiling.drawing.map_names import names_on_map
from tiling.drawing.pen import Anchor, Ink, Pen, Type, rectangle
from tiling.drawing.print_job import PrintJob
from tiling.drawing.taping import COMB_STEPS, COMBS_MEET, CUT_PAGES, PHOTOGRAPH, ROWS_FIRST, Taping
from tiling.helper_lines import HELPERS
from tiling.pattern import Line, Pattern
from tiling.planning.page_space import about_centre
from tiling.planning.plan import PrintPlan, Tile, row_letters
from tiling.shapes import Affine, Box, Point
from tiling.shapes.curves import Array

__all__ = [
    "check_words",
    "draw_map",
    "draw_map_block",
    "draw_map_page",
    "map_move",
    "map_room",
    "outlines_in_small",
]

_LEAST_MARGIN = 12.0
_MOST_POINTS = 6000
_FINEST = 0.15  # mm on the map
_FRAME = 1.8
_AROUND_NUMBER = 3.0  # a cross and its number on the map


def draw_map_page(pen: Pen, job: PrintJob) -> None:
    """Draw the whole map page; `pen` takes mm on the page, y down."""
    plan, lines = job.plan, job.check_lines
    page, free = pen.under(about_centre(plan.page_size, plan.correction)), map_room(plan)
    summary = f"{job.facts.heading}: {job.facts.arrangement}"
    head = [Words(TextRole.TITLE, "Page map"), Words(TextRole.SMALL, summary)]
    top = set_words(page, head, Box(free.x0, free.y0, free.x1, free.y0 + 16.0)) + 4.0
    if free.width > free.height:
        split = free.x0 + free.width * 0.54
        bottom = draw_map(page, job, Box(free.x0, top, split, free.y1))
        beside, below = Box(split + 8.0, top, free.x1, free.y1), Box(free.x0, bottom + 6.0, split, free.y1)
        end = set_words(page, [*_order_words(job.taping), *check_words(lines)], beside)
        under_words = Box(beside.x0, end + 3.0, beside.x1, free.y1)
        _draw_figures(page, below if below.height > under_words.height else under_words)
        return
    map_height = min(free.width / _extent(plan).width * _extent(plan).height, (free.y1 - top) * 0.565)
    bottom = draw_map(page, job, Box(free.x0, top, free.x1, top + map_height)) + 6.0
    middle = free.x0 + free.width / 2
    below = Box(free.x0, bottom, middle - 4.0, free.y1)
    beside = Box(middle + 4.0, bottom, free.x1, free.y1)
    ends = set_columns(page, [(_order_words(job.taping), below), (check_words(lines), beside)])
    end, column = min(zip(ends, (below, beside), strict=True), key=lambda one: one[0])
    _draw_figures(page, Box(column.x0, end + 4.0, column.x1, free.y1))


def map_room(plan: PrintPlan) -> Box:
    """The room for a map on a page of its own, mm: inside the margins, and 12 mm from every edge."""
    size, m = plan.page_size, plan.margins
    return Box(
        max(m.left, _LEAST_MARGIN),
        max(m.top, _LEAST_MARGIN),
        size.width - max(m.right, _LEAST_MARGIN),
        size.height - max(m.bottom, _LEAST_MARGIN),
    )


def draw_map_block(pen: Pen, job: PrintJob, box: Box) -> None:
    """Draw map, order and check lines into a box on a sheet that carries them itself."""
    bottom = draw_map(pen, job, Box(box.x0, box.y0, box.x1, box.centre.y - 4.0)) + 3.0
    middle = box.centre.x
    left, right = Box(box.x0, bottom, middle - 2.0, box.y1), Box(middle + 2.0, bottom, box.x1, box.y1)
    set_columns(pen, [(_order_words(job.taping), left), (check_words(job.check_lines), right)])


def draw_map(pen: Pen, job: PrintJob, box: Box, lines: Sequence[CheckLine] | None = None) -> float:
    """Draw the layout in small into a box, as large as fits, at its top.

    Args:
        pen: takes mm of the box, y down.
        job: the tiles, and the drawing as laid out.
        box: where the map goes.
        lines: the check lines to show; the job's when left out.

    Returns:
        The y of the map's lower edge.
    """
    plan = job.plan
    lines = job.check_lines if lines is None else lines
    extent, move = _extent(plan), map_move(plan, box)
    scale = move.a
    for name in plan.skipped:
        spot = _place_of(plan, name)
        if spot is not None:
            _draw_skipped(pen, move.box(spot), name)
    for points in outlines_in_small(job.laid, _FINEST / scale):
        pen.polyline([move.point(Point(float(x), float(y))) for x, y in points], Ink(0.55, 0.12))
    for line in lines:
        ends = [move.point(line.start.at), move.point(line.end.at)]
        pen.polyline(ends, Ink(0.45, 0.12, (1.0, 1.0)))
    labels = [
        _label_of(move.box(kept_part(tile, joins_of(plan, tile))), tile, job.pages.get(tile.name, 0))
        for tile in plan.tiles
    ]
    crosses = {n.number: move.point(n.at) for line in lines for n in (line.start, line.end)}
    taken = [box for label in labels for box in (label.box, *_edges(label.spot))]
    taken += [Box(at.x, at.y, at.x, at.y).grown(_AROUND_NUMBER) for at in crosses.values()]
    for piece in names_on_map(job.laid, move, taken):
        pen.fill(rectangle(piece.box), 1.0)
        pen.text(piece.at, piece.text, piece.style)
    for label in labels:
        _draw_tile(pen, label)
    for number, at in crosses.items():
        _draw_number(pen, at, number, move.point(extent.centre))
    return box.y0 + extent.height * scale


def map_move(plan: PrintPlan, box: Box) -> Affine:
    """From the layout to the map that `draw_map` draws into the box."""
    extent = _extent(plan)
    scale = min(box.width / extent.width, box.height / extent.height)
    left = box.x0 + (box.width - extent.width * scale) / 2
    return Affine.shift(left, box.y0) @ Affine.scale(scale) @ Affine.shift(-extent.x0, -extent.y0)


def outlines_in_small(pattern: Pattern, tolerance: float) -> list[Array]:
    """The drawing's lines on the layout, simplified, without helper lines; of very many, the longest ones.

    A map needs to be recognised, not measured: at most a few thousand points, so that it stays a small part of
    the file whatever is drawn.
    """
    drawn = [m for m in pattern.marks if isinstance(m, Line) and m.style.leaves_ink and len(m.path.points) > 1]
    lines = [line for line in drawn if line.tag.role not in HELPERS]
    found: list[Array] = []
    points = 0
    for index in _largest_first([line.path.points for line in lines]):
        for run in lines[index].path.flatten(max(tolerance, 0.01)):
            if len(run) > 1:
                found.append(_thinned(run, tolerance))
                points += len(found[-1])
        if points > _MOST_POINTS:
            break
    return found


def _largest_first(lines: Sequence[Array]) -> list[int]:
    """The lines' indices in the order of their boxes' width and height together, to 0.001 mm."""
    if not lines:
        return []
    points = np.concatenate(lines)
    starts = np.cumsum([0, *(len(line) for line in lines[:-1])])
    sides = np.maximum.reduceat(points, starts, axis=0) - np.minimum.reduceat(points, starts, axis=0)
    return [int(index) for index in np.argsort(-np.round(sides.sum(axis=1), 3), kind="stable")]


def _thinned(run: Array, tolerance: float) -> Array:
    """Points at least `tolerance` apart, ends kept."""
    kept = [run[0]]
    for point in run[1:-1]:
        if abs(point[0] - kept[-1][0]) + abs(point[1] - kept[-1][1]) >= tolerance:
            kept.append(point)
    if len(kept) > 1 and np.abs(run[-1] - kept[-1]).sum() < tolerance:
        kept.pop()
    return np.array([*kept, run[-1]])


def _extent(plan: PrintPlan) -> Box:
    """What the map shows: all tiles, printed or skipped."""
    boxes = [tile.window for tile in plan.tiles]
    boxes += [spot for name in plan.skipped if (spot := _place_of(plan, name)) is not None]
    whole = Box.around(boxes)
    assert whole is not None
    return whole


def _place_of(plan: PrintPlan, name: str) -> Box | None:
    """The window of a skipped tile, from its name."""
    for row in range(plan.grid.rows):
        letters = row_letters(row)
        if name.startswith(letters) and name[len(letters) :].isdigit():
            return plan.grid.box(row, int(name[len(letters) :]) - 1).grown(-plan.grid.overlap / 2)
    return None


def _draw_skipped(pen: Pen, spot: Box, name: str) -> None:
    pen.polyline(rectangle(spot), Ink(0.75, 0.1, (1.0, 1.0)), closed=True)
    pen.text(Point(spot.centre.x, spot.centre.y + 0.8), f"{name} empty", _label(spot, 0.6))


@dataclass(frozen=True, slots=True)
class _TileLabel:
    """A tile on the map: its place, and its name and page in the middle, in a box of their own."""

    spot: Box
    box: Box
    lines: tuple[tuple[str, Type], tuple[str, Type]]
    printed: bool


def _label_of(spot: Box, tile: Tile, number: int) -> _TileLabel:
    """The label of a tile; one of an earlier print, which has no page number here, is lighter."""
    style = _label(spot, 0.0 if number else 0.5)
    name = replace(style, size=style.size * 1.7, face=styles.HEADING.face)
    page = replace(style, grey=0.3)
    words = f"page {number}" if number else "as before"
    width = max(text_width(tile.name, name.size, name.face), text_width(words, page.size, page.face)) + 1.0
    height = name.size + page.size * 1.3
    x, y = spot.centre.x, spot.centre.y - height / 2
    box = Box(x - width / 2, y - 0.4, x + width / 2, y + height + 0.4)
    return _TileLabel(spot, box, ((tile.name, name), (words, page)), bool(number))


def _edges(spot: Box) -> Iterator[Box]:
    """The four sides of a tile's frame, as broad as the frame of a page to replace."""
    for x in (spot.x0, spot.x1):
        yield Box(x, spot.y0, x, spot.y1).grown(_FRAME)
    for y in (spot.y0, spot.y1):
        yield Box(spot.x0, y, spot.x1, y).grown(_FRAME)


def _draw_tile(pen: Pen, label: _TileLabel) -> None:
    """A tile's outline, its name and page in the middle on white."""
    pen.polyline(rectangle(label.spot), styles.FRAME if label.printed else styles.FAINT, closed=True)
    pen.fill(rectangle(label.box), 1.0)
    (tile, name), (words, page) = label.lines
    x, y = label.box.centre.x, label.box.y0 + 0.4
    pen.text(Point(x, y + name.size * 0.8), tile, name)
    pen.text(Point(x, y + name.size + page.size * 0.95), words, page)


def _label(spot: Box, grey: float) -> Type:
    return Type(max(1.3, min(2.6, spot.width / 9, spot.height / 6)), anchor=Anchor.MIDDLE, grey=grey)


def _draw_figures(pen: Pen, box: Box) -> None:
    """Two combs, enlarged: pages that meet truly, and pages half a millimetre off; left out where room is short."""
    scale = min(1.5, box.height / 22.0, box.width / 66.0)
    if scale < 0.8:
        return
    window = Box(0.0, 0.0, 100.0, 60.0)
    line = (Point(0.0, 0.0), Point(0.0, 60.0))
    first = Join(Side.RIGHT, "", *line, window)
    second = Join(Side.LEFT, "", *line, window)
    for number, (slip, words) in enumerate(((0.0, "true"), (0.5, "0.5 mm off"))):
        x = box.x0 + (17.0 + 33.0 * number) * scale
        # Lying down, so that the join runs across the figure.
        place = Affine(0.0, -scale, scale, 0.0, x, box.y0 + 7.0 * scale)
        for join, away in ((first, 0.0), (second, slip)):
            comb = combs_of(join)[0]
            moved = place @ Affine.shift(0.0, away - comb.middle.y)
            pen.under(moved).lines(comb.teeth, Ink(0.1, 0.15 / scale))
        line_y = box.y0 + 7.0 * scale
        pen.polyline([Point(x - 14.0 * scale, line_y), Point(x + 14.0 * scale, line_y)], styles.HAIR)
        pen.text(Point(x, box.y0 + 15.5 * scale), words, replace(styles.SMALL, anchor=Anchor.MIDDLE))


def _draw_number(pen: Pen, at: Point, number: int, centre: Point) -> None:
    """A cross, and its number on white beside it, towards the map's middle: clear of the frames."""
    arm = 0.9
    ends = [(Point(at.x - arm, at.y), Point(at.x + arm, at.y)), (Point(at.x, at.y - arm), Point(at.x, at.y + arm))]
    pen.lines(ends, Ink(0.1, 0.15))
    style = Type(1.9, styles.HEADING.face, grey=0.1)
    width = text_width(str(number), style.size, style.face)
    x = at.x + arm + 0.3 if at.x < centre.x else at.x - arm - 0.3 - width
    pen.fill(rectangle(Box(x - 0.1, at.y - 0.8, x + width + 0.1, at.y + 0.8)), 1.0)
    pen.text(Point(x, at.y + 0.68), str(number), style)


def _order_words(taping: Taping) -> list[Words]:
    words = [Words(TextRole.HEADING, "Tape")]
    last = (taping.gaps_in_words, taping.joined_in_words, f"{COMBS_MEET} {COMB_STEPS}", taping.parts_in_words)
    for number, step in enumerate((CUT_PAGES, ROWS_FIRST, *filter(None, last)), start=1):
        words.append(Words(TextRole.STEP, step, str(number)))
        if step is ROWS_FIRST:
            words += [Words(TextRole.STEP, row) for row in taping.rows_in_words]
    return words


def check_words(lines: Sequence[CheckLine], how: str = "Measure from cross to cross before you cut:") -> list[Words]:
    """The check lines with their lengths, under a heading, and how photos tell it; nothing where there are none."""
    if not lines:
        return []
    words = [Words(TextRole.HEADING, "Check the taped sheet"), Words(TextRole.BODY, how)]
    words += [Words(TextRole.STEP, line.in_words, "+") for line in lines]
    return [*words, Words(TextRole.SMALL, PHOTOGRAPH)]
