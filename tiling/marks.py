"""Marks as shapes, and which of them lie together: what room on a sheet is reckoned with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tiling.pattern import Line, Mark
from tiling.shapes import Path

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["FLATNESS", "LOOSE", "MOST_LOOSE", "background", "clusters", "line_shape", "mark_shape"]

FLATNESS = 0.1
"""mm; outlines that are laid out need no more."""

LOOSE = 15.0
"""mm; marks of no piece nearer than this stay together."""

MOST_LOOSE = 2_000
"""Loose marks that pieces still keep clear of; a drawing with more of them is no sheet of pieces and a heading."""


def mark_shape(mark: Mark) -> BaseGeometry:
    """A mark as lines (stroke width left out), or as the outline of a text's or picture's place."""
    import shapely  # noqa: PLC0415 - heavy, as in all of this module

    if isinstance(mark, Line):
        return line_shape(mark.path)
    reach = mark.reach()
    return shapely.box(reach.x0, reach.y0, reach.x1, reach.y1)


def line_shape(path: Path) -> BaseGeometry:
    """A path as lines."""
    import shapely  # noqa: PLC0415

    runs = [run.repeat(2, axis=0) if len(run) == 1 else run for run in path.flatten(FLATNESS) if len(run)]
    return shapely.MultiLineString(runs) if len(runs) != 1 else shapely.LineString(runs[0])


def clusters(shapes: Sequence[BaseGeometry], distance: float) -> list[list[int]]:
    """Indices of shapes connected by steps of at most `distance`, in the order of their first members."""
    import numpy as np  # noqa: PLC0415
    import shapely  # noqa: PLC0415
    from scipy.sparse import coo_array  # noqa: PLC0415
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    if not shapes:
        return []
    array = np.array(shapes, dtype=object)
    first, second = shapely.STRtree(array).query(array, predicate="dwithin", distance=distance)
    links = coo_array((np.ones(len(first), dtype=np.bool_), (first, second)), shape=(len(shapes), len(shapes)))
    _, labels = connected_components(links, directed=False)
    found: dict[int, list[int]] = {}
    for k, label in enumerate(labels.tolist()):
        found.setdefault(label, []).append(k)
    return list(found.values())


def background(shape: BaseGeometry, pieces: Sequence[BaseGeometry], near: float) -> bool:
    """Whether a mark of no piece lies under or around pieces: it touches one (within `near` mm), or frames one.

    Frames, grids and words drawn over a piece keep no piece from moving; headings and keys of lines beside them do.
    """
    import shapely  # noqa: PLC0415

    around = shapely.box(*shape.bounds)
    return any(shape.dwithin(piece, near) or around.contains(piece) for piece in pieces)
