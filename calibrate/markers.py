"""Find the target's markers in a photo, and its saddles to a fraction of a pixel."""

from __future__ import annotations

from functools import lru_cache

import cv2


@lru_cache(maxsize=1)
def _dictionary() -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)


def marker_cells(number: int) -> tuple[tuple[bool, ...], ...]:
    """The 7 x 7 cells of a marker, row by row from its top left; True is white."""
    image = cv2.aruco.generateImageMarker(_dictionary(), number, 7)
    return tuple(tuple(bool(cell) for cell in row) for row in image)
