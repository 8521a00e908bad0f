"""Find a coin's rim, as the circle that it is, and measure the page against it.

A coin's shadow and side wall make a rough outline read up to two per cent large. The rim is therefore fitted in
the plane of the coin's upper side, sector by sector with wall and shadow explained, and a coin that comes out
of round is not believed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calibrate.edges import EdgeCriteria, Profiles, light_at, steps_in
from calibrate.rim import Beside, Blur, rim_in
from calibrate.run import Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.camera import Mapping, Raised
    from calibrate.references import Reference
    from calibrate.target import Target

_STATIONS = 180
_SECTORS = 12
_NEAR = 0.10  # mm
_LEAST_SHARE = 0.42
_PRINT_STRETCH = 0.0025  # standard deviation of across over down, and of the skew, in a print
_BEVEL = 0.1  # the rim of a coin is widest this far under its upper side, mm
_SEARCH = EdgeCriteria(least=0.05)


@dataclass(frozen=True, slots=True, eq=False)
class CoinRim:
    """A coin's rim: ``points`` (n, 2) in page mm in the plane ``top``, and how far each may be off, mm.

    ``out_of_round`` is the standard deviation of the points' distances from the ellipse fitted, over its
    radius; it is taken from their median, so that a shadow on one side does not count.
    """

    top: Raised
    points: Array
    spreads: Array
    out_of_round: float


@dataclass(frozen=True, slots=True)
class Expected:
    """The page's scale as far as it is known before the coin is read: between ``least`` and ``most``."""

    least: float = 0.80
    most: float = 1.25


def coin_rim(
    pixels: NDArray[np.uint8],
    mapping: Mapping,
    target: Target,
    coin: Reference,
    expected: Expected,
    run: Run = Run(),
) -> CoinRim | None:
    """Look for a coin in its place; None when no round rim of the expected size is found there.

    Raises:
        Cancelled: the run is to end.
    """
    x, y = target.coin
    ring = _ring(32)
    radius = coin.width / 2
    top = mapping.lying_on(x, y, np.array([x, y]) + 0.9 * radius * ring, coin.thickness).lowered(_BEVEL)
    circle = _Circle(np.array([x, y]), radius)
    for reach, sizes in ((4.0, expected), (0.6, Expected(0.97, 1.03))):
        found = _circle(pixels, top, circle, reach, sizes, run)
        if found is None:
            return None
        circle = found
    points, spreads = _rim_points(pixels, top, circle, coin.thickness, run)
    if len(points) < 0.75 * _SECTORS:
        return None
    rim = CoinRim(top, points, spreads, 0.0)
    _, misses = ellipse_of(rim, points)
    return replace(rim, out_of_round=float(np.median(np.abs(misses))) * 1.4826 / circle.radius)


def _ring(count: int) -> Array:
    angles = np.arange(count) * 2 * np.pi / count
    return np.column_stack([np.cos(angles), np.sin(angles)])


def _spokes(pixels: NDArray[np.uint8], top: Raised, middle: Array, inner: float, outer: float) -> Profiles:
    """Light along spokes from ``inner`` to ``outer`` mm from the middle, half a pixel apart."""
    ring = _ring(_STATIONS)
    ends = top.project(np.concatenate([middle + inner * ring, middle + outer * ring]))
    per_mm = float(np.median(np.linalg.norm(ends[_STATIONS:] - ends[:_STATIONS], axis=1))) / (outer - inner)
    along = np.arange(inner, outer, 0.5 / per_mm)
    page = middle + along[None, :, None] * ring[:, None, :]
    seen = top.project(page.reshape(-1, 2)).reshape(page.shape)
    return Profiles(light_at(pixels, seen), along, 0.5 / per_mm, per_mm)


@dataclass(frozen=True, slots=True, eq=False)
class _Circle:
    """A circle in the plane of a coin's upper side: its ``middle`` (2,) and ``radius``, page mm."""

    middle: Array
    radius: float


def _circle(
    pixels: NDArray[np.uint8], top: Raised, about: _Circle, reach: float, sizes: Expected, run: Run
) -> _Circle | None:
    """The outermost circle of sharp steps within ``reach`` mm of the one expected."""
    middle, size = about.middle, about.radius
    low, high = sizes.least, sizes.most
    found = _spokes(pixels, top, middle, max(1.0, size / high - reach), size / low + reach)
    steps = steps_in(found, _SEARCH.least)
    station = steps.station
    points = middle + steps.along[:, None] * _ring(_STATIONS)[station]
    if len(points) < _LEAST_SHARE * _STATIONS:
        return None
    rng = np.random.default_rng(1)
    best: list[tuple[int, _Circle]] = []
    for _ in range(700):
        run.check()
        three = points[rng.choice(len(points), 3, replace=False)]
        circle = _through(three)
        if circle is None:
            continue
        if not size / high <= circle.radius <= size / low or np.linalg.norm(circle.middle - middle) > reach:
            continue
        near = np.abs(np.linalg.norm(points - circle.middle, axis=1) - circle.radius) < _NEAR
        count = len(set(station[near].tolist()))
        if count > _LEAST_SHARE * _STATIONS:
            best.append((count, circle))
    if not best:
        return None
    most = max(count for count, _ in best)
    outermost = max(circle.radius for count, circle in best if count > 0.6 * most)
    return max((one for one in best if one[1].radius > outermost - 2 * _NEAR), key=lambda one: one[0])[1]


def _through(three: Array) -> _Circle | None:
    """The circle through three points."""
    system = np.column_stack([2 * three, np.ones(3)])
    if abs(np.linalg.det(system)) < 1.0:
        return None
    x, y, c = np.linalg.solve(system, (three**2).sum(axis=1))
    return _Circle(np.array([x, y]), float(np.sqrt(max(c + x * x + y * y, 0.0))))


def _rim_points(
    pixels: NDArray[np.uint8], top: Raised, circle: _Circle, thickness: float, run: Run
) -> tuple[Array, Array]:
    """One point of the rim for each sector that can be explained, and how far off it may be, mm."""
    middle, size = circle.middle, circle.radius
    ring = _ring(_STATIONS)
    found = _spokes(pixels, top, middle, size - 1.6, size + 2.4)
    foot, rim = top.lowered(thickness - 2 * _BEVEL), middle + size * ring
    out = top.project(rim + ring) - top.project(rim)
    wall = ((foot.project(rim) - top.project(rim)) * out).sum(axis=1) / (out**2).sum(axis=1)
    width = _STATIONS // _SECTORS
    points, spreads = [], []
    for sector in range(_SECTORS):
        which = np.arange(sector * width, (sector + 1) * width)
        part = Profiles(found.light[which], found.along, found.step, found.pixels_per_mm)
        beside = Beside(float(wall[which].mean()), 1.3)
        # On the side that faces the camera the outline found is the wall's foot.
        rough = size - max(beside.wall, 0.0)
        placed = rim_in(part, np.full(width, rough), beside, Blur(1.1 / found.pixels_per_mm), run)
        if placed is not None and abs(placed.offset) < 0.45:
            direction = ring[which].mean(axis=0)
            points.append(middle + (rough + placed.offset) * direction / np.linalg.norm(direction))
            doubt = placed.spread + _shaded(part, rough + placed.offset + max(beside.wall, 0.0))
            # Where the wall shows, rim and foot may be taken for each other.
            spreads.append(doubt + (0.06 if beside.wall > -0.05 else 0.0))
    return np.array(points).reshape(-1, 2), np.array(spreads)


def _shaded(part: Profiles, edge: float) -> float:
    """How far a shadow beside the rim may make it seem wider, mm: nothing where the paper is evenly lit."""
    light = np.median(part.light, axis=0)
    near, far = np.interp([edge + 0.3, edge + 1.6], part.along, light)
    return float(0.3 * max(0.0, 1.0 - near / max(far, 1e-3)))


def ellipse_of(rim: CoinRim, points: Array) -> tuple[Array, Array]:
    """Fit a near-circle to ``points`` in the order of the rim's own, mm.

    Gives the symmetric matrix (2, 2) that makes it a unit circle, and each point's distance from it in mm.
    Least squares to first order in how far the ellipse is from a circle, which is held to what printers do to
    a circle; points that don't agree lose weight (Cauchy's weights).
    """
    middle = points.mean(axis=0)
    weights = 1.0 / rim.spreads
    misses = np.zeros(len(points))
    for _ in range(40):
        offset = points - middle
        far, angle = np.linalg.norm(offset, axis=1), np.arctan2(offset[:, 1], offset[:, 0])
        size = float(np.median(far))
        system = np.column_stack(
            [np.ones(len(far)), np.cos(2 * angle), np.sin(2 * angle), np.cos(angle), np.sin(angle)]
        )
        held = np.zeros((2, 5))
        held[0, 1] = held[1, 2] = 1.0 / (_PRINT_STRETCH * size / 2)
        robust = weights / np.sqrt(1.0 + (misses * weights / 2.0) ** 2)
        found, *_ = np.linalg.lstsq(
            np.vstack([system * robust[:, None], held]), np.append(far * robust, [0.0, 0.0]), rcond=None
        )
        misses = far - system @ found
        middle = middle + found[3:]
    # far = r + c cos 2a + s sin 2a, so 1/far^2 = (1 - 2 c/r cos 2a - 2 s/r sin 2a) / r^2.
    radius, c, s = found[0], found[1] / found[0], found[2] / found[0]
    return np.array([[1 - 2 * c, -2 * s], [-2 * s, 1 + 2 * c]]) / radius**2, misses
