"""Which tiles of a taped sheet must be printed again after the drawing changed, and where its pieces should lie.

Every piece may be shifted as a whole, so that some of its lines stay exactly where they are on the taped sheet: after
a spread that is one side of the cut or the other. `choose_shifts` tries them together and takes the combination with
the fewest pages to print.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor, inf

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from tiling.marks import background
from tiling.planning.plan import Grid
from tiling.planning.traces import Trace, difference, shift_votes
from tiling.shapes import Affine, Box, Point

__all__ = [
    "Cell",
    "ChangeReason",
    "Choice",
    "PieceChange",
    "TapedSheet",
    "by_piece",
    "changed_tiles",
    "choose_shifts",
    "kept_clear",
    "piece_change",
    "tiles_at",
]

GAP = 5.0
"""Least distance that a piece moved to a free place keeps from the others, mm."""
_ROOM_STEP = 10.0
_ROOMS = 3
_BESIDE = 2.0  # mm kept between a piece and loose marks
_CLASH = 1.0  # mm²: less than this is two cutting lines that touch
_MOST_TRIES = 200_000


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """A place in the tile grid; any integers, also outside the first print."""

    row: int
    column: int


@dataclass(frozen=True, slots=True)
class TapedSheet:
    """What lies taped on the table: the grid, going on for ever, and those of its tiles that were printed."""

    grid: Grid
    printed: frozenset[Cell]


@dataclass(frozen=True, slots=True)
class ChangeReason:
    """Why a tile changes: which piece, and the largest movement in mm (inf: a line appeared or went)."""

    piece: str
    movement: float


@dataclass(frozen=True, slots=True)
class Option:
    """A piece at one shift: the tiles that change, and its outline there (None: it can't clash)."""

    shift: Point
    tiles: Mapping[Cell, float]
    outline: BaseGeometry | None


@dataclass(frozen=True, slots=True)
class PieceChange:
    """One piece, printed and new, with the shifts worth trying (best first)."""

    piece: str
    old: tuple[Trace, ...]
    new: tuple[Trace, ...]
    options: tuple[Option, ...]
    old_outline: BaseGeometry | None


@dataclass(frozen=True, slots=True)
class Choice:
    """The best combination: each piece's shift, and each changed tile with its reasons."""

    shifts: Mapping[str, Point]
    tiles: Mapping[Cell, tuple[ChangeReason, ...]] = field(default_factory=dict)


def tiles_at(points: NDArray[np.float64], grid: Grid) -> dict[Cell, NDArray[np.bool_]]:
    """The cells whose windows hold any of the points, each with which ones.

    Args:
        points: (n, 2 or more): x, y in mm on the layout first.
        grid: the tile grid, thought of as going on for ever.

    Returns:
        For every such cell a mask of shape (n,).
    """
    found: dict[Cell, NDArray[np.bool_]] = {}
    step, window = grid.step, grid.window
    right, down = points[:, 0] - grid.origin.x, points[:, 1] - grid.origin.y
    last_column, last_row = np.floor(right / step.width), np.floor(down / step.height)
    back_x, back_y = ceil(window.width / step.width), ceil(window.height / step.height)
    for dx in range(back_x):
        for dy in range(back_y):
            columns, rows = last_column - dx, last_row - dy
            inside = (right - columns * step.width <= window.width) & (down - rows * step.height <= window.height)
            places = np.column_stack([rows, columns]).astype(np.int64)
            for row, column in np.unique(places[inside], axis=0).tolist():
                held = inside & (rows == row) & (columns == column)
                cell = Cell(row, column)
                found[cell] = found[cell] | held if cell in found else held
    return found


def changed_tiles(points: NDArray[np.float64], sheet: TapedSheet) -> dict[Cell, float]:
    """The tiles to print for differences at `points` (n, 3), with the largest third value in each.

    Every printed tile that shows one of them is to be printed again. A place without a printed tile gets one only for
    what no printed tile shows, and then as few as a greedy choice finds.
    """
    held = tiles_at(points, sheet.grid)
    chosen = {cell: mask for cell, mask in held.items() if cell in sheet.printed}
    bare = ~np.any(list(chosen.values()), axis=0) if chosen else np.ones(len(points), dtype=np.bool_)
    fresh = {cell: mask for cell, mask in held.items() if cell not in sheet.printed}
    while bare.any():
        best = max(sorted(fresh), key=lambda cell: int((fresh[cell] & bare).sum()))
        chosen[best] = fresh[best]
        bare = bare & ~fresh[best]
    return {cell: float(points[mask, 2].max()) for cell, mask in chosen.items()}


def _outline(traces: Sequence[Trace]) -> BaseGeometry | None:
    """What the piece covers: its largest closed line, or the hull of its lines."""
    areas = [
        shapely.polygons(line)
        for trace in traces
        if trace.kind == "line" and trace.path.closed
        for line in trace.polylines
        if len(line) > 3
    ]
    points = [line for trace in traces if trace.kind == "line" for line in trace.polylines]
    if not points:
        return None
    hull = shapely.convex_hull(shapely.multipoints(np.vstack(points)))
    largest = max(areas, key=lambda area: area.area, default=None)
    if largest is not None and largest.area > 0.3 * hull.area:
        return largest.buffer(0)
    return hull


def _option(old: Sequence[Trace], new: Sequence[Trace], shift: Point, sheet: TapedSheet, slack: float) -> Option:
    there = [trace.moved(Affine.shift(shift.x, shift.y)) for trace in new] if shift.norm else list(new)
    tiles = changed_tiles(difference(old, there, slack), sheet)
    # Loose marks lie under everything, unless `kept_clear` says which don't.
    return Option(shift, tiles, _outline(there) if there and there[0].piece else None)


def piece_change(
    piece: str, old: Sequence[Trace], new: Sequence[Trace], sheet: TapedSheet, slack: float
) -> PieceChange:
    """Compare a piece with its printed form at every shift that leaves some of its lines in place.

    Args:
        piece: its id; '' for all that belongs to no piece.
        old: its traces on the taped sheet.
        new: its traces, placed as the printed ones were.
        sheet: the taped sheet.
        slack: how far a line may be off without being printed again, mm.
    """
    shifts = shift_votes(old, new) if old and new else [Point(0.0, 0.0)]
    options = sorted(
        (_option(old, new, shift, sheet, slack) for shift in shifts),
        key=lambda option: (len(option.tiles), option.shift.norm),
    )
    return PieceChange(piece, tuple(old), tuple(new), tuple(options), _outline(old) if old and piece else None)


def kept_clear(loose: PieceChange, shapes: Sequence[BaseGeometry], pieces: Sequence[PieceChange]) -> PieceChange:
    """The change of the loose marks, with those that the pieces must keep clear of as its outline.

    Args:
        loose: the change of all that belongs to no piece.
        shapes: its new marks as shapes, before any shift.
        pieces: the others; what lay under or around one of them on the taped sheet is left out.
    """
    printed = [change.old_outline for change in pieces if change.old_outline is not None]
    options = []
    for option in loose.options:
        there = [shapely.affinity.translate(shape, option.shift.x, option.shift.y) for shape in shapes]
        beside = [shape.buffer(_BESIDE, quad_segs=2) for shape in there if not background(shape, printed, _BESIDE)]
        options.append(replace(option, outline=shapely.unary_union(beside) if beside else None))
    return replace(loose, options=tuple(options))


def _clash(one: Option, other: Option, allowed: float) -> bool:
    if one.outline is None or other.outline is None or not one.outline.intersects(other.outline):
        return False
    return bool(one.outline.intersection(other.outline).area > allowed + _CLASH)


def _box(outline: BaseGeometry) -> Box:
    return Box(*outline.bounds)


def _with_rooms(change: PieceChange, others: Sequence[PieceChange], sheet: TapedSheet, slack: float) -> PieceChange:
    """The piece with free places on the sheet and at its right and lower edge as further options."""
    first = change.options[0]
    if first.outline is None or not change.piece:
        return change
    own = _box(first.outline)
    firsts = [other.options[0].outline for other in others]
    parts = [part for outline in firsts if outline is not None for part in shapely.get_parts(outline)]
    taken = [_box(part).grown(GAP) for part in parts]
    table = Box.around([*taken, own, *(_box(c.old_outline) for c in (change, *others) if c.old_outline is not None)])
    assert table is not None
    spots = [(table.x1 + GAP, own.y0), (own.x0, table.y1 + GAP), (table.x1 + GAP, table.y0), (table.x0, table.y1 + GAP)]
    for x in np.arange(table.x0, table.x1 - own.width, _ROOM_STEP):
        for y in np.arange(table.y0, table.y1 - own.height, _ROOM_STEP):
            spot = Box(x, y, x + own.width, y + own.height)
            if not any(spot.meets(box) for box in taken):
                spots.append((float(x), float(y)))
    ranked = sorted(spots, key=lambda spot: _tiles_of_box(own.moved(spot[0] - own.x0, spot[1] - own.y0), sheet.grid))
    rooms = [
        _option(change.old, change.new, first.shift + Point(x - own.x0, y - own.y0), sheet, slack)
        for x, y in [*ranked[:_ROOMS], *spots[:2]]
    ]
    return replace(change, options=(*change.options, *rooms))


def _tiles_of_box(box: Box, grid: Grid) -> int:
    step = grid.step
    columns = floor((box.x1 - grid.origin.x) / step.width) - floor((box.x0 - grid.origin.x) / step.width) + 1
    rows = floor((box.y1 - grid.origin.y) / step.height) - floor((box.y0 - grid.origin.y) / step.height) + 1
    return columns * rows


class _Search:
    """Branch and bound over one option for each piece; fewest changed tiles, then least shift."""

    def __init__(self, changes: Sequence[PieceChange]) -> None:
        self.changes = changes
        self.best: tuple[float, float] = (inf, inf)
        self.found: list[Option] | None = None
        self.tries = 0
        self.allowed: dict[tuple[int, int], float] = {}
        self.clashes: dict[tuple[int, int, int, int], bool] = {}

    def run(self, chosen: list[Option], picks: list[int], tiles: frozenset[Cell], shift: float) -> None:
        """Try every option of the next piece."""
        self.tries += 1
        if (len(tiles), shift) >= self.best or self.tries > _MOST_TRIES:
            return
        at = len(chosen)
        if at == len(self.changes):
            self.best, self.found = (len(tiles), shift), list(chosen)
            return
        options = self.changes[at].options
        order = sorted(range(len(options)), key=lambda i: (len(tiles | options[i].tiles.keys()), options[i].shift.norm))
        for pick in order:
            if any(self.clash(i, before, at, pick) for i, before in enumerate(picks)):
                continue
            option = options[pick]
            self.run([*chosen, option], [*picks, pick], tiles | option.tiles.keys(), shift + option.shift.norm)

    def clash(self, one: int, pick: int, other: int, other_pick: int) -> bool:
        """Whether two pieces at these options run into each other more than they did on the taped sheet."""
        key = (one, pick, other, other_pick)
        if key not in self.clashes:
            pair = (one, other)
            if pair not in self.allowed:
                a, b = self.changes[one].old_outline, self.changes[other].old_outline
                self.allowed[pair] = a.intersection(b).area if a is not None and b is not None else 0.0
            mine, theirs = self.changes[one].options[pick], self.changes[other].options[other_pick]
            self.clashes[key] = _clash(mine, theirs, self.allowed[pair])
        return self.clashes[key]


def _searched(changes: Sequence[PieceChange]) -> list[Option] | None:
    search = _Search(changes)
    search.run([], [], frozenset(), 0.0)
    return search.found


def _lying_under(change: PieceChange) -> PieceChange:
    return replace(change, options=tuple(replace(option, outline=None) for option in change.options))


def choose_shifts(changes: Sequence[PieceChange], sheet: TapedSheet, slack: float) -> Choice:
    """The shifts that need the fewest pages, no piece running into another or onto loose marks it lay beside.

    A piece that finds no room where it was is offered free places, on new tiles if need be.
    """
    found = _searched(changes)
    if found is None:
        # The new drawing itself may have a piece on loose marks.
        found = _searched([change if change.piece else _lying_under(change) for change in changes])
    if found is None:
        found = _searched(
            [
                _with_rooms(change, [c for c in changes if c is not change], sheet, slack)
                if any(o.tiles for o in change.options[:1])
                else change
                for change in changes
            ]
        )
    # Two pieces drawn over each other in the new drawing itself: nothing to be chosen, print them as they are.
    found = found or [change.options[0] for change in changes]
    reasons: dict[Cell, list[ChangeReason]] = {}
    for change, option in zip(changes, found, strict=True):
        for cell, movement in option.tiles.items():
            reasons.setdefault(cell, []).append(ChangeReason(change.piece, movement))
    return Choice(
        {change.piece: option.shift for change, option in zip(changes, found, strict=True)},
        {cell: tuple(reasons[cell]) for cell in sorted(reasons)},
    )


def by_piece(traces: Iterable[Trace]) -> dict[str, list[Trace]]:
    """Traces sorted by the piece they belong to, in order of appearance."""
    found: dict[str, list[Trace]] = {}
    for trace in traces:
        found.setdefault(trace.piece, []).append(trace)
    return found
