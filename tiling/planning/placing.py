"""Laying pieces where a plan has them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tiling.pattern import Pattern
from tiling.planning.plan import Placement
from tiling.shapes import Affine, Box, Size

__all__ = ["moves_by_mark", "placed"]


def placed(pattern: Pattern, placements: Sequence[Placement]) -> Pattern:
    """The pattern with every piece's marks moved as its placement says; pieces without one stay as drawn.

    Marks keep their order and number. Laid by an arrangement, the sheet goes from (0, 0) to the end of its ink. Sheets
    keep their artwork: whoever prints it has to place it too, by `moves_by_mark`.

    Raises:
        InputUnfit: the placements are of another drawing.
    """
    moves, arranged = _moves(pattern, placements)
    if not moves:
        return pattern
    marks = tuple(mark.moved(moves[n]) if n in moves else mark for n, mark in enumerate(pattern.marks))
    reach = Box.around(mark.reach() for mark in marks) if arranged else None
    size = Size(max(reach.x1, 1.0), max(reach.y1, 1.0)) if reach else pattern.size
    return replace(pattern, marks=marks, size=size)


def moves_by_mark(pattern: Pattern, placements: Sequence[Placement]) -> dict[int, Affine]:
    """For each mark that is moved (index into the marks), its move.

    Placements that name every piece and loose group of the drawing as `tiling.planning.layout` finds them come from
    an arrangement, and take along what lies on each piece. Others name pieces of the drawing's own alone, and '' for
    all that belongs to no piece.

    Raises:
        InputUnfit: they name pieces that the drawing has not.
    """
    return _moves(pattern, placements)[0]


def _moves(pattern: Pattern, placements: Sequence[Placement]) -> tuple[dict[int, Affine], bool]:
    """The moves, and whether they come from an arrangement."""
    if not placements:
        return {}, False
    from tiling.planning.layout import find_pieces, moves_of  # noqa: PLC0415 - heavy, and rarely needed

    names = {placement.piece for placement in placements}
    own = {piece.ident for piece in pattern.pieces} | {""}
    if not names <= own or names == {piece.ident for piece in find_pieces(pattern)}:
        return moves_of(pattern, placements), True
    moves = {placement.piece: placement.move for placement in placements}
    return {n: moves[mark.tag.piece] for n, mark in enumerate(pattern.marks) if mark.tag.piece in moves}, False
