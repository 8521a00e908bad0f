"""Pieces and lines as people call them: by the piece's title and the line's name."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from tiling.notes import LineRef
from tiling.pattern import Pattern

__all__ = ["line_words", "piece_title", "side_words"]


def piece_title(pattern: Pattern, piece: str) -> str:
    """The title that the notes or the drawing give, else the piece's id."""
    drawn = next((one.title for one in pattern.pieces if one.ident == piece), "")
    return pattern.note(piece).title or drawn or piece


def line_words(name: str) -> str:
    """A line's name with spaces for its hyphens: ``cap front``."""
    return " ".join(name.replace("-", " ").replace("_", " ").split()) or name


def side_words(pattern: Pattern, refs: Sequence[LineRef]) -> str:
    """The lines of one side of a seam: ``Sleeve: cap front + cap back``."""
    parts = []
    for piece, own in groupby(refs, key=lambda ref: ref.piece):
        parts.append(f"{piece_title(pattern, piece)}: {' + '.join(line_words(ref.name) for ref in own)}")
    return " + ".join(parts)
