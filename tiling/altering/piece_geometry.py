"""The parts of a piece that decide how it is cut: its outline, grain and fold, its grading and lengthen lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from itertools import count

from tiling.altering.darts import Dart, darts_of
from tiling.failures import InputUnfit
from tiling.outlines import RingOpen, grain_of, piece_outline
from tiling.pattern import Line, Pattern, Role
from tiling.recent import Recent
from tiling.shapes import Path, curves
from tiling.shapes.chains import Chain, as_point, chain_length, chains_of
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
    `name` tells its cut from the piece's other cuts, in this and later alterations. `bend` is how far (mm) the line as
    drawn leaves the straight one. `moving` is on which hand of it the moving side was before: ``left`` or ``right``.
    `given` says that it was laid there by hand, not drawn.
    """

    line: Straight
    mark: int
    wide: str = ""
    beyond: tuple[float, float] | None = None
    name: str = ""
    bend: float = 0.0
    moving: str = ""
    given: bool = False


@dataclass(frozen=True, slots=True)
class PieceGeometry:
    """The parts of one piece that decide how it is cut.

    Attributes:
        outline: the closed chain around the piece.
        grain: the grainline, None where there is none.
        folds: fold lines.
        darts: darts, as drawn or as hollows of its lines.
        cut_lines: grading and lengthen/shorten lines, each in drawing order.
        has_roles: whether the drawing gives any role in this piece (lines to cut along aside).
    """

    ident: str
    outline: Chain
    grain: Straight | None
    folds: tuple[Straight, ...]
    darts: tuple[Dart, ...]
    cut_lines: Mapping[CutKind, tuple[CutLine, ...]]
    has_roles: bool


def piece_geometry(pattern: Pattern, ident: str) -> PieceGeometry:
    """The outline, grain, folds and cut lines of a piece.

    Raises:
        InputUnfit: the outline is open, or there is none.
    """
    numbers = pattern.piece(ident).marks
    marks, wide = [pattern.marks[number] for number in numbers], pattern.note(ident).wide_end
    return _recent.get(marks, (ident, tuple(numbers), wide), lambda: _geometry(pattern, ident, wide))


_recent: Recent[PieceGeometry] = Recent(64)


def _geometry(pattern: Pattern, ident: str, wide: str) -> PieceGeometry:
    lines = {i: mark for i in pattern.piece(ident).marks if isinstance(mark := pattern.marks[i], Line)}
    outline = _outline(pattern, ident)
    return PieceGeometry(
        ident=ident,
        outline=outline,
        grain=grain_of(list(lines.values())),
        folds=tuple(straight_of(line.path) for line in lines.values() if line.tag.role is Role.FOLD),
        darts=tuple(darts_of(list(lines.values()), outline)),
        cut_lines={kind: _cut_lines(lines, kind, wide if kind is CutKind.GRADING else "") for kind in CutKind},
        has_roles=any(_says_role(line) for line in lines.values()),
    )


def _says_role(line: Line) -> bool:
    """Whether the drawing or its notes give it a role, other than that of a line to cut along."""
    return line.tag.role not in {Role.PLAIN, Role.GRADING, Role.LENGTHEN} and not line.tag.was_found


def _cut_lines(lines: Mapping[int, Line], kind: CutKind, wide: str) -> tuple[CutLine, ...]:
    names = _cut_names(lines)
    found = []
    for index, line in lines.items():
        if line.tag.role is kind.role:
            straight = straight_of(line.path)
            bend = _bend(line.path, straight)
            beyond = _beyond(line.tag.said("beyond"))
            moving = line.tag.said("moving") if beyond is not None else ""
            given = bool(line.tag.said("noted"))
            ends = line.tag.said("wide") or wide
            found.append(CutLine(straight, index, ends, beyond, names[index], bend, moving, given))
    return tuple(found)


def _cut_names(lines: Mapping[int, Line]) -> dict[int, str]:
    """Each line to cut along with the name of its cut: the one it has, else the next number."""
    cuts = {i: line.tag.said("cut") for i, line in lines.items() if line.tag.role in {k.role for k in CutKind}}
    used = [int(name) for name in cuts.values() if name.isdecimal()]
    fresh = count(max(used, default=0) + 1)
    return {index: name or str(next(fresh)) for index, name in cuts.items()}


def _bend(path: Path, straight: Straight) -> float:
    """How far the path's longest subpath leaves the straight line between its ends, mm."""
    chain = max((c for c, _ in chains_of(path)), key=chain_length, default=None)
    if chain is None or straight.length < 1e-6:
        return 0.0
    points = [as_point(p) for cubic in chain for p in curves.flatten(cubic, 0.1)]
    return max(abs(straight.direction.cross(p - straight.start)) for p in points)


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
