"""How closed rings lie in each other: one in another, the same twice, one that follows another at kept distances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from tiling.recognition.strands import Ring
from tiling.shapes.curves import Array

__all__ = ["WIDEST", "Likeness", "evenly", "holds", "likeness", "plateaus", "same"]

WIDEST = 65.0
"""mm; no allowance is wider."""

_ALIKE = 0.4
"""What a stitching line or another size encloses is at least this share of the outline around it."""

_LEVEL = 0.7
"""mm; a drawn allowance keeps its width to this."""


def same(one: Ring, other: Ring) -> bool:
    """Whether two rings are one to the eye: drawn twice, or its fill and its stroke."""
    a, b = one.box, other.box
    if max(abs(a.x0 - b.x0), abs(a.y0 - b.y0), abs(a.x1 - b.x1), abs(a.y1 - b.y1)) > 0.5:
        return False
    return bool(one.polygon.symmetric_difference(other.polygon).area < 0.002 * one.area)


def holds(outer: Ring, inner: Ring) -> bool:
    """Whether one ring lies in another, but for what sticks out by a hair."""
    if outer.area <= inner.area * 1.0005 or not outer.box.grown(1.0).covers(inner.box):
        return False
    return bool(inner.polygon.difference(outer.polygon).area < 0.01 * inner.area)


@dataclass(frozen=True, slots=True)
class Likeness:
    """How a ring lies in a larger one that it resembles: the distance's levels, mm, and what share of it they cover."""

    levels: tuple[float, ...]
    share: float
    widest: float


def likeness(outer: Ring, inner: Ring) -> Likeness | None:
    """How the inner ring follows the outer one; None where it doesn't."""
    if inner.area < _ALIKE * outer.area:
        return None
    points = shapely.points(evenly(inner.line, 240))
    distance = shapely.distance(points, outer.polygon.boundary)
    widest = float(np.quantile(distance, 0.98))
    if widest > WIDEST:
        return None
    levels, share = plateaus(distance)
    return Likeness(levels, share, widest)


def plateaus(distance: Array) -> tuple[tuple[float, ...], float]:
    """The few values that most of the distances keep to, and what share of them they cover.

    Values apart by less than `_LEVEL` are one; each covers at least a 25th.
    """
    left = np.sort(distance)
    levels, covered = [], 0
    for _ in range(4):
        if not len(left):
            break
        reach = np.searchsorted(left, left + 2 * _LEVEL, side="right") - np.arange(len(left))
        best = int(reach.argmax())
        count = int(reach[best])
        if count < 0.04 * len(distance):
            break
        levels.append(float(np.median(left[best : best + count])))
        covered += count
        left = np.delete(left, slice(best, best + count))
    return tuple(levels), covered / max(len(distance), 1)


def evenly(line: Array, count: int, *, closed: bool = True) -> Array:
    """So many places along a polyline, evenly spread, (count, 2); of a closed one the last lies before its start."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    places = np.linspace(0.0, along[-1], count, endpoint=not closed)
    return np.column_stack([np.interp(places, along, line[:, 0]), np.interp(places, along, line[:, 1])])
