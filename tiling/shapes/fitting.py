"""One cubic through two ends with given end directions, fitted to points by least squares.

The control points are start + a·first and end - b·last. For given parameters of the points they are linear in the
handles' lengths a and b; the parameters are found again after each solution (Schneider, in "Graphics Gems", 1990).

Points are compared along the curve as well as across it. Distances across alone hardly depend on the handles of a
nearly straight curve, and would fit them to rounding noise; so compared, the two equations keep a condition number
below 10 for points that are spread over the curve, and the number of rounds does not depend on the data.
"""

from __future__ import annotations

import numpy as np

from tiling.shapes import curves
from tiling.shapes.curves import Array

__all__ = ["fitted"]

_ROUNDS = 12


def fitted(ends: Array, directions: Array, points: Array, t: Array, bounds: tuple[float, float]) -> Array:
    """The (4, 2) cubic that comes nearest to the points.

    Args:
        ends: (2, 2), where it starts and ends.
        directions: (2, 2), unit tangents there, both in the direction of travel.
        points: (n, 2), what it should pass.
        t: (n,), about where on it the points lie, 0 to 1.
        bounds: the shortest and the longest handle, as shares of the distance between the ends.
    """
    start, end = ends
    first, last = directions
    chord = float(np.hypot(*(end - start)))
    shortest, longest = (share * chord for share in bounds)
    cubic = curves.line_as_cubic(start, end)
    for _ in range(_ROUNDS):
        s = 1.0 - t
        to_first, to_last = 3 * s**2 * t, 3 * s * t**2
        rest = points - np.outer(s**3 + to_first, start) - np.outer(t**3 + to_last, end)
        mixed = -float(to_first @ to_last) * float(first @ last)
        normal = np.array([[float(to_first @ to_first), mixed], [mixed, float(to_last @ to_last)]])
        wanted = np.array([float(to_first @ (rest @ first)), -float(to_last @ (rest @ last))])
        a, b = np.clip(np.linalg.solve(normal, wanted), shortest, longest)
        cubic = np.array([start, start + a * first, end - b * last, end])
        speed = curves.derivative(cubic, t)
        off = curves.evaluate(cubic, t) - points
        t = np.clip(t - (off * speed).sum(axis=1) / np.maximum((speed * speed).sum(axis=1), 1e-300), 0.0, 1.0)
    return cubic
