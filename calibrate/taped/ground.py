"""Where the sheet lies in a photo, roughly: a homography, found with nothing but what is printed.

Features of the sheet as it should look are looked for in the photo (SIFT: Lowe, "Distinctive image features from
scale-invariant keypoints", IJCV 60, 2004), whatever lies on it or around it and however it is turned.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.arrays import Array, Grey
from calibrate.taped.printed import PrintedSheet

__all__ = ["Ground", "rough_ground"]

_DRAWN, _SEEN = 1500, 2200
"""Pixels along the longer side of both pictures in which features are looked for."""
_FEATURES = 12_000
_RATIO = 0.8
"""Of the nearest feature's distance to the next one's: Lowe's test."""
_NEAR = 4.0
"""Pixels, of the smaller photo: pages that slipped, and paper that doesn't lie flat, are off by some."""
_LEAST = 30
"""Features that must agree; by chance it is less than ten."""


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """From the layout (mm) to a photo (px), by a ``homography`` (3, 3); ``middle`` is the picture's.

    What the lens bends, `solving` finds with all else that the ground is off by.
    """

    homography: Array
    middle: tuple[float, float]

    def seen(self, places: Array) -> Array:
        """Where points (..., 2) of the layout lie in the photo, px."""
        ahead = places @ self.homography[:, :2].T + self.homography[:, 2]
        return np.asarray(ahead[..., :2] / ahead[..., 2:])

    def in_larger(self, share: int) -> Ground:
        """The same for the photo in pixels so many times as large."""
        move = np.diag([1 / share, 1 / share, 1.0])
        move[:2, 2] = 0.5 / share - 0.5
        x, y = self.middle
        return Ground(move @ self.homography, ((x + 0.5) / share - 0.5, (y + 0.5) / share - 0.5))

    def shows(self, places: Array) -> Array:
        """Whether each of points (..., 2) of the layout lies within the picture."""
        at = self.seen(places)
        return np.asarray((at >= 0.0).all(axis=-1) & (at <= 2.0 * np.array(self.middle)).all(axis=-1))

    def pixels_per_mm(self, place: Array) -> float:
        """How many pixels a mm takes up at a place (2,): the smaller of both directions."""
        at = self.seen(place + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        return float(np.linalg.svd(at[1:] - at[0], compute_uv=False)[-1])

    def standpoint(self, focal: float) -> Array:
        """Where the camera stands, for a focal length in px: x and y on the layout and its height, mm, (3,)."""
        # The homography is K [r1 r2 t] with K of that focal length and the picture's middle.
        inverse = np.array([[1 / focal, 0.0, -self.middle[0] / focal], [0.0, 1 / focal, -self.middle[1] / focal],
                            [0.0, 0.0, 1.0]])  # fmt: skip
        plane = inverse @ self.homography
        plane /= (np.linalg.norm(plane[:, 0]) * np.linalg.norm(plane[:, 1])) ** 0.5
        normal = np.cross(plane[:, 0], plane[:, 1])
        turn = np.column_stack([plane[:, :2], normal])
        place = -np.linalg.solve(turn, plane[:, 2])
        return np.array([place[0], place[1], abs(place[2])])


def rough_ground(photo: Grey, sheet: PrintedSheet) -> Ground | None:
    """The ground of a photo to within some mm; None where the sheet isn't in it."""
    x0, y0, x1, y1 = sheet.box
    pitch = max(x1 - x0, y1 - y0) / _DRAWN
    share = min(_SEEN / max(photo.shape), 1.0)
    small = cv2.resize(photo, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    finder = cv2.SIFT.create(nfeatures=_FEATURES, contrastThreshold=0.02)
    there, wanted = finder.detectAndCompute(sheet.drawn(pitch), None)
    here, found = finder.detectAndCompute(small, None)
    if wanted is None or found is None or min(len(there), len(here)) < _LEAST:
        return None
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(found, wanted, k=2)
    kept = [pair[0] for pair in pairs if len(pair) == 2 and pair[0].distance < _RATIO * pair[1].distance]
    if len(kept) < _LEAST:
        return None
    places = np.array([there[one.trainIdx].pt for one in kept]) + 0.5
    places = places * pitch + (x0, y0)
    pixels = (np.array([here[one.queryIdx].pt for one in kept]) + 0.5) / share - 0.5
    move, inside = cv2.findHomography(places, pixels, cv2.USAC_MAGSAC, _NEAR / share, maxIters=20_000, confidence=0.999)
    if move is None or int(inside.sum()) < _LEAST:
        return None
    height, width = photo.shape
    return Ground(np.asarray(move), ((width - 1) / 2, (height - 1) / 2))
