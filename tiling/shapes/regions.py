"""Closed outlines as regions: whether a point lies inside, how far it is from the edge, how large the region is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tiling.shapes import curves
from tiling.shapes.curves import Array
from tiling.shapes.points import Point
from tiling.shapes.polylines import nearest_places

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "area",
    "distance_between",
    "distance_to",
    "hold",
    "holds",
    "is_simple",
    "polygon_of",
    "ring_of",
    "signed_area",
]

_CLOSED = 1e-9
"""A ring that ends this near to its start (mm) repeats it."""


def ring_of(chain: Sequence[Array], tolerance: float = 0.02) -> Array:
    """The closed chain as an (n, 2) polyline that repeats its start, within `tolerance` mm."""
    ring = curves.flatten_all(np.array(chain), tolerance)
    return ring if np.abs(ring[0] - ring[-1]).max() <= _CLOSED else np.vstack([ring, ring[:1]])


def area(ring: Array) -> float:
    """Enclosed area in mm², positive whichever way the ring runs, and whether or not it repeats its start."""
    return abs(signed_area(ring))


def signed_area(ring: Array) -> float:
    """Enclosed area in mm² by the shoelace formula: positive for a ring that runs clockwise on the page (y down)."""
    x, y = ring[:, 0], ring[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


def holds(ring: Array, point: Point) -> bool:
    """Whether the ring, which repeats its start, encloses the point (even-odd rule)."""
    return bool(hold(ring, np.array([[point.x, point.y]]))[0])


def hold(ring: Array, points: Array) -> NDArray[np.bool_]:
    """Which of (m, 2) points the ring, which repeats its start, encloses (even-odd rule), (m,)."""
    # Of a ray from each point to the right: an edge that passes its height meets it at a share of the edge's length.
    height = ring[:, 1] - points[:, 1:]
    here, there = height[:, :-1], height[:, 1:]
    passes = (here <= 0) != (there <= 0)
    point, edge = np.nonzero(passes)
    low, high = here[point, edge], there[point, edge]
    ahead = ring[edge, 0] + low / (low - high) * (ring[edge + 1, 0] - ring[edge, 0]) > points[point, 0]
    return np.asarray(np.bincount(point[ahead], minlength=len(points)) % 2 == 1)


def distance_to(ring: Array, point: Point) -> float:
    """Distance from the point to the ring's edge, or to any polyline, mm."""
    return float(nearest_places(ring, np.array([[point.x, point.y]]))[1][0])


def distance_between(line: Array, other: Array) -> float:
    """The least distance between two polylines, mm."""
    from shapely import LineString  # noqa: PLC0415 - heavy, and rarely needed

    return float(LineString(line).distance(LineString(other)))


def is_simple(ring: Array) -> bool:
    """Whether the ring encloses an area without crossing or touching itself."""
    from shapely import LinearRing  # noqa: PLC0415

    return len(ring) > 2 and bool(LinearRing(ring).is_simple)


def polygon_of(ring: Array) -> BaseGeometry:
    """The region as shapely has it, valid; tiny loops that a join in a drawing can leave are dropped."""
    from shapely import Polygon  # noqa: PLC0415

    return Polygon(ring).buffer(0)
