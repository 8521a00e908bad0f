"""How a card lies on its outline, told by which of the printed stripes it covers."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from calibrate.cardplace import FRAME_INSIDE, FRAME_OUTSIDE, stripes_along
from calibrate.edges import light_at
from calibrate.rectangle import SIDES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.area import Area
    from calibrate.arrays import Array
    from calibrate.camera import Mapping

_STRIPED = 0.3  # by how much of the paper's light a black stripe must be darker to be seen
_INSIDE, _OUTSIDE = 0.7 * FRAME_INSIDE, 0.8 * FRAME_OUTSIDE
_COVERED, _BARE = 0.4, 0.3  # share of a side's stripes
_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}


class Lying(Enum):
    """How a card lies; the value is what to say of it."""

    NONE = "no card lies in its outline"
    WITHIN = "a card lies in its outline"
    TURNED = "the card lies across its outline, turned by a quarter"
    BESIDE = "the card lies partly outside its outline"


def how_it_lies(pixels: NDArray[np.uint8], mapping: Mapping, place: Area) -> Lying:
    """How a card lies on its outline ``place``; within it where the stripes can't tell, as when they are too pale."""
    inner = {side: _covered(pixels, mapping, place, side, -_INSIDE) for side in SIDES}
    outer = {side: _covered(pixels, mapping, place, side, _OUTSIDE) for side in SIDES}
    if max(*inner.values(), *outer.values()) < _BARE:
        return Lying.NONE
    for one, other in (("top", "left"), ("left", "top")):
        across = min(outer[one], outer[_OPPOSITE[one]]) > _COVERED
        if across and max(inner[other], inner[_OPPOSITE[other]]) < _BARE:
            return Lying.TURNED
    if any(outer[side] > _COVERED and inner[_OPPOSITE[side]] < 1.0 - _COVERED for side in SIDES):
        return Lying.BESIDE
    return Lying.WITHIN


def _covered(pixels: NDArray[np.uint8], mapping: Mapping, place: Area, side: str, outwards: float) -> float:
    """The share of the stripes along a side that are not seen, so many mm outside the outline."""
    upright = side in {"left", "right"}
    stripes = stripes_along(place.y, place.height) if upright else stripes_along(place.x, place.width)
    edge = {"left": place.x, "right": place.right, "top": place.y, "bottom": place.bottom}[side]
    level = edge + outwards * (1.0 if side in {"right", "bottom"} else -1.0)

    def light(middles: tuple[float, ...]) -> Array:
        along, across = np.array(middles), np.full(len(middles), level)
        points = np.column_stack([across, along] if upright else [along, across])
        return light_at(pixels, mapping.project(points))

    black, paper = light(stripes.black), light(stripes.paper)
    beside = 0.5 * (black[:-1] + black[1:])
    seen = (paper - beside) / np.maximum(paper, 1e-3) > _STRIPED
    return 1.0 - float(np.mean(seen))
