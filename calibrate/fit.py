"""Fit the map from page to picture to the points seen, and know how well it is known.

The fit is least squares with priors (what a phone's lens, its notes on focal length and a sheet of paper can
be), in rounds that lower the weight of points that don't agree (Huber's weights), so a smudged or half covered
point can't pull the page along. Whether the sheet is taken as flat or bent is decided by the points themselves.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from scipy.optimize import least_squares

from calibrate.arrays import Array, Index, Mask
from calibrate.camera import BEND, LENS, NAMES, POSE, Mapping
from calibrate.run import Run

# Standard deviations of what is known beforehand. Poses are free.
_PRIOR = {
    "shear": 0.01, "k1": 0.15, "k2": 0.20, "p1": 0.002, "p2": 0.002,
    "c0": 4e-4, "c1": 4e-6, "c2": 4e-8,
}  # fmt: skip
FOCAL_NOTED = 0.05
"""Relative standard deviation of a focal length that the photo's own notes give."""
FOCAL_GUESSED = 0.40
"""The same for a guess: it reaches from an ultra-wide lens (13 mm) to a long one (77 mm) within 2.5 deviations."""
_GUESSED_FOCAL = 0.64
"""Focal length of a phone's main camera as a share of the picture's diagonal (24 to 30 mm on 43.3 mm)."""
_PRINTERS_STRETCH = 0.006
_HARDLY = 0.002  # from where a fit sets out that would else stop half way between a lens and a stretched print
_SURELY = 14.0  # by how much the points must ask for a stretched print, as a difference of twice the log likelihood
_HUBER = 2.0
_LEAST_NOISE = 0.03
_STEPS = np.array([1e-6, 1e-6, 1e-6, 1e-3, 1e-3, 1e-3, 1e-6, 1e-6, 1e-5,
                   1e-5, 1e-5, 1e-6, 1e-6, 1e-4, 1e-8, 1e-10, 1e-12])  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Matching points: ``page`` (n, 2) in mm, ``pixels`` (n, 2)."""

    page: Array
    pixels: Array


@dataclass(frozen=True, slots=True, eq=False)
class CameraFit:
    """A mapping and how well it is known.

    ``noise`` is the standard deviation of a point's coordinate in pixels. ``information`` is the inverse of the
    covariance of the mapping's values, over those that are ``free``. ``residual`` is the root mean square over
    the points used; ``used`` marks the points that agree. ``other`` is the mapping not chosen: the bent one
    where the sheet was taken as flat, the flat one where it was taken as bent. ``hidden_stretch`` is how much of a
    print's stretch, as a logarithm, another focal length would explain as well.
    """

    mapping: Mapping
    information: Array
    free: Index
    noise: float
    residual: float
    used: Mask
    other: Mapping | None = None
    hidden_stretch: float = 0.0

    @property
    def bent(self) -> bool:
        """Whether the sheet was taken as bent."""
        return bool(self.mapping.values[14:17].any())


@dataclass(frozen=True, slots=True)
class Lens:
    """What is known before the fit: the focal length in pixels and its relative deviation.

    ``stretch`` is the standard deviation of the logarithm of a print's scale across over that down.
    """

    focal: float
    deviation: float
    stretch: float = 0.03


def lens_of(focal_px: float | None, frame: tuple[int, int]) -> Lens:
    """The camera as the photo's notes tell it, or a phone's usual one."""
    if focal_px is not None and 0.3 < focal_px / float(np.hypot(*frame)) < 5.0:
        return Lens(focal_px, FOCAL_NOTED)
    return Lens(_GUESSED_FOCAL * float(np.hypot(*frame)), FOCAL_GUESSED)


def fit_mapping(
    points: Points, lens: Lens, frame: tuple[int, int], *, may_bend: bool = True, run: Run = Run()
) -> CameraFit | None:
    """Fit page to picture; None when the points are too few or lie on a line.

    A fit that does not settle shows as a large residual.

    Raises:
        Cancelled: the run is to end.
    """
    start = first_guess(points, lens, frame)
    if start is None:
        return None
    free = np.zeros(len(NAMES), bool)
    free[POSE] = True
    if len(points.page) >= 12:
        free[LENS] = True
    flat = _Problem(points, lens, free, start).solved(run)
    if not may_bend or len(points.page) < 20:
        return flat
    if lens.deviation > FOCAL_NOTED:
        flat, lens = _unstretched(points, lens, flat, free, run)
    bent_free = free.copy()
    bent_free[BEND] = True
    best: CameraFit | None = None
    for direction in np.radians([0.0, 45.0, 90.0, 135.0]):
        values = flat.mapping.values.copy()
        values[13:17] = direction, 1e-5, 0.0, 0.0
        tried = _Problem(points, lens, bent_free, replace(flat.mapping, values=values), flat.used).solved(run, 1, 12)
        if best is None or tried.noise < best.noise:
            best = tried
    assert best is not None
    bent = _Problem(points, lens, bent_free, best.mapping).solved(run)
    return replace(_chosen(flat, bent), hidden_stretch=flat.hidden_stretch)


def _unstretched(points: Points, lens: Lens, loose: CameraFit, free: Mask, run: Run) -> tuple[CameraFit, Lens]:
    """A print that is hardly stretched, unless that doesn't explain the points; with what is known then.

    At a slant an unknown focal length and a stretched print are hard to tell apart, and prints are seldom stretched.
    """
    start = first_guess(points, lens, loose.mapping.frame) or loose.mapping
    hardly = _Problem(points, replace(lens, stretch=_HARDLY), free, start).solved(run)
    held = replace(lens, stretch=_PRINTERS_STRETCH)
    plain = _Problem(points, held, free, hardly.mapping).solved(run)
    if 2.0 * len(points.page) * np.log(max(plain.residual, 1e-6) / max(loose.residual, 1e-6)) > _SURELY:
        return loose, lens
    which = NAMES.index("aspect")
    hidden = abs(float(plain.mapping.values[which] - loose.mapping.values[which]))
    return replace(plain, hidden_stretch=hidden), held


def _chosen(flat: CameraFit, bent: CameraFit) -> CameraFit:
    """The bent sheet where it explains clearly more than its four more values would by chance."""
    n = int(bent.used.sum())
    gain = n * np.log(max(flat.noise, 1e-6) / max(bent.noise, 1e-6)) * 2.0
    if gain > 4.0 * np.log(2.0 * n):
        return replace(bent, other=flat.mapping)
    return replace(flat, other=bent.mapping)


def first_guess(points: Points, lens: Lens, frame: tuple[int, int]) -> Mapping | None:
    """A flat sheet and no lens errors, from the homography of the points."""
    middle = points.page.mean(axis=0)
    if len(points.page) < 4:
        return None
    found, _ = cv2.findHomography(points.page - middle, points.pixels, 0)
    if found is None:
        return None
    width, height = frame
    inner = np.array([[lens.focal, 0.0, (width - 1) / 2.0], [0.0, lens.focal, (height - 1) / 2.0], [0.0, 0.0, 1.0]])
    pose = np.linalg.inv(inner) @ found
    size = float(np.sqrt(np.linalg.norm(pose[:, 0]) * np.linalg.norm(pose[:, 1])))
    pose = pose / size * (1.0 if pose[2, 2] > 0 else -1.0)
    across, down = pose[:, 0], pose[:, 1]
    u, _, vt = np.linalg.svd(np.column_stack([across, down, np.cross(across, down)]))
    if np.linalg.det(u @ vt) < 0:
        return None
    values = np.zeros(len(NAMES))
    values[:3] = cv2.Rodrigues(u @ vt)[0].ravel()
    values[3:6] = pose[:, 2]
    values[8] = np.log(lens.focal)
    if values[5] <= 0 or not np.isfinite(values).all():
        return None
    return Mapping(values, (float(middle[0]), float(middle[1])), frame)


class _Problem:
    """One least squares problem: which values are free, from where."""

    def __init__(self, points: Points, lens: Lens, free: Mask, start: Mapping, used: Mask | None = None) -> None:
        self.points, self.free, self.start = points, np.flatnonzero(free), start
        self.weights = np.ones(len(points.page)) if used is None else used.astype(float)
        self.mean = np.zeros(len(NAMES))
        self.mean[8] = np.log(lens.focal)
        deviations = np.full(len(NAMES), np.inf)
        for name, deviation in _PRIOR.items():
            deviations[NAMES.index(name)] = deviation
        deviations[NAMES.index("aspect")] = lens.stretch
        deviations[NAMES.index("log_focal")] = lens.deviation
        self.deviations = deviations[self.free]
        self.noise = 0.3

    def solved(self, run: Run, rounds: int = 6, evaluations: int = 40) -> CameraFit:
        """Solve in rounds, weighting points by how well they agreed in the last one."""
        values = self.start.values.copy()
        for _ in range(rounds):
            run.check()
            found = least_squares(
                self._residuals, values[self.free], jac=self._jacobian, method="trf", x_scale=_SCALES[self.free],
                args=(values,), max_nfev=evaluations, xtol=1e-9, ftol=1e-7, gtol=1e-12,
            )  # fmt: skip
            values = values.copy()
            values[self.free] = found.x
            before = self.noise
            self._reweigh(values)
            if abs(self.noise - before) < 0.02 * before:
                break
        return self._fit(values)

    def _misses(self, values: Array) -> Array:
        return replace(self.start, values=values).project(self.points.page) - self.points.pixels

    def _reweigh(self, values: Array) -> None:
        miss = np.linalg.norm(self._misses(values), axis=1)
        # The median length of a round two-dimensional normal miss is 1.177 standard deviations.
        typical = max(float(np.median(miss)) / 1.177, _LEAST_NOISE)
        far = miss / (typical * _HUBER * 1.4)
        self.weights = np.where(far < 1.0, 1.0, 1.0 / np.maximum(far, 1e-9))
        self.weights[far > 4.0] = 0.0
        spare = max(1.0, 2.0 * self.weights.sum() - len(self.free))
        robust = float(np.sqrt((self.weights * miss**2).sum() / spare))
        self.noise = max(robust, _LEAST_NOISE)

    def _residuals(self, free: Array, values: Array) -> Array:
        full = values.copy()
        full[self.free] = free
        miss = self._misses(full) * np.sqrt(self.weights)[:, None] / self.noise
        prior = (free - self.mean[self.free]) / self.deviations
        return np.concatenate([np.nan_to_num(miss, nan=1e6).ravel(), prior[np.isfinite(self.deviations)]])

    def _jacobian(self, free: Array, values: Array) -> Array:
        full = values.copy()
        full[self.free] = free
        moved = replace(self.start, values=full).derivatives(self.points.page, self.free, _STEPS[self.free])
        rows = np.nan_to_num(moved * np.sqrt(self.weights)[:, None] / self.noise).reshape(len(self.free), -1).T
        held = np.isfinite(self.deviations)
        return np.asarray(np.vstack([rows, np.diag(1.0 / self.deviations)[held]]))

    def _fit(self, values: Array) -> CameraFit:
        jacobian = self._jacobian(values[self.free], values)
        used = self.weights > 0.3
        miss = self._misses(values)[used]
        residual = float(np.sqrt((miss**2).sum(axis=1).mean())) if len(miss) else float("inf")
        mapping = replace(self.start, values=values)
        return CameraFit(mapping, jacobian.T @ jacobian, self.free, self.noise, residual, used)


_SCALES = np.array([0.1, 0.1, 0.1, 10.0, 10.0, 30.0, 0.01, 0.01, 0.05,
                    0.05, 0.1, 0.001, 0.001, 0.5, 1e-4, 1e-6, 1e-8])  # fmt: skip
