"""Find the target's measuring points, where two black squares touch, to a few hundredths of a pixel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from calibrate.fit import Points
from calibrate.run import Run
from calibrate.target import SADDLE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.camera import Mapping
    from calibrate.target import Saddle

_FINE = 6  # samples per mm when looking for a saddle
_LOOK = 2.2  # how far from its expected place a saddle is looked for, mm
_ALIKE = 0.72  # least correlation with the ideal picture
_WINDOW = 0.55  # half the window in which it is refined, as a share of a black square's side


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """The saddles found: ``points`` in the order of ``which`` (indices into the target's saddles)."""

    points: Points
    which: tuple[int, ...]


def find_saddles(
    pixels: NDArray[np.uint8], mapping: Mapping, saddles: Sequence[Saddle], look: float = _LOOK, run: Run = Run()
) -> Seen:
    """Look for each saddle around where the mapping expects it; those that can't be made out are left out.

    Args:
        pixels: the grey picture (h, w).
        mapping: page to picture, as far as it is known.
        saddles: what is looked for.
        look: how far from its expected place, page mm.
        run: asked before each saddle whether to go on.

    Raises:
        Cancelled: the run is to end.
    """
    page: list[tuple[float, float]] = []
    seen: list[Array] = []
    which: list[int] = []
    for index, saddle in enumerate(saddles):
        run.check()
        rough = _matched(pixels, mapping, saddle, look)
        if rough is None:
            continue
        fine = _refined(pixels, mapping, rough)
        if fine is None:
            continue
        page.append((saddle.x, saddle.y))
        seen.append(fine)
        which.append(index)
    return Seen(Points(np.array(page).reshape(-1, 2), np.array(seen).reshape(-1, 2)), tuple(which))


def _template(slope: int) -> NDArray[np.float32]:
    half = int((SADDLE + 0.8) * _FINE)
    side = int(SADDLE * _FINE)
    picture = np.full((2 * half, 2 * half), 255, np.float32)
    picture[half - side : half, half - side : half] = 0
    picture[half : half + side, half : half + side] = 0
    if slope < 0:
        picture = np.ascontiguousarray(picture[:, ::-1])
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.5), np.float32)


_TEMPLATES = {slope: _template(slope) for slope in (1, -1)}


def _matched(pixels: NDArray[np.uint8], mapping: Mapping, saddle: Saddle, look: float) -> Array | None:
    """The page point, mm, where the picture looks most like this saddle; None if nothing does."""
    template = _TEMPLATES[saddle.slope]
    half = int(look * _FINE) + template.shape[0] // 2
    offsets = (np.arange(2 * half) - half + 0.5) / _FINE
    corners = np.array([[saddle.x + offsets[i], saddle.y + offsets[j]] for j in (0, -1) for i in (0, -1)])
    seen = mapping.project(corners)
    height, width = pixels.shape
    if seen.min() < 1 or (seen.max(axis=0) > [width - 2, height - 2]).any():
        return None
    ends = np.array([[0, 0], [2 * half - 1, 0], [0, 2 * half - 1], [2 * half - 1, 2 * half - 1]], np.float32)
    warp = cv2.getPerspectiveTransform(ends, seen.astype(np.float32))
    patch = cv2.warpPerspective(
        pixels, warp, (2 * half, 2 * half), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    ).astype(np.float32)
    score = cv2.matchTemplate(patch, template, cv2.TM_CCOEFF_NORMED)
    _, best, _, (column, row) = cv2.minMaxLoc(score)
    if best < _ALIKE:
        return None
    shift = np.array([column, row]) - (np.array(score.shape[::-1]) - 1) / 2.0
    return np.array([saddle.x, saddle.y]) + shift / _FINE


def _refined(pixels: NDArray[np.uint8], mapping: Mapping, rough: Array) -> Array | None:
    """The saddle's pixel, from the grey gradients around it, which all point past it (Foerstner's principle)."""
    scale = mapping.pixels_per_mm(float(rough[0]), float(rough[1]))
    window = max(2, round(_WINDOW * SADDLE * scale))
    start = mapping.project(rough[None])[0]
    margin = window + 3
    left, top = (np.floor(start) - margin - 1).astype(int)
    size = 2 * margin + 3
    height, width = pixels.shape
    if left < 0 or top < 0 or left + size > width or top + size > height:
        return None
    patch = np.ascontiguousarray(pixels[top : top + size, left : left + size])
    point = (start - np.array([left, top])).astype(np.float32).reshape(1, 1, 2)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 1e-3)
    found = cv2.cornerSubPix(patch, point, (window, window), (-1, -1), stop).reshape(2).astype(float)
    if np.linalg.norm(found - point.reshape(2)) > 0.5 * scale:
        return None
    return np.asarray(found + np.array([left, top]))
