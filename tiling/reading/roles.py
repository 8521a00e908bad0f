"""The one reading of roles: a drawing and its notes become a pattern whose pieces and lines are known to every room.

What the drawing shows without saying it comes first (`folds`, `pieces`), then what it says itself, then what its notes
say; the later is the stronger. Nothing of it is lost when a pattern is altered and written again: a line that came
from the notes carries its points as they stand there (``data-noted``), so that the notes' copy beside an altered
drawing doesn't add it once more where it was before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.run import Run
from tiling.failures import InputUnfit
from tiling.helper_lines import DRAWN, HELPERS
from tiling.notes import DrawnLine
from tiling.pattern import Finding, FindingKind, Line, Mark, Pattern, Role
from tiling.reading.folds import with_folds
from tiling.reading.pieces import with_pieces
from tiling.shapes import Path
from tiling.style import Style

__all__ = ["with_lines", "with_roles"]

_SAME = 0.05
"""mm; lines whose points lie no farther apart are one."""


def with_roles(pattern: Pattern, run: Run = Run()) -> Pattern:
    """The pattern with its pieces and the roles of its lines, as the drawing shows and says them and its notes say.

    Where the drawing names no pieces but its notes have lines, its closed outlines are the pieces: each is called as
    the line says that runs through it (else counted), and is its cutting line. Applied twice it changes nothing.

    Args:
        pattern: as drawn, with its notes.
        run: asked at every mark whether to go on.

    Returns:
        The pattern, with a finding for each of the notes' lines that lies in no piece of its name.
    """
    noted = pattern.notes.lines if pattern.notes is not None else ()
    named = _with_noted_pieces(pattern, noted, run)
    known = {piece.ident for piece in named.pieces}
    complete = with_lines(named, [line for line in noted if line.piece in known])
    lost = [_lost(pattern, line) for line in noted if line.piece not in known]
    findings = [finding for finding in lost if finding not in complete.findings]
    return with_folds(replace(complete, findings=(*complete.findings, *findings)))


def with_lines(pattern: Pattern, lines: Sequence[DrawnLine]) -> Pattern:
    """The pattern with these lines of its pieces added as marks, unless they are there already.

    Those to cut along are dotted, others not drawn.

    Raises:
        InputUnfit: a line names a piece that there is not.
    """
    known = {piece.ident for piece in pattern.pieces}
    added: list[Mark] = []
    for line in lines:
        if line.piece not in known:
            there = ", ".join(sorted(known))
            raise InputUnfit(f"The line {line.name or line.role} belongs to a piece '{line.piece}'; there are {there}.")
        if _is_drawn(pattern, line):
            continue
        role = Role(line.role)
        wide = (("wide", "start"),) if role is Role.GRADING else ()
        tag = pattern.marks[pattern.piece(line.piece).marks[0]].tag
        tag = replace(tag, role=role, name=line.name, extra=(("noted", _key(line)), *wide), ident="")
        path = Path.polyline(list(line.laid))
        added.append(Line(path, DRAWN if role in HELPERS else Style(), tag))
    return replace(pattern.with_marks([*pattern.marks, *added]), sheets=pattern.sheets) if added else pattern


def _key(line: DrawnLine) -> str:
    """The line's points as its notes have them."""
    return " ".join(f"{coordinate:.3f}" for point in line.points for coordinate in (point.x, point.y))


def _is_drawn(pattern: Pattern, line: DrawnLine) -> bool:
    """Whether the piece has it, from the same points or at the same place."""
    own = pattern.lines(piece=line.piece, role=Role(line.role))
    points = np.array([(point.x, point.y) for point in line.laid])
    return any(
        other.tag.said("noted") == _key(line)
        or (other.path.points.shape == points.shape and np.abs(other.path.points - points).max() < _SAME)
        for other in own
    )


def _with_noted_pieces(pattern: Pattern, lines: Sequence[DrawnLine], run: Run) -> Pattern:
    if pattern.pieces or not lines:
        return pattern
    try:
        named = with_pieces(pattern, lines, run)
    except InputUnfit:
        return pattern  # it may still be printed
    marks = list(named.marks)
    titles = {note.ident: note.title for note in pattern.notes.pieces.values()} if pattern.notes is not None else {}
    for piece in named.pieces:
        own = [number for number in piece.marks if _is_closed(marks[number])]
        if own and not named.lines(piece=piece.ident, role=Role.CUTTING):
            outer = max(own, key=lambda number: _extent(marks[number]))
            tag = replace(marks[outer].tag, role=Role.CUTTING, extra=(("found", "outline"),))
            marks[outer] = replace(marks[outer], tag=tag)
    pieces = tuple(replace(piece, title=titles.get(piece.ident) or piece.title) for piece in named.pieces)
    return replace(named, marks=tuple(marks), pieces=pieces)


def _is_closed(mark: Mark) -> bool:
    return isinstance(mark, Line) and mark.tag.role is Role.PLAIN and mark.path.closed


def _extent(mark: Mark) -> float:
    box = mark.reach()
    return box.width * box.height


def _lost(pattern: Pattern, line: DrawnLine) -> Finding:
    called = f"'{line.name}' " if line.name else ""
    text = (
        f"the notes' {line.role.replace('-', ' ')} {called}of the piece '{line.piece}' lies in no closed outline and "
        "is left out; move its points into the outline, or close that."
    )
    return Finding(FindingKind.NOTED_LINE_LEFT_OUT, text, pattern.notes.file if pattern.notes is not None else "")
