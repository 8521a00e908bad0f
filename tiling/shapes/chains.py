"""Chains: one subpath as a list of cubics, to be cut, trimmed and measured along its length.

A chain is a tuple of (4, 2) cubics that follow each other; whether it is closed is said beside it.
Arc lengths are found by the quadrature of `curves.length`, parameters at an arc length by Newton's
method, with bisection to fall back on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.shapes import curves
from tiling.shapes.curves import Array
from tiling.shapes.moves import Affine
from tiling.shapes.paths import Path
from tiling.shapes.points import Point

__all__ = [
    "Chain",
    "Crossing",
    "as_point",
    "chain_length",
    "chain_path",
    "chains_of",
    "crossings",
    "direction_at_end",
    "direction_at_start",
    "is_straight",
    "merged_straights",
    "moved_chain",
    "point_along",
    "reverse_chain",
    "split_at",
    "trimmed",
    "turn_between",
]

Chain = tuple[Array, ...]

_SAME = 1e-6
"""Lengths below this (mm) are no length."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a chain passes from one side of a segment to the other.

    Attributes:
        segment: index of the cubic in its chain.
        t: parameter on that cubic, 0 < t <= 1 (a joint counts with the cubic before it).
        along: position on the segment: 0 at its start, 1 at its end.
        point: where.
    """

    segment: int
    t: float
    along: float
    point: Point


def chains_of(path: Path) -> list[tuple[Chain, bool]]:
    """Each subpath that has a length, as (chain, closed); cubics without length are left out."""
    result = []
    for sub in path.subpaths():
        chain = tuple(c for c in sub.cubics() if float(np.abs(c - c[0]).max()) > _SAME)
        if chain:
            meets = len(chain) > 1 and float(np.abs(chain[0][0] - chain[-1][3]).max()) <= _SAME
            closed = sub.closed or meets
            result.append((chain, closed))
    return result


def chain_path(chain: Sequence[Array], *, closed: bool = False) -> Path:
    """The chain as a path; straight cubics become straight segments, a closing one becomes the CLOSE."""
    cubics = list(chain)
    if closed and len(cubics) > 2 and is_straight(cubics[-1]):
        cubics.pop()
    return Path.from_cubics([_even(c) for c in cubics], closed=closed)


def moved_chain(chain: Sequence[Array], by: Affine) -> Chain:
    """Every cubic under an affine move."""
    return tuple(by.points(c) for c in chain)


def as_point(pair: Array) -> Point:
    """A pair of coordinates as a point."""
    return Point(float(pair[0]), float(pair[1]))


def reverse_chain(chain: Sequence[Array]) -> Chain:
    """The chain run the other way."""
    return tuple(cubic[::-1].copy() for cubic in reversed(chain))


def is_straight(cubic: Array, tolerance: float = 1e-6) -> bool:
    """Whether the cubic is drawn as its chord (control points on it, in order), within `tolerance` mm."""
    chord = cubic[3] - cubic[0]
    norm = float(np.hypot(*chord))
    if norm < _SAME:
        return False
    unit = chord / norm
    apart = cubic[1:3] - cubic[0]
    off = np.abs(apart[:, 0] * unit[1] - apart[:, 1] * unit[0])
    along = apart @ unit
    return bool(off.max() <= tolerance and along.min() >= -tolerance and along.max() <= norm + tolerance)


def _even(cubic: Array) -> Array:
    return curves.line_as_cubic(cubic[0], cubic[3]) if is_straight(cubic, 1e-9) else cubic


def chain_length(chain: Sequence[Array]) -> float:
    """Arc length, mm."""
    return sum(curves.length(c) for c in chain)


def direction_at_start(chain: Sequence[Array]) -> Array:
    """Unit tangent where the chain begins, (2,).

    Raises:
        ValueError: its first cubic has no length.
    """
    return _direction(chain[0])


def direction_at_end(chain: Sequence[Array]) -> Array:
    """Unit tangent where the chain ends, (2,).

    Raises:
        ValueError: its last cubic has no length.
    """
    return -_direction(chain[-1][::-1])


def _direction(cubic: Array) -> Array:
    for index in (1, 2, 3):
        step = cubic[index] - cubic[0]
        norm = float(np.hypot(*step))
        if norm > 1e-9:
            return np.asarray(step / norm)
    raise ValueError("a cubic without length has no direction")


def turn_between(one: Array, other: Array) -> float:
    """The angle between two unit directions, degrees, 0 to 180."""
    cross = float(one[0] * other[1] - one[1] * other[0])
    return abs(float(np.degrees(np.arctan2(cross, float(one @ other)))))


def crossings(chain: Sequence[Array], start: Point, end: Point, *, closed: bool) -> list[Crossing]:
    """Where the chain passes from one side of the segment start-end to the other, in order along the chain.

    A chain that only touches the segment's line and turns back does not cross. One that lies on the line for a while
    crosses where it reaches it, if it leaves on the other side. The ends of an open chain do not count.
    """
    p = np.array([start.x, start.y])
    along = np.array([end.x, end.y]) - p
    span = float(np.hypot(*along))
    along = along / span
    across = np.array([-along[1], along[0]])
    stops = _stops(chain, p, across)
    found = []
    for index, (segment, t) in enumerate(stops):
        before = _side_between(chain, stops[index - 1] if index else None, (segment, t), p, across, closed=closed)
        after_stop = stops[index + 1] if index + 1 < len(stops) else None
        after = _side_between(chain, (segment, t), after_stop, p, across, closed=closed)
        if before * after < 0:
            point = curves.evaluate(chain[segment], t)
            place = float((point - p) @ along) / span
            if -1e-12 <= place <= 1 + 1e-12:
                found.append(Crossing(segment, t, place, as_point(point)))
    return found


def _stops(chain: Sequence[Array], p: Array, across: Array) -> list[tuple[int, float]]:
    """Where the chain meets the line, as (segment, t) with 0 < t <= 1, each place once."""
    stops: list[tuple[int, float]] = []
    for segment, cubic in enumerate(chain):
        d = (cubic - p) @ across
        if np.abs(d).max() < 1e-9 or d.min() > 1e-6 or d.max() < -1e-6:
            continue  # along the line, or wholly on one side of it
        power = np.array([-d[0] + 3 * d[1] - 3 * d[2] + d[3], 3 * d[0] - 6 * d[1] + 3 * d[2], 3 * (d[1] - d[0]), d[0]])
        coefficients = np.where(np.abs(power) > 1e-13 * np.abs(power).max(), power, 0.0)
        roots = [float(r.real) for r in np.roots(coefficients) if abs(r.imag) < 1e-7]
        for t in sorted(r for r in roots if -1e-9 < r < 1 + 1e-9):
            t_ = min(max(_polished(coefficients, t), 0.0), 1.0)
            here = (segment, t_) if t_ > 1e-9 else (segment - 1 if segment else len(chain) - 1, 1.0)
            if not any(_near(chain, here, there) for there in stops):
                stops.append(here)
    return sorted(stops)


def _polished(coefficients: Array, t: float) -> float:
    """One more Newton step or two on the root."""
    for _ in range(2):
        slope = float(np.polyval(np.polyder(coefficients), t))
        if abs(slope) < 1e-12:
            return t
        t -= float(np.polyval(coefficients, t)) / slope
    return t


def _near(chain: Sequence[Array], one: tuple[int, float], other: tuple[int, float]) -> bool:
    a, b = (curves.evaluate(chain[s], t) for s, t in (one, other))
    return abs(one[0] - other[0]) <= 1 and float(np.hypot(*(a - b))) < 1e-6


def _side_between(
    chain: Sequence[Array],
    one: tuple[int, float] | None,
    other: tuple[int, float] | None,
    p: Array,
    across: Array,
    *,
    closed: bool,
) -> float:
    """On which side of the line the chain runs between two stops (None: its start or end; cyclic when closed)."""
    first = one if one is not None else (0, 0.0)
    last = other if other is not None else (len(chain) - 1, 1.0)
    worst = 0.0
    for segment in range(first[0], last[0] + 1):
        t0 = first[1] if segment == first[0] else 0.0
        t1 = last[1] if segment == last[0] else 1.0
        if t1 - t0 < 1e-9:
            continue
        d = (curves.evaluate(chain[segment], np.linspace(t0, t1, 9)[1:-1]) - p) @ across
        best = float(d[np.argmax(np.abs(d))])
        worst = best if abs(best) > abs(worst) else worst
    if abs(worst) < 1e-9 and closed and (one is None or other is None):
        # Nothing between the seam of the ring and the stop: look on the far side of the ring's start.
        probe = chain[-1] if one is None else chain[0]
        d = (curves.evaluate(probe, np.linspace(0.0, 1.0, 9)[1:-1]) - p) @ across
        worst = float(d[-1] if one is None else d[0])
    return worst if abs(worst) >= 1e-9 else 0.0


def split_at(chain: Sequence[Array], cuts: Sequence[Crossing], *, closed: bool) -> list[Chain]:
    """The parts between the cuts, in order: n + 1 for an open chain, n for a closed one (from the first cut on)."""
    parts: list[list[Array]] = [[]]
    for segment, cubic in enumerate(chain):
        rest, start = cubic, 0.0
        for cut in cuts:
            if cut.segment != segment:
                continue
            if cut.t >= 1 - 1e-9:
                parts[-1].append(rest)
                rest = rest[:0]
            else:
                head, rest = curves.split(rest, (cut.t - start) / (1 - start))
                start = cut.t
                parts[-1].append(head)
            parts.append([])
        if len(rest):
            parts[-1].append(rest)
    if closed and cuts:
        parts[0] = parts.pop() + parts[0]
        parts = [*parts[1:], parts[0]]
    return [tuple(part) for part in parts if part]


def point_along(chain: Sequence[Array], distance: float) -> tuple[int, float]:
    """Segment and parameter at an arc length in mm from the start (clamped to the chain).

    Raises:
        ValueError: the chain is empty.
    """
    for segment, cubic in enumerate(chain):
        whole = curves.length(cubic)
        if distance < whole or segment == len(chain) - 1:
            return segment, _parameter(cubic, min(max(distance, 0.0), whole), whole)
        distance -= whole
    raise ValueError("an empty chain has no points")


def _parameter(cubic: Array, distance: float, whole: float) -> float:
    if np.abs(cubic - curves.line_as_cubic(cubic[0], cubic[3])).max() <= 1e-12:
        return distance / whole
    low, high, t = 0.0, 1.0, distance / whole
    for _ in range(60):
        off = curves.length(curves.split(cubic, t)[0]) - distance
        if abs(off) < 1e-11:
            break
        low, high = (low, t) if off > 0 else (t, high)
        speed = float(np.hypot(*curves.derivative(cubic, t)))
        step = t - off / speed if speed > 1e-9 else low
        t = step if low < step < high else (low + high) / 2
    return t


def trimmed(chain: Sequence[Array], at_start: float, at_end: float) -> Chain:
    """The chain without its first and last so many mm (their sum less than its length)."""
    if at_start <= _SAME and at_end <= _SAME:
        return tuple(chain)
    if at_start > _SAME:
        segment, t = point_along(chain, at_start)
        chain = (curves.split(chain[segment], t)[1], *chain[segment + 1 :]) if t < 1 - 1e-12 else chain[segment + 1 :]
    if at_end > _SAME:
        segment, t = point_along(chain, chain_length(chain) - at_end)
        chain = (*chain[:segment], curves.split(chain[segment], t)[0]) if t > 1e-12 else chain[:segment]
    return tuple(cubic for cubic in chain if float(np.abs(cubic - cubic[0]).max()) > _SAME)


def merged_straights(chain: Sequence[Array], *, closed: bool, off: float = 0.0) -> Chain:
    """The chain without cubics of no length, exactly joined, and with straight ones in one line as one.

    Two are in one line where their directions are the same, or the joint lies within `off` mm of their chord; ends
    no farther apart than that are joined too.
    """
    result: list[Array] = []
    for cubic in chain:
        if float(np.abs(cubic - cubic[0]).max()) <= _SAME:
            continue
        if result and _in_line(result[-1], cubic, off):
            result[-1] = curves.line_as_cubic(result[-1][0], cubic[3])
        else:
            result.append(cubic if not result else _starting(cubic, result[-1][3], off))
    if closed and len(result) > 2 and _in_line(result[-1], result[0], off):
        result[0] = curves.line_as_cubic(result.pop()[0], result[0][3])
    if closed and result:
        result[0] = _starting(result[0], result[-1][3], off)
    return tuple(result)


def _starting(cubic: Array, point: Array, off: float) -> Array:
    """The cubic with its start moved onto a point that is the same but for rounding, or for `off` mm."""
    if not 0.0 < float(np.abs(cubic[0] - point).max()) < max(1e-5, off):
        return cubic
    return curves.line_as_cubic(point, cubic[3]) if is_straight(cubic) else np.vstack([point, cubic[1:]])


def _in_line(one: Array, other: Array, off: float) -> bool:
    if not (is_straight(one) and is_straight(other)):
        return False
    turn = turn_between(_direction(one), _direction(other))
    if turn < 1e-6 or not off:
        return turn < 1e-6
    chord, step = other[3] - one[0], one[3] - one[0]
    return turn < 45 and abs(float(chord[0] * step[1] - chord[1] * step[0])) <= off * float(np.hypot(*chord))
