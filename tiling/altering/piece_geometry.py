"""What of a piece matters when it is cut: its outline, its grain and fold, its grading and lengthen lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.failures import InputUnfit
from tiling.pattern import Line, Pattern, Role
from tiling.shapes import Point
from tiling.shapes.chains import Chain, chain_length, chains_of, reverse_chain
from tiling.shapes.regions import area, ring_of

__all__ = ["CutLine", "PieceGeometry", "Straight", "is_sign", "piece_geometry", "straight_of"]

CLOSES = 0.5
"""Ends of outline lines this near to each other (mm) meet."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight line between two points."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Its length, mm."""
        return self.start.distance(self.end)

    @property
    def middle(self) -> Point:
        """Halfway."""
        return (self.start + self.end) * 0.5

    @property
    def direction(self) -> Point:
        """Unit vector from start to end."""
        return (self.end - self.start).unit()


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
    """One piece, taken apart.

    Attributes:
        outline: the closed chain around the piece.
        grain: the grainline's straight, None where there is none.
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
    """The piece's parts.

    Raises:
        InputUnfit: the outline is open, or there is none.
    """
    marks = [(i, pattern.marks[i]) for i in pattern.piece(ident).marks]
    lines = [(i, mark) for i, mark in marks if isinstance(mark, Line)]
    by_role: dict[Role, list[tuple[int, Line]]] = {}
    for index, line in lines:
        by_role.setdefault(line.tag.role, []).append((index, line))
    grains = [straight_of(line) for _, line in by_role.get(Role.GRAINLINE, [])]
    return PieceGeometry(
        ident=ident,
        outline=_outline(ident, [line for _, line in lines]),
        grain=max(grains, key=lambda s: s.length, default=None),
        folds=tuple(straight_of(line) for _, line in by_role.get(Role.FOLD, [])),
        grading=_cut_lines(by_role.get(Role.GRADING, []), _noted_wide_end(pattern, ident)),
        lengthen=_cut_lines(by_role.get(Role.LENGTHEN, [])),
        has_roles=bool(set(by_role) - {Role.PLAIN, Role.GRADING, Role.LENGTHEN}),
    )


def is_sign(line: Line) -> bool:
    """Whether it is filled and not stroked, and has no role: words drawn as outlines, arrowheads, dots."""
    return line.style.stroke is None and line.style.fill is not None and line.tag.role is Role.PLAIN


def straight_of(line: Line) -> Straight:
    """From the first to the last point of the line's longest subpath (arrowheads are short ones)."""
    chain = max((c for c, _ in chains_of(line.path)), key=chain_length, default=None)
    if chain is None:
        only = Point(float(line.path.points[0, 0]), float(line.path.points[0, 1]))
        return Straight(only, only)
    (x0, y0), (x1, y1) = chain[0][0], chain[-1][3]
    return Straight(Point(float(x0), float(y0)), Point(float(x1), float(y1)))


def _noted_wide_end(pattern: Pattern, ident: str) -> str:
    """What the notes say of the piece's grading lines: ``start``, ``end`` or nothing."""
    note = pattern.notes.pieces.get(ident) if pattern.notes is not None else None
    return note.wide_end if note is not None else ""


def _cut_lines(lines: Sequence[tuple[int, Line]], wide: str = "") -> tuple[CutLine, ...]:
    return tuple(
        CutLine(straight_of(line), index, line.tag.said("wide") or wide, _beyond(line.tag.said("beyond")))
        for index, line in lines
    )


def _beyond(said: str) -> tuple[float, float] | None:
    """``5.0 4.5`` as numbers; anything else, as if nothing were said."""
    try:
        start, end = (float(word) for word in said.split())
    except ValueError:
        return None
    return (start, end) if abs(start) < 1000 and abs(end) < 1000 else None


def _outline(ident: str, lines: Sequence[Line]) -> Chain:
    """The largest closed chain of the cutting lines, else of the stitching lines, else of the plain ones.

    Open cutting or stitching lines may be closed by fold lines.
    """
    lines = [line for line in lines if not is_sign(line)]
    roles = (Role.CUTTING, Role.STITCHING, Role.PLAIN)
    role = next((r for r in roles if any(line.tag.role is r for line in lines)), None)
    if role is None:
        raise InputUnfit(f"Piece {ident}: there is no outline to cut; draw a closed cutting line.")
    chains = [pair for line in lines if line.tag.role is role for pair in chains_of(line.path)]
    rings = [chain for chain, closed in chains if closed]
    if rings:
        return max(rings, key=lambda chain: area(ring_of(chain)))
    folds = [chain for line in lines if line.tag.role is Role.FOLD for chain, _ in chains_of(line.path)]
    return _ring(ident, sorted((chain for chain, _ in chains), key=chain_length, reverse=True), folds)


def _ring(ident: str, chains: Sequence[Chain], folds: Sequence[Chain]) -> Chain:
    """The longest chain and whatever meets its end, until it closes."""
    if not chains:
        raise InputUnfit(f"Piece {ident}: its outline has no length; draw a closed cutting line.")
    ring, rest = list(chains[0]), [*chains[1:], *folds]
    while float(np.hypot(*(ring[-1][3] - ring[0][0]))) > CLOSES:
        here = ring[-1][3]
        ends = [(float(np.hypot(*(c[0][0] - here))), i, 0) for i, c in enumerate(rest)]
        ends += [(float(np.hypot(*(c[-1][3] - here))), i, 1) for i, c in enumerate(rest)]
        distance, index, backwards = min(ends, default=(np.inf, -1, 0))
        if distance > CLOSES:
            gap = min(distance, float(np.hypot(*(here - ring[0][0]))))
            raise InputUnfit(
                f"Piece {ident}: its outline is open, with a gap of {gap:.1f} mm at x = {here[0]:.1f} mm, "
                f"y = {here[1]:.1f} mm; close it and run again."
            )
        following = rest.pop(index)
        ring += reverse_chain(following) if backwards else following
    return tuple(ring)
