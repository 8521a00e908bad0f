"""Curves, allowances and marks for the draft of the potting smock: what a ruler and a tracing wheel do on paper.

Edges run clockwise (y down), so outside is to the left of the direction of travel. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from tiling.pattern import Role
from tiling.shapes import Path, Point
from tiling.shapes.curves import Array, derivative, evaluate, length, line_as_cubic, split
from tiling.shapes.fitting import fitted


@dataclass(frozen=True, slots=True)
class Edge:
    """One stitching line of a piece's outline, run clockwise, with its allowance."""

    name: str
    allowance: float
    cubics: tuple[Array, ...]

    def length(self) -> float:
        """Arc length, mm."""
        return sum(length(c) for c in self.cubics)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A line with its role, its name and further ``data-*`` attributes."""

    role: Role
    path: Path
    name: str = ""
    extra: tuple[tuple[str, str], ...] = ()


def curve(*points: tuple[float, float]) -> Array:
    """A cubic by its four points."""
    return np.array(points, dtype=np.float64)


def straight(start: tuple[float, float], end: tuple[float, float]) -> Array:
    """A straight edge as a cubic."""
    return line_as_cubic(np.array(start), np.array(end))


def through(points: Sequence[tuple[float, float]], slopes: Sequence[tuple[float, float]]) -> tuple[Array, ...]:
    """Cubics through the points with the given directions; handles are a third of each chord."""
    cubics = []
    for (p, q), (u, v) in zip(pairwise(points), pairwise(slopes), strict=True):
        a, b = np.array(p), np.array(q)
        third = float(np.hypot(*(b - a))) / 3
        cubics.append(np.array([a, a + third * unit(np.array(u)), b - third * unit(np.array(v)), b]))
    return tuple(cubics)


def unit(vector: Array) -> Array:
    """The direction, length 1."""
    return np.asarray(vector / np.hypot(*vector))


def path(cubics: Sequence[Array], *, closed: bool = False) -> Path:
    """One path through cubics that follow each other."""
    return Path.from_cubics(list(cubics), closed=closed)


def line(*points: tuple[float, float]) -> Path:
    """A polyline."""
    return Path.polyline([Point(*p) for p in points])


def normal(cubic: Array, t: float) -> Array:
    """Outward on a clockwise outline (y down): the direction of travel turned a quarter to the left."""
    along = unit(derivative(cubic, t))
    return np.array([along[1], -along[0]])


def beside(cubic: Array, distance: float) -> Array:
    """The cubic that runs `distance` outside of this one: end tangents kept, handles fitted by least squares."""
    if is_straight(cubic):
        return np.asarray(cubic + distance * normal(cubic, 0.0))
    ts = np.linspace(0.0, 1.0, 41)
    target = np.array([evaluate(cubic, float(t)) + distance * normal(cubic, float(t)) for t in ts])
    directions = np.array([unit(cubic[1] - cubic[0]), unit(cubic[3] - cubic[2])])
    return fitted(target[[0, -1]], directions, target, ts, (0.0, 2.0))


def is_straight(cubic: Array) -> bool:
    """Whether all control points lie on the chord."""
    chord = unit(cubic[3] - cubic[0])
    apart = cubic - cubic[0]
    return bool(np.all(np.abs(apart[:, 0] * chord[1] - apart[:, 1] * chord[0]) < 1e-9))


def quartered(cubic: Array) -> list[Array]:
    """The cubic in four."""
    left, right = split(cubic, 0.5)
    return [*split(left, 0.5), *split(right, 0.5)]


def outside(edges: Sequence[Edge]) -> tuple[Array, ...]:
    """The cutting line around the stitching lines: each edge moved out by its allowance, corners mitred."""
    moved: list[list[Array]] = []
    for edge in edges:
        parts = [c for cubic in edge.cubics for c in ([cubic] if is_straight(cubic) else quartered(cubic))]
        moved.append([beside(part, edge.allowance) if edge.allowance else part for part in parts])
    outline: list[Array] = []
    for index, run in enumerate(moved):
        following = moved[(index + 1) % len(moved)]
        outline.extend(run)
        corner = meeting(run[-1], following[0])
        for start, end in ((run[-1][3], corner), (corner, following[0][0])):
            if np.hypot(*(end - start)) > 1e-6:
                outline.append(line_as_cubic(start, end))
    return tuple(outline)


def meeting(before: Array, after: Array) -> Array:
    """Where the tangents at the end of one cubic and at the start of the next meet."""
    p, d = before[3], unit(before[3] - before[2])
    q, e = after[0], unit(after[1] - after[0])
    across = d[0] * e[1] - d[1] * e[0]
    if abs(across) < 1e-6:
        return np.asarray((p + q) / 2)
    along = ((q[0] - p[0]) * e[1] - (q[1] - p[1]) * e[0]) / across
    return np.asarray(p + along * d)


def at_height(cubics: Sequence[Array], y: float) -> float:
    """The x at which a falling edge passes the height y."""
    for cubic in cubics:
        if min(cubic[0][1], cubic[3][1]) <= y <= max(cubic[0][1], cubic[3][1]):
            return crossing(cubic, 1, y)[0]
    raise ValueError(f"the edge does not reach y = {y}")


def crossing(cubic: Array, axis: int, value: float) -> tuple[float, float]:
    """The point where a cubic that passes a value of x (axis 0) or y (axis 1) once does so."""
    t = brentq(lambda t: float(evaluate(cubic, t)[axis]) - value, 0.0, 1.0, xtol=1e-14)
    x, y = evaluate(cubic, float(t))
    return float(x), float(y)


def along(cubics: Sequence[Array], distance: float) -> tuple[Array, Array]:
    """The point at an arc length along the edge, and the direction of travel there."""
    for cubic in cubics:
        whole = length(cubic)
        if distance <= whole:

            def off(t: float, cubic: Array = cubic, wanted: float = distance) -> float:
                return (length(split(cubic, t)[0]) if t > 0 else 0.0) - wanted

            near = float(brentq(off, 0.0, 1.0, xtol=1e-12))
            return evaluate(cubic, near), unit(derivative(cubic, near))
        distance -= whole
    raise ValueError("beyond the edge")


def notches(edge: Edge, distances: Sequence[float], name: str, *, pair: bool = False) -> list[Drawn]:
    """Short lines from the stitching line into the allowance; a pair of them marks the back."""
    drawn = []
    for distance in distances:
        for shift in (-2.5, 2.5) if pair else (0.0,):
            at, ahead = along(edge.cubics, distance + shift)
            out = np.array([ahead[1], -ahead[0]])
            tip = at + out * min(edge.allowance, 9.0)
            drawn.append(Drawn(Role.NOTCH, line((at[0], at[1]), (tip[0], tip[1])), name))
    return drawn


def grain(x: float, top: float, bottom: float) -> Drawn:
    """A grainline with an arrowhead at both ends."""
    head = [line((x - 4, y + 10 * turn), (x, y), (x + 4, y + 10 * turn)) for y, turn in ((top, 1), (bottom, -1))]
    return Drawn(Role.GRAINLINE, Path.joined([line((x, top), (x, bottom)), *head]), "grain")


def fold(top: float, bottom: float) -> list[Drawn]:
    """The fold line on the edge x = 0, and the bracket whose arrows point at it."""
    y0, y1 = top + (bottom - top) * 0.14, bottom - (bottom - top) * 0.50
    bracket = [line((2, y0), (18, y0), (18, y1), (2, y1))]
    bracket += [line((9, y - 3), (2, y), (9, y + 3)) for y in (y0, y1)]
    return [
        Drawn(Role.FOLD, line((0, top), (0, bottom)), "fold"),
        Drawn(Role.PLAIN, Path.joined(bracket), "fold-bracket"),
    ]


def inside(outline: Path, point: Point) -> bool:
    """Whether a closed path holds the point (even-odd, on a fine polyline)."""
    ring = outline.flatten(0.02)[0]
    a, b = ring[:-1], ring[1:]
    spans = (a[:, 1] > point.y) != (b[:, 1] > point.y)
    a, b = a[spans], b[spans]
    xs = a[:, 0] + (point.y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(xs > point.x) % 2)
