"""What is laid on a strip by our own means, and the ways each thing may lie to another.

A strip lies along x from 0, and is `height` wide in y. Places are shifts of outlines whose least x and y are 0 (of a
pinned one, whose edge lies on y = 0).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from tiling.planning.packing import packable
from tiling.shapes import Affine
from tiling.shapes.convex import convex_parts, minkowski_sums
from tiling.shapes.curves import Array
from tiling.shapes.regions import polygon_of, signed_area

__all__ = ["Facing", "StripItem", "Surrounding", "kinds_of", "length_of"]

_TOUCH = 1e-6
"""mm; nearer than this, things touch."""

_LEVEL = 1e-5
"""mm by which an edge rises that bounds nothing on its left or right; sums of edges close to a little less."""

_HAIR = 1e-3
_ALMOST_STRAIGHT = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class StripItem:
    """A thing to lay: its outline, (n, 2) mm, simple and without holes, and the ways it may face.

    `facings` are moves without shift (a turn, a mirror image); a pinned item keeps its own y = 0 on the strip's edge.
    """

    outline: Array
    facings: tuple[Affine, ...] = (Affine(),)
    pinned: bool = False


class Facing:
    """One outline as it faces: moved so that it begins at x = 0, and, unless pinned, at y = 0.

    Args:
        item: what faces so.
        turn: how.
        coarse: mm by which the outline may be simplified.

    Attributes:
        move: from the item's own outline to this one.
        length, height: of the outline as it is.
        ring: the outline, simplified; it holds the outline itself, and straight edges lie where they are.
    """

    def __init__(self, item: StripItem, turn: Affine, coarse: float) -> None:
        turned = turn.points(item.outline)
        low = turned.min(axis=0)
        self.pinned, self._coarse = item.pinned, coarse
        self.move = Affine.shift(-float(low[0]), 0.0 if item.pinned else -float(low[1])) @ turn
        exact = self.move.points(item.outline)
        self.length, self.height = (float(high) for high in exact.max(axis=0))
        self._shape = polygon_of(exact)
        self.ring = _around(self._shape, coarse)
        self._grown: dict[float, list[Array]] = {}

    def parts(self, gap: float = 0.0) -> list[Array]:
        """The outline grown by a gap (round, its corners cut off a little) in convex parts."""
        if gap not in self._grown:
            grown = self._shape.buffer(gap, quad_segs=2) if gap else self._shape
            self._grown[gap] = convex_parts(_around(grown, self._coarse))
        return self._grown[gap]


class Surrounding:
    """Where one facing may not begin for another that begins at (0, 0): a union of convex regions.

    A shift in the inside of any of them brings the two outlines nearer to each other than the gap, as far as simplified
    outlines tell.

    Attributes:
        low, high: where each region begins and ends in y, mm.
        size: how much there is to look at for each height.
    """

    def __init__(self, one: Facing, other: Facing, gap: float) -> None:
        regions = minkowski_sums(one.parts(gap), [-part for part in other.parts()])
        self.low, self.high = regions[:, :, 1].min(axis=1), regions[:, :, 1].max(axis=1)
        # The lines x = slope * y + start along the edges; clockwise on the page those on the left run upwards.
        step = np.roll(regions, -1, axis=1) - regions
        rise = np.where(np.abs(step[:, :, 1]) > _LEVEL, step[:, :, 1], np.nan)
        slope = step[:, :, 0] / rise
        start = regions[:, :, 0] - slope * regions[:, :, 1]
        self._left = _lines(slope, start, rise < 0, -np.inf)
        self._right = _lines(slope, start, rise > 0, np.inf)
        self.size = self._left[0].size + self._right[0].size

    def spans(self, ys: Array) -> tuple[Array, Array]:
        """Where the regions begin and end in x at heights: two arrays (regions, heights); none is from inf to -inf."""
        left = (self._left[0][:, :, None] * ys + self._left[1][:, :, None]).max(axis=1)
        right = (self._right[0][:, :, None] * ys + self._right[1][:, :, None]).min(axis=1)
        within = (ys > self.low[:, None] + _TOUCH) & (ys < self.high[:, None] - _TOUCH)
        return np.where(within, left, np.inf), np.where(within, right, -np.inf)


def kinds_of(items: Sequence[StripItem], coarse: float) -> list[tuple[Facing, ...]]:
    """For each item its facings, simplified by `coarse` mm; items that are alike share theirs."""
    known: dict[tuple[bytes, tuple[Affine, ...], bool], tuple[Facing, ...]] = {}
    kinds = []
    for item in items:
        key = (item.outline.tobytes(), item.facings, item.pinned)
        if key not in known:
            known[key] = tuple(Facing(item, turn, coarse) for turn in item.facings)
        kinds.append(known[key])
    return kinds


def length_of(items: Sequence[StripItem], moves: Sequence[Affine]) -> float:
    """How far the items reach along the strip, mm."""
    return max((float(m.points(i.outline)[:, 0].max()) for i, m in zip(items, moves, strict=True)), default=0.0)


def _lines(slope: Array, start: Array, wanted: NDArray[np.bool_], empty: float) -> tuple[Array, Array]:
    """Slopes and starts, (n, k), of the lines wanted, in as few columns as hold them; the rest bounds nothing."""
    first = np.argsort(~wanted, axis=1, kind="stable")[:, : int(wanted.sum(axis=1).max())]
    wanted = np.take_along_axis(wanted, first, axis=1)
    return (
        np.where(wanted, np.take_along_axis(slope, first, axis=1), 0.0),
        np.where(wanted, np.take_along_axis(start, first, axis=1), empty),
    )


def _around(shape: BaseGeometry, coarse: float) -> Array:
    """An outline of few corners that holds the shape: simplified, then each edge moved out as far as the shape bulges.

    Straight edges stay where they are, so that what just fits still does.
    """
    ring = np.asarray(shape.exterior.coords)[:-1]
    ring = ring if signed_area(ring) > 0 else ring[::-1]
    plain = np.asarray(Polygon(ring).simplify(coarse).exterior.coords)[:-1]
    at = {(float(x), float(y)): number for number, (x, y) in enumerate(ring)}
    corners = [at[float(x), float(y)] for x, y in plain]
    step = np.roll(plain, -1, axis=0) - plain
    along = step / np.linalg.norm(step, axis=1)[:, None]
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)
    bulge = np.array([
        float(((_between(ring, one, other) - plain[n]) @ out[n]).max())
        for n, (one, other) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True))
    ])  # fmt: skip
    before, turned = np.roll(along, 1, axis=0), np.roll(bulge, 1)
    cross = before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0]
    # Where both edges at a corner are moved, their crossing is the new corner.
    level = np.where(np.abs(cross) > _ALMOST_STRAIGHT, cross, np.inf)
    moved = plain + (bulge[:, None] * before - turned[:, None] * along) / level[:, None]
    flat = np.abs(cross) <= _ALMOST_STRAIGHT
    moved[flat] += (np.maximum(bulge, turned)[:, None] * out)[flat]
    whole = Polygon(moved)
    return moved if whole.is_valid and whole.buffer(_HAIR).covers(shape) else packable(shape, coarse)


def _between(ring: Array, one: int, other: int) -> Array:
    """The corners from one to another."""
    return ring[one : other + 1] if one < other else np.vstack([ring[one:], ring[: other + 1]])
