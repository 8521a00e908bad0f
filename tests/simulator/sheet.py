"""A sheet of paper on a table: flat, or bent like a piece of a cylinder.

Paper bends but does not stretch, so the sheet keeps its own arc length: a point ``along`` mm from the middle
of the sheet, measured on the paper, stays ``along`` mm from it on the bent sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np
from scipy.interpolate import CubicSpline

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.simulator.camera import Array


class Bend(Enum):
    """The shape of a curl."""

    BOWL = "two opposite edges rise"
    ARCH = "the middle rises"
    LIP = "one edge rises"


@dataclass(frozen=True, slots=True)
class Curl:
    """How the sheet bends: highest point in mm, shape, and the direction (degrees) it bends along."""

    rise: float = 0.0
    bend: Bend = Bend.BOWL
    direction: float = 0.0


class Sheet:
    """A rectangle of paper, ``width`` x ``height`` mm, its middle at the world's origin when flat.

    Sheet coordinates (x, y) run from the top left corner, in mm on the paper itself.
    """

    def __init__(self, width: float, height: float, curl: Curl | None = None) -> None:
        curl = curl or Curl()
        self.width, self.height, self.curl = width, height, curl
        angle = np.radians(curl.direction)
        self._along = np.array([np.cos(angle), np.sin(angle)])
        self._beside = np.array([-np.sin(angle), np.cos(angle)])
        self.reach = (abs(self._along[0]) * width + abs(self._along[1]) * height) / 2
        ground = np.linspace(-3.0 * self.reach, 3.0 * self.reach, 24001)
        slope = self.slope(ground)
        length = CubicSpline(ground, np.hypot(1.0, slope)).antiderivative()
        self._length = lambda p: length(p) - length(0.0)
        self._ground = CubicSpline(length(ground) - length(0.0), ground)

    def rise(self, ground: Array) -> Array:
        """Height in mm over the table at distance ``ground`` from the middle, measured on the table."""
        u = ground / self.reach
        if self.curl.bend is Bend.BOWL:
            return self.curl.rise * u**2
        if self.curl.bend is Bend.ARCH:
            return self.curl.rise * (1.0 - u**2)
        return self.curl.rise * np.where(u > -1.0, (u + 1.0) ** 3, 0.0) / 8.0

    def slope(self, ground: Array) -> Array:
        """Derivative of :meth:`rise`."""
        u = ground / self.reach
        if self.curl.bend is Bend.BOWL:
            return self.curl.rise * 2.0 * u / self.reach
        if self.curl.bend is Bend.ARCH:
            return -self.curl.rise * 2.0 * u / self.reach
        return self.curl.rise * 3.0 * np.where(u > -1.0, (u + 1.0) ** 2, 0.0) / 8.0 / self.reach

    def world(self, points: Array) -> Array:
        """Sheet points (..., 2) to the world (..., 3), mm."""
        offset = points - np.array([self.width, self.height]) / 2
        ground = self._ground(offset @ self._along)
        flat = ground[..., None] * self._along + (offset @ self._beside)[..., None] * self._beside
        return np.concatenate([flat, -self.rise(ground)[..., None]], axis=-1)

    def met_by(self, start: Array, rays: Array) -> Array:
        """Sheet coordinates (..., 2) where rays from ``start`` (both ..., 3) meet the sheet, drawn on."""
        along, beside = rays[..., :2] @ self._along, rays[..., :2] @ self._beside
        start_along, start_beside = start[..., :2] @ self._along, start[..., :2] @ self._beside
        far = -start[..., 2] / rays[..., 2]
        for _ in range(40):
            ground = start_along + far * along
            miss = start[..., 2] + far * rays[..., 2] + self.rise(ground)
            step = miss / (rays[..., 2] + self.slope(ground) * along)
            far = far - step
            if np.abs(miss).max() < 1e-9:
                break
        ground = start_along + far * along
        aside = start_beside + far * beside
        flat = self._length(ground)[..., None] * self._along + aside[..., None] * self._beside
        return flat + np.array([self.width, self.height]) / 2

    def outline(self, per_side: int = 9) -> Array:
        """Points (n, 3) round the edge of the sheet in the world."""
        t = np.linspace(0.0, 1.0, per_side)
        w, h, none = self.width, self.height, np.zeros_like(t)
        sides = [(t * w, none), (none + w, t * h), (t * w, none + h), (none, t * h)]
        return self.world(np.concatenate([np.stack(side, axis=-1) for side in sides]))


def outside_box(points: Array, width: float, height: float) -> NDArray[np.float64]:
    """Signed distance (mm, negative inside) of points (..., 2) from a box at the origin."""
    x = np.abs(points[..., 0] - width / 2) - width / 2
    y = np.abs(points[..., 1] - height / 2) - height / 2
    return np.hypot(np.maximum(x, 0.0), np.maximum(y, 0.0)) + np.minimum(np.maximum(x, y), 0.0)
