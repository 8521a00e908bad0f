"""The outline of a piece as it is cut, each part of it by name, and how messages name the drawing."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from tiling.failures import InputUnfit
from tiling.outlines import MEET, OutlineRun, PieceOutline, RingOpen, piece_outline
from tiling.pattern import Pattern, Role
from tiling.shapes import Path, curves
from tiling.shapes.curves import Array
from tiling.shapes.polylines import nearest_places
from tiling.shapes.rings import closes

__all__ = ["cut_outline", "drawing_name", "notes_name"]


def notes_name(pattern: Pattern) -> str:
    """The pattern's name in messages about the notes: its notes' file, or else the drawing."""
    return (pattern.notes.file if pattern.notes else "") or drawing_name(pattern)


def drawing_name(pattern: Pattern) -> str:
    """The drawing's name in messages: its file, or its title."""
    names = dict.fromkeys(sheet.name for sheet in pattern.sheets)
    return ", ".join(names) or pattern.title or "the drawing"


def cut_outline(pattern: Pattern, piece: str) -> PieceOutline:
    """The outline of a piece; a closed line is parted where named lines and folds are drawn over it.

    Raises:
        InputUnfit: it has no cutting line, or its lines leave a gap.
    """
    place = f"{drawing_name(pattern)}, piece '{piece}'"
    try:
        outline = piece_outline(pattern, piece)
    except RingOpen as gap:
        raise InputUnfit(
            f"{place}: its cutting line is open at {gap.at.x:.1f}, {gap.at.y:.1f} mm; the next end is {gap.gap:.1f} mm "
            "off. Close the outline, or draw the fold line that closes it."
        ) from gap
    if outline is None:
        raise InputUnfit(f"{place}: it has no cutting line; give its outline the class cutting-line.")
    if len(outline.runs) == 1 and closes(outline.runs[0].path):
        return PieceOutline(piece, tuple(_parted(pattern, piece, outline.runs[0])))
    return outline


def _parted(pattern: Pattern, piece: str, whole: OutlineRun) -> Iterable[OutlineRun]:
    """The closed path's segments as runs, named after the open cutting lines drawn over them; fold segments apart."""
    named = [
        (line.tag.name, _coarse(sub))
        for line in pattern.lines(piece=piece, role=Role.CUTTING)
        for sub in line.path.subpaths()
        if line.tag.name and not closes(sub)
    ]
    over = [_coarse(sub) for line in pattern.lines(piece=piece, role=Role.FOLD) for sub in line.path.subpaths()]
    if not named and not over:
        yield whole
        return
    kinds = []
    for cubic in whole.path.cubics():
        points = curves.evaluate(cubic, np.array([0.02, 0.5, 0.98]))
        on_fold = any(_near(points, fold) for fold in over)
        name = next((name for name, line in named if _near(points, line)), whole.name)
        kinds.append((cubic, "" if on_fold else name, on_fold))
    # Begin where the kind changes, so that no run is torn at the path's own start.
    start = next((i for i in range(len(kinds)) if kinds[i][1:] != kinds[i - 1][1:]), 0)
    kinds = [*kinds[start:], *kinds[:start]]
    group: list[Array] = []
    for i, (cubic, name, on_fold) in enumerate(kinds):
        group.append(cubic)
        if i + 1 == len(kinds) or kinds[i + 1][1:] != (name, on_fold):
            yield OutlineRun(Path.from_cubics(group), name, on_fold)
            group = []


def _coarse(path: Path) -> Array:
    return path.flatten(0.05)[0]


def _near(points: Array, line: Array) -> bool:
    """Whether all points lie on the polyline, to `MEET`."""
    return bool(nearest_places(line, points)[1].max() < MEET)
