"""The plan as it is attached to the printed PDF, so that a reprint works from the file alone.

JSON in UTF-8 with sorted keys; the same plan and drawing give the same bytes. It tells the state of the whole taped
sheet, also of tiles that another file printed: each tile has the number of the printing it came from (the first print
is 1), so a reprint of a reprint knows them all.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from calibrate.papers import PAPERS, Paper
from calibrate.printer_scale import PageCorrection
from tiling.pattern import Pattern
from tiling.planning.plan import Grid, Margins, Orientation, Placement, PrintPlan, Tile
from tiling.planning.printed import Cross, PrintedCheck, PrintedRecord, recorded
from tiling.reading.options import LARGEST_SCALE, SMALLEST_SCALE
from tiling.record.json_value import JsonValue, parsed
from tiling.record.mark_record import packed_marks, unpacked_marks
from tiling.shapes import Affine, Box, Point, Size

__all__ = ["LARGEST", "read_record", "record_bytes"]

FORMAT, VERSION = "pageseam print plan", 2
"""The format's versions say which join marks a sheet may have, so that no earlier edition prints others beside them."""
LARGEST = 200_000_000
"""Bytes; a drawing of five million points stays below it."""

_FAR = 1e7
_LARGEST_PAGE = 1e5
"""mm; a sheet is at most 50 m."""
_TILE_NAME = re.compile(r"-?[A-Za-z]+-?[0-9]+")
_MOST_TILES = 100_000
_MOST_PRINTINGS = 100_000
_MOST_CHECKS = 1_000
_LONGEST = 400
_CLOSE = 1e-6
_FIRST_JOIN_MARKS = 1  # of records that don't say: they were written before there was a second version


def record_bytes(
    plan: PrintPlan,
    pattern: Pattern,
    pages: Mapping[str, int],
    before: PrintedRecord | None = None,
    checks: Sequence[PrintedCheck] = (),
) -> bytes:
    """The record of a plan and the drawing it prints.

    Args:
        plan: all tiles of the taped sheet.
        pattern: the drawing as laid out.
        pages: for the name of every tile that this file prints, its page's number from 1.
        before: the record of the file printed before, when this is a reprint.
        checks: the check lines whose crosses stand on the taped sheet.

    Raises:
        InputUnfit: the drawing has a coordinate that is no number, or more points than a record holds.
    """
    printing = before.printing + 1 if before else 1
    earlier = before.printings if before else {}
    tiles = [
        {
            "name": tile.name,
            "row": tile.row,
            "column": tile.column,
            "window_mm": [tile.window.x0, tile.window.y0, tile.window.x1, tile.window.y1],
            "page": pages.get(tile.name, 0),
            "empty": tile.name in plan.bridges,
            "printing": printing if tile.name in pages else earlier.get(tile.name, max(printing - 1, 1)),
        }
        for tile in plan.tiles
    ]
    values = {
        "format": FORMAT,
        "version": 1 if plan.join_marks == _FIRST_JOIN_MARKS else VERSION,
        "printing": printing,
        **_plan_values(plan),
        "first_pages": min(pages.values(), default=1) - 1,
        "tiles": tiles,
        "checks": [_check_values(check) for check in checks],
        "pieces": [[piece.ident[:_LONGEST], piece.title[:_LONGEST]] for piece in pattern.pieces],
        "drawing": packed_marks(recorded(pattern.marks)),
    }
    text = json.dumps(values, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))
    return text.encode("utf-8", "replace")


def read_record(data: bytes) -> PrintedRecord:
    """The record from an attachment's bytes, checked value by value.

    Raises:
        InputUnfit: not a record, damaged, or one of a later version; the message says where.
    """
    top = parsed(data, LARGEST)
    if top.key("format").text(100) != FORMAT:
        raise top.key("format").wrong("is not that of a print plan")
    if (version := top.key("version").whole(1, 1_000_000)) > VERSION:
        raise top.key("version").wrong(f"is {version}, written by a later pageseam; up to {VERSION} is read here")
    printing = top.key("printing").whole(1, _MOST_PRINTINGS)
    plan, printings = _plan(top, printing)
    titles = {}
    for item in top.key("pieces").items(_MOST_TILES):
        ident, title = item.items(2, exactly=True)
        titles[ident.text(_LONGEST)] = title.text(_LONGEST)
    return PrintedRecord(
        plan=plan,
        marks=unpacked_marks(top.key("drawing")),
        titles=titles,
        printing=printing,
        printings=printings,
        checks=_checks(top),
    )


def _check_values(check: PrintedCheck) -> list[Any]:
    ends = ((check.start, check.from_tile), (check.end, check.to_tile))
    return [check.what[:_LONGEST], *([cross.number, tile, [cross.at.x, cross.at.y]] for cross, tile in ends)]


def _checks(top: JsonValue) -> tuple[PrintedCheck, ...] | None:
    if "checks" not in top.value:
        return None
    found = []
    for given in top.key("checks").items(_MOST_CHECKS):
        what, *ends = given.items(3, exactly=True)
        (start, from_tile), (end, to_tile) = (_cross(one) for one in ends)
        found.append(PrintedCheck(what.text(_LONGEST), start, end, from_tile, to_tile))
    return tuple(found)


def _cross(given: JsonValue) -> tuple[Cross, str]:
    """A cross, and the name of its tile."""
    number, tile, at = given.items(3, exactly=True)
    return Cross(number.whole(1, _MOST_TILES), Point(*at.numbers(2, -_FAR, _FAR))), tile.text(20)


def _plan_values(plan: PrintPlan) -> dict[str, Any]:
    margins, grid, correction = plan.margins, plan.grid, plan.correction
    return {
        "title": plan.title[:_LONGEST],
        "paper": {
            "name": plan.paper.name,
            "size_mm": [plan.paper.width, plan.paper.height],
            "roll": plan.paper.roll,
        },
        "page_mm": [plan.page_size.width, plan.page_size.height],
        "orientation": plan.orientation.value,
        "margins_mm": [margins.left, margins.top, margins.right, margins.bottom],
        "grid": {
            "origin_mm": [grid.origin.x, grid.origin.y],
            "window_mm": [grid.window.width, grid.window.height],
            "overlap_mm": grid.overlap,
            "rows": grid.rows,
            "columns": grid.columns,
        },
        "skipped": list(plan.skipped),
        "layout_mm": [plan.layout_size.width, plan.layout_size.height],
        "correction": {
            "across": correction.across,
            "down": correction.down,
            "printer": correction.printer[:_LONGEST],
            "uncertainty": correction.uncertainty,
        },
        "placements": [
            [placed.piece[:_LONGEST], [getattr(placed.move, name) for name in "abcdef"]] for placed in plan.placements
        ],
        "shared": plan.shared,
        "pages_as_drawn": plan.pages_as_drawn,
        "grid_shift_mm": [plan.grid_shift.x, plan.grid_shift.y],
        "join_marks": plan.join_marks,
        "scale": plan.scale,
    }


def _paper(value: JsonValue) -> Paper:
    name, (width, height) = value.key("name").text(_LONGEST), value.key("size_mm").numbers(2, 1.0, _LARGEST_PAGE)
    paper = Paper(name, width, height, roll=value.key("roll").flag())
    return PAPERS[name] if PAPERS.get(name) == paper else paper


def _plan(top: JsonValue, printing: int) -> tuple[PrintPlan, dict[str, int]]:
    """The plan, and for each tile's name the printing it was last printed in."""
    grid = _grid(top.key("grid"))
    tiles, kept, bridges, printings = _tiles(top.key("tiles"), grid, printing)
    page = Size(*top.key("page_mm").numbers(2, 1.0, _LARGEST_PAGE))
    orientation = top.key("orientation")
    if orientation.text(20) not in {turn.value for turn in Orientation}:
        raise orientation.wrong("is neither portrait nor landscape")
    plan = PrintPlan(
        title=top.key("title").text(_LONGEST),
        paper=_paper(top.key("paper")),
        page_size=page,
        orientation=Orientation(orientation.value),
        margins=Margins(*top.key("margins_mm").numbers(4, 0.0, _FAR)),
        grid=grid,
        tiles=tiles,
        skipped=tuple(item.text(20) for item in top.key("skipped").items(_MOST_TILES)),
        layout_size=Size(*top.key("layout_mm").numbers(2, 0.0, _FAR)),
        correction=_correction(top.key("correction")),
        placements=tuple(_placement(item) for item in top.key("placements").items(_MOST_TILES)),
        shared=top.key("shared").flag(),
        kept=kept,
        bridges=bridges,
        pages_as_drawn=top.key("pages_as_drawn").whole(0, _MOST_TILES),
        grid_shift=Point(*top.key("grid_shift_mm").numbers(2, -_FAR, _FAR)),
        join_marks=top.key("join_marks", _FIRST_JOIN_MARKS).whole(1, 1_000_000),
        scale=top.key("scale", 1.0).number(
            SMALLEST_SCALE, LARGEST_SCALE
        ),  # earlier records don't say: nothing was scaled
    )
    spot = plan.window_on_page
    if min(spot.x0, spot.y0, page.width - spot.x1, page.height - spot.y1) < -1.0:
        raise top.key("grid").wrong("has a window that is larger than the page")
    return plan, printings


def _grid(given: JsonValue) -> Grid:
    window = Size(*given.key("window_mm").numbers(2, 1.0, _FAR))
    overlap = given.key("overlap_mm").number(0.0, min(window.width, window.height) / 2)
    origin = Point(*given.key("origin_mm").numbers(2, -_FAR, _FAR))
    rows, columns = (given.key(name).whole(1, _MOST_TILES) for name in ("rows", "columns"))
    return Grid(origin, window, overlap, rows, columns)


def _tiles(
    given: JsonValue, grid: Grid, printing: int
) -> tuple[tuple[Tile, ...], frozenset[str], frozenset[str], dict[str, int]]:
    """All tiles; the names of those that this file didn't print, of those that are empty; printings by name."""
    tiles: dict[str, Tile] = {}
    printings: dict[str, int] = {}
    pages: set[int] = set()
    kept: set[str] = set()
    bridges: set[str] = set()
    for item in given.items(_MOST_TILES):
        row, column = (item.key(name).whole(-_MOST_TILES, _MOST_TILES) for name in ("row", "column"))
        name, window = item.key("name").text(20), Box(*item.key("window_mm").numbers(4, -_FAR, _FAR))
        if window.apart(grid.box(row, column)) > _CLOSE:
            raise item.key("window_mm").wrong("is not where the grid has it")
        if not _TILE_NAME.fullmatch(name):
            raise item.key("name").wrong("is no tile's name")
        page = item.key("page").whole(0, 1_000_000)
        if name in tiles or (page and page in pages):
            raise item.wrong("is listed twice")
        pages.add(page)
        if not page:
            kept.add(name)
        if item.key("empty", False).flag():  # earlier records don't say: none was printed
            bridges.add(name)
        tiles[name] = Tile(name, row, column, window)
        printings[name] = item.key("printing").whole(1, printing)
    return tuple(tiles.values()), frozenset(kept), frozenset(bridges), printings


def _correction(given: JsonValue) -> PageCorrection:
    return PageCorrection(
        given.key("across").number(0.5, 2.0),
        given.key("down").number(0.5, 2.0),
        given.key("printer").text(_LONGEST),
        given.key("uncertainty").number(0.0, 1.0),
    )


def _placement(given: JsonValue) -> Placement:
    piece, move = given.items(2, exactly=True)
    placed = Affine(*move.numbers(6, -_FAR, _FAR))
    if abs(placed.determinant - 1.0) > 1e-6:
        raise move.wrong("is no turn and shift")
    return Placement(piece.text(_LONGEST), placed)
