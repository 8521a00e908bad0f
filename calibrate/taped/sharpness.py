"""How blurred a photo is, of whatever it shows: by how its steepest edges flatten when it is blurred further."""

from __future__ import annotations

import cv2
import numpy as np

from calibrate.arrays import Grey

__all__ = ["blur_of"]

_FINE, _WIDE = 1.0, 3.0
"""px; standard deviations of the two filters."""
_WAYS = 8
_STEEPEST = 0.998
"""Of all slopes in a direction: edges, not texture."""
_LEAST = 4.0
"""Tones of 255 to the pixel; a direction without such a slope says nothing."""


def blur_of(photo: Grey) -> float:
    """The standard deviation of a photo's blur in the direction in which it is largest, px; 0 where none is seen.

    A step blurred by s has a slope of h / sqrt(2 pi (s² + f²)) behind a filter of f, so two filters give s.
    """
    slopes = []
    for filter_ in (_FINE, _WIDE):
        soft = cv2.GaussianBlur(photo, (0, 0), filter_).astype(np.float32)
        across, down = cv2.Scharr(soft, cv2.CV_32F, 1, 0) / 32.0, cv2.Scharr(soft, cv2.CV_32F, 0, 1) / 32.0
        slopes.append([np.abs(across * np.cos(way) + down * np.sin(way)) for way in np.arange(_WAYS) * np.pi / _WAYS])
    worst = 0.0
    for fine, wide in zip(*slopes, strict=True):
        steep = [float(np.quantile(slope, _STEEPEST)) for slope in (fine, wide)]
        if steep[1] < _LEAST / 4:
            continue
        ratio = min(max((steep[0] / steep[1]) ** 2, 1.0 + 1e-6), (_WIDE / _FINE) ** 2)
        worst = max(worst, float(np.sqrt(max((_WIDE**2 - ratio * _FINE**2) / (ratio - 1.0), 0.0))))
    return worst
