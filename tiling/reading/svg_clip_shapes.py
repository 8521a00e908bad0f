"""Clips of any shape put together: all of several, and what two have in common."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from tiling.reading.svg_units import ElementFault
from tiling.shapes import Path

__all__ = ["intersection", "union"]

_TOLERANCE = 0.005
"""How far a clip's edge may lie from the source's where curved clips meet, mm."""

_MOST_CORNERS = 50_000


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
    rings = [ring for ring in path.flatten(_TOLERANCE) if len(ring) >= 3]
    polygons = [shapely.make_valid(shapely.Polygon(ring)) for ring in rings]
    if not polygons:
        return shapely.Polygon()
    if even_odd:
        whole = polygons[0]
        for polygon in polygons[1:]:
            whole = _bounded(shapely.symmetric_difference(whole, polygon))
        return whole
    # Non-zero: rings that run the other way than the one around them are holes.
    order = sorted(zip(rings, polygons, strict=True), key=lambda pair: -pair[1].area)
    whole = shapely.Polygon()
    for ring, polygon in order:
        inside = whole.contains(polygon)
        opposite = shapely.LinearRing(ring).is_ccw != shapely.LinearRing(order[0][0]).is_ccw
        whole = _bounded(shapely.difference(whole, polygon) if inside and opposite else shapely.union(whole, polygon))
    return whole


def _bounded(shape: shapely.Geometry) -> shapely.Geometry:
    """The shape, unless its rings cross one another so often that it grows without end.

    Raises:
        ElementFault: it does.
    """
    if shapely.get_num_coordinates(shape) > _MOST_CORNERS:
        raise ElementFault(f"its clip has more than {_MOST_CORNERS:,} corners where its outlines cross; simplify it")
    return shape


def _outlines(shape: shapely.Geometry) -> list[Path]:
    paths = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and not part.is_empty:
            turned = orient(part)
            rings = [turned.exterior, *turned.interiors]
            paths += [Path.polyline(np.asarray(ring.coords)[:-1], closed=True) for ring in rings]
    return paths
