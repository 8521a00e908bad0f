"""Paths of straight and cubic segments, kept as two arrays so that half a million points stay cheap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tiling.shapes import curves
from tiling.shapes.curves import Array
from tiling.shapes.moves import Affine
from tiling.shapes.points import Box, Point

__all__ = ["Op", "Path", "PathBuilder"]


class Op(IntEnum):
    """What one step of a path does; the value is its code in `Path.ops`."""

    MOVE = 0
    LINE = 1
    CURVE = 2
    CLOSE = 3


POINTS_OF = np.array([1, 1, 3, 0])
"""How many points each `Op` uses, indexed by its value."""

# Plain numbers: asking the enumeration costs more than what is done with a segment.
_MOVE, _LINE, _CURVE, _CLOSE = (int(op) for op in Op)

_STRAIGHT = 1e-9
"""Control points this near to the thirds of their chord (mm) make a straight segment, wherever it lies."""

_CLOSED = 1e-9
"""A subpath that ends this near to its start (mm) needs no closing segment."""


@dataclass(frozen=True, eq=False)
class Path:
    """One or more subpaths.

    Attributes:
        ops: (k,) uint8, values of `Op`. Every subpath begins with MOVE.
        points: (n, 2) float64 in mm: one point per MOVE and LINE, three per CURVE, none per CLOSE.

    Both arrays are made read-only.
    """

    ops: NDArray[np.uint8]
    points: Array

    def __post_init__(self) -> None:
        self.ops.setflags(write=False)
        self.points.setflags(write=False)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Path):
            return NotImplemented
        return np.array_equal(self.ops, other.ops) and np.array_equal(self.points, other.points)

    __hash__ = None  # type: ignore[assignment]

    def __len__(self) -> int:
        return len(self.ops)

    @classmethod
    def polyline(cls, points: Sequence[Point] | Array, *, closed: bool = False) -> Path:
        """Straight segments through the points (at least one)."""
        array = (
            np.array(points, dtype=np.float64)
            if isinstance(points, np.ndarray)
            else np.array([(p.x, p.y) for p in points], dtype=np.float64)
        )
        ops = [Op.MOVE, *[Op.LINE] * (len(array) - 1), *([Op.CLOSE] if closed else [])]
        return cls(np.array(ops, dtype=np.uint8), array)

    @classmethod
    def rectangle(cls, box: Box) -> Path:
        """The box's outline, closed, clockwise on the page from its top left corner."""
        corners = [Point(box.x0, box.y0), Point(box.x1, box.y0), Point(box.x1, box.y1), Point(box.x0, box.y1)]
        return cls.polyline(corners, closed=True)

    @classmethod
    def from_cubics(cls, cubics: Sequence[Array], *, closed: bool = False) -> Path:
        """One subpath through (4, 2) cubics that follow each other; straight ones become LINEs."""
        build = PathBuilder()
        build.move(*cubics[0][0])
        for cubic in cubics:
            if np.abs(cubic - curves.line_as_cubic(cubic[0], cubic[3])).max() <= _STRAIGHT:
                build.line(*cubic[3])
            else:
                build.curve(*cubic[1], *cubic[2], *cubic[3])
        if closed:
            build.close()
        return build.path()

    def moved(self, by: Affine) -> Path:
        """The path under an affine move (exact: Béziers are affinely invariant)."""
        return Path(self.ops, by.points(self.points))

    def subpaths(self) -> list[Path]:
        """Each MOVE with what follows it, as a path of its own."""
        starts = np.flatnonzero(self.ops == _MOVE)
        if len(starts) <= 1:
            return [self] if len(self.ops) else []
        offsets = np.concatenate([[0], np.cumsum(POINTS_OF[self.ops])])
        ends = [*starts[1:], len(self.ops)]
        return [
            Path(self.ops[a:b].copy(), self.points[offsets[a] : offsets[b]].copy())
            for a, b in zip(starts, ends, strict=True)
        ]

    @property
    def closed(self) -> bool:
        """Whether the last subpath ends with CLOSE."""
        return len(self.ops) > 0 and self.ops[-1] == _CLOSE

    def cubics(self) -> Iterator[Array]:
        """Every segment as a (4, 2) cubic, closing segments included where they have a length."""
        at = 0
        here = start = np.zeros(2)
        for op in self.ops.tolist():
            if op == _MOVE:
                here = start = self.points[at]
            elif op == _LINE:
                yield curves.line_as_cubic(here, self.points[at])
                here = self.points[at]
            elif op == _CURVE:
                yield np.vstack([here, self.points[at : at + 3]])
                here = self.points[at + 2]
            else:
                if np.abs(here - start).max() > _CLOSED:
                    yield curves.line_as_cubic(here, start)
                here = start
            at += 3 if op == _CURVE else 0 if op == _CLOSE else 1

    def length(self) -> float:
        """Arc length of all subpaths, mm."""
        return float(sum(curves.lengths(_stacked(sub)).sum() for sub in self.subpaths() if len(sub.points) > 1))

    @cached_property
    def hull(self) -> Box:
        """The upright box around all points, control points included (quick, never too small)."""
        low, high = self.points.min(axis=0), self.points.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    def bounds(self) -> Box:
        """The exact upright box around the drawn path, without stroke width."""
        if not np.any(self.ops == _CURVE):
            return self.hull
        stack = np.vstack([self.points[:1], *(curves.bounds(c) for c in self.cubics())])
        low, high = stack.min(axis=0), stack.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    def flatten(self, tolerance: float = 0.01) -> list[Array]:
        """Each subpath as an (n, 2) polyline whose chords lie within `tolerance` mm; closed ones repeat the start."""
        result: list[Array] = []
        for sub in self.subpaths():
            if not np.any(sub.ops == _CURVE):
                points = sub.points
                if sub.closed:
                    points = np.vstack([points, points[:1]])
                result.append(points)
                continue
            result.append(curves.flatten_all(_stacked(sub), tolerance))
        return result

    def reversed(self) -> Path:
        """The same subpaths run the other way."""
        paths = []
        for sub in self.subpaths():
            cubics = [cubic[::-1].copy() for cubic in sub.cubics()][::-1]
            paths.append(Path.from_cubics(cubics, closed=sub.closed) if cubics else sub)
        return Path.joined(paths)

    @classmethod
    def joined(cls, paths: Sequence[Path]) -> Path:
        """All subpaths of several paths in one."""
        if not paths:
            return cls(np.zeros(0, dtype=np.uint8), np.zeros((0, 2)))
        return cls(np.concatenate([p.ops for p in paths]), np.concatenate([p.points for p in paths]))


def _stacked(sub: Path) -> Array:
    """All segments of a subpath as a (k, 4, 2) array of cubics."""
    if np.all(sub.ops[1:] == _CURVE):
        points = sub.points
        return np.stack([points[:-1:3], points[1::3], points[2::3], points[3::3]], axis=1)
    return np.array(list(sub.cubics()))


class PathBuilder:
    """Collects steps and gives a `Path`; coordinates in mm (or any unit, moved afterwards)."""

    __slots__ = ("_coords", "_ops")

    def __init__(self) -> None:
        self._ops: list[int] = []
        self._coords: list[float] = []

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self._ops.append(Op.MOVE)
        self._coords += (x, y)

    def line(self, x: float, y: float) -> None:
        """A straight segment to the point."""
        self._ops.append(Op.LINE)
        self._coords += (x, y)

    def curve(self, x1: float, y1: float, x2: float, y2: float, x3: float, y3: float) -> None:
        """A cubic segment with two control points and an end."""
        self._ops.append(Op.CURVE)
        self._coords += (x1, y1, x2, y2, x3, y3)

    def close(self) -> None:
        """Close the subpath with a straight segment."""
        self._ops.append(Op.CLOSE)

    def path(self) -> Path:
        """What was collected."""
        return Path(np.array(self._ops, dtype=np.uint8), np.array(self._coords, dtype=np.float64).reshape(-1, 2))
