"""Clipping regions on the sheet, and what is left of them where several apply."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from tiling.reading.svg_units import ElementFault
from tiling.shapes import Box, Op, Path

__all__ = ["Clip", "clip_from", "common_clip"]

_TOLERANCE = 0.005
"""How far a clip's edge may lie from the source's where curved clips meet, mm."""

_MOST_CORNERS = 50_000


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """What is drawn lies inside `path` (mm, non-zero rule). `box` is set when it is an upright rectangle."""

    path: Path
    box: Box | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all can be seen."""
        return len(self.path) == 0

    def reaches(self, box: Box) -> bool:
        """Whether something in the box may be seen."""
        return not self.is_empty and self.path.hull.meets(box)

    def holds_all(self, box: Box) -> bool:
        """Whether the box surely lies inside, so that nothing is clipped."""
        mine = self.box
        return mine is not None and (
            mine.x0 <= box.x0 and mine.y0 <= box.y0 and mine.x1 >= box.x1 and mine.y1 >= box.y1
        )


def clip_from(parts: Sequence[tuple[Path, bool]]) -> Clip:
    """The clip that shows what lies in any of the parts; each is a path on the sheet and whether it is even-odd."""
    drawn = [(path, even_odd) for path, even_odd in parts if len(path) > 1]
    if not drawn:
        return Clip(Path.joined([]))
    if len(drawn) == 1 and (not drawn[0][1] or len(drawn[0][0].subpaths()) == 1):
        return Clip(drawn[0][0], _upright(drawn[0][0]))
    return _of_shape(shapely.union_all([_shape(path, even_odd) for path, even_odd in drawn]))


def common_clip(one: Clip | None, other: Clip) -> Clip:
    """What both show."""
    if one is None or one.is_empty:
        return other if one is None else one
    if other.is_empty or other.holds_all(one.path.hull):
        return other if other.is_empty else one
    if one.holds_all(other.path.hull):
        return other
    if one.box and other.box:
        box = one.box.common(other.box)
        return Clip(Path.rectangle(box), box) if box else Clip(Path.joined([]))
    return _of_shape(shapely.intersection(_shape(one.path, False), _shape(other.path, False)))


def _upright(path: Path) -> Box | None:
    """The rectangle the path is, or None."""
    points = path.points
    if np.any(path.ops == Op.CURVE) or len(path.subpaths()) != 1 or len(points) not in {4, 5}:
        return None
    if len(points) == 5 and not np.array_equal(points[0], points[4]):
        return None
    corners = points[:4]
    steps = np.abs(np.diff(np.vstack([corners, corners[:1]]), axis=0))
    if np.any(steps.min(axis=1) > 1e-9) or np.any(steps.max(axis=1) <= 1e-9):
        return None
    turns = steps.argmax(axis=1)
    return path.hull if turns[0] != turns[1] and turns[0] == turns[2] and turns[1] == turns[3] else None


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


def _of_shape(shape: shapely.Geometry) -> Clip:
    paths = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and not part.is_empty:
            turned = orient(part)
            rings = [turned.exterior, *turned.interiors]
            paths += [Path.polyline(np.asarray(ring.coords)[:-1], closed=True) for ring in rings]
    whole = Path.joined(paths)
    return Clip(whole, _upright(whole) if len(paths) == 1 else None)
