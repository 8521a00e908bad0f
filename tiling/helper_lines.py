"""Helper lines: what a piece is cut along to alter it is no part of the garment.

They are printed thin, and only inside their piece (`tiling.drawing.helper_lines`); no page is printed, or printed
again, for their sake.
"""

from __future__ import annotations

from tiling.pattern import Role, Tag
from tiling.style import Colour, Stroke, Style

__all__ = ["DRAWN", "HELPERS", "THICKEST", "is_helper"]

HELPERS = frozenset({Role.GRADING, Role.LENGTHEN})
"""What lines to cut along for an alteration are."""

THICKEST = 0.2
"""mm; a helper line is printed no thicker."""

DRAWN = Style(stroke=Stroke(THICKEST, Colour(0.45, 0.45, 0.45), dashes=(0.4, 1.6), cap=1))
"""How a helper line looks that the drawing itself does not have: dotted, since dashes say where the paper is cut."""


def is_helper(tag: Tag) -> bool:
    """Whether a line is said to be one; what only looks like one is printed, and counts, as it is drawn."""
    return tag.role in HELPERS and not tag.was_found
