"""Cards and coins as solid things: a top, a side wall and a shadow."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.simulator.camera import Array


class Face(Enum):
    """What the upper side of a card looks like."""

    PALE = "pale"
    DARK = "dark"
    PATTERNED = "patterned"


@dataclass(frozen=True, slots=True)
class Card:
    """A plastic card: mm, lying with its middle at (x, y) of the sheet, turned by ``turn`` degrees.

    Sizes are those of ISO/IEC 7810 ID-1; a real card is off by up to 0.13 mm. ``bow`` is how far its middle rises
    over its short ends (negative: the ends over the middle), ``frame`` the width of a white border printed round it.
    """

    x: float = 105.0
    y: float = 148.5
    turn: float = 0.0
    width: float = 85.60
    height: float = 53.98
    radius: float = 3.18
    thickness: float = 0.76
    face: Face = Face.PALE
    seed: int = 0
    bow: float = 0.0
    frame: float = 0.0

    def lift(self, points: Array) -> Array:
        """How far the card is bowed up from the sheet at points (..., 2) of its own frame, mm."""
        away = np.clip((2.0 * points[..., 0] / self.width) ** 2, 0.0, 1.0)
        return self.bow * (1.0 - away) if self.bow > 0 else -self.bow * away

    def outside(self, points: Array, _level: float) -> Array:
        """Signed distance in mm of points (..., 2) in the card's own frame from its outline at any level."""
        x = np.abs(points[..., 0]) - (self.width / 2 - self.radius)
        y = np.abs(points[..., 1]) - (self.height / 2 - self.radius)
        beyond = np.hypot(np.maximum(x, 0.0), np.maximum(y, 0.0))
        return beyond + np.minimum(np.maximum(x, y), 0.0) - self.radius

    def top(self, points: Array) -> NDArray[np.float32]:
        """Linear reflectance (..., 3) of the upper side."""
        picture = _card_face(self.face, self.seed)
        x = ((points[..., 0] + 50.0) * 10.0).astype(np.float32)
        y = ((points[..., 1] + 35.0) * 10.0).astype(np.float32)
        face = cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        if self.frame > 0:
            white = np.clip(0.5 + (self.outside(points, 0.0) + self.frame) * 12.0, 0.0, 1.0)[..., None]
            face = face * (1.0 - white) + 0.75 * white
        return np.asarray(face, np.float32)

    @property
    def wall(self) -> float:
        """Reflectance of the side: the core of a card is white plastic, of a dark one often grey."""
        return 0.32 if self.face is Face.DARK else 0.55

    @property
    def reach(self) -> float:
        """Radius in mm of a circle round the whole card."""
        return float(np.hypot(self.width, self.height)) / 2


def _card_face(face: Face, seed: int) -> NDArray[np.float32]:
    rng = np.random.default_rng(seed + 71)
    tint = rng.uniform(0.8, 1.0, 3)
    if face is Face.PALE:
        return np.full((700, 1000, 3), 0.72 * tint, np.float32)
    if face is Face.DARK:
        return np.full((700, 1000, 3), 0.05 * tint, np.float32)
    picture = np.zeros((700, 1000, 3), np.float32)
    picture[:] = rng.uniform(0.08, 0.75, 3)
    slope = np.linspace(0.7, 1.3, 1000, dtype=np.float32)
    picture *= slope[None, :, None]
    for _ in range(7):
        colour = tuple(rng.uniform(0.03, 0.8, 3))
        middle = (int(rng.uniform(0, 1000)), int(rng.uniform(0, 700)))
        cv2.circle(picture, middle, int(rng.uniform(40, 190)), colour, -1, cv2.LINE_AA)
    for row in range(4):
        for _ in range(int(rng.integers(6, 16))):
            left = int(rng.uniform(120, 820))
            cv2.rectangle(picture, (left, 180 + 90 * row), (left + 18, 215 + 90 * row), (0.05, 0.05, 0.06), -1)
    return cv2.GaussianBlur(picture, (0, 0), 1.0)


@dataclass(frozen=True, slots=True)
class Coin:
    """A round coin (mm) with its middle at (x, y) of the sheet; its edge is bevelled by ``bevel`` mm."""

    diameter: float
    thickness: float
    x: float = 105.0
    y: float = 148.5
    turn: float = 0.0
    bevel: float = 0.08
    two_metals: bool = False
    seed: int = 0
    bow: float = 0.0

    def lift(self, points: Array) -> Array:
        """A coin is not bowed."""
        return np.zeros(points.shape[:-1])

    def outside(self, points: Array, level: float) -> Array:
        """Signed distance in mm of points (..., 2) from the coin's outline ``level`` mm over the sheet."""
        near_face = self.bevel - min(level, self.thickness - level)
        return np.hypot(points[..., 0], points[..., 1]) - (self.diameter / 2 - max(0.0, near_face))

    def top(self, points: Array) -> NDArray[np.float32]:
        """Linear reflectance (..., 3) of the upper side: a bright rim, a relief inside."""
        away = np.hypot(points[..., 0], points[..., 1])
        edge = self.diameter / 2
        relief = _relief(self.seed)
        x = ((points[..., 0] + 20.0) * 20.0).astype(np.float32)
        y = ((points[..., 1] + 20.0) * 20.0).astype(np.float32)
        grey = 0.24 + 0.07 * cv2.remap(relief, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
        grey = np.where(away > edge - 1.1, 0.36, grey)
        grey = np.where(np.abs(away - (edge - 1.2)) < 0.15, 0.13, grey)
        gold = np.array([1.0, 0.86, 0.55])
        silver = np.array([0.95, 0.95, 1.0])
        inner = (away < edge * 0.7) if self.two_metals else np.zeros_like(away, bool)
        return (grey[..., None] * np.where(inner[..., None], gold, silver)).astype(np.float32)

    @property
    def wall(self) -> float:
        """Reflectance of the edge."""
        return 0.2

    @property
    def reach(self) -> float:
        """Radius in mm."""
        return self.diameter / 2


def _relief(seed: int) -> NDArray[np.float32]:
    rng = np.random.default_rng(seed + 501)
    rough = cv2.GaussianBlur(rng.normal(0, 1, (800, 800)).astype(np.float32), (0, 0), 9.0)
    return np.clip(rough / rough.std(), -2.0, 2.0)


Thing = Card | Coin
