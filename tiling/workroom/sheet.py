"""A taped sheet as the page shows it: the drawing as it was printed, its pages, and where they are joined."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from tiling.drawing.joins import joins_of, kept_part
from tiling.planning.printed import UNSEEN, MarkKind
from tiling.workroom.scene import box_values, path_data

if TYPE_CHECKING:
    from tiling.planning.plan import PrintPlan
    from tiling.planning.printed import PrintedRecord
    from tiling.shapes import Box, Path

__all__ = ["sheet_values"]

_LOOK = {"stroke": "#5d6b75", "width": 0.5, "dashes": [], "offset": 0, "cap": 1, "join": 1, "miter": 4, "opacity": 1}


def sheet_values(record: PrintedRecord) -> dict[str, Any]:
    """The sheet that a printed file's pages make.

    Returns:
        ``scene`` as `tiling.workroom.scene` has it, lines alone; ``tiles`` with ``name`` and ``box_mm``, what is seen
        of each; ``joins`` with ``between`` and ``line_mm``: [x, y, x, y], the end on the left or above first.
    """
    plan = record.plan
    kept = {tile.name: kept_part(tile, joins_of(plan, tile)) for tile in plan.tiles}
    lines = [mark.path for mark in record.marks if mark.kind is MarkKind.LINE and mark.look != UNSEEN]
    scene = {
        "size_mm": [plan.layout_size.width, plan.layout_size.height],
        "styles": [_LOOK],
        "marks": [_mark(number, path) for number, path in enumerate(lines) if len(path)],
        "pieces": [],
        "layers": [],
        "pictures": [],
    }
    return {
        "scene": scene,
        "tiles": [{"name": name, "box_mm": box_values(box)} for name, box in kept.items()],
        "joins": [{"between": list(between), "line_mm": line} for between, line in _joins(plan, kept)],
    }


def _mark(number: int, path: Path) -> dict[str, Any]:
    box = [round(side, 2) for side in box_values(path.hull)]
    return {"i": number, "s": 0, "p": -1, "l": -1, "r": "", "d": path_data(path), "b": box}


def _joins(plan: PrintPlan, kept: dict[str, Box]) -> Iterator[tuple[tuple[str, str], list[float]]]:
    """Each join once, as long as it is seen."""
    for tile in plan.tiles:
        box = kept[tile.name]
        for join in joins_of(plan, tile):
            if not join.side.lies_over:
                start = [box.x1, box.y0] if join.side.upright else [box.x0, box.y1]
                yield (tile.name, join.neighbour), [*start, box.x1, box.y1]
