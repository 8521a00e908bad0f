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
from tiling.shapes.regions import holds

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
        boxes = [
            Box(middle.x - size[0], middle.y - size[1], middle.x + size[0], middle.y + size[1])
            for middle in _places(spot)
        ]
        blocked = [*taken, *(name.box for name in names)]
        room = [box for box in boxes if not any(box.meets(other) for other in blocked)]
        best = next((box for box in room if ring is not None and holds(ring, box.centre)), next(iter(room), None))
        if best is not None:
            names.append(MapName(text, best, _STYLE))
    return names


def _outline(pattern: Pattern, piece: Piece) -> Array | None:
    """The longest line of a piece as a ring: roughly what it encloses."""
    lines = [mark for index in piece.marks if isinstance(mark := pattern.marks[index], Line) and len(mark.path) > 2]
    if not lines:
        return None
    longest = max(lines, key=lambda line: line.path.hull.width + line.path.hull.height)
    run = max(longest.path.flatten(1.0), key=len)
    return np.vstack([run, run[:1]])


def _places(spot: Box) -> list[Point]:
    """Points in a piece's box, from its middle outwards."""
    shares = np.arange(1, 2 * _STEPS) / (2 * _STEPS)
    points = [Point(spot.x0 + spot.width * float(x), spot.y0 + spot.height * float(y)) for y in shares for x in shares]
    # To a hundredth: the last bits of a float must not choose between two places as near.
    return sorted(points, key=lambda point: round(spot.centre.distance(point), 2))
