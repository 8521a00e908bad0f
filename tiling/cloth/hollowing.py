"""A second way to a stitching line, for outlines finer than the seam allowance (a notch cut into the edge, say).

What lies within its allowance of an edge is taken away from the piece; what is left is bounded by the stitching line.
Exact at every corner that points out; a corner that points in is rounded rather than mitred.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tiling.shapes import Path
from tiling.shapes.curves import Array
from tiling.shapes.offset import OffsetCollapsed, OffsetEdge
from tiling.shapes.regions import polygon_of, signed_area

__all__ = ["inset_by_subtraction"]

_FINE = 0.005
_SEGMENTS = 64


def inset_by_subtraction(edges: Sequence[OffsetEdge]) -> tuple[Path, ...]:
    """As `tiling.shapes.offset.inset`: one path of straight segments per edge, one without segments where none is left.

    Raises:
        OffsetCollapsed: nothing of the outline is left.
    """
    from shapely import LineString, get_parts, unary_union  # noqa: PLC0415 - shapely is slow to load

    # Coordinates next to zero (1e-300) overflow where shapely divides by them.
    lines = [np.where(np.abs(line) < 1e-9, 0.0, line) for line in (np.vstack(e.path.flatten(_FINE)) for e in edges)]
    around = np.unique(np.vstack(lines), axis=0)
    if len(around) < 3:
        raise OffsetCollapsed("the outline encloses nothing")
    whole = polygon_of(np.vstack(lines))
    strings = [LineString(line) for line in lines]
    border = unary_union(
        [
            string.buffer(edge.distance, quad_segs=_SEGMENTS)
            for string, edge in zip(strings, edges, strict=True)
            if edge.distance > 0
        ]
    )
    # A spike of the outline can be left as a line, which has no area.
    largest = max(get_parts(whole.difference(border)), key=lambda part: float(part.area), default=None)
    if largest is None or not largest.area:
        raise OffsetCollapsed("the allowance leaves nothing of the piece")
    ring = np.array(largest.exterior.coords)
    if signed_area(ring) * signed_area(np.vstack(lines)) < 0:
        ring = ring[::-1]
    owners = _owners(ring, strings, np.array([edge.distance for edge in edges]))
    return tuple(_run(ring, owners == owner) for owner in range(len(edges)))


def _owners(ring: Array, strings: Sequence[object], distances: Array) -> Array:
    """For each segment of the ring the edge whose distance from it is nearest to that edge's allowance."""
    from shapely import distance, points  # noqa: PLC0415

    middles = points((ring[:-1] + ring[1:]) / 2)
    apart = np.array([distance(middles, string) for string in strings])
    return np.asarray(np.abs(apart - distances[:, None]).argmin(axis=0))


def _run(ring: Array, own: Array) -> Path:
    """The longest stretch of the ring's own segments, as an open path."""
    count = len(own)
    if not own.any():
        return Path.joined([])
    if own.all():
        return Path.polyline(ring)
    starts = [i for i in range(count) if own[i] and not own[i - 1]]
    best: list[int] = []
    for start in starts:
        stretch = [start]
        while own[(stretch[-1] + 1) % count]:
            stretch.append((stretch[-1] + 1) % count)
        if len(stretch) > len(best):
            best = stretch
    return Path.polyline(np.vstack([ring[best], ring[(best[-1] + 1) % count]]))
