"""The parts of a piece that decide how it is cut: its outline, grain and fold, its grading and lengthen lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tiling.failures import InputUnfit
from tiling.outlines import RingOpen, grain_of, piece_outline
from tiling.pattern import Line, Pattern, Role
from tiling.shapes.chains import Chain
from tiling.shapes.straights import Straight, straight_of

__all__ = ["CutLine", "PieceGeometry", "piece_geometry"]


@dataclass(frozen=True, slots=True)
class CutLine:
    """A grading or lengthen line of a piece; `mark` is its index in the pattern, None for one given by hand.

    `wide` is the wide end as the drawing (``data-wide``), else the notes, mark it: ``start``, ``end`` or nothing.
    `beyond` is how far its ends stood outside the edge when it was first cut along (mm at start and end), None before.
    """

    line: Straight
    mark: int | None = None
    wide: str = ""
    beyond: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class PieceGeometry:
    """The parts of one piece that decide how it is cut.

    Attributes:
        outline: the closed chain around the piece.
        grain: the grainline, None where there is none.
        folds: fold lines.
        grading: grading lines in drawing order.
        lengthen: lengthen/shorten lines in drawing order.
        has_roles: whether the drawing gives any role in this piece (lines to cut along aside).
    """

    ident: str
    outline: Chain
    grain: Straight | None
    folds: tuple[Straight, ...]
    grading: tuple[CutLine, ...]
    lengthen: tuple[CutLine, ...]
    has_roles: bool


def piece_geometry(pattern: Pattern, ident: str) -> PieceGeometry:
    """The outline, grain, folds and cut lines of a piece.

    Raises:
        InputUnfit: the outline is open, or there is none.
    """
    marks = [(i, pattern.marks[i]) for i in pattern.piece(ident).marks]
    lines = [(i, mark) for i, mark in marks if isinstance(mark, Line)]
    by_role: dict[Role, list[tuple[int, Line]]] = {}
    for index, line in lines:
        by_role.setdefault(line.tag.role, []).append((index, line))
    return PieceGeometry(
        ident=ident,
        outline=_outline(pattern, ident),
        grain=grain_of([line for _, line in lines]),
        folds=tuple(straight_of(line.path) for _, line in by_role.get(Role.FOLD, [])),
        grading=_cut_lines(by_role.get(Role.GRADING, []), pattern.note(ident).wide_end),
        lengthen=_cut_lines(by_role.get(Role.LENGTHEN, [])),
        has_roles=bool(set(by_role) - {Role.PLAIN, Role.GRADING, Role.LENGTHEN}),
    )


def _cut_lines(lines: Sequence[tuple[int, Line]], wide: str = "") -> tuple[CutLine, ...]:
    return tuple(
        CutLine(straight_of(line.path), index, line.tag.said("wide") or wide, _beyond(line.tag.said("beyond")))
        for index, line in lines
    )


def _beyond(said: str) -> tuple[float, float] | None:
    """``5.0 4.5`` as numbers; anything else, as if nothing were said."""
    try:
        start, end = (float(word) for word in said.split())
    except ValueError:
        return None
    return (start, end) if abs(start) < 1000 and abs(end) < 1000 else None


def _outline(pattern: Pattern, ident: str) -> Chain:
    """The largest closed line or ring of the cutting lines, else of the stitching lines, else of the plain ones."""
    try:
        outline = piece_outline(pattern, ident, (Role.CUTTING, Role.STITCHING, Role.PLAIN))
    except RingOpen as gap:
        raise InputUnfit(
            f"Piece {ident}: its outline is open, with a gap of {gap.gap:.1f} mm at x = {gap.at.x:.1f} mm, "
            f"y = {gap.at.y:.1f} mm; close it and run again."
        ) from gap
    if outline is None:
        raise InputUnfit(f"Piece {ident}: there is no outline to cut; draw a closed cutting line.")
    return outline.chain()
