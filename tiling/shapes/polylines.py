"""Polylines, (n, 2) arrays of points in mm: the nearest place on one, and where a straight line crosses it."""

from __future__ import annotations

import numpy as np

from tiling.shapes.curves import Array
from tiling.shapes.paths import Path
from tiling.shapes.points import Point

__all__ = ["crossing_places", "nearest_places", "nearest_position"]


def nearest_places(line: Array, points: Array) -> tuple[Array, Array]:
    """For each of (m, 2) points the nearest place on the polyline.

    Returns:
        (m,) arc lengths from the polyline's start to those places, and (m,) distances from the points to them, mm.
    """
    start, step = line[:-1], np.diff(line, axis=0)
    lengths = np.linalg.norm(step, axis=1)
    off = points[:, None, :] - start
    share = np.clip((off * step).sum(axis=2) / np.maximum(lengths**2, 1e-300), 0.0, 1.0)
    apart = np.linalg.norm(off - share[..., None] * step, axis=2)
    nearest = apart.argmin(axis=1)
    before = np.array([lengths[:segment].sum() for segment in nearest])
    each = np.arange(len(points))
    return before + share[each, nearest] * lengths[nearest], apart[each, nearest]


def nearest_position(path: Path, point: Point, tolerance: float) -> tuple[float, float]:
    """Arc length from the path's start, all subpaths end to end, to its place nearest to `point`; and their distance.

    Both are in mm, of the path flattened to `tolerance` mm.
    """
    best, before = (0.0, float("inf")), 0.0
    for line in path.flatten(tolerance):
        (along,), (apart,) = nearest_places(line, np.array([[point.x, point.y]]))
        if apart < best[1]:
            best = (before + float(along), float(apart))
        before += float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    return best


def crossing_places(line: Array, origin: Point, along: Point) -> Array:
    """Where the straight line through `origin` in the direction of the unit vector `along` passes through the polyline.

    Returns:
        (k,) distances from `origin`, mm, signed, in the polyline's order. A polyline that only touches the straight
        line from its left (seen along it, y down) crosses it twice or not at all.
    """
    off = line - (origin.x, origin.y)
    height = off @ (-along.y, along.x)
    reach = off @ (along.x, along.y)
    here, there = height[:-1], height[1:]
    hit = (here <= 0) != (there <= 0)
    share = here[hit] / (here[hit] - there[hit])
    return np.asarray(reach[:-1][hit] + share * (reach[1:] - reach[:-1])[hit])
