"""The coded cells of the target's markers: OpenCV's predefined dictionary of 5 x 5 cells."""

from __future__ import annotations

from functools import lru_cache

import cv2


@lru_cache(maxsize=1)
def marker_dictionary() -> cv2.aruco.Dictionary:
    """The thousand markers of 5 x 5 cells that the target's are taken from."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)


def marker_cells(number: int) -> tuple[tuple[bool, ...], ...]:
    """The 7 x 7 cells of a marker, row by row from its top left; True is white."""
    image = cv2.aruco.generateImageMarker(marker_dictionary(), number, 7)
    return tuple(tuple(bool(cell) for cell in row) for row in image)
