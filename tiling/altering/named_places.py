"""Lines to cut along given in words: so far from a named edge or line of a piece, across the grain or along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibrate.spelling import closest_word
from tiling.altering.piece_geometry import piece_geometry
from tiling.failures import InputUnfit
from tiling.lengths import in_mm
from tiling.notes import DrawnLine
from tiling.pattern import Pattern, Role
from tiling.shapes import Box, Point
from tiling.shapes.curves import Array
from tiling.shapes.regions import ring_of

__all__ = ["NamedPlace", "line_at"]

_SIDES = {"top": (1, False), "bottom": (1, True), "left": (0, False), "right": (0, True)}
"""Sides of a piece as it lies: the axis they are measured on, and whether they are its larger end."""


@dataclass(frozen=True, slots=True)
class NamedPlace:
    """So far from an edge, into the piece: "front 30cm from the waist".

    Attributes:
        piece: the piece's id or title.
        distance: mm.
        edge: the name of one of its lines, or ``top``, ``bottom``, ``left``, ``right`` as it lies on the drawing.
    """

    piece: str
    distance: float
    edge: str

    def __str__(self) -> str:
        return f"{self.piece} {in_mm(self.distance)} from the {self.edge}"


def line_at(pattern: Pattern, place: NamedPlace, role: Role) -> DrawnLine:
    """The straight line through the piece at that place: across the grain to lengthen at, along it to grade at.

    The distance is measured from the middle of the named line, along the grain or across it. Without a grainline or
    fold the grain is taken to run down the drawing.

    Raises:
        InputUnfit: there is no such piece or line, or the place lies outside the piece.
    """
    ident = _piece_called(pattern, place)
    body = piece_geometry(pattern, ident)
    ring = ring_of(body.outline)
    run = body.grain or max(body.folds, key=lambda fold: fold.length, default=None)
    grain = run.direction if run is not None and run.length > 1.0 else Point(0.0, 1.0)
    axis = grain if role is Role.LENGTHEN else Point(-grain.y, grain.x)
    start = _middle_of(pattern, ident, place, ring)
    low, high = ring.min(axis=0), ring.max(axis=0)
    box = Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    inwards = axis if (box.centre - start).dot(axis) >= 0 else axis * -1.0
    at = start + inwards * place.distance
    along = (ring - (at.x, at.y)) @ np.array([axis.x, axis.y])
    if along.min() >= 0 or along.max() <= 0:
        raise InputUnfit(f"Piece {ident}: {in_mm(place.distance)} from the {place.edge} lies outside it.")
    beside = Point(-axis.y, axis.x)
    reach = (ring - (at.x, at.y)) @ np.array([beside.x, beside.y])
    ends = (at + beside * (float(reach.min()) - 5.0), at + beside * (float(reach.max()) + 5.0))
    first, last = sorted(ends, key=lambda point: (round(point.y, 3), point.x))
    return DrawnLine(ident, role.value, "", (first, last))


def _piece_called(pattern: Pattern, place: NamedPlace) -> str:
    wanted = place.piece.casefold()
    for piece in pattern.pieces:
        if wanted in {piece.ident.casefold(), piece.title.casefold()}:
            return piece.ident
    there = [piece.title for piece in pattern.pieces]
    near = closest_word(place.piece, there, least=0.0)
    raise InputUnfit(f"There is no piece '{place.piece}'; the nearest is '{near}'. There are: {', '.join(there)}.")


def _middle_of(pattern: Pattern, piece: str, place: NamedPlace, ring: Array) -> Point:
    """The middle of the named line, or of a side of the piece."""
    lines = pattern.lines(piece=piece, name=place.edge)
    if lines:
        longest = max((line.path for line in lines), key=lambda path: path.length())
        run = max(longest.flatten(0.1), key=len)
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(run, axis=0), axis=1))])
        return Point(*(float(np.interp(along[-1] / 2, along, run[:, k])) for k in (0, 1)))
    if place.edge in _SIDES:
        axis, larger = _SIDES[place.edge]
        k = int((ring[:, axis] if larger else -ring[:, axis]).argmax())
        return Point(float(ring[k, 0]), float(ring[k, 1]))
    names = sorted({line.tag.name for line in pattern.lines(piece=piece) if line.tag.name}) + list(_SIDES)
    near = closest_word(place.edge, names, least=0.0)
    raise InputUnfit(
        f"Piece {piece}: has no line called '{place.edge}'; the nearest is '{near}'. There are: {', '.join(names)}."
    )
