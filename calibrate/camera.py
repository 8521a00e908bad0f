"""The map from the page as drawn to the picture: pose, focal length, lens, and the sheet's bend.

A point of the page (mm) goes through the printer's own stretch (aspect and shear; its size stays unknown, which
is what references are for), onto the sheet's surface, through a turn and a shift in front of the camera, and
through Brown's lens model as OpenCV documents it (k1, k2 radial, p1, p2 tangential) about the picture's middle.
On a flat sheet this is a homography and a lens, so an error of the focal length does no harm there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from calibrate.arrays import Array, Index
from calibrate.bend import Bend

NAMES = (
    "turn_x", "turn_y", "turn_z", "shift_x", "shift_y", "shift_z", "aspect", "shear",
    "log_focal", "k1", "k2", "p1", "p2", "direction", "c0", "c1", "c2",
)  # fmt: skip
"""The parameters of a mapping, in the order of its vector."""
POSE, LENS, BEND = slice(0, 9), slice(9, 13), slice(13, 17)
_TURN_AND_SHIFT, _VIEWED = 6, range(8, 13)


class Chart(Protocol):
    """Anything that takes points (n, 2) in page mm to pixels (n, 2)."""

    def project(self, page: Array) -> Array:
        """Page mm to pixels."""


@dataclass(frozen=True, slots=True, eq=False)
class Mapping:
    """Page to picture. ``values`` follow NAMES; ``middle`` is the page point the sheet is described from.

    ``frame`` is the picture's (width, height) in pixels.
    """

    values: Array
    middle: tuple[float, float]
    frame: tuple[int, int]

    @property
    def focal(self) -> float:
        """Focal length, pixels."""
        return float(np.exp(self.values[8]))

    @property
    def bend(self) -> Bend:
        """The sheet's shape."""
        return Bend(*(float(v) for v in self.values[BEND]))

    def _in_front(self, page: Array) -> Array:
        """Page points (n, 2) to points (n, 3) before the camera."""
        return self._surface(page) @ rotation(self.values[:3]).T + self.values[3:6]

    def _surface(self, page: Array) -> Array:
        stretch, shear = np.exp(self.values[6] / 2.0), self.values[7]
        p = page - np.array(self.middle)
        sheet = np.column_stack([p[:, 0] * stretch + p[:, 1] * shear, p[:, 1] / stretch])
        if not self.values[14:17].any():
            return np.column_stack([sheet, np.zeros(len(sheet))])
        return self.bend.raised(sheet)

    def seen(self, points: Array) -> Array:
        """Points (n, 3) before the camera to pixels (n, 2)."""
        k1, k2, p1, p2 = self.values[LENS]
        x, y = points[:, 0] / points[:, 2], points[:, 1] / points[:, 2]
        xx, yy, xy = x * x, y * y, x * y
        r2 = xx + yy
        radial = 1.0 + r2 * (k1 + r2 * k2)
        u = x * radial + 2.0 * p1 * xy + p2 * (r2 + 2.0 * xx)
        v = y * radial + p1 * (r2 + 2.0 * yy) + 2.0 * p2 * xy
        width, height = self.frame
        return np.column_stack([u * self.focal + (width - 1) / 2.0, v * self.focal + (height - 1) / 2.0])

    def project(self, page: Array) -> Array:
        """Page mm (n, 2) to pixels (n, 2)."""
        return self.seen(self._in_front(page))

    def derivatives(self, page: Array, which: Index, steps: Array) -> Array:
        """How the pixels of page points (n, 2) change with the values ``which`` (k,): (k, n, 2), by ``steps`` (k,).

        What a value does not touch is worked out once for all: the surface for the pose, the view for the lens.
        """
        surface = self._surface(page)
        view = surface @ rotation(self.values[:3]).T + self.values[3:6]
        at = self.seen(view)
        found = np.empty((len(which), len(page), 2))
        for n, (index, step) in enumerate(zip(which, steps, strict=True)):
            values = self.values.copy()
            values[index] += step
            moved = replace(self, values=values)
            if index < _TURN_AND_SHIFT:
                seen = moved.seen(surface @ rotation(values[:3]).T + values[3:6])
            elif index in _VIEWED:
                seen = moved.seen(view)
            else:
                seen = moved.project(page)
            found[n] = (seen - at) / step
        return found

    def pixels_per_mm(self, x: float, y: float) -> float:
        """How many pixels a millimetre of the page takes up around a point: the smaller of both directions."""
        at = self.project(np.array([[x, y], [x + 1.0, y], [x, y + 1.0]]))
        jacobian = (at[1:] - at[0]).T
        return float(np.linalg.svd(jacobian, compute_uv=False)[-1])

    def slant(self, x: float, y: float) -> float:
        """The angle in degrees between the line of sight and the sheet's normal at a point."""
        origin, _, _, up = self._tangent(x, y)
        return float(np.degrees(np.arccos(np.clip(-origin @ up / np.linalg.norm(origin), -1.0, 1.0))))

    def _tangent(self, x: float, y: float) -> tuple[Array, Array, Array, Array]:
        """A page point before the camera, the directions of a page mm across and down there, and the normal."""
        at = self._in_front(np.array([[x, y], [x + 0.5, y], [x - 0.5, y], [x, y + 0.5], [x, y - 0.5]]))
        across, down = at[1] - at[2], at[3] - at[4]
        normal = np.cross(down, across)
        return at[0], across, down, normal / np.linalg.norm(normal)

    def lying_on(self, x: float, y: float, outline: Array, height: float) -> Raised:
        """The plane at ``height`` mm over a stiff thing's foot that lies on the sheet around (x, y).

        ``outline`` (n, 2), in page mm, is where the thing touches a flat sheet; over a curled one it is
        lifted clear of the paper.
        """
        origin, across, down, up = self._tangent(x, y)
        lift = max(0.0, float(((self._in_front(outline) - origin) @ up).max()))
        return Raised(self, origin + (lift + height) * up, across, down, (x, y), up)


@dataclass(frozen=True, slots=True, eq=False)
class Raised:
    """A plane over the sheet, in the page's own millimetres around ``at``."""

    mapping: Mapping
    origin: Array
    across: Array
    down: Array
    at: tuple[float, float]
    up: Array

    def project(self, page: Array) -> Array:
        """Page mm (n, 2), measured in this plane, to pixels (n, 2)."""
        p = page - np.array(self.at)
        return self.mapping.seen(self.origin + p[:, :1] * self.across + p[:, 1:] * self.down)

    def lowered(self, by: float) -> Raised:
        """The parallel plane ``by`` mm nearer the sheet."""
        return Raised(self.mapping, self.origin - by * self.up, self.across, self.down, self.at, self.up)


def rotation(turn: Array) -> Array:
    """The rotation matrix of a rotation vector (Rodrigues' formula)."""
    angle = float(np.linalg.norm(turn))
    x, y, z = turn
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    if angle < 1e-9:
        return np.asarray(np.eye(3) + cross)
    return np.asarray(np.eye(3) + np.sin(angle) / angle * cross + (1.0 - np.cos(angle)) / angle**2 * (cross @ cross))
