"""Single cubic Bézier segments as (4, 2) arrays: evaluate, split, measure, bound, flatten.

Formulas: de Casteljau subdivision and the hodograph, as in any textbook of computer-aided geometric design
(Farin, "Curves and Surfaces for CAGD", chapters 4 and 5).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Array",
    "bounds",
    "chord_counts",
    "counted_off",
    "derivative",
    "evaluate",
    "flatten",
    "flatten_all",
    "length",
    "line_as_cubic",
    "split",
]

Array = NDArray[np.float64]

_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(24)


def evaluate(cubic: Array, t: float | Array) -> Array:
    """Points at parameters t: shape (2,) for a number, (n, 2) for an array."""
    t_ = np.asarray(t, dtype=np.float64)[..., None]
    s_ = 1.0 - t_
    return np.asarray(s_**3 * cubic[0] + 3 * s_**2 * t_ * cubic[1] + 3 * s_ * t_**2 * cubic[2] + t_**3 * cubic[3])


def derivative(cubic: Array, t: float | Array) -> Array:
    """d/dt at t, in mm per unit of t; same shapes as `evaluate`."""
    t_ = np.asarray(t, dtype=np.float64)[..., None]
    s_ = 1.0 - t_
    d = np.diff(cubic, axis=0) * 3
    return np.asarray(s_**2 * d[0] + 2 * s_ * t_ * d[1] + t_**2 * d[2])


def split(cubic: Array, t: float) -> tuple[Array, Array]:
    """The two halves at t (de Casteljau); both are exact."""
    p01, p12, p23 = cubic[:-1] * (1 - t) + cubic[1:] * t
    p012, p123 = p01 * (1 - t) + p12 * t, p12 * (1 - t) + p23 * t
    middle = p012 * (1 - t) + p123 * t
    return np.array([cubic[0], p01, p012, middle]), np.array([middle, p123, p23, cubic[3]])


def length(cubic: Array, pieces: int = 4) -> float:
    """Arc length in mm by Gauss-Legendre quadrature on `pieces` equal parameter intervals of 24 nodes each."""
    edges = np.linspace(0.0, 1.0, pieces + 1)
    half = (edges[1:] - edges[:-1]) / 2
    nodes = ((edges[1:] + edges[:-1]) / 2)[:, None] + half[:, None] * _GAUSS_X
    speed = np.linalg.norm(derivative(cubic, nodes.ravel()), axis=1).reshape(nodes.shape)
    return float(np.sum(speed * _GAUSS_W * half[:, None]))


def bounds(cubic: Array) -> Array:
    """Exact [[x0, y0], [x1, y1]]: ends and the roots of the derivative."""
    candidates = [cubic[0], cubic[3]]
    d = np.diff(cubic, axis=0)
    for axis in (0, 1):
        a, b, c = d[0, axis] - 2 * d[1, axis] + d[2, axis], 2 * (d[1, axis] - d[0, axis]), d[0, axis]
        for root in np.roots(np.trim_zeros(np.array([a, b, c]), "f")):
            if abs(root.imag) < 1e-12 and 0.0 < root.real < 1.0:
                candidates.append(evaluate(cubic, float(root.real)))
    stack = np.array(candidates)
    return np.array([stack.min(axis=0), stack.max(axis=0)])


def flatten(cubic: Array, tolerance: float) -> Array:
    """Points along the curve, both ends included, whose chords stay within `tolerance` mm of it."""
    return flatten_all(cubic[None], tolerance)


def flatten_all(cubics: Array, tolerance: float) -> Array:
    """Points along (k, 4, 2) curves that follow each other, as one polyline within `tolerance` mm of them.

    Each is parted into `chord_counts` of them.
    """
    chords = chord_counts(cubics, tolerance)
    which, step = counted_off(chords)
    t = ((step + 1) / chords[which])[:, None]
    s = 1.0 - t
    p0, p1, p2, p3 = (cubics[which, i] for i in range(4))
    points = s**3 * p0 + 3 * s**2 * t * p1 + 3 * s * t**2 * p2 + t**3 * p3
    return np.vstack([cubics[0, :1], points])


def chord_counts(cubics: Array, tolerance: float) -> NDArray[np.intp]:
    """Into how many chords (k, 4, 2) curves must be parted to stay within `tolerance` mm of them, (k,).

    From their second differences (Wang's bound for cubics).
    """
    second = np.linalg.norm(np.diff(cubics, 2, axis=1), axis=2).max(axis=1)
    return np.asarray(np.maximum(1, np.ceil(np.sqrt(6.0 * second / (8.0 * tolerance)))), dtype=np.intp)


def counted_off(counts: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """For counts (2, 1, …): which item (0, 0, 1, …) and the step within it (0, 1, 0, …)."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)


def line_as_cubic(start: Array, end: Array) -> Array:
    """The straight segment as a cubic with evenly spread control points."""
    return np.array([start, start + (end - start) / 3, end - (end - start) / 3, end])
