"""The shape of a sheet that does not lie flat: a piece of a cylinder, described in the sheet's own arc length.

Paper bends but hardly stretches, so a curled sheet is a developable surface, and over a page a low-order
cylinder describes it. Curvature along the bent direction is ``c0 + c1 s + c2 s^2 / 2`` at arc length ``s`` from
the page's middle; its integral is the slope angle, whose sine and cosine integrate to height and ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibrate.arrays import Array


@dataclass(frozen=True, slots=True)
class Bend:
    """A cylinder: ``direction`` in radians along which the sheet bends, and three curvature terms (1/mm, ...)."""

    direction: float = 0.0
    c0: float = 0.0
    c1: float = 0.0
    c2: float = 0.0

    def raised(self, sheet: Array) -> Array:
        """Points (n, 2) on the unrolled sheet, mm from its middle, as points (n, 3); z points away from the viewer.

        The slope angle of a page that curls by 4 mm stays under 0.15, so cosine and sine are taken to the
        fourth and fifth power.
        """
        d = np.array([np.cos(self.direction), np.sin(self.direction)])
        n = np.array([-d[1], d[0]])
        s, beside = sheet @ d, sheet @ n
        ground, height = self._curve(s)
        return np.column_stack([ground[:, None] * d + beside[:, None] * n, -height])

    def _curve(self, s: Array) -> tuple[Array, Array]:
        """Ground and height at arc length ``s``: the slope angle's cosine and sine integrated from 0 to it."""
        at = s[:, None] * _NODES
        angle = at * (self.c0 + at * (self.c1 / 2.0 + at * self.c2 / 6.0))
        square = angle * angle
        cosine_less_one = square * (square / 24.0 - 0.5)
        sine = angle * (1.0 - square / 6.0)
        return s + s * (cosine_less_one @ _WEIGHTS), s * (sine @ _WEIGHTS)

    def sagitta(self, reach: float) -> float:
        """How far the sheet rises or falls from its tangent within ``reach`` mm of its middle, mm."""
        s = np.array([-reach, reach])
        return float(np.abs(self._curve(s)[1]).max())


# Gauss and Legendre: seven nodes integrate a polynomial of degree 13, the highest here being 12, without error.
_ROOTS, _HALVED = np.polynomial.legendre.leggauss(7)
_NODES, _WEIGHTS = (_ROOTS + 1.0) / 2.0, _HALVED / 2.0
