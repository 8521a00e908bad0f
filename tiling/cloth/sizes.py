"""Size notes: body measures the pattern was drawn for, ease, and finished measures taken from the drawing.

A finished measure is the width of the sewn pieces at a level, times the layers that are cut. The level is a placement
line named like the body measure (``bust``, ``waist``, ``hip``, ``hem``); the hem may be the hem line itself. Darts,
pleats and gathers are not taken off: the drawing does not say which lines are those.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from tiling.cloth.seam_lines import SeamLines
from tiling.notes import CutAs, LineRef
from tiling.pattern import Line, Pattern, Role
from tiling.shapes import Path
from tiling.shapes.chains import as_point
from tiling.shapes.polylines import crossing_places
from tiling.shapes.straights import Straight

__all__ = ["GIRTHS", "SizeRow", "finished", "size_rows"]


_HEM = "hem"
GIRTHS = ("bust", "waist", "hip", _HEM)
"""The levels always looked for; any other measure of the notes is looked for too."""


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One measure; mm, None where it is not noted or the drawing does not show its level.

    `before` is the finished measure of the drawing as it was before an alteration, where one was given.
    """

    measure: str
    body: float | None
    ease_noted: float | None
    before: float | None
    finished: float | None

    @property
    def ease_found(self) -> float | None:
        """Finished measure less body measure, mm."""
        return None if self.finished is None or self.body is None else self.finished - self.body


def size_rows(
    seam_lines: SeamLines, measures: Mapping[str, float] | None = None, before: SeamLines | None = None
) -> tuple[SizeRow, ...]:
    """The table: bust, waist, hip and hem, then the notes' other measures; rows of which nothing is known left out.

    Args:
        seam_lines: the pattern as it is now.
        measures: the person's body measures in mm, in place of those the pattern was drawn for.
        before: the pattern before an alteration.
    """
    notes = seam_lines.pattern.notes
    body = {**(notes.drawn_for if notes else {}), **(measures or {})}
    ease = dict(notes.ease) if notes else {}
    names = list(dict.fromkeys([*GIRTHS, *body, *ease]))
    rows = (
        SizeRow(
            name,
            body.get(name),
            ease.get(name),
            finished(before, name) if before else None,
            finished(seam_lines, name),
        )
        for name in names
    )
    return tuple(row for row in rows if (row.body, row.ease_noted, row.before, row.finished) != (None,) * 4)


def finished(seam_lines: SeamLines, level: str) -> float | None:
    """The finished measure at a level in mm, all layers added up; None where no piece shows the level."""
    pattern = seam_lines.pattern
    total = 0.0
    for piece in pattern.pieces:
        marks = [
            line
            for line in pattern.lines(piece=piece.ident, name=level)
            if line.tag.role in {Role.PLACEMENT, Role.GRADING, Role.LENGTHEN}
        ]
        if marks:
            width = _width(seam_lines.edges(piece.ident), marks[0])
        elif level == _HEM and _is_garment_edge(pattern, piece.ident):
            width = seam_lines.line(LineRef(piece.ident, level)).length
        else:
            continue
        note = pattern.note(piece.ident)
        total += width * note.copies * (2 if note.cut is CutAs.FOLD else 1)
    return total or None


def _is_garment_edge(pattern: Pattern, piece: str) -> bool:
    """Whether the piece has a hem line and takes part in another level: a sleeve's hem is no garment hem."""
    hem = [line for line in pattern.lines(piece=piece, name=_HEM) if line.tag.role in {Role.STITCHING, Role.CUTTING}]
    levels = {line.tag.name for line in pattern.lines(piece=piece, role=Role.PLACEMENT)} & set(GIRTHS)
    return bool(hem) and bool(levels)


def _width(edges: Iterable[Path], level: Line) -> float:
    """From edge to edge along the level line, on either side of its middle, mm."""
    points = level.path.flatten(0.01)[0]
    drawn = Straight(as_point(points[0]), as_point(points[-1]))
    places = [crossing_places(line, drawn.middle, drawn.direction) for path in edges for line in path.flatten(0.001)]
    offsets = np.concatenate(places)
    before, after = offsets[offsets < 0], offsets[offsets > 0]
    if not len(before) or not len(after):
        return drawn.length
    return float(after.min() - before.max())
