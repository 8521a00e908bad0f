"""The look of everything we draw ourselves: thin, grey, sparing with ink, and readable from a mono laser.

Greys run from 0 (black) to 1 (paper). Nothing of ours that lies among the drawing is darker than the drawing itself,
and it is painted before the drawing or only darkens it, so it never hides a line.
"""

from __future__ import annotations

from tiling.drawing.lettering import Face
from tiling.drawing.pen import Anchor, Ink, Type

__all__ = [
    "BODY",
    "CHECKER_GREY",
    "CUT_HERE",
    "FAINT",
    "FRAME",
    "HAIR",
    "HATCH",
    "HEADING",
    "MEETS_HERE",
    "NAME",
    "NOTE",
    "SMALL",
    "STRIP_TEXT",
    "TITLE",
    "TOOTH",
]

CUT_HERE = Ink(0.35, 0.18, (3.0, 1.5))
"""The join line along which a page is cut."""
MEETS_HERE = Ink(0.35, 0.18)
"""The join line at which the next page's cut edge comes to lie."""
HATCH = Ink(0.72, 0.12)
"""The strip that goes under the next page."""
TOOTH = Ink(0.3, 0.15)
"""A tooth of a comb."""
HAIR = Ink(0.3, 0.12)
"""Rules, ticks and leaders."""
FRAME = Ink(0.2, 0.2)
"""Outlines in the page map."""
FAINT = Ink(0.6, 0.1)
"""The drawing in small, grid lines."""
CHECKER_GREY = 0.45
"""Dark enough for a camera, light enough for a black line across it to be seen."""

TITLE = Type(6.2, Face.BOLD)
HEADING = Type(3.6, Face.BOLD)
BODY = Type(3.2)
SMALL = Type(2.6, grey=0.25)
NOTE = Type(2.3, grey=0.35)
NAME = Type(10.0, Face.BOLD, grey=0.45)
STRIP_TEXT = Type(2.3, anchor=Anchor.MIDDLE, grey=0.3)
