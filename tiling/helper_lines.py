"""Helper lines: what a piece is cut along to alter it is no part of the garment.

They are printed thin, and only inside their piece (`tiling.drawing.helper_lines`); no page is printed, or printed
again, for their sake.
"""

from __future__ import annotations

from tiling.pattern import Role
from tiling.style import Colour, Stroke, Style

__all__ = ["DRAWN", "HELPERS", "THICKEST"]

HELPERS = frozenset({Role.GRADING, Role.LENGTHEN})
"""What lines to cut along for an alteration are."""

THICKEST = 0.2
"""mm; a helper line is printed no thicker."""

DRAWN = Style(stroke=Stroke(THICKEST, Colour(0.45, 0.45, 0.45), dashes=(0.4, 1.6), cap=1))
"""How a helper line looks that the drawing itself does not have: dotted, since dashes say where the paper is cut."""
