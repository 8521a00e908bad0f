"""The outline of a paper piece as a polygon to lay: as drawn, unfolded, or its half on the fold, with its hollows."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees

import numpy as np

from tiling.failures import InputUnfit
from tiling.outlines import LEAST_PIECE, PieceOutline
from tiling.pattern import Pattern, Role
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import area, polygon_of
from tiling.shapes.rings import closes

__all__ = ["LayShape", "drawn_shape", "half_shape", "is_even", "lies_on_fold", "open_chain", "whole_shape"]

_FLAT = 0.05
_EVEN = 1.0
_PARALLEL = 3.0

_RIM = 1.0
"""mm of cloth that lie at least between a hollow and the outline."""


_OTHER_SIZE = 0.75
"""Share of the piece's area above which a closed line inside it is another size, and no hollow."""


@dataclass(frozen=True, slots=True, eq=False)
class LayShape:
    """An outline, (n, 2) mm, and the outlines of what is cut out of it."""

    ring: Array
    hollows: tuple[Array, ...] = ()

    def moved(self, by: Affine) -> LayShape:
        """All of it moved."""
        return LayShape(by.points(self.ring), tuple(by.points(hollow) for hollow in self.hollows))

    def mirrored(self) -> LayShape:
        """Its mirror image across the grain, which lies along x."""
        return self.moved(Affine(d=-1.0))

    def at_nought(self) -> LayShape:
        """Moved so that its least x and y are 0."""
        low = self.ring.min(axis=0)
        return self.moved(Affine.shift(-float(low[0]), -float(low[1])))


def drawn_shape(pattern: Pattern, outline: PieceOutline, place: str) -> LayShape:
    """The piece as drawn.

    Raises:
        InputUnfit: its outline has no area, or crosses itself for good; `place` is what messages call it.
    """
    ring = outline.ring(_FLAT)
    return LayShape(_sound(ring, place), _hollows(pattern, outline.piece, ring))


def whole_shape(pattern: Pattern, outline: PieceOutline, place: str) -> LayShape:
    """The whole of a piece with a fold: its half and the mirror image across the fold.

    Raises:
        InputUnfit: as for `drawn_shape`.
    """
    points, start, end = open_chain(outline)
    ring = np.vstack([points, _reflected(points, start, end)[-2:0:-1]])
    whole = _sound(ring, place)  # before its hollows: what encloses nothing has none
    half = _hollows(pattern, outline.piece, points)
    return LayShape(whole, (*half, *(_reflected(hollow, start, end) for hollow in half)))


def half_shape(pattern: Pattern, outline: PieceOutline, turn: Affine, place: str) -> tuple[LayShape, bool] | None:
    """The half of a piece with a fold, its fold on y = 0 and its body at y > 0, and whether that turns it over.

    Args:
        pattern: the drawing.
        outline: the half's, with its fold.
        turn: lays the piece's grain along x.
        place: what messages call it.

    Returns:
        None where the fold lies askew to the grain, and so can't lie along the cloth's.

    Raises:
        InputUnfit: as for `drawn_shape`.
    """
    points, start, end = open_chain(outline)
    ends = turn.points(np.array([start, end]))
    askew = degrees(atan2(*(ends[1] - ends[0])[::-1]))
    askew = (askew + 90) % 180 - 90
    if abs(askew) > _PARALLEL:
        return None
    level = Affine.turn(-askew) @ turn
    first = level.points(points[:1])[0]
    shape = LayShape(_sound(points, place), _hollows(pattern, outline.piece, points))
    shape = shape.moved(Affine.shift(-float(first[0]), -float(first[1])) @ level)
    over = bool(shape.ring[:, 1].mean() < 0)
    return (shape.mirrored() if over else shape), over


def open_chain(outline: PieceOutline) -> tuple[Array, Array, Array]:
    """The outline from the end of its fold round to the fold's start, and those two points."""
    runs = outline.runs
    first = next(i for i in range(len(runs)) if not runs[i].on_fold and runs[i - 1].on_fold)
    ordered = [*runs[first:], *runs[:first]]
    points = np.vstack([line for run in ordered if not run.on_fold for line in run.path.flatten(_FLAT)])
    keep = np.append(np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-6, True)
    points = points[keep]
    return points, points[0], points[-1]


def lies_on_fold(outline: PieceOutline) -> bool:
    """Whether a part of its outline that has a length, and not all of it, lies on the fold."""
    if outline.fold is None or all(run.on_fold for run in outline.runs):
        return False
    _, start, end = open_chain(outline)
    return float(np.linalg.norm(end - start)) > 1e-6


def is_even(shape: LayShape) -> bool:
    """Whether the piece is its own mirror image across its grain, to `_EVEN` mm."""
    from shapely import LinearRing  # noqa: PLC0415 - shapely is slow to load

    middle = (shape.ring.min(axis=0) + shape.ring.max(axis=0)) / 2
    rings = [ring - middle for ring in (shape.ring, *shape.hollows)]
    return all(
        any(LinearRing(ring).hausdorff_distance(LinearRing(other * (1.0, -1.0))) < _EVEN for other in rings)
        for ring in rings
    )


def _reflected(points: Array, start: Array, end: Array) -> Array:
    """Mirror images across the line from start to end."""
    axis = (end - start) / np.linalg.norm(end - start)
    offset = points - start
    return np.asarray(start + 2 * (offset @ axis)[:, None] * axis - offset)


def _sound(ring: Array, place: str) -> Array:
    """The outline without needless corners, and without the tiny loops that a join in a drawing can leave.

    Raises:
        InputUnfit: it has no area, or crosses itself for good.
    """
    from shapely import Polygon  # noqa: PLC0415 - shapely is slow to load

    plain = Polygon(ring) if len(ring) > 2 else Polygon()
    whole = area(ring)
    if not plain.is_valid:
        parts = plain.buffer(0)
        plain = max(getattr(parts, "geoms", [parts]), key=lambda part: float(part.area))
    if plain.area < 1.0 or abs(plain.area - whole) > 0.01 * whole:
        raise InputUnfit(
            f"{place}: its cutting line crosses itself or encloses nothing; draw it as one simple outline."
        )
    return np.array(plain.simplify(_FLAT).exterior.coords)[:-1]


def _hollows(pattern: Pattern, piece: str, ring: Array) -> tuple[Array, ...]:
    """What is cut out of a piece: closed cutting lines that lie inside its outline and on the outline's layer.

    Lines of other layers, and lines nearly as large as the outline, are other sizes. Of hollows in each other the outer
    one counts.
    """
    from shapely import LineString, Polygon  # noqa: PLC0415

    whole = polygon_of(ring)
    inside = whole.buffer(-_RIM)
    lines = [
        (line.tag.layer, closes(sub), points)
        for line in pattern.lines(piece=piece, role=Role.CUTTING)
        for sub in line.path.subpaths()
        for points in sub.flatten(_FLAT)
        if len(points) > 3
    ]
    own = {layer for layer, _, points in lines if not inside.covers(LineString(points))}
    shapes = [Polygon(points).buffer(0) for layer, closed, points in lines if closed and layer in own]
    cut = [s for s in shapes if LEAST_PIECE <= s.area <= _OTHER_SIZE * whole.area and inside.covers(s)]
    outer = [s for n, s in enumerate(cut) if not any(o.covers(s) and (o.area > s.area or m < n)
                                                     for m, o in enumerate(cut) if m != n)]  # fmt: skip
    return tuple(np.asarray(shape.exterior.coords)[:-1] for shape in outer if shape.geom_type == "Polygon")
