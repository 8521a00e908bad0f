"""The parts of a piece that decide how it is cut: its outline, grain and fold, its grading and lengthen lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from tiling.failures import InputUnfit
from tiling.outlines import RingOpen, grain_of, piece_outline
from tiling.pattern import Line, Pattern, Role
from tiling.shapes.chains import Chain
from tiling.shapes.straights import Straight, straight_of

__all__ = ["CutKind", "CutLine", "PieceGeometry", "piece_geometry"]


class CutKind(Enum):
    """Which of the two alterations a cut is for; the value is the line's name."""

    GRADING = "grading line"
    LENGTHEN = "lengthen line"

    @property
    def role(self) -> Role:
        """The role of the lines to cut along."""
        return Role.GRADING if self is CutKind.GRADING else Role.LENGTHEN


@dataclass(frozen=True, slots=True)
class CutLine:
    """A grading or lengthen line of a piece; `mark` is its index in the pattern.

    `wide` is the wide end as the drawing (``data-wide``), else the notes, mark it: ``start``, ``end`` or nothing.
    `beyond` is how far its ends stood outside the edge when it was first cut along (mm at start and end), None before.
    """

    line: Straight
    mark: int
    wide: str = ""
    beyond: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class PieceGeometry:
    """The parts of one piece that decide how it is cut.

    Attributes:
        outline: the closed chain around the piece.
        grain: the grainline, None where there is none.
        folds: fold lines.
        cut_lines: grading and lengthen/shorten lines, each in drawing order.
        has_roles: whether the drawing gives any role in this piece (lines to cut along aside).
    """

    ident: str
    outline: Chain
    grain: Straight | None
    folds: tuple[Straight, ...]
    cut_lines: Mapping[CutKind, tuple[CutLine, ...]]
    has_roles: bool


def piece_geometry(pattern: Pattern, ident: str) -> PieceGeometry:
    """The outline, grain, folds and cut lines of a piece.

    Raises:
        InputUnfit: the outline is open, or there is none.
    """
    lines = {i: mark for i in pattern.piece(ident).marks if isinstance(mark := pattern.marks[i], Line)}
    wide = pattern.note(ident).wide_end
    return PieceGeometry(
        ident=ident,
        outline=_outline(pattern, ident),
        grain=grain_of(list(lines.values())),
        folds=tuple(straight_of(line.path) for line in lines.values() if line.tag.role is Role.FOLD),
        cut_lines={kind: _cut_lines(lines, kind, wide if kind is CutKind.GRADING else "") for kind in CutKind},
        has_roles=any(_says_role(line) for line in lines.values()),
    )


def _says_role(line: Line) -> bool:
    """Whether the drawing or its notes give it a role, other than that of a line to cut along."""
    return line.tag.role not in {Role.PLAIN, Role.GRADING, Role.LENGTHEN} and not line.tag.said("found")


def _cut_lines(lines: Mapping[int, Line], kind: CutKind, wide: str) -> tuple[CutLine, ...]:
    return tuple(
        CutLine(straight_of(line.path), index, line.tag.said("wide") or wide, _beyond(line.tag.said("beyond")))
        for index, line in lines.items()
        if line.tag.role is kind.role
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
