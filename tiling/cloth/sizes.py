"""Size notes: body measures the pattern was drawn for, ease, and finished measures taken from the drawing.

A finished measure is what is left at a level of the outer layer of the main cloth, from seam to seam, all pieces and
layers added up. The level is a placement line named like the body measure (``bust``, ``waist``, ``hip``, ``hem``); the
hem may be the hem line itself. Darts and pleats that are drawn are taken off. Linings, facings, pockets, pieces sewn
onto others and pieces of another cloth do not count, unless a seam joins the latter to a piece that does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tiling.cloth.cutting_list import LINING
from tiling.cloth.levels import Closing, LevelWidth, crosses, level_width, runs_along
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.words import layer_word
from tiling.notes import CutAs, LineRef, SeamNote
from tiling.pattern import Line, Pattern, Role

__all__ = ["GIRTHS", "CountedPiece", "LeftOut", "SizeRow", "finished", "size_rows"]


_HEM, _MAIN = "hem", "main"
GIRTHS = ("bust", "waist", "hip", _HEM)
"""The levels always looked for; any other measure of the notes is looked for too."""

_LEVELS = {Role.PLACEMENT, Role.GRADING, Role.LENGTHEN}


@dataclass(frozen=True, slots=True)
class CountedPiece:
    """A piece's part in a finished measure: one layer's width in mm, how many layers there are, what was taken off."""

    piece: str
    width: float
    layers: int
    closings: tuple[Closing, ...] = ()

    @property
    def total(self) -> float:
        """All its layers, mm."""
        return self.width * self.layers


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A piece that shows the level and does not count, and why."""

    piece: str
    why: str


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
    counted: tuple[CountedPiece, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

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
    rows = (_row(seam_lines, name, body.get(name), ease.get(name), before) for name in names)
    return tuple(row for row in rows if (row.body, row.ease_noted, row.before, row.finished) != (None,) * 4)


def _row(
    seam_lines: SeamLines, level: str, body: float | None, ease: float | None, before: SeamLines | None
) -> SizeRow:
    counted, left_out = _parts(seam_lines, level)
    return SizeRow(
        level, body, ease, finished(before, level) if before else None, _sum(counted), tuple(counted), tuple(left_out)
    )


def finished(seam_lines: SeamLines, level: str) -> float | None:
    """The finished measure at a level in mm, all layers that count added up; None where no such piece shows it."""
    return _sum(_parts(seam_lines, level)[0])


def _sum(counted: list[CountedPiece]) -> float | None:
    return sum(part.total for part in counted) or None


def _parts(seam_lines: SeamLines, level: str) -> tuple[list[CountedPiece], list[LeftOut]]:
    """The pieces that show a level: those that count, and the others."""
    pattern = seam_lines.pattern
    shown = {piece.ident: width for piece in pattern.pieces if (width := _width(seam_lines, piece.ident, level))}
    why = {piece: _no_outer_layer(pattern, piece) for piece in shown}
    outer = [piece for piece in shown if not why[piece]]
    cloths = [pattern.note(piece).cloth for piece in outer]
    main = _MAIN if _MAIN in cloths else next(iter(cloths), "")
    joined = _joined_to(seam_lines, level, outer, {p for p, cloth in zip(outer, cloths, strict=True) if cloth == main})
    why |= {piece: f"cut from {pattern.note(piece).cloth}" for piece in outer if piece not in joined}
    parts = {piece: _part(pattern, piece, shown[piece]) for piece in outer if piece in joined}
    for seam in pattern.seams:
        double = _counted_twice(seam_lines, level, seam, parts)
        why |= dict.fromkeys(double, f"counted where it is sewn on ({seam.name})")
        parts = {piece: part for piece, part in parts.items() if piece not in double}
    return list(parts.values()), [LeftOut(piece, why[piece]) for piece in shown if why[piece]]


def _part(pattern: Pattern, piece: str, width: LevelWidth) -> CountedPiece:
    note = pattern.note(piece)
    return CountedPiece(piece, width.width, note.copies * (2 if note.cut is CutAs.FOLD else 1), width.closings)


def _counted_twice(seam_lines: SeamLines, level: str, seam: SeamNote, parts: Mapping[str, CountedPiece]) -> set[str]:
    """The pieces on the wider side of a seam along the level, such as a skirt's and its waistband's at the waist."""
    sides = [{ref.piece for ref in side} for side in (seam.first, seam.second)]
    if not all(side and side <= set(parts) for side in sides) or sides[0] & sides[1]:
        return set()
    if not all(_meets(seam_lines, level, ref, runs_along) for ref in (*seam.first, *seam.second)):
        return set()
    return max(sides[::-1], key=lambda side: sum(parts[piece].total for piece in side))


def _meets(seam_lines: SeamLines, level: str, ref: LineRef, how: Callable[[SeamLines, Line, LineRef], bool]) -> bool:
    """Whether the level meets the line in that way; the hem line meets what is sewn above it at its ends."""
    marks = _marks(seam_lines.pattern, ref.piece, level)
    return how(seam_lines, _longest(marks), ref) if marks else how is crosses and level == _HEM


def _marks(pattern: Pattern, piece: str, level: str) -> list[Line]:
    return [line for line in pattern.lines(piece=piece, name=level) if line.tag.role in _LEVELS]


def _width(seam_lines: SeamLines, piece: str, level: str) -> LevelWidth | None:
    """One layer of the piece at the level; None where it does not show it."""
    if marks := _marks(seam_lines.pattern, piece, level):
        return level_width(seam_lines, piece, _longest(marks))
    if level == _HEM and _is_garment_edge(seam_lines.pattern, piece):
        hem = seam_lines.line(LineRef(piece, level))
        return LevelWidth(hem.length, tuple(Closing(one.word, one.width) for one in hem.closed))
    return None


def _longest(marks: list[Line]) -> Line:
    return max(marks, key=lambda line: line.path.length())


def _no_outer_layer(pattern: Pattern, piece: str) -> str:
    """Why a piece is no part of the outer layer, empty where it is one as far as can be told."""
    note = pattern.note(piece)
    if note.cloth == LINING or layer_word(note.cloth):
        return f"cut from {note.cloth}"
    word = layer_word(note.title or pattern.piece(piece).title) or layer_word(piece)
    if word:
        return f"a {word}"
    for seam in pattern.seams:
        for own, other in ((seam.first, seam.second), (seam.second, seam.first)):
            inner = [ref for ref in other if ref.piece != piece and _is_inner(pattern, ref)]
            if inner and any(ref.piece == piece for ref in own):
                return f"sewn onto {_title(pattern, inner[0].piece)}"
    return ""


def _title(pattern: Pattern, piece: str) -> str:
    return pattern.note(piece).title or pattern.piece(piece).title


def _is_inner(pattern: Pattern, ref: LineRef) -> bool:
    """Whether a line that is sewn on lies inside its piece: only placed there, neither cut nor an edge's stitching."""
    roles = {line.tag.role for line in pattern.lines(piece=ref.piece, name=ref.name)}
    return Role.PLACEMENT in roles and not roles & {Role.CUTTING, Role.STITCHING}


def _joined_to(seam_lines: SeamLines, level: str, outer: list[str], counted: set[str]) -> set[str]:
    """The pieces that count, and those which a seam across the level joins to one of them, one after the other."""
    grown = set(counted)
    for seam in seam_lines.pattern.seams:
        refs = [ref for ref in (*seam.first, *seam.second) if ref.piece in outer]
        if {ref.piece for ref in refs} & grown and all(_meets(seam_lines, level, ref, crosses) for ref in refs):
            grown |= {ref.piece for ref in refs}
    return grown if grown == counted else _joined_to(seam_lines, level, outer, grown)


def _is_garment_edge(pattern: Pattern, piece: str) -> bool:
    """Whether the piece has a hem line and takes part in another level: a sleeve's hem is no garment hem."""
    hem = [line for line in pattern.lines(piece=piece, name=_HEM) if line.tag.role in {Role.STITCHING, Role.CUTTING}]
    levels = {line.tag.name for line in pattern.lines(piece=piece, role=Role.PLACEMENT)} & set(GIRTHS)
    return bool(hem) and bool(levels)
