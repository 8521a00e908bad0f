"""Helper lines as they are printed: thin, and only inside their piece."""

from __future__ import annotations

from dataclasses import replace

from tiling.helper_lines import THICKEST, is_helper
from tiling.outlines import RingOpen, piece_outline
from tiling.pattern import Line, Pattern, Role
from tiling.shapes import Path

__all__ = ["with_thin_helpers"]

_OUTLINES = (Role.CUTTING, Role.STITCHING, Role.PLAIN)


def with_thin_helpers(pattern: Pattern) -> Pattern:
    """The pattern with its helper lines thin, each clipped to the outline of its piece.

    Where no closed outline is found, or the drawing has a clip of its own, a line is not clipped; one of no piece is
    clipped to all outlines.
    """
    helpers = [n for n, mark in enumerate(pattern.marks) if isinstance(mark, Line) and is_helper(mark.tag)]
    if not helpers:
        return pattern
    outlines: dict[str, Path | None] = {}
    marks = list(pattern.marks)
    for number in helpers:
        mark = marks[number]
        piece = mark.tag.piece
        assert isinstance(mark, Line)
        if piece not in outlines:
            outlines[piece] = _outline(pattern, piece) if piece else _all_outlines(pattern)
        stroke = mark.style.stroke
        if stroke is not None and stroke.width > THICKEST:
            mark = replace(mark, style=replace(mark.style, stroke=replace(stroke, width=THICKEST)))
        marks[number] = replace(mark, clip=mark.clip or outlines[piece])
    return replace(pattern, marks=tuple(marks))


def _all_outlines(pattern: Pattern) -> Path | None:
    found = [path for piece in pattern.pieces if (path := _outline(pattern, piece.ident)) is not None]
    return Path.joined(found) if found else None


def _outline(pattern: Pattern, piece: str) -> Path | None:
    try:
        outline = piece_outline(pattern, piece, _OUTLINES)
    except RingOpen:
        return None
    cubics = outline.chain() if outline is not None else ()
    return Path.from_cubics(cubics, closed=True) if cubics else None
