"""Cameras for photos that don't hold the whole sheet, and for scans."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from tests.simulator.camera import Camera, Lens, held, turned

if TYPE_CHECKING:
    from tests.simulator.photo import Shot
    from tests.simulator.printouts import Spot

_FAR = 50_000.0
"""From where a scanner looks at its glass, mm: so far that nothing leans."""


def taken(shot: Shot, part: Spot | None) -> Shot:
    """The same photo of a part of the sheet alone; of the whole sheet where that is None."""
    if part is None:
        return shot
    half = np.array([part.width / 2, part.height / 2, 0.0])
    corners = np.array([part.x, part.y, 0.0]) + half * np.array([[dx, dy, 0] for dx in (-1, 1) for dy in (-1, 1)])
    return replace(shot, scanner=held(shot.phone, replace(shot.stance, margin=0.02), corners))


def scanner(dpi: int, bed: tuple[float, float], turn: float, off: float) -> Camera:
    """A flatbed scanner with a glass of ``bed`` mm, the sheet ``turn`` degrees askew; its scale is ``off``, a share."""
    per_mm = dpi / 25.4 * (1.0 + off)
    wide, tall = (round(side * dpi / 25.4) for side in bed)
    rotation = turned(np.array([0.0, 0.0, 1.0]), np.radians(turn))
    shift = np.array([0.0, 0.0, _FAR])
    return Camera(wide, tall, per_mm * _FAR, (wide - 1) / 2, (tall - 1) / 2, Lens(), rotation, shift)
