"""Objects of a page that may hide what was painted before them."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from tiling.content.artwork import Artwork
from tiling.content.scene import Drawn, ItemKind, stretch
from tiling.content.state import Param
from tiling.content.text import parameter

__all__ = ["covering"]

_NARROW = 1.0
"""mm: a stroke or filled strip of this width leaves most of any mark to be seen."""
_SMALL_PRINT = 15.0
"""mm: lettering whose lines, from ascender to descender, are no higher has stems about as narrow."""


def covering(artwork: Artwork, only: Collection[int] | None = None, scale: float = 1.0) -> NDArray[np.float64]:
    """The reaches, (k, 4) in mm on the sheet, of pictures, shadings, filled areas, broad strokes and large lettering.

    Args:
        artwork: the page; where it is shown whole, all of it counts.
        only: marks to which the content is restricted; None for all.
        scale: what a millimetre of the sheet is on paper, mm.
    """
    if artwork.needs_whole:
        return np.array([[0.0, 0.0, artwork.size.width, artwork.size.height]])
    marks = None if only is None else frozenset(only)
    across = np.minimum(*(artwork.reaches[:, 2:] - artwork.reaches[:, :2]).T).tolist()
    chosen = [
        index
        for index, (one, width) in enumerate(zip(artwork.drawn, across, strict=True))
        if (marks is None or one.mark in marks) and _covers(one, width, scale)
    ]
    return np.asarray(artwork.reaches[chosen])


def _covers(one: Drawn, across: float, scale: float) -> bool:
    """Whether an object, so many mm across at its narrowest, may hide more than a narrow strip."""
    match one.kind:
        case ItemKind.TEXT:
            return across * scale > _SMALL_PRINT
        case ItemKind.PATH if one.paint == b"S":
            return abs(parameter(one.state, Param.WIDTH)) * stretch(one.ctm) * scale > _NARROW
        case ItemKind.PATH:
            return across * scale > _NARROW
        case _:
            return True
