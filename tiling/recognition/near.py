"""Which small things of a drawing lie together, looked for among the nearest only."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from scipy.spatial import cKDTree

from tiling.shapes.curves import Array

__all__ = ["Near"]

_MOST = 60
"""Neighbours that are looked at: where more lie together, copies of copies or a fan of lines, all pairs of them would
take time and memory that grow with their square, and none is a sign for who sews."""


class Near:
    """Points, each known by its index, asked for those that lie near a place or near each other.

    Args:
        points: (n, 2), mm.
    """

    def __init__(self, points: Iterable[tuple[float, float]] | Array) -> None:
        self._points = np.array(list(points), dtype=float).reshape(-1, 2)
        self._tree = cKDTree(self._points)

    def at(self, x: float, y: float, within: float) -> list[int]:
        """Those less than `within` mm from a place, in their order, at most the nearest `_MOST`."""
        return sorted(self._nearest(np.array([[x, y]]), within, _MOST)[0].tolist()) if len(self._points) else []

    def pairs(self, within: float) -> Array:
        """(k, 2) indices of those less than `within` mm apart, the lower first, in order; none of a crowd."""
        if len(self._points) < 2:
            return np.zeros((0, 2), dtype=np.intp)
        near = self._nearest(self._points, within, _MOST + 1)
        found = np.array([(k, other) for k, others in enumerate(near) for other in others if len(others) <= _MOST])
        found = found.reshape(-1, 2).astype(np.intp)
        return np.unique(np.sort(found[found[:, 0] != found[:, 1]], axis=1), axis=0)

    def _nearest(self, places: Array, within: float, most: int) -> list[Array]:
        _, found = self._tree.query(places, k=range(1, most + 1), distance_upper_bound=within)
        return [row[row < len(self._points)] for row in found]
