"""Clips of any shape put together: all of several, and what two have in common."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

from tiling.reading.svg_units import ElementFault
from tiling.shapes import Path

__all__ = ["intersection", "union"]

_TOLERANCE = 0.005
"""How far a clip's edge may lie from the source's where curved clips meet, mm."""

_MOST_CORNERS = 50_000
_AT_ONCE = 200
Corners = NDArray[np.float64]


def union(parts: Sequence[tuple[Path, bool]]) -> list[Path]:
    """The outlines, mm, of what lies in any of the parts, each a path and whether it is even-odd.

    Raises:
        ElementFault: the outlines of a part cross too often.
    """
    return _outlines(shapely.union_all([_shape(path, even_odd) for path, even_odd in parts]))


def intersection(one: Path, other: Path) -> list[Path]:
    """The outlines, mm, of what lies in both (non-zero rule).

    Raises:
        ElementFault: the outlines of one cross too often.
    """
    return _outlines(shapely.intersection(_shape(one, False), _shape(other, False)))


def _shape(path: Path, even_odd: bool) -> shapely.Geometry:
    """What a path covers: its faces round which it winds an odd number of times, or any number but zero."""
    rings = [np.asarray(ring) for ring in path.flatten(_TOLERANCE) if len(ring) >= 3]
    if not rings:
        return shapely.Polygon()
    if len(rings) == 1 and (whole := shapely.Polygon(rings[0])).is_valid:
        return whole
    closed = [np.vstack([ring, ring[:1]]) for ring in rings]
    starts, ends = np.vstack([ring[:-1] for ring in closed]), np.vstack([ring[1:] for ring in closed])
    _check_crossings(starts, ends)
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all([shapely.LineString(ring) for ring in closed])]))
    winding = _windings(shapely.get_coordinates(shapely.point_on_surface(faces)), starts, ends)
    return shapely.union_all(faces[winding % 2 == 1 if even_odd else winding != 0])


def _check_crossings(starts: Corners, ends: Corners) -> None:
    """Refuse outlines that cross so often that their faces would take for ever.

    Raises:
        ElementFault: they do.
    """
    sides = shapely.linestrings(np.stack([starts, ends], axis=1))
    tree = shapely.STRtree(sides)
    # Every side meets itself and its two neighbours.
    left = 2 * _MOST_CORNERS + 3 * len(sides)
    for first in range(0, len(sides), _AT_ONCE):
        left -= tree.query(sides[first : first + _AT_ONCE], predicate="intersects").shape[1]
        if left < 0:
            words = f"its clip has more than {_MOST_CORNERS:,} corners where its outlines cross; simplify it"
            raise ElementFault(words)


def _windings(points: Corners, starts: Corners, ends: Corners) -> NDArray[np.int64]:
    """(n,) how many times closed outlines, given as the ends of all their sides, run round each of n points."""
    counts = np.zeros(len(points), dtype=np.int64)
    (x0, y0), (dx, dy), y1 = starts.T, (ends - starts).T, ends[:, 1]
    for first in range(0, len(points), _AT_ONCE):
        x, y = points[first : first + _AT_ONCE, :, None].transpose(1, 0, 2)
        side = dx * (y - y0) - (x - x0) * dy
        up, down = (y0 <= y) & (y1 > y) & (side > 0), (y0 > y) & (y1 <= y) & (side < 0)
        counts[first : first + _AT_ONCE] = up.sum(axis=1) - down.sum(axis=1)
    return counts


def _outlines(shape: shapely.Geometry) -> list[Path]:
    paths = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and not part.is_empty:
            turned = orient(part)
            rings = [turned.exterior, *turned.interiors]
            paths += [Path.polyline(np.asarray(ring.coords)[:-1], closed=True) for ring in rings]
    return paths
