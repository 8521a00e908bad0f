"""Laying pieces where a plan has them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tiling.pattern import Pattern
from tiling.planning.plan import Placement

__all__ = ["placed"]


def placed(pattern: Pattern, placements: Sequence[Placement]) -> Pattern:
    """The pattern with every piece's marks moved as its placement says; pieces without one stay as drawn.

    The placement of the piece '' moves all that belongs to no piece. Sheets keep their artwork: whoever prints it has
    to place it too.
    """
    moves = {placement.piece: placement.move for placement in placements}
    if not moves:
        return pattern
    marks = [mark.moved(moves[mark.tag.piece]) if mark.tag.piece in moves else mark for mark in pattern.marks]
    return replace(pattern, marks=tuple(marks))
