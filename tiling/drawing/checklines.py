"""Check lines: long distances between printed crosses on different pages, to measure once the sheet is taped.

What a line may be off grows with the joins it crosses, half a millimetre each, and with the printer's uncertainty
where it is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.photo_marks import CODE_CLEAR, clear_of_codes, codes_of
from tiling.drawing.spots import Spots
from tiling.drawing.taping import sheet_parts
from tiling.lengths import in_cm, in_mm
from tiling.pattern import Pattern, Role
from tiling.planning.plan import PrintPlan, Tile
from tiling.planning.printed import Cross, PrintedCheck, PrintedRecord
from tiling.shapes import Box, Point

__all__ = ["CROSS_ARM", "DIAGONALS", "PER_JOIN", "CheckLine", "check_lines", "check_lines_on_sheet", "crosses_of"]

PER_JOIN = 0.5
"""How far careful taping may be off at one join, mm (common practice, no source); the join marks show as much."""

DIAGONALS = ("down to the right", "down to the left")
"""The lines whose crosses follow from the tiles alone, and that are numbered first."""

_CLEAR = 16.0  # from a tile's seen edges: outside combs, checkers and words
_LEAST_CLEAR = 10.0  # for a cross whose place the drawing gives
_LEAST = 80.0
_ALONG = tuple(n / 100 for n in (30, 25, 35, 20, 40, 15, 45, 10, 50, 5, 55, 60, 65, 70, 75, 80, 85, 90))
CROSS_ARM = 4.0
"""From a cross's middle to the end of its lines, mm."""
_AROUND_CROSS = 6.0  # its arms and its number


@dataclass(frozen=True, slots=True)
class CheckLine:
    """A distance that must be found on the taped sheet.

    `start` and `end` are crosses on the tiles `from_tile` and `to_tile`; `length` and `allowance` are mm.
    """

    what: str
    start: Cross
    end: Cross
    from_tile: str
    to_tile: str
    length: float
    allowance: float

    @property
    def printed(self) -> PrintedCheck:
        """What the printed file keeps of it."""
        return PrintedCheck(self.what, self.start, self.end, self.from_tile, self.to_tile)

    @property
    def in_words(self) -> str:
        """From which cross to which, how long, by how much it may be off, and where it runs."""
        return (
            f"{self.start.number} to {self.end.number}: {in_cm(self.length, 2)}, at most {in_mm(self.allowance)} off "
            f"({self.from_tile} to {self.to_tile}, {self.what})"
        )


@dataclass(frozen=True, slots=True)
class _Place:
    """Where crosses may stand on a tile: anywhere in `box`; where the drawing gives the place, in `more`.

    There it keeps clear of `codes`.
    """

    tile: Tile
    box: Box
    more: Box
    codes: tuple[Box, ...]

    def takes(self, point: Point) -> bool:
        """Whether a cross may stand where the drawing has it."""
        near = CROSS_ARM + CODE_CLEAR
        return self.more.holds(point) and not any(code.grown(near).holds(point) for code in self.codes)


def check_lines(plan: PrintPlan, pattern: Pattern, spots: Spots | None = None) -> tuple[CheckLine, ...]:
    """Both diagonals, the grainline of the longest piece, and the longest column and row, where they cross a join.

    Args:
        plan: its tiles, also those printed before, say where crosses can stand.
        pattern: the drawing as laid out, for its grainlines.
        spots: knows where the drawing leaves room; the straight lines' crosses stand there. The diagonals' do not, so
            that they hold whatever is altered.

    Where the tiles don't all hang together, the lines lie on their largest part: nothing fixes the parts to each other.

    Returns:
        Lines between crosses on different tiles, longest first kept in the order named above; none for a single tile.
    """
    whole = max(sheet_parts(plan), key=len, default=frozenset())
    places = [_place(plan, tile) for tile in plan.tiles if tile.name in whole]
    wanted = [
        *((what, *_farthest(places, right, 1)) for what, right in zip(DIAGONALS, (1, -1), strict=True)),
        *_grainline(pattern, places),
        ("straight down", *_straight(places, spots, down=True)),
        ("straight across", *_straight(places, spots, down=False)),
    ]
    return tuple(_numbered(plan, wanted, []))


def check_lines_on_sheet(
    plan: PrintPlan, pattern: Pattern, spots: Spots | None, before: PrintedRecord
) -> tuple[CheckLine, ...]:
    """The check lines of a sheet of which some tiles are printed again: those it had, crosses and numbers and all.

    A cross is printed again where it was. A line goes only with one of its tiles; where one of a kind is missing, a
    new line may stand between tiles that are printed now.

    Args:
        plan: of the sheet as it is now; its `kept` tiles stay.
        pattern: the drawing as laid out.
        spots: see `check_lines`.
        before: the record of the sheet.
    """
    fresh = {tile.name for tile in plan.to_print}
    wanted = check_lines(plan, pattern, spots)
    if before.checks is None:
        # Of a first print the tiles alone say where the diagonals' crosses stand.
        same = before.printing == 1 and _windows(plan) == _windows(before.plan)
        kept = DIAGONALS if same else ()
        return tuple(line for line in wanted if {line.from_tile, line.to_tile} <= fresh or line.what in kept)
    tiles, there = {tile.name: tile for tile in plan.tiles}, _windows(before.plan)
    standing = [
        _line(plan, check, (tiles[check.from_tile], tiles[check.to_tile]))
        for check in before.checks
        if all(name in tiles and there.get(name) == tiles[name].window for name in (check.from_tile, check.to_tile))
    ]
    kinds = {_kind(line.what) for line in standing}
    more = [
        (line.what, (tiles[line.from_tile], line.start.at), (tiles[line.to_tile], line.end.at))
        for line in wanted
        if _kind(line.what) not in kinds and {line.from_tile, line.to_tile} <= fresh
    ]
    return tuple(_numbered(plan, more, standing))


def _windows(plan: PrintPlan) -> dict[str, Box]:
    return {tile.name: tile.window for tile in plan.tiles}


def _kind(what: str) -> str:
    """What several lines are one of: the diagonal, the column, the row, or the grainline of any piece."""
    return what.partition(" of ")[0]


def _numbered(plan: PrintPlan, wanted: Iterable[tuple[str, _End, _End]], there: Sequence[CheckLine]) -> list[CheckLine]:
    """The lines that are there, and those wanted besides that are long enough, with numbers for their crosses."""
    lines = list(there)
    crosses = {(c.at.x, c.at.y): c for line in lines for c in (line.start, line.end)}
    next_number = max((cross.number for cross in crosses.values()), default=0) + 1
    for what, (tile_a, first), (tile_b, last) in wanted:
        # To the micrometre, so that the noise of a grainline's ends doesn't reach the record.
        a, b = (Point(round(p.x, 3), round(p.y, 3)) for p in (first, last))
        pair = {(a.x, a.y), (b.x, b.y)}
        known = any({(n.start.at.x, n.start.at.y), (n.end.at.x, n.end.at.y)} == pair for n in lines)
        if tile_a is tile_b or a.distance(b) < _LEAST or known:
            continue
        for p in (a, b):
            if (p.x, p.y) not in crosses:
                crosses[p.x, p.y] = Cross(next_number, p)
                next_number += 1
        start, end = crosses[a.x, a.y], crosses[b.x, b.y]
        lines.append(_line(plan, PrintedCheck(what, start, end, tile_a.name, tile_b.name), (tile_a, tile_b)))
    return lines


def _line(plan: PrintPlan, check: PrintedCheck, tiles: tuple[Tile, Tile]) -> CheckLine:
    """The line with its length, and by how much it may be off."""
    one, other = tiles
    joins = abs(one.row - other.row) + abs(one.column - other.column)
    length = check.start.at.distance(check.end.at)
    allowance = _allowance(plan, joins, length)
    return CheckLine(check.what, check.start, check.end, check.from_tile, check.to_tile, length, allowance)


def crosses_of(lines: tuple[CheckLine, ...], tile: Tile) -> tuple[Cross, ...]:
    """The crosses that one tile carries, by number."""
    found = {line.start.number: line.start for line in lines if line.from_tile == tile.name}
    found |= {line.end.number: line.end for line in lines if line.to_tile == tile.name}
    return tuple(found[number] for number in sorted(found))


def _allowance(plan: PrintPlan, joins: int, length: float) -> float:
    """Half a millimetre for each join, and the printer's uncertainty; rounded up to half a millimetre."""
    return ceil((PER_JOIN * joins + plan.correction.uncertainty * length) * 2 - 1e-9) / 2


def _place(plan: PrintPlan, tile: Tile) -> _Place:
    kept = kept_part(tile, joins_of(plan, tile))
    most = min(kept.width, kept.height) / 3
    inset, least = min(max(_CLEAR, clear_of_codes(plan) + CROSS_ARM), most), min(_CLEAR, most) - _CLEAR + _LEAST_CLEAR
    return _Place(tile, kept.grown(-inset), kept.grown(-least), tuple(code.box for code in codes_of(plan, tile)))


_End = tuple[Tile, Point]


def _farthest(places: list[_Place], right: int, down: int) -> tuple[_End, _End]:
    """The two points farthest apart in a direction, over the corners of all tiles."""
    corners = [(p.tile, Point(x, y)) for p in places for x in (p.box.x0, p.box.x1) for y in (p.box.y0, p.box.y1)]

    def along(end: _End) -> float:
        return end[1].x * right + end[1].y * down

    return min(corners, key=along), max(corners, key=along)


def _straight(places: list[_Place], spots: Spots | None, *, down: bool) -> tuple[_End, _End]:
    """The longest run within one column (or row), down (or along) its tiles, where its crosses meet least ink."""
    best: tuple[_End, _End] | None = None
    for line in sorted({p.tile.column if down else p.tile.row for p in places}):
        own = [p for p in places if (p.tile.column if down else p.tile.row) == line]
        first = min(own, key=lambda p: p.box.y0 if down else p.box.x0)
        last = max(own, key=lambda p: p.box.y1 if down else p.box.x1)
        run = min((_run(first, last, share, down=down) for share in _ALONG), key=lambda run: _ink_under(run, spots))
        if best is None or run[0][1].distance(run[1][1]) > best[0][1].distance(best[1][1]):
            best = run
    assert best is not None
    return best


def _run(first: _Place, last: _Place, share: float, *, down: bool) -> tuple[_End, _End]:
    """From one tile's edge to the other's, at a share of the first one's width (or height)."""
    if down:
        x = first.box.x0 + first.box.width * share
        return (first.tile, Point(x, first.box.y0)), (last.tile, Point(x, last.box.y1))
    y = first.box.y0 + first.box.height * share
    return (first.tile, Point(first.box.x0, y)), (last.tile, Point(last.box.x1, y))


def _ink_under(run: tuple[_End, _End], spots: Spots | None) -> int:
    if spots is None:
        return 0
    return sum(spots.ink_in(Box(at.x, at.y, at.x, at.y).grown(_AROUND_CROSS)) for _, at in run)


def _grainline(pattern: Pattern, places: list[_Place]) -> list[tuple[str, _End, _End]]:
    """The longest grainline whose ends can both be marked."""
    found: list[tuple[float, str, _End, _End]] = []
    for line in pattern.lines(role=Role.GRAINLINE):
        points = line.path.points
        # A grainline may carry arrow heads: its ends are the two points farthest apart along it.
        far = points[((points - points[0]) ** 2).sum(axis=1).argmax()]
        near = points[((points - far) ** 2).sum(axis=1).argmax()]
        first, last = sorted((Point(float(p[0]), float(p[1])) for p in (near, far)), key=lambda p: (p.y, p.x))
        start, end = _markable(places, first, last), _markable(places, last, first)
        if start and end:
            length = start[1].distance(end[1])
            found.append((length, f"grainline of {_title(pattern, line.tag.piece)}", start, end))
    return [max(found, key=lambda one: one[0])[1:]] if found else []


def _markable(places: list[_Place], end: Point, other: Point) -> _End | None:
    """The point nearest to one end of a line where a cross keeps clear of the joins, within its first third."""
    for step in range(35):
        point = end + (other - end) * (step / 100)
        for place in places:
            if place.takes(point):
                return place.tile, point
    return None


def _title(pattern: Pattern, ident: str) -> str:
    return next((piece.title for piece in pattern.pieces if piece.ident == ident), ident) or "a piece"
