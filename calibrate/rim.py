"""Where the rim of a thing on the sheet really lies, when its side wall and its shadow blur into the edge.

The edge's profile, averaged over many stations and so nearly free of noise, is explained as what the lens makes
of: the thing's upper side, then (where the camera sees it) its wall of known width, then paper in a shadow that
fades out. How much the picture is blurred is taken from the printed frame around the place, which has neither
wall nor shadow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.optimize import least_squares
from scipy.special import ndtr

from calibrate.edges import Profiles, SeenEdge
from calibrate.run import Run

if TYPE_CHECKING:
    from calibrate.arrays import Array, Index

_FINE = 0.02  # mm
_INNER, _OUTER = -0.7, 1.3  # the part of a profile that is explained, mm about the rough edge
_STEP = 0.05
_ROOM = 0.9  # mm beyond that part, for the blur
_MISFIT = 0.04  # how well a profile is explained, as a share of its contrast
_NEARLY = 6.0
_FAINT = 0.005  # mm
# A shadow at a rim: its depth, how far it reaches, how softly it ends (mm), and the slope of the light inside.
_USUAL = np.array([0.25, 0.1, 0.14, 0.0])
_SPREAD = np.array([0.1, 0.3, 0.05, 0.1])
# Limits of: place, level inside, its slope, level outside, depth, reach, softness, level of the wall.
_LOW = np.array([-0.6, -0.2, -1.0, 0.0, 0.0, -0.1, 0.03, 0.0])
_HIGH = np.array([0.5, 2.0, 1.0, 2.0, 0.85, 1.2, 0.5, 2.0])
_NUDGE = 1e-7


@dataclass(frozen=True, slots=True)
class Blur:
    """How a sharp step is spread: a Gaussian of ``sigma`` mm, sharpened by the camera by ``sharpened``."""

    sigma: float
    sharpened: float = 0.0


def mean_profile(found: Profiles, edge: Array, grid: Array) -> Array:
    """The light over ``grid`` (mm from the edge), averaged over stations whose edge lies at ``edge`` (n,) mm."""
    rows = [
        np.interp(at + grid, found.along, row)
        for at, row in zip(edge, found.light, strict=True)
        if np.isfinite(at) and np.isfinite(row).all()
    ]
    return np.asarray(np.mean(rows, axis=0)) if rows else np.full(len(grid), np.nan)


def blur_of(found: Profiles, at: float, pixel: float) -> Blur | None:
    """The blur of a printed edge expected ``at`` mm along each station; ``pixel`` is a pixel's size in mm."""
    grid = np.arange(-1.0, 1.0, _STEP)
    profile = mean_profile(found, np.full(len(found.light), at), grid)
    if not np.isfinite(profile).all():
        return None
    low, high = float(profile[:4].mean()), float(profile[-4:].mean())
    if abs(high - low) < 0.02:
        return None

    def miss(values: Array) -> Array:
        place, sigma, sharp, a, b = values
        return np.asarray(_step(grid - place, Blur(abs(sigma), sharp), pixel) * (b - a) + a - profile)

    found_at = least_squares(
        miss, [0.0, 1.2 * pixel, 0.1, low, high],
        bounds=([-0.6, 0.3 * pixel, 0.0, -1, -1], [0.6, 8 * pixel, 0.8, 2, 2]), x_scale=[0.05, 0.05, 0.2, 0.1, 0.1],
    )  # fmt: skip
    if np.sqrt(np.mean(found_at.fun**2)) > 0.06 * abs(high - low):
        return None
    return Blur(float(found_at.x[1]), float(found_at.x[2]))


def _step(d: Array, blur: Blur, pixel: float) -> Array:
    wide = np.hypot(blur.sigma, 1.2 * pixel)
    return np.asarray((1 + blur.sharpened) * ndtr(d / blur.sigma) - blur.sharpened * ndtr(d / wide))


@lru_cache(maxsize=64)
def _spreader(blur: Blur, pixel: float) -> tuple[Array, Array, Array]:
    """The profile's grid, a finer grid, and the matrix that blurs values on the finer grid onto the first."""
    grid = np.arange(_INNER, _OUTER, _STEP)
    fine = np.arange(_INNER - _ROOM, _OUTER + _ROOM, _FINE)
    d = grid[:, None] - fine[None, :]
    matrix = _step(d + _FINE / 2, blur, pixel) - _step(d - _FINE / 2, blur, pixel)
    return grid, fine, np.asarray(matrix / matrix.sum(axis=1, keepdims=True))


@dataclass(frozen=True, slots=True)
class SeenRim:
    """A rim found: its place in mm from the rough edge, outwards, and how far off it may be (1 sigma)."""

    offset: float
    spread: float


@dataclass(frozen=True, slots=True)
class Beside:
    """What lies beside a rim: a ``wall`` so many mm wide (hidden if negative), and ``room`` mm of even ground.

    ``side`` is the light expected from the wall, None where nothing is known of it.
    """

    wall: float
    room: float
    side: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Explained:
    """A profile and what it is explained by; ``values`` (..., 8) are in the order of the limits above.

    ``side`` is the light expected from the wall, give or take ``spread``.
    """

    profile: Array
    fine: Array
    spreader: Array
    width: float
    contrast: float
    side: float
    spread: float

    def shape(self, values: Array) -> Array:
        """The profile that values give."""
        place, a, slope, out, depth, reach, soft, side = np.moveaxis(values, -1, 0)[..., None]
        inward = self.fine - place
        outward = inward - self.width
        rim, foot = _cover(inward), _cover(outward)
        shade = 1.0 - depth * ndtr((reach - outward) / soft)
        sharp = (a + slope * inward) * (1 - rim) + side * (rim - foot) + out * shade * foot
        return np.asarray(sharp @ self.spreader.T)

    def miss(self, values: Array) -> Array:
        """By how much values fail; the last columns hold them to plausible shadows where nothing is to be seen."""
        held = (values[..., [4, 5, 6, 2]] - _USUAL) / _SPREAD
        level = (values[..., 7:] - self.side) / self.spread
        return np.concatenate([(self.shape(values) - self.profile) / (_MISFIT * self.contrast), held, level], axis=-1)

    def change(self, values: Array) -> Array:
        """The derivative of :meth:`miss`, all columns at once."""
        return np.asarray((self.miss(values + _NUDGE * np.eye(len(values))) - self.miss(values)).T / _NUDGE)

    def solved(self, start: list[float]) -> Any:
        """The best values from a start."""
        return least_squares(
            self.miss, np.clip(start, _LOW + 1e-6, _HIGH - 1e-6), self.change, bounds=(_LOW, _HIGH),
            x_scale=[0.05, 0.1, 0.1, 0.1, 0.3, 0.2, 0.1, 0.1], max_nfev=50, xtol=1e-6, ftol=1e-6,
        )  # fmt: skip


def rim_in(found: Profiles, rough: Array, beside: Beside, blur: Blur, run: Run = Run()) -> SeenRim | None:
    """Explain the profiles' mean around the ``rough`` edge (n,) by rim, wall, shadow.

    None when the profile can't be explained.

    Raises:
        Cancelled: the run is to end.
    """
    pixel = 1.0 / found.pixels_per_mm
    grid, fine, spreader = _spreader(Blur(round(blur.sigma, 3), round(blur.sharpened, 2)), round(pixel, 4))
    chosen = _plainest(found, rough, grid)
    profile = mean_profile(replace(found, light=found.light[chosen]), rough[chosen], grid)
    kept = grid < max(beside.room, 0.25)
    profile = profile[kept]
    if not np.isfinite(profile).all():
        return None
    inside, outside = float(profile[:5].mean()), float(profile[-5:].mean())
    contrast = max(float(np.ptp(profile)), 0.02)
    width = max(beside.wall, 0.0)
    side, spread = 0.5 * (inside + outside), 0.5 * contrast + 0.05
    if beside.side is not None:
        side, spread = beside.side, 0.3 * beside.side
    problem = _Explained(profile, fine, spreader[kept], width, contrast, side, spread)
    starts = [(0.05, -0.03), (0.4, -0.1), (0.35, -0.35)]
    if width > pixel:  # the rough edge may be the wall's foot
        starts.append((0.1, -width))
    tries = []
    for reach, place in starts:
        run.check()
        tries.append(problem.solved([place, inside, 0.0, outside, 0.2, reach, 0.15, 0.5 * (inside + outside)]))
    rim = _best(tries, len(profile))
    if rim is None:
        return None
    # The fainter the step at the rim, the more a shadow's own shape decides.
    faint = _FAINT / max(abs(inside - outside) / max(inside, outside, 1e-3), 0.02)
    return replace(rim, spread=float(np.hypot(rim.spread, faint)))


def _best(tries: list[Any], samples: int) -> SeenRim | None:
    """The best explanation; where others are nearly as good, all of them, with their spread."""
    best = min(tries, key=lambda found: float(found.cost))
    misfit = float(np.sqrt(np.mean(best.fun[:samples] ** 2)))
    if misfit * _MISFIT > 0.08:
        return None
    unit = max(1.0, misfit) ** 2
    covariance = np.linalg.pinv(best.jac.T @ best.jac) * unit
    good = [found for found in tries if 2.0 * (found.cost - best.cost) / unit < _NEARLY]
    weights = np.exp([-(found.cost - best.cost) / unit for found in good])
    places = np.array([found.x[0] for found in good])
    middle = float(np.average(places, weights=weights))
    apart = float(np.sqrt(np.average((places - middle) ** 2, weights=weights)))
    return SeenRim(middle, float(np.hypot(np.sqrt(covariance[0, 0]), apart)))


def _plainest(found: Profiles, rough: Array, grid: Array) -> Index:
    """The stations on which the rim stands out most, all brighter inside than outside or all darker."""
    rows = [np.interp(at + grid, found.along, row) for at, row in zip(rough, found.light, strict=True)]
    light = np.nan_to_num(np.array(rows))
    inner, outer = light[:, (grid > -0.45) & (grid < -0.15)], light[:, (grid > 0.15) & (grid < 0.45)]
    step = inner.mean(axis=1) - outer.mean(axis=1)
    sign = 1.0 if step.sum() > 0 else -1.0
    return np.flatnonzero(sign * step >= 0.5 * np.percentile(sign * step, 90))


def _cover(d: Array) -> Array:
    """0 before the edge, 1 beyond it, linear across the fine sample that holds it."""
    return np.asarray(np.clip(0.5 + d / _FINE, 0.0, 1.0))


def moved(edge: SeenEdge, ahead: Array, rim: SeenRim) -> SeenEdge:
    """The edge with its points moved onto the rim."""
    return replace(edge, points=edge.points + rim.offset * ahead, bias=rim.spread)
