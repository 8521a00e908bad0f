"""Simple polygons as convex parts, and the sums of such parts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tiling.shapes.curves import Array
from tiling.shapes.regions import signed_area

__all__ = ["convex_parts", "minkowski_sums"]

_LEVEL = 1e-9
"""mm² of a corner's cross product below which it counts as straight."""


def convex_parts(ring: Array) -> list[Array]:
    """A simple polygon as few convex ones that fill it: Delaunay's triangles, joined where the whole stays convex.

    After Hertel and Mehlhorn (1983): at most four times as many parts as are needed.

    Args:
        ring: (n, 2) corners without repeated end, either way round.

    Returns:
        Rings that run clockwise on the page (y down), their corners among the polygon's own.
    """
    from shapely import Polygon, constrained_delaunay_triangles  # noqa: PLC0415 - shapely is slow to load

    corners: dict[tuple[float, float], int] = {}
    parts: list[list[int]] = []
    for triangle in constrained_delaunay_triangles(Polygon(ring)).geoms:
        points = np.asarray(triangle.exterior.coords)[:-1]
        points = points if signed_area(points) > 0 else points[::-1]
        parts.append([corners.setdefault((float(x), float(y)), len(corners)) for x, y in points])
    places = np.array(list(corners))
    owner = {(a, b): part for part in parts for a, b in _edges(part)}
    inner = [(a, b) for a, b in owner if a < b and (b, a) in owner]
    for a, b in sorted(inner, key=lambda edge: -float(np.linalg.norm(places[edge[0]] - places[edge[1]]))):
        one, other = owner[a, b], owner[b, a]
        joined = _joined(one, other, a, b)
        if one is not other and _is_convex(places, joined):
            parts = [part for part in parts if part is not one and part is not other]
            parts.append(joined)
            owner.update(dict.fromkeys(_edges(joined), joined))
    return [places[part] for part in parts]


def minkowski_sums(ones: Sequence[Array], others: Sequence[Array]) -> Array:
    """For each two convex polygons, one of each kind, all sums of a point of the one and a point of the other.

    Args:
        ones: rings that run clockwise on the page.
        others: the like.

    Returns:
        (n, k, 2): convex rings that run clockwise on the page, those of fewer than k corners ending with repeated ones.
    """
    edges, more = _edge_vectors(ones), _edge_vectors(others)
    shape = (len(ones), len(others))
    both = np.concatenate(
        [np.broadcast_to(edges[:, None], (*shape, *edges.shape[1:])), np.broadcast_to(more, (*shape, *more.shape[1:]))],
        axis=2,
    ).reshape(shape[0] * shape[1], -1, 2)
    # Both polygons' edges in the order of their directions; edges without length come last.
    turns = np.arctan2(both[:, :, 1], both[:, :, 0])
    turns[(both == 0.0).all(axis=2)] = np.inf
    steps = np.take_along_axis(both, np.argsort(turns, axis=1, kind="stable")[:, :, None], axis=1)
    corners = np.concatenate([np.zeros_like(steps[:, :1]), np.cumsum(steps[:, :-1], axis=1)], axis=1)
    # The box around a sum is the sum of the boxes.
    low = np.array([one.min(axis=0) for one in ones])[:, None] + np.array([other.min(axis=0) for other in others])
    return np.asarray(corners + (low.reshape(-1, 1, 2) - corners.min(axis=1, keepdims=True)))


def _edge_vectors(rings: Sequence[Array]) -> Array:
    """The edges of rings, (n, most, 2), filled up with none."""
    edges = np.zeros((len(rings), max(len(ring) for ring in rings), 2))
    for row, ring in zip(edges, rings, strict=True):
        row[: len(ring)] = np.roll(ring, -1, axis=0) - ring
    return edges


def _edges(part: list[int]) -> list[tuple[int, int]]:
    return list(zip(part, [*part[1:], part[0]], strict=True))


def _joined(one: list[int], other: list[int], a: int, b: int) -> list[int]:
    """Two parts as one, without the edge between them, which runs from a to b in `one`."""
    at, back = one.index(b), other.index(a)
    around = one[at:] + one[:at]  # b … a
    return around + (other[back:] + other[:back])[1:-1]  # and on from a to before b


def _is_convex(places: Array, part: list[int]) -> bool:
    points = places[part]
    steps = np.roll(points, -1, axis=0) - points
    after = np.roll(steps, -1, axis=0)
    return bool((steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0] > -_LEVEL).all())
