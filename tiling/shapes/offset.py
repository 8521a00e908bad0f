"""Moving the edges of a closed outline inwards by given distances: from cutting line to stitching line.

Each Bézier's true offset C(t) + d·n(t) is fitted with cubics to `FIT` mm; neighbours are trimmed where they cross and
extended along their tangents where they part (a mitre). Stretches that would run backwards, because the curve bends
tighter than the distance, are left out. Formulas: Farin, "Curves and Surfaces for CAGD", chapter on offset curves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tiling.shapes import curves
from tiling.shapes.chains import is_straight
from tiling.shapes.curves import Array
from tiling.shapes.paths import Path
from tiling.shapes.polylines import nearest_places
from tiling.shapes.regions import ring_of, signed_area

__all__ = ["FIT", "OffsetCollapsed", "OffsetEdge", "inset"]

FIT = 0.002
"""How far a fitted cubic may lie from the true offset, mm."""

MITRE = 10.0
"""A mitre reaches at most this many distances beyond the corner (as sharp as 11°); beyond, the corner is cut off."""

_JOINT = 0.02
"""Moved ends this near to each other (mm) are one smooth joint, met half way: numbers rounded to 0.001 mm make kinks.

Taken for corners they would cut an outline into stretches too short to be trimmed by their neighbours.
"""

_TOUCH = 1e-6
_SPLITS = 12
_PULL = 1e-2
"""How much the speed at the ends of an offset counts for a fit, against its middle."""


class OffsetCollapsed(ValueError):
    """An edge is used up by its neighbours: the outline is too small, or too fine, for the distance."""


@dataclass(frozen=True, slots=True, eq=False)
class OffsetEdge:
    """One run of an outline (an open or closed subpath, mm) and how far it moves inwards, mm (0: it stays)."""

    path: Path
    distance: float


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """One cubic of the moved outline, and the number of the edge it comes from."""

    cubic: Array
    owner: int


def inset(edges: Sequence[OffsetEdge]) -> tuple[Path, ...]:
    """Each edge moved inwards, trimmed or extended to meet its neighbours; together a closed outline.

    Args:
        edges: the outline's runs in order, each starting where the last one ended (the last meets the first).

    Returns:
        One open path per edge, in the same order. A mitre belongs half to either edge.

    Raises:
        OffsetCollapsed: an edge vanishes, or turns back on itself. Parts far from each other that come to cross are
            not looked for here.
    """
    cubics = [(cubic, owner) for owner, edge in enumerate(edges) for cubic in edge.path.cubics()]
    cubics = [(cubic, owner) for cubic, owner in cubics if np.ptp(cubic, axis=0).max() > _TOUCH]
    if not cubics:
        raise OffsetCollapsed("there is no outline")
    side = 1.0 if signed_area(ring_of([cubic for cubic, _ in cubics])) > 0 else -1.0
    parts = [_Part(moved, owner) for cubic, owner in cubics for moved in _offset(cubic, edges[owner].distance * side)]
    if not parts:
        raise OffsetCollapsed("the outline bends tighter than the distance everywhere")
    chain = _corners_made(parts, max(abs(edge.distance) for edge in edges))
    snapped = _snapped(chain)
    paths = []
    for owner in range(len(edges)):
        own = [cubic for cubic, part in zip(snapped, chain, strict=True) if part.owner == owner]
        if not own:
            raise OffsetCollapsed(f"edge {owner + 1} is used up by its neighbours")
        paths.append(Path.from_cubics(own))
    return tuple(paths)


# -- one cubic ----------------------------------------------------------------------------------------------------


def _offset(cubic: Array, distance: float) -> Iterator[Array]:
    """Cubics along C + distance·n, n being the tangent turned clockwise on the page; backward stretches left out."""
    if distance == 0.0:
        yield cubic
        return
    if is_straight(cubic):
        yield curves.line_as_cubic(*_exact(curves.line_as_cubic(cubic[0], cubic[3]), np.array([0.0, 1.0]), distance))
        return
    for part in _forward(cubic, distance):
        yield from _fitted(part, distance, _SPLITS)


def _forward(cubic: Array, distance: float) -> list[Array]:
    """The stretches of the cubic along which 1 - distance·curvature stays positive."""
    t = np.linspace(0.0, 1.0, 129)
    ahead = _speed_ratio(cubic, t, distance) > 0
    if ahead.all():
        return [cubic]
    marks = [0.0]
    for i in np.flatnonzero(ahead[1:] != ahead[:-1]):
        low, high = t[i], t[i + 1]
        for _ in range(50):
            middle = (low + high) / 2
            same = (_speed_ratio(cubic, np.array([middle]), distance)[0] > 0) == ahead[i]
            low, high = (middle, high) if same else (low, middle)
        marks.append(float(low))
    marks.append(1.0)
    parts = []
    for start, end in pairwise(marks):
        if end - start > 1e-9 and _speed_ratio(cubic, np.array([(start + end) / 2]), distance)[0] > 0:
            parts.append(_between(cubic, start, end))
    return parts


def _between(cubic: Array, start: float, end: float) -> Array:
    """The stretch of the cubic from one parameter to a later one."""
    tail = curves.split(cubic, start)[1] if start > 0 else cubic
    return curves.split(tail, (end - start) / (1 - start))[0] if end < 1 else tail


def _speed_ratio(cubic: Array, t: Array, distance: float) -> Array:
    """How fast the offset runs against the curve: 1 - distance·curvature; 1 where the curvature has no value."""
    first = curves.derivative(cubic, t)
    legs = np.diff(cubic, 2, axis=0) * 6
    second = legs[0] + (legs[1] - legs[0]) * t[:, None]
    speed = np.linalg.norm(first, axis=1)
    bend = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        ratio = 1.0 - distance * bend / speed**3
    return np.where(np.isfinite(ratio), ratio, 1.0)


def _directions(cubic: Array, t: Array) -> Array:
    """Unit tangents at t; at an end whose handle has no length, towards the next control point."""
    first = curves.derivative(cubic, t)
    speed = np.linalg.norm(first, axis=1)
    small = speed < 1e-9
    if small.any():
        nudged = np.clip(t[small], 1e-6, 1 - 1e-6)
        first[small] = curves.derivative(cubic, nudged)
        speed = np.linalg.norm(first, axis=1)
    return np.asarray(first / np.maximum(speed, 1e-300)[:, None])


def _exact(cubic: Array, t: Array, distance: float) -> Array:
    direction = _directions(cubic, t)
    return np.asarray(curves.evaluate(cubic, t) + distance * np.column_stack([-direction[:, 1], direction[:, 0]]))


def _fitted(cubic: Array, distance: float, splits: int) -> Iterator[Array]:
    """Cubics within `FIT` of the offset: ends, end tangents and middle met, halved until good."""
    t = np.linspace(0.0, 1.0, 33)
    exact = _exact(cubic, t, distance)
    ends = _directions(cubic, np.array([0.0, 1.0]))
    handles = np.linalg.norm(curves.derivative(cubic, t[[0, -1]]), axis=1) / 3
    candidate = _through(exact, ends, handles * _speed_ratio(cubic, t[[0, -1]], distance))
    if splits == 0 or nearest_places(exact, curves.evaluate(candidate, t))[1].max() < FIT:
        yield candidate
        return
    for half in curves.split(cubic, 0.5):
        yield from _fitted(half, distance, splits - 1)


def _through(exact: Array, ends: Array, handles: Array) -> Array:
    """The cubic with the ends and end directions given, whose middle is the middle of `exact`.

    Where both ends run nearly the same way, the middle says little about the handles' lengths: it is weighed against
    `handles`, the lengths that keep the speed of the offset at its ends, so that rounding noise is never solved for.
    """
    start, middle, end = exact[0], exact[len(exact) // 2], exact[-1]
    # 8·middle = 4·(start + end) + 3·(a·first - b·last): two equations for the handles' lengths a and b.
    target = (8 * middle - 4 * (start + end)) / 3
    matrix = np.column_stack([ends[0], -ends[1]])
    pull = _PULL**2 * np.eye(2)
    solved = np.linalg.solve(matrix.T @ matrix + pull, matrix.T @ target + pull @ handles)
    if not ((solved > 0).all() and (solved < 2 * float(np.linalg.norm(end - start))).all()):
        solved = handles
    return np.array([start, start + solved[0] * ends[0], end - solved[1] * ends[1], end])


# -- corners ------------------------------------------------------------------------------------------------------


def _corners_made(parts: list[_Part], reach: float) -> list[_Part]:
    """The closed chain with each open or crossing joint trimmed or mitred."""
    count = len(parts)
    following = [*parts[1:], parts[0]]
    corners = [i for i in range(count) if np.linalg.norm(parts[i].cubic[3] - following[i].cubic[0]) > _JOINT]
    if not corners:
        return parts
    if len(corners) == 1:
        # One corner only: its two sides are the two halves of the chain.
        runs = _rotated(parts, corners[0] + 1)
        if len(runs) == 1:
            runs = [replace(runs[0], cubic=half) for half in curves.split(runs[0].cubic, 0.5)]
        middle = len(runs) // 2
        sides = [runs[:middle], runs[middle:]]
        sides[1], sides[0] = _joined(sides[1], sides[0], reach)
    else:
        sides = [
            _rotated(parts, start + 1)[: (end - start - 1) % count + 1]
            for start, end in zip(corners, [*corners[1:], corners[0]], strict=True)
        ]
        for i in range(len(sides)):
            after = (i + 1) % len(sides)
            sides[i], sides[after] = _joined(sides[i], sides[after], reach)
    # A crossing right at a joint may leave a part of no length on either side of it.
    chain = [part for side in sides for part in side if np.ptp(part.cubic, axis=0).max() > _TOUCH]
    if not chain:
        raise OffsetCollapsed("the distance leaves nothing of the outline")
    # Begin with the first edge again.
    first = next((i for i in range(len(chain)) if chain[i].owner != chain[i - 1].owner and chain[i].owner == 0), 0)
    return _rotated(chain, first)


def _snapped(chain: list[_Part]) -> list[Array]:
    """The cubics, each starting where the last one ends, half way between both; handles move with their ends."""
    joints = np.array([(part.cubic[0] + chain[i - 1].cubic[3]) / 2 for i, part in enumerate(chain)])
    cubics = []
    for part, start, end in zip(chain, joints, np.roll(joints, -1, axis=0), strict=True):
        shifts = np.array([start - part.cubic[0], end - part.cubic[3]])
        straight = is_straight(part.cubic)
        cubics.append(curves.line_as_cubic(start, end) if straight else part.cubic + shifts[[0, 0, 1, 1]])
    return cubics


def _rotated(parts: list[_Part], start: int) -> list[_Part]:
    start %= len(parts)
    return [*parts[start:], *parts[:start]]


def _joined(before: list[_Part], after: list[_Part], reach: float) -> tuple[list[_Part], list[_Part]]:
    """Both sides of a corner, trimmed at the crossing nearest to it, or extended to their mitre."""
    crossing = _crossing(before, after)
    if crossing is not None:
        i, t, j, s = crossing
        left = [*before[:i], replace(before[i], cubic=curves.split(before[i].cubic, t)[0])]
        right = [replace(after[j], cubic=curves.split(after[j].cubic, s)[1]), *after[j + 1 :]]
        return left, right
    end, start = before[-1].cubic[3], after[0].cubic[0]
    out = _directions(before[-1].cubic, np.array([1.0]))[0]
    back = -_directions(after[0].cubic, np.array([0.0]))[0]
    matrix = np.column_stack([out, -back])
    if abs(np.linalg.det(matrix)) > 1e-6:
        u, v = np.linalg.solve(matrix, start - end)
        if -_TOUCH <= u <= MITRE * reach and -_TOUCH <= v <= MITRE * reach:
            tip = end + u * out
            left = [*before, _Part(curves.line_as_cubic(end, tip), before[-1].owner)] if u > _TOUCH else before
            right = [_Part(curves.line_as_cubic(tip, start), after[0].owner), *after] if v > _TOUCH else after
            return left, right
        if u < -_TOUCH and v < -_TOUCH:
            raise OffsetCollapsed("an edge is shorter than its neighbours take from it")
    return [*before, _Part(curves.line_as_cubic(end, start), before[-1].owner)], after


def _crossing(before: list[_Part], after: list[_Part]) -> tuple[int, float, int, float] | None:
    """Where the sides cross nearest to their corner: part and parameter on either, None where they don't."""
    one, other = _sampled(before), _sampled(after)
    p, r = one.points[:-1], np.diff(one.points, axis=0)
    q, s = other.points[:-1], np.diff(other.points, axis=0)
    cross = r[:, None, 0] * s[None, :, 1] - r[:, None, 1] * s[None, :, 0]
    gap = q[None] - p[:, None]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        u = (gap[..., 0] * s[None, :, 1] - gap[..., 1] * s[None, :, 0]) / cross
        v = (gap[..., 0] * r[:, None, 1] - gap[..., 1] * r[:, None, 0]) / cross
    slack = 1e-9
    hits = np.argwhere((u >= -slack) & (u <= 1 + slack) & (v >= -slack) & (v <= 1 + slack))
    if not len(hits):
        return None
    from_end = np.cumsum(np.linalg.norm(r, axis=1)[::-1])[::-1]
    from_start = np.cumsum(np.linalg.norm(s, axis=1))
    a, b = hits[int(np.argmin(from_end[hits[:, 0]] + from_start[hits[:, 1]]))]
    i, t = one.at(int(a), float(u[a, b]))
    j, w = other.at(int(b), float(v[a, b]))
    t, w = _refined(before[i].cubic, t, after[j].cubic, w)
    return i, t, j, w


@dataclass(frozen=True, slots=True, eq=False)
class _Samples:
    """A chain as a polyline, with the part and parameter of each vertex."""

    points: Array
    part: Array
    parameter: Array

    def at(self, segment: int, share: float) -> tuple[int, float]:
        """Part and parameter at a share of a segment."""
        share = min(max(share, 0.0), 1.0)
        part = int(self.part[segment + 1])
        start = float(self.parameter[segment]) if self.part[segment] == part else 0.0
        return part, start + share * (float(self.parameter[segment + 1]) - start)


def _sampled(parts: list[_Part]) -> _Samples:
    points, owner, parameter = [parts[0].cubic[:1]], [np.zeros(1)], [np.zeros(1)]
    for index, part in enumerate(parts):
        flat = curves.flatten(part.cubic, 0.01)[1:]
        points.append(flat)
        owner.append(np.full(len(flat), float(index)))
        parameter.append(np.linspace(0.0, 1.0, len(flat) + 1)[1:])
    return _Samples(np.vstack(points), np.concatenate(owner), np.concatenate(parameter))


def _refined(one: Array, t: float, other: Array, s: float) -> tuple[float, float]:
    """Newton's method from a near crossing of two cubics to the crossing itself."""
    for _ in range(12):
        gap = curves.evaluate(one, t) - curves.evaluate(other, s)
        slope = np.column_stack([curves.derivative(one, t), -curves.derivative(other, s)])
        if abs(np.linalg.det(slope)) < 1e-12:
            break
        change = np.linalg.solve(slope, -gap)
        t, s = float(np.clip(t + change[0], 0.0, 1.0)), float(np.clip(s + change[1], 0.0, 1.0))
        if np.abs(change).max() < 1e-13:
            break
    return t, s
