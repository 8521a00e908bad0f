"""The cutting list: how many of each piece, from which cloth, and how it is laid."""

from __future__ import annotations

from dataclasses import dataclass

from tiling.cloth.outlines import notes_name
from tiling.cloth.rules import nearest
from tiling.failures import InputUnfit
from tiling.notes import CutAs
from tiling.pattern import Pattern, Piece, Role

__all__ = ["INTERFACING", "LINING", "CutShare", "CuttingRow", "cutting_rows"]

INTERFACING = "interfacing"
LINING = "lining"


@dataclass(frozen=True, slots=True)
class CutShare:
    """The copies of a piece cut from one cloth: singly, as mirrored pairs or on the fold."""

    cloth: str
    copies: int
    cut: CutAs

    def words(self) -> str:
        """Such as ``2, as a mirrored pair`` or ``1 on the fold``."""
        match self.cut:
            case CutAs.FOLD:
                return f"{self.copies} on the fold"
            case CutAs.PAIR:
                pairs = self.copies // 2
                if self.copies == 1:
                    return "1, as drawn"
                if self.copies % 2:
                    return f"{self.copies}: {pairs + 1} as drawn, {pairs} mirrored"
                return f"{self.copies}, as {'a mirrored pair' if pairs == 1 else f'{pairs} mirrored pairs'}"
            case CutAs.SINGLE:
                return f"{self.copies}, as drawn" if self.copies > 1 else "1, single"


@dataclass(frozen=True, slots=True)
class CuttingRow:
    """One piece: its shares, main cloth first, then interfacing and lining; whether anything says how many are cut."""

    piece: str
    title: str
    shares: tuple[CutShare, ...]
    counted: bool


def cutting_rows(pattern: Pattern) -> tuple[CuttingRow, ...]:
    """Every piece in drawing order. One of which nothing says how many is cut once, on its fold line if it has one.

    Raises:
        InputUnfit: the notes mention a piece that is not drawn, or fold one that has no fold line.
    """
    noted = pattern.notes.pieces if pattern.notes else {}
    drawn = [piece.ident for piece in pattern.pieces]
    for ident in noted:
        if ident not in drawn:
            raise InputUnfit(
                f"{notes_name(pattern)}, pieces.{ident}: the drawing has no such piece{nearest(ident, drawn)}"
            )
    return tuple(_row(pattern, piece) for piece in pattern.pieces)


def _row(pattern: Pattern, piece: Piece) -> CuttingRow:
    note = pattern.note(piece.ident)
    if note.cut is CutAs.FOLD and not pattern.lines(piece=piece.ident, role=Role.FOLD):
        raise InputUnfit(
            f"{notes_name(pattern)}, pieces.{piece.ident}: it is to be cut on the fold, and no fold line is drawn; "
            "give the edge on the fold the class fold-line, or set cut to single or pair."
        )
    counts = [(note.cloth, note.copies), (INTERFACING, note.interfacing), (LINING, note.lining)]
    shares = tuple(CutShare(cloth, copies, note.cut or CutAs.SINGLE) for cloth, copies in counts if copies > 0)
    counted = bool(pattern.noted(piece.ident).copies or pattern.words(piece.ident).copies)
    return CuttingRow(piece.ident, note.title or piece.title, shares, counted)
