"""Where the pieces' names stand on the page map: in their pieces, clear of the pages' names and of each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.drawing.lettering import shortened, text_width
from tiling.drawing.pen import Anchor, Type
from tiling.pattern import Line, Pattern, Piece
from tiling.shapes import Affine, Box, Point
from tiling.shapes.curves import Array
from tiling.shapes.regions import hold

__all__ = ["MapName", "names_on_map"]

_STYLE = Type(2.7, anchor=Anchor.MIDDLE)
_WIDEST = 34.0
_LEAST = 12.0
"""mm; a name in a narrow piece is shortened to the piece's width, but not below this."""
_AIR = 0.5
_STEPS = 12


@dataclass(frozen=True, slots=True)
class MapName:
    """A piece's name on the map, and the box it fills there, mm."""

    text: str
    box: Box
    style: Type

    @property
    def at(self) -> Point:
        """The middle of its baseline."""
        return Point(self.box.centre.x, self.box.y1 - _AIR - 0.25 * self.style.size)


def names_on_map(pattern: Pattern, move: Affine, taken: Sequence[Box]) -> list[MapName]:
    """The names of the pieces that the drawing or its notes name, as many as have room.

    Args:
        pattern: the drawing as laid out.
        move: from the layout to the map.
        taken: what is written on the map already.
    """
    names: list[MapName] = []
    for piece in pattern.pieces:
        outline = _outline(pattern, piece)
        place = Box.around(pattern.marks[index].reach() for index in piece.marks)
        if place is None or not piece.title:
            continue
        spot = move.box(place)
        width = min(max(spot.width - 2.0, _LEAST), _WIDEST)
        text = shortened(piece.title, _STYLE.size, width, _STYLE.face)
        size = text_width(text, _STYLE.size, _STYLE.face) / 2 + _AIR, _STYLE.size / 2 + _AIR
        ring = None if outline is None else move.points(outline)
        middles = _clear(_places(spot), size, [*taken, *(name.box for name in names)])
        inside = middles[hold(ring, middles)] if ring is not None else middles[:0]
        if len(middles):
            x, y = (inside if len(inside) else middles)[0].tolist()
            names.append(MapName(text, Box(x - size[0], y - size[1], x + size[0], y + size[1]), _STYLE))
    return names


def _outline(pattern: Pattern, piece: Piece) -> Array | None:
    """The longest line of a piece as a ring: roughly what it encloses."""
    lines = [mark for index in piece.marks if isinstance(mark := pattern.marks[index], Line) and len(mark.path) > 2]
    if not lines:
        return None
    longest = max(lines, key=lambda line: line.path.hull.width + line.path.hull.height)
    run = max(longest.path.flatten(1.0), key=len)
    return np.vstack([run, run[:1]])


def _places(spot: Box) -> Array:
    """Points in a piece's box, (n, 2), from its middle outwards."""
    shares = np.arange(1, 2 * _STEPS) / (2 * _STEPS)
    x, y = np.meshgrid(spot.x0 + spot.width * shares, spot.y0 + spot.height * shares)
    points = np.column_stack([x.ravel(), y.ravel()])
    # To a hundredth: the last bits of a float must not choose between two places as near.
    away = np.round(np.hypot(*(points - (spot.centre.x, spot.centre.y)).T), 2)
    return points[np.argsort(away, kind="stable")]


def _clear(middles: Array, size: tuple[float, float], blocked: Sequence[Box]) -> Array:
    """Those middles around which a box of twice that size meets none of the boxes."""
    boxes = np.array([(box.x0, box.y0, box.x1, box.y1) for box in blocked]).reshape(-1, 4)
    low, high = (middles - size)[:, None], (middles + size)[:, None]
    apart = np.any((low > boxes[:, 2:]) | (boxes[:, :2] > high), axis=2)
    return np.asarray(middles[np.all(apart, axis=1)])
