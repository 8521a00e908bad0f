"""The one reading of roles: a drawing and its notes become a pattern whose pieces and lines are known to every room.

What the drawing shows without saying it comes first (`tiling.recognition`, `folds`), then what it says itself, then
what its notes say; the later is the stronger. Nothing of it is lost when a pattern is altered and written again: a
line that came from the notes carries its points as they stand there (``data-noted``), so that the notes' copy beside
an altered drawing doesn't add it once more where it was before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.run import Run
from tiling.failures import InputUnfit
from tiling.helper_lines import DRAWN, HELPERS
from tiling.notes import DrawnLine, PointedLine
from tiling.pattern import Finding, FindingKind, Line, Mark, Pattern, Role
from tiling.reading.folds import with_folds
from tiling.recognition.understanding import Understanding
from tiling.shapes import Path
from tiling.shapes.regions import holds
from tiling.shapes.straights import Straight
from tiling.style import Style

__all__ = ["with_lines", "with_roles", "with_seen"]


def with_seen(
    pattern: Pattern, pointed: Sequence[PointedLine] = (), lines: Sequence[DrawnLine] = (), run: Run = Run()
) -> Pattern:
    """The pattern with the pieces and roles that its drawing shows, where it says none itself, and that notes point at.

    A piece through whose middle one of `lines` runs, and that none is called after, is called as that line says.

    Raises:
        InputUnfit: the notes point at no line, or at several.
        Cancelled: by `run`.
    """
    if pattern.pieces and not pointed:
        return pattern
    # Heavy, and a drawing that says what its lines are needs none of it.
    from tiling.recognition.pointing import PlaceUnclear, corrected, told_alone  # noqa: PLC0415
    from tiling.recognition.tagged import tagged  # noqa: PLC0415
    from tiling.recognition.understand import understood  # noqa: PLC0415

    seen = understood(pattern, run)
    try:
        seen = corrected(pattern, _called(seen, lines), pointed)
    except PlaceUnclear as unclear:
        raise InputUnfit(f"{unclear.line.where}: {unclear}.") from None
    return tagged(pattern, told_alone(seen) if pattern.pieces else seen)


def _called(seen: Understanding, lines: Sequence[DrawnLine]) -> Understanding:
    """The pieces under the names that the notes' own lines give them."""
    pieces = list(seen.pieces)
    for line in lines:
        middle = Straight(line.laid[0], line.laid[-1]).middle
        if line.piece and all(piece.ident != line.piece for piece in pieces):
            homes = [k for k, one in enumerate(pieces) if holds(one.ring.flatten(0.1)[0], middle)]
            if homes:
                pieces[homes[0]] = replace(pieces[homes[0]], ident=line.piece)
    return replace(seen, pieces=tuple(pieces))


_SAME = 0.05
"""mm; lines whose points lie no farther apart are one."""


def with_roles(pattern: Pattern, run: Run = Run()) -> Pattern:
    """The pattern with its pieces and the roles of its lines, as the drawing shows and says them and its notes say.

    Applied twice it changes nothing.

    Args:
        pattern: as drawn, with its notes.
        run: asked between pieces whether to go on.

    Returns:
        The pattern, with a finding for each of the notes' lines that lies in no piece of its name.
    """
    notes = pattern.notes
    noted = notes.lines if notes is not None else ()
    named = pattern if pattern.pieces else with_seen(pattern, notes.pointed if notes is not None else (), noted, run)
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


def _lost(pattern: Pattern, line: DrawnLine) -> Finding:
    called = f"'{line.name}' " if line.name else ""
    text = (
        f"the notes' {line.role.replace('-', ' ')} {called}of the piece '{line.piece}' lies in no closed outline and "
        "is left out; move its points into the outline, or close that."
    )
    return Finding(FindingKind.NOTED_LINE_LEFT_OUT, text, pattern.notes.file if pattern.notes is not None else "")
