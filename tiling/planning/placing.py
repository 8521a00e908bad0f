"""Laying pieces where a plan has them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tiling.pattern import Pattern
from tiling.planning.plan import Placement
from tiling.shapes import Affine

__all__ = ["moves_by_mark", "placed"]


def placed(pattern: Pattern, placements: Sequence[Placement]) -> Pattern:
    """The pattern with every piece's marks moved as its placement says; pieces without one stay as drawn.

    Sheets keep their artwork: whoever prints it has to place it too, by `moves_by_mark`.

    Raises:
        InputUnfit: the placements are of another drawing.
    """
    moves = moves_by_mark(pattern, placements)
    if not moves:
        return pattern
    marks = [mark.moved(moves[n]) if n in moves else mark for n, mark in enumerate(pattern.marks)]
    return replace(pattern, marks=tuple(marks))


def moves_by_mark(pattern: Pattern, placements: Sequence[Placement]) -> dict[int, Affine]:
    """For each mark that is moved (index into the marks), its move.

    Placements that name every piece and loose group of the drawing as `tiling.planning.layout` finds them come from
    an arrangement, and take along what lies on each piece. Others name pieces of the drawing's own alone, and '' for
    all that belongs to no piece.

    Raises:
        InputUnfit: they name pieces that the drawing has not.
    """
    if not placements:
        return {}
    from tiling.planning.layout import find_pieces, moves_of  # noqa: PLC0415 - heavy, and rarely needed

    names = {placement.piece for placement in placements}
    own = {piece.ident for piece in pattern.pieces} | {""}
    if not names <= own or names == {piece.ident for piece in find_pieces(pattern)}:
        return moves_of(pattern, placements)
    moves = {placement.piece: placement.move for placement in placements}
    return {n: moves[mark.tag.piece] for n, mark in enumerate(pattern.marks) if mark.tag.piece in moves}
