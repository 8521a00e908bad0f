"""From a printed file's record and a new drawing to the plan of a reprint: which pages, and why each.

The grid, the names and the paper stay as printed. Pieces lie where they were printed, shifted where that saves pages.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from calibrate.printer_scale import PageCorrection
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong
from tiling.helper_lines import is_helper
from tiling.marks import MOST_LOOSE, line_shape
from tiling.pattern import Pattern
from tiling.planning.bridges import bridges
from tiling.planning.changes import (
    Cell,
    ChangeReason,
    Choice,
    TapedSheet,
    by_piece,
    changed_tiles,
    choose_shifts,
    kept_clear,
    piece_change,
)
from tiling.planning.occupancy import occupancy
from tiling.planning.placing import placed
from tiling.planning.plan import JOIN_MARKS, Placement, PrintPlan, Tile, parts_of_cells, tile_name
from tiling.planning.printed import STEP, UNSEEN, MarkKind, PrintedRecord, RecordedMark, recorded
from tiling.planning.share import with_line_patterns
from tiling.planning.traces import Trace, common_share, difference
from tiling.shapes import Affine, Path, Point

__all__ = ["Depth", "Reprint", "ReprintOptions", "plan_reprint"]

_NEAR = 0.3  # mm
_STRANGER = 0.03  # a drawing that shares less of its lines than this with the printed one is another pattern


class Depth(Enum):
    """What counts as a change: moved lines only, or also texts and styles that changed where they are."""

    LINES = "lines"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class ReprintOptions:
    """`slack`: how far a line may have moved, mm. `correction`: the printer's, where another is wanted."""

    slack: float = 0.1
    depth: Depth = Depth.LINES
    correction: PageCorrection | None = None


@dataclass(frozen=True, slots=True)
class Reprint:
    """What to do with every tile of the taped sheet.

    Attributes:
        plan: all tiles of the new sheet; those that stay are its `kept` ones.
        before: the record of the file that was printed; it goes on in the new file's.
        replace, add, remove, keep: names of tiles.
        lesser: kept tiles on which only a text or a style differs.
        shifts: by how much each piece was shifted from where it was printed, mm.
        why: for every tile to replace, add or remove, the pieces and their largest movement, mm.
        every_page_because: set when all pages are printed for a reason other than the drawing.
        laid: the drawing as it lies on the sheet, where that is more than its pieces moved.
    """

    plan: PrintPlan
    before: PrintedRecord
    replace: tuple[str, ...] = ()
    add: tuple[str, ...] = ()
    remove: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    lesser: tuple[str, ...] = ()
    shifts: Mapping[str, Point] = field(default_factory=dict)
    why: Mapping[str, tuple[ChangeReason, ...]] = field(default_factory=dict)
    every_page_because: str = ""
    laid: Pattern | None = None

    @property
    def nothing_to_print(self) -> bool:
        """Whether no page has to be printed (some may still have to be taken away)."""
        return not self.replace and not self.add


def plan_reprint(record: PrintedRecord, pattern: Pattern, options: ReprintOptions) -> Reprint:
    """Compare the drawing with what was printed and plan the pages that differ.

    Args:
        record: from the printed file.
        pattern: the new drawing, as read.
        options: slack, depth, another printer's correction.

    Raises:
        InputUnfit: the drawing has next to nothing in common with the printed one, or its pages would not meet those
            already taped.
        UsageWrong: the new correction leaves no room on the page for the printed windows.
    """
    now = recorded(_laid(pattern, record.plan, record.plan.placements).marks)
    before = [record.marks[number] for number in _compared(record.marks, now)]
    compared = _compared(now, record.marks)
    sheet = TapedSheet(record.plan.grid, frozenset(Cell(tile.row, tile.column) for tile in record.plan.tiles))
    choice = _choice(before, [now[number] for number in compared], sheet, options.slack)
    placements = _shifted(record.plan.placements, choice.shifts, pattern)
    final = _laid(pattern, record.plan, placements)
    after = recorded([final.marks[number] for number in compared])
    _check_kinship(before, after, final.title, record.plan.title)
    lesser = changed_tiles(difference(_traces(before, _by_look), _traces(after, _by_look), options.slack), sheet)
    cells: dict[Cell, tuple[ChangeReason, ...]] = dict(choice.tiles)
    if options.depth is Depth.ALL:
        cells |= {cell: (ChangeReason("", 0.0),) for cell in lesser if cell not in cells}
    because = ""
    correction = record.plan.correction if options.correction is None else options.correction
    if (correction.across, correction.down) != (record.plan.correction.across, record.plan.correction.down):
        because = "the printer's correction is another one than when the sheet was printed"
        cells = {cell: cells.get(cell, ()) for cell in sorted(cells.keys() | sheet.printed)}
    title = pattern.title or record.plan.title
    plan = replace(record.plan, placements=placements, correction=correction, title=title, scale=pattern.scale)
    _check_room(plan)
    reprint = _sorted_out(Reprint(plan, record, shifts=choice.shifts, every_page_because=because), final, cells, lesser)
    _check_joins(reprint)
    return reprint


def _compared(marks: Sequence[RecordedMark], others: Sequence[RecordedMark]) -> list[int]:
    """The numbers of the marks that leave ink, without helper lines: for their sake no page is printed again.

    A line that is a helper line in the other drawing, at the same place, is none here for want of a role only.
    """
    helpers = {_steps(mark) for mark in others if is_helper(mark.tag)}
    return [
        number
        for number, mark in enumerate(marks)
        if mark.look != UNSEEN and not is_helper(mark.tag) and not (helpers and _steps(mark) in helpers)
    ]


def _steps(mark: RecordedMark) -> bytes:
    return np.round(mark.path.points / STEP).astype(np.int64).tobytes()


def _sorted_out(
    reprint: Reprint, final: Pattern, cells: Mapping[Cell, tuple[ChangeReason, ...]], lesser: Collection[Cell]
) -> Reprint:
    """The reprint with every tile where it belongs: replace, add, remove or keep.

    Args:
        reprint: with the plan of the sheet as it was printed.
        final: the drawing as it lies on the sheet.
        cells: where tiles change, and why.
        lesser: where anything differs, texts and styles included.
    """
    plan = reprint.plan
    ink = occupancy(final)
    old = {Cell(tile.row, tile.column): tile for tile in plan.tiles}
    lists: dict[str, list[str]] = {"replace": [], "add": [], "remove": [], "keep": []}
    tiles: list[Tile] = []
    why: dict[str, tuple[ChangeReason, ...]] = {}
    for cell in sorted(old.keys() | cells.keys()):
        window = plan.grid.box(cell.row, cell.column)
        name = old[cell].name if cell in old else tile_name(cell.row, cell.column)
        changed = cell in cells
        if changed:
            why[name] = cells[cell]
        if not ink.inked(window):
            fate = "keep" if name in plan.bridges and not changed else "remove" if cell in old else ""
        elif not changed:
            fate = "keep"
        else:
            fate = "replace" if cell in old else "add"
        if fate:
            lists[fate].append(name)
        if fate in {"keep", "replace", "add"}:
            tiles.append(Tile(name, cell.row, cell.column, window))
    tiles += _holding(tiles, old, lists, plan, final)
    grid = replace(
        plan.grid,
        rows=max(plan.grid.rows, *(tile.row + 1 for tile in tiles)),
        columns=max(plan.grid.columns, *(tile.column + 1 for tile in tiles)),
    )
    named = {tile.name for tile in tiles}
    skipped = tuple(name for name in (*plan.skipped, *lists["remove"]) if name not in named)
    return replace(
        reprint,
        plan=replace(
            plan,
            grid=grid,
            tiles=tuple(tiles),
            skipped=skipped,
            kept=frozenset(lists["keep"]),
            bridges=frozenset(tile.name for tile in tiles if not ink.inked(tile.window)),
        ),
        replace=tuple(lists["replace"]),
        add=tuple(lists["add"]),
        remove=tuple(lists["remove"]),
        keep=tuple(lists["keep"]),
        lesser=tuple(old[cell].name for cell in sorted(lesser) if cell in old and old[cell].name in lists["keep"]),
        why=why,
        laid=final if plan.shared else None,
    )


def _holding(
    tiles: Sequence[Tile], old: Collection[Cell], lists: dict[str, list[str]], plan: PrintPlan, final: Pattern
) -> list[Tile]:
    """Empty pages without which pages of a piece would lose their hold now, but not as the sheet was printed.

    They are listed to be added, or to replace a page that nothing would be left on.
    """
    now = {(tile.row, tile.column) for tile in tiles}
    before = {(cell.row, cell.column) for cell in old}
    if now == before or len(parts_of_cells(now)) == 1:
        return []
    needed = bridges(now, plan.grid.box, final) - bridges(before, plan.grid.box, final)
    held = [Tile(tile_name(*cell), *cell, plan.grid.box(*cell)) for cell in sorted(needed)]
    for tile in held:
        gone = tile.name in lists["remove"]
        if gone:
            lists["remove"].remove(tile.name)
        lists["replace" if gone else "add"].append(tile.name)
    return held


def _choice(before: Sequence[RecordedMark], after: Sequence[RecordedMark], sheet: TapedSheet, slack: float) -> Choice:
    """The best shifts of the pieces that both drawings name; all else is one group, ''.

    So a drawing whose pieces got names after it was printed is compared as a whole.
    """
    look = _sorting(before, after)
    old, new = by_piece(_traces(before, look)), by_piece(_traces(after, look))
    known = [piece for piece in old if piece and piece in new]
    changes = [piece_change(piece, old[piece], new[piece], sheet, slack) for piece in known]
    gone, came = (
        [trace for piece, traces in group.items() if piece not in known for trace in traces] for group in (old, new)
    )
    if gone or came:
        loose = piece_change("", gone, came, sheet, slack)
        shapes = [_shape(mark) for mark in after if mark.tag.piece not in known]
        changes.append(kept_clear(loose, shapes, changes) if known and len(shapes) <= MOST_LOOSE else loose)
    return choose_shifts(changes, sheet, slack)


def _shape(mark: RecordedMark) -> BaseGeometry:
    if mark.kind is MarkKind.LINE:
        return line_shape(mark.path)
    return shapely.convex_hull(shapely.multipoints(mark.path.points))


def _by_role(mark: RecordedMark) -> str:
    return mark.tag.role.value


def _by_look(mark: RecordedMark) -> str:
    return f"{mark.look} {mark.content}"


def _sorting(before: Sequence[RecordedMark], after: Sequence[RecordedMark]) -> Callable[[RecordedMark], str]:
    """Which lines are compared with which: those of one role, where both drawings have roles."""
    known = all(any(mark.tag.role.value for mark in marks) for marks in (before, after))
    return _by_role if known else lambda _: ""


def _traces(marks: Iterable[RecordedMark], look: Callable[[RecordedMark], str]) -> list[Trace]:
    return [
        Trace(
            mark.kind.value, mark.tag.piece, look(mark), _place(mark), mark.path if mark.kind is MarkKind.TEXT else None
        )
        for mark in marks
    ]


def _place(mark: RecordedMark) -> Path:
    """The mark's own path; of a text only the upright edge it begins at, for its length changes with its words."""
    if mark.kind is not MarkKind.TEXT or len(mark.path.points) < 4:
        return mark.path
    start, top = mark.path.points[3], mark.path.points[0]
    return Path.polyline([Point(float(start[0]), float(start[1])), Point(float(top[0]), float(top[1]))])


def _laid(pattern: Pattern, plan: PrintPlan, placements: Sequence[Placement]) -> Pattern:
    """The drawing as it lies on the sheet, in the pieces' own line patterns where they share paper."""
    laid = placed(pattern, placements)
    return with_line_patterns(laid) if plan.shared else laid


def _shifted(placements: Sequence[Placement], shifts: Mapping[str, Point], pattern: Pattern) -> tuple[Placement, ...]:
    """Where the pieces lie now: as printed, then shifted; pieces that lie as drawn need no placement.

    An arrangement also names groups that are no pieces of the drawing; it stays complete, and keeps its names.
    """
    moves = {placement.piece: placement.move for placement in placements}
    own = list(dict.fromkeys(mark.tag.piece for mark in pattern.marks))
    arranged = any(name not in own for name in moves)
    named = [*moves, *(piece for piece in own if piece not in moves and not (arranged and not piece))]
    still = Point(0.0, 0.0)
    result = []
    for piece in named:
        shift = shifts.get(piece, shifts.get("", still))
        move = Affine.shift(shift.x, shift.y) @ moves.get(piece, Affine())
        if arranged or move != Affine():
            result.append(Placement(piece, move))
    return tuple(result)


def _check_kinship(before: Sequence[RecordedMark], after: Sequence[RecordedMark], title: str, printed: str) -> None:
    """Refuse a drawing in which next to nothing lies where it was printed: it is another pattern."""
    look = _sorting(before, after)
    new = [trace for trace in _traces(after, look) if trace.kind == "line"]
    if common_share(_traces(before, look), new, _NEAR, _STRANGER) < _STRANGER:
        raise InputUnfit(
            f"'{title}' has next to no line in common with the printed '{printed}'",
            Remedy(Action.PRINT_OR_NAME_FILE),
        )


def _check_joins(reprint: Reprint) -> None:
    """Refuse pages whose marks would be others than those of the pages they are taped to."""
    version = reprint.plan.join_marks
    if version not in JOIN_MARKS and not reprint.nothing_to_print:
        raise InputUnfit(
            f"The sheet of '{reprint.plan.title}' was printed with join marks of version {version}, which this edition "
            "can't draw, so that new pages would not meet the taped ones",
            Remedy(Action.PRINT_ALL_ANEW),
        )


def _check_room(plan: PrintPlan) -> None:
    spot, page = plan.window_on_page, plan.page_size
    if min(spot.x0, spot.y0, page.width - spot.x1, page.height - spot.y1) < 0.0:
        raise UsageWrong(
            f"The printed tiles of {plan.grid.window.width:g} x {plan.grid.window.height:g} mm, corrected for this "
            "printer, are larger than the page",
            Remedy(Action.PRINT_FOR_PRINTER),
        )
