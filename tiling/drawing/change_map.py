"""The map of a reprint: which pages of the taped sheet to replace, add, take away or keep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from tiling.drawing import styles
from tiling.drawing.checklines import CheckLine
from tiling.drawing.flow import TextRole, Words, set_words
from tiling.drawing.page_map import check_words, draw_map, map_move, map_room
from tiling.drawing.pen import Anchor, Ink, Pen, Type, rectangle
from tiling.drawing.print_job import PrintJob
from tiling.planning.page_space import about_centre
from tiling.shapes import Box, Point

if TYPE_CHECKING:
    from tiling.planning.reprint import Reprint

__all__ = ["draw_change_map"]

_CROSS = Ink(0.2, 0.35)
_THICK = Ink(0.0, 0.7)


def draw_change_map(pen: Pen, job: PrintJob, reprint: Reprint) -> None:
    """Draw the whole page; `pen` takes mm on the page, y down. The job's check lines are the sheet's as it is now."""
    plan = job.plan
    lines = job.check_lines
    page, free = pen.under(about_centre(plan.page_size, plan.correction)), map_room(plan)
    head = [Words(TextRole.TITLE, "What to change on the taped sheet"), Words(TextRole.SMALL, _summary(job, reprint))]
    top = set_words(page, head, Box(free.x0, free.y0, free.x1, free.y0 + 16.0)) + 4.0
    if free.width > free.height:
        split = free.x0 + free.width * 0.62
        _draw(page, job, reprint, lines, Box(free.x0, top, split, free.y1))
        set_words(page, _words(job, reprint, lines), Box(split + 8.0, top, free.x1, free.y1))
        return
    bottom = _draw(page, job, reprint, lines, Box(free.x0, top, free.x1, top + (free.y1 - top) * 0.6))
    set_words(page, _words(job, reprint, lines), Box(free.x0, bottom + 6.0, free.x1, free.y1))


def _draw(pen: Pen, job: PrintJob, reprint: Reprint, lines: Sequence[CheckLine], box: Box) -> float:
    """The map with pages to print framed and pages to take away crossed out; returns its lower edge."""
    plan = job.plan
    bottom = draw_map(pen, job, box, lines)
    move = map_move(plan, box)
    for tile in plan.to_print:
        spot = move.box(tile.window.grown(-plan.grid.overlap / 2)).grown(-0.5)
        pen.polyline(rectangle(spot), _THICK, closed=True)
        if tile.name in reprint.add:
            words = Type(2.2, styles.HEADING.face, anchor=Anchor.MIDDLE)
            pen.text(Point(spot.centre.x, spot.y0 + 3.2), "new", words)
    windows = {tile.name: tile.window for tile in reprint.before.plan.tiles}
    for name in reprint.remove:
        spot = move.box(windows[name].grown(-plan.grid.overlap / 2))
        corners = [
            (Point(spot.x0, spot.y0), Point(spot.x1, spot.y1)),
            (Point(spot.x0, spot.y1), Point(spot.x1, spot.y0)),
        ]
        pen.lines(corners, _CROSS)
        pen.text(Point(spot.centre.x, spot.y1 - 1.5), f"take {name} away", replace(styles.SMALL, anchor=Anchor.MIDDLE))
    return bottom


def _summary(job: PrintJob, reprint: Reprint) -> str:
    count = len(reprint.replace) + len(reprint.add)
    return f"{job.facts.heading}: {count} of {len(job.plan.tiles)} pages are printed again; the others stay."


def _words(job: PrintJob, reprint: Reprint, lines: Sequence[CheckLine]) -> list[Words]:
    plan, pages = job.plan, job.pages
    words = []
    for heading, names, how in (
        ("Replace", reprint.replace, "Cut the old page out along its joins, lay the new one over the gap."),
        ("Add", reprint.add, "Tape to the neighbours that the page names."),
        ("Take away", reprint.remove, "Nothing of the pattern is left on these."),
    ):
        if names:
            listed = ", ".join(f"{name} (page {pages[name]})" if name in pages else name for name in names)
            words += [Words(TextRole.HEADING, heading), Words(TextRole.BODY, listed), Words(TextRole.SMALL, how)]
    if any(tile.row < 0 for tile in plan.tiles if tile.name in reprint.add):
        words.append(Words(TextRole.SMALL, "Rows above row A go on in small letters: row a lies above row A."))
    if reprint.keep:
        words += [Words(TextRole.HEADING, "Keep"), Words(TextRole.BODY, ", ".join(reprint.keep))]
    words += [
        Words(TextRole.HEADING, "Tape"),
        Words(TextRole.STEP, "Print at actual size (100 %), with the printer and settings of the first print.", "1"),
        Words(
            TextRole.STEP, "Lay each new page so that its lines run on in its neighbours' and their combs meet.", "2"
        ),
        Words(TextRole.STEP, "Measure one long line across an old and a new page before you cut the paper.", "3"),
    ]
    return [
        *words,
        *check_words(lines, "From cross to cross; lines of an older page map that are not named here no longer hold:"),
    ]
