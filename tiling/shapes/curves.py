"""Single cubic Bézier segments as (4, 2) arrays: evaluate, split, measure, bound, flatten.

Formulas: de Casteljau subdivision and the hodograph, as in any textbook of computer-aided geometric design
(Farin, "Curves and Surfaces for CAGD", chapters 4 and 5).
"""

from __future__ import annotations

from functools import cache, lru_cache

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
    "lengths",
    "line_as_cubic",
    "split",
]

Array = NDArray[np.float64]

_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(24)


def evaluate(cubic: Array, t: float | Array) -> Array:
    """Points at parameters t: shape (2,) for a number, (n, 2) for an array."""
    t_ = np.asarray(t, dtype=np.float64)[..., None]
    s_ = 1.0 - t_
    ss, tt = s_ * s_, t_ * t_
    return np.asarray(ss * s_ * cubic[0] + 3 * ss * t_ * cubic[1] + 3 * s_ * tt * cubic[2] + tt * t_ * cubic[3])


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
    """Arc length in mm; see `lengths`."""
    return _length(cubic.tobytes(), pieces)


@lru_cache(maxsize=16384)
def _length(cubic: bytes, pieces: int) -> float:
    return float(lengths(np.frombuffer(cubic).reshape(1, 4, 2), pieces)[0])


def lengths(cubics: Array, pieces: int = 4) -> Array:
    """Arc lengths of (k, 4, 2) curves in mm, (k,).

    By Gauss-Legendre quadrature of the speed on `pieces` equal parameter intervals of 24 nodes each.
    """
    d = np.diff(cubics, axis=1) * 3
    nodes, weights = _quadrature(pieces)
    blend = np.array([(1.0 - nodes) ** 2, 2 * (1.0 - nodes) * nodes, nodes**2])
    speed = np.hypot(d[:, :, 0] @ blend, d[:, :, 1] @ blend)
    return np.asarray(speed @ weights)


@cache
def _quadrature(pieces: int) -> tuple[Array, Array]:
    """The nodes in 0 to 1 and their weights."""
    starts = np.arange(pieces)[:, None] / pieces
    nodes = starts + (_GAUSS_X + 1) / 2 / pieces
    return nodes.ravel(), np.tile(_GAUSS_W / 2 / pieces, pieces)


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
    ss, tt = s * s, t * t
    points = ss * s * p0 + 3 * ss * t * p1 + 3 * s * tt * p2 + tt * t * p3
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
