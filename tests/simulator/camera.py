"""A pin-hole camera with radial and tangential distortion, as Brown wrote it and OpenCV documents it.

World axes: x to the right and y down on the sheet as seen from above, z *into* the table, all in mm. A point
at height h above the table has z = -h. Pixel centres lie at whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lens:
    """Brown's distortion: k1, k2 radial and p1, p2 tangential, over normalised picture coordinates."""

    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0

    def bend(self, points: Array) -> Array:
        """Distort normalised points (..., 2)."""
        x, y = points[..., 0], points[..., 1]
        r2 = x * x + y * y
        radial = 1.0 + r2 * (self.k1 + r2 * self.k2)
        across = x * radial + 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x)
        down = y * radial + self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y
        return np.stack([across, down], axis=-1)

    def straighten(self, points: Array) -> Array:
        """Undo :meth:`bend` by fixed-point steps, to 1e-9 for the lenses a phone has."""
        guess = points.copy()
        for _ in range(60):
            miss = self.bend(guess) - points
            guess = guess - miss
            if np.abs(miss).max() < 1e-10:
                break
        return guess


@dataclass(frozen=True, slots=True)
class Camera:
    """Where the camera stands and what its lens does.

    ``rotation`` (3x3) and ``shift`` (3,) take world mm to camera mm, as in OpenCV; ``focal`` and the
    principal point ``centre_x``, ``centre_y`` are in pixels.
    """

    width: int
    height: int
    focal: float
    centre_x: float
    centre_y: float
    lens: Lens
    rotation: Array
    shift: Array

    def project(self, world: Array) -> Array:
        """World points (..., 3) in mm to pixels (..., 2)."""
        seen = world @ self.rotation.T + self.shift
        flat = seen[..., :2] / seen[..., 2:3]
        return self.lens.bend(flat) * self.focal + np.array([self.centre_x, self.centre_y])

    def rays(self, pixels: Array) -> Array:
        """Directions (..., 3) in the world, not of unit length, of the rays through pixels (..., 2)."""
        bent = (pixels - np.array([self.centre_x, self.centre_y])) / self.focal
        flat = self.lens.straighten(bent)
        ahead = np.concatenate([flat, np.ones((*flat.shape[:-1], 1))], axis=-1)
        return ahead @ self.rotation

    @property
    def place(self) -> Array:
        """The camera's optical centre in the world, mm."""
        return -self.rotation.T @ self.shift


def turned(axis: Array, angle: float) -> Array:
    """The rotation matrix about a unit axis by an angle in radians (Rodrigues' formula)."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross


@dataclass(frozen=True, slots=True)
class Stance:
    """How the photographer holds the phone over the sheet.

    ``tilt`` is the angle in degrees between the line of sight and straight down, ``tilt_towards`` the
    direction on the table it leans to, ``turn`` the phone's own turn about its line of sight. The camera is
    drawn back until the sheet fits with ``margin`` (a share of the frame) of table on every side.
    """

    tilt: float = 0.0
    tilt_towards: float = 0.0
    turn: float = 0.0
    margin: float = 0.06
    aside_x: float = 0.0
    aside_y: float = 0.0


@dataclass(frozen=True, slots=True)
class Phone:
    """What the maker built in: frame in pixels, 35 mm equivalent focal length, lens, off-centre sensor.

    ``focal_error`` is how far the true focal length is from the one the phone writes into its pictures.
    """

    width: int = 4000
    height: int = 3000
    focal_35mm: float = 26.0
    focal_error: float = 0.0
    lens: Lens = Lens()
    off_x: float = 0.0
    off_y: float = 0.0

    @property
    def focal(self) -> float:
        """True focal length in pixels: the 35 mm frame's diagonal is 43.27 mm (36 x 24 mm)."""
        return self.focal_35mm * (1.0 + self.focal_error) * float(np.hypot(self.width, self.height)) / 43.2666


def held(phone: Phone, stance: Stance, outline: Array) -> Camera:
    """The camera that sees every point of ``outline`` (n, 3) in mm, as near as ``stance.margin`` lets it."""
    towards = np.radians(stance.tilt_towards)
    lean = turned(np.array([-np.sin(towards), np.cos(towards), 0.0]), np.radians(stance.tilt))
    rotation = turned(np.array([0.0, 0.0, 1.0]), np.radians(stance.turn)) @ lean
    middle = outline.mean(axis=0) + np.array([stance.aside_x, stance.aside_y, 0.0])

    def at(distance: float) -> Camera:
        shift = np.array([0.0, 0.0, distance]) - rotation @ middle
        return Camera(
            phone.width,
            phone.height,
            phone.focal,
            (phone.width - 1) / 2 + phone.off_x,
            (phone.height - 1) / 2 + phone.off_y,
            phone.lens,
            rotation,
            shift,
        )

    def fits(camera: Camera) -> bool:
        seen = camera.project(outline)
        x, y = stance.margin * phone.width, stance.margin * phone.height
        inside = (seen > [x, y]) & (seen < [phone.width - 1 - x, phone.height - 1 - y])
        return bool(inside.all())

    near, far = 150.0, 5000.0
    for _ in range(50):
        half = (near + far) / 2
        near, far = (near, half) if fits(at(half)) else (half, far)
    return at(far)
