"""The expectation that the file written for a job is proved against."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from tiling.drawing import styles
from tiling.drawing.catalogue import page_names
from tiling.drawing.forms import layout_page
from tiling.drawing.joins import Join, combs_of, joins_of, kept_part
from tiling.drawing.lettering import text_width
from tiling.drawing.name_block import NAME_AT
from tiling.drawing.photo_marks import CHECKER_SIDE, checkers_of, codes_of
from tiling.drawing.print_job import PrintJob
from tiling.planning.plan import Tile
from tiling.proof.expectation import Expectation, MarkToSee, Original
from tiling.shapes import Box, Point

__all__ = ["expectation_of"]

_MOST = 0.5
"""Of a line: the cut line is dashed two to one, and the drawing's own lines may lie over some of it."""
_SQUARES = 0.35
"""Of a checker's diagonals: half of them lie in its grey squares, half on paper."""
_ROWS = 0.2
"""Of the lines through a code's rows: a quarter of it at least is grey, and another is paper."""
_LETTERS = 0.15
"""Of level lines through a name: half of them, at least, lie between the letters' stems."""
_CAPITALS = 0.7
"""Height of capitals and figures, of the em, nearly."""


def expectation_of(job: PrintJob, originals: Sequence[Original] = ()) -> Expectation:
    """The plan, the names of the pages and the source, as `tiling.proof.prove` takes them.

    Args:
        job: what was to be printed.
        originals: the source's own pages, where the drawing is a PDF's.
    """
    return Expectation(
        drawing=job.pattern.source,
        plan=job.plan,
        labels=tuple(page_names(job)),
        pages=job.pages,
        square_page=job.square_page,
        marks={tile.name: _marks_to_see(job, tile) for tile in job.plan.to_print},
        parts=job.parts,
        on_one_page=partial(layout_page, job.parts),
        originals=tuple(originals),
    )


def _marks_to_see(job: PrintJob, tile: Tile) -> tuple[tuple[MarkToSee, ...], ...]:
    """The tile's name, its codes, and outer checkers; and of every join its line, combs and checkers."""
    joins = joins_of(job.plan, tile)
    kept = kept_part(tile, joins)
    place = job.names[tile.name]
    groups: list[tuple[MarkToSee, ...]] = []
    if place:
        groups.append((MarkToSee("its name", _through_name(tile.name, place), _LETTERS),))
    checkers = checkers_of(job.plan, tile)
    for code in codes_of(job.plan, tile):
        groups.append((MarkToSee("its code", _through_rows(code.box), _ROWS),))
    for checker in checkers:
        if not checker.neighbour:
            groups.append((MarkToSee("a checker at its outer edge", _diagonals(checker.middle), _SQUARES),))
    for join in joins:
        line = MarkToSee(f"the join line with {join.neighbour}", (_seen_part(join, kept),), _MOST)
        combs = [MarkToSee(f"a comb beside {join.neighbour}", comb.teeth, _MOST) for comb in combs_of(join)]
        beside = [
            MarkToSee(f"a checker beside {join.neighbour}", _diagonals(checker.middle), _SQUARES)
            for checker in checkers
            if checker.neighbour == join.neighbour
        ]
        groups.append((line, *combs, *beside))
    return tuple(groups)


def _through_name(name: str, place: Box) -> tuple[tuple[Point, Point], ...]:
    """Level lines through the name's capitals, at a quarter, the middle and three quarters of their height."""
    start, size = place.corner + NAME_AT, styles.NAME.size
    heights = (start.y - size * _CAPITALS * share for share in (0.25, 0.5, 0.75))
    end = start.x + text_width(name, size, styles.NAME.face)
    return tuple((Point(start.x, y), Point(end, y)) for y in heights)


def _seen_part(join: Join, kept: Box) -> tuple[Point, Point]:
    """The join line without its ends beyond the crossing joins."""
    if join.side.upright:
        return Point(join.start.x, kept.y0), Point(join.end.x, kept.y1)
    return Point(kept.x0, join.start.y), Point(kept.x1, join.end.y)


def _diagonals(middle: Point) -> tuple[tuple[Point, Point], ...]:
    half = CHECKER_SIDE / 2
    return tuple((middle + Point(-half, -half * way), middle + Point(half, half * way)) for way in (1, -1))


def _through_rows(box: Box) -> tuple[tuple[Point, Point], ...]:
    """A level line through each row of a code's squares."""
    heights = (box.y0 + box.height * share for share in (0.125, 0.375, 0.625, 0.875))
    return tuple((Point(box.x0, y), Point(box.x1, y)) for y in heights)
