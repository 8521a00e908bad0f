"""Closed outlines as regions: whether a point lies inside, how far it is from the edge, how large the region is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tiling.shapes import curves
from tiling.shapes.curves import Array
from tiling.shapes.points import Point

__all__ = ["area", "distance_to", "holds", "ring_of"]

_CLOSED = 1e-9
"""A ring that ends this near to its start (mm) repeats it."""


def ring_of(chain: Sequence[Array], tolerance: float = 0.02) -> Array:
    """The closed chain as an (n, 2) polyline that repeats its start, within `tolerance` mm."""
    parts = [chain[0][:1], *(curves.flatten(cubic, tolerance)[1:] for cubic in chain)]
    ring = np.vstack(parts)
    return ring if np.abs(ring[0] - ring[-1]).max() <= _CLOSED else np.vstack([ring, ring[:1]])


def area(ring: Array) -> float:
    """Enclosed area in mm², positive whichever way the ring runs (the shoelace formula)."""
    x, y = ring[:, 0], ring[:, 1]
    return abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))) / 2


def holds(ring: Array, point: Point) -> bool:
    """Whether the ring encloses the point (even-odd rule)."""
    a, b = ring[:-1], ring[1:]
    spans = (a[:, 1] > point.y) != (b[:, 1] > point.y)
    a, b = a[spans], b[spans]
    if not len(a):
        return False
    xs = a[:, 0] + (point.y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(xs > point.x) % 2)


def distance_to(ring: Array, point: Point) -> float:
    """Distance from the point to the ring's edge, mm."""
    a, step = ring[:-1], np.diff(ring, axis=0)
    p = np.array([point.x, point.y])
    squares = np.maximum((step * step).sum(axis=1), 1e-18)
    share = np.clip(((p - a) * step).sum(axis=1) / squares, 0.0, 1.0)
    return float(np.hypot(*(a + share[:, None] * step - p).T).min())
