"""How each page lies, from where its marks are seen: one linear model for all pages, all photos, and paper that waves.

In mm on the layout, a mark at x of page p is seen in photo v at

    x + pose_p(x) + parallax_v(x) (wave(x) + lift) + ground_v(x),

with ``pose_p`` a shift, a turn and two stretches; ``wave`` the height of the paper, smooth over the whole sheet;
``lift`` the mark's own height over that, a cut edge that stands up; ``parallax_v(x)`` = (x - foot) / height of the
camera, by which what stands a mm higher seems to lie farther out; and ``ground_v`` what the photo's ground was off by,
a perspective and a radial term. All unknowns have a prior as wide as hands and paper make them. Solved by least
squares, reweighted after Student's t so that a mark under a finger has no say (Lange, Little and Taylor, JASA 84,
1989). What one page is off against another then follows with its covariance: waves and ground are the same for both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline

from calibrate.arrays import Array
from calibrate.taped.marks import Sighting
from calibrate.taped.printed import PrintedSeam, PrintedSheet, PrintedSpan

__all__ = ["Solution", "View", "solved"]

_SHIFT, _TURN, _STRETCH = 3.0, 0.006, 0.003
"""Standard deviations of a page's shift (mm), turn (radians) and stretch before anything is seen of it."""
_SIZE = 1e-6
"""Of the mean stretch of all pages."""
_LIFT = 0.5
"""mm; of a cut edge over the paper around it."""
_WAVE, _BOW = 5.0, 1.0
"""mm; of the paper's height, and of how much it bends from one node of the wave to the next."""
_NODES = 90.0  # mm between them
_GROUND = 10.0  # mm at the sheet's edge
_FLOOR = 0.05
"""mm; what registering a patch is off by at best: ink spreads, and a raster is one."""
_SHARP = 0.5
"""mm; the blur from which a checker's squares run into each other, and a patch may be off by more than that."""
_ALIKE, _PARTLY, _HIDDEN = 0.05, 60.0, 3.0
"""Correlation below a photo's usual one from which a patch may be half under the next page and taken for its mark; by
how many mm it may then be off, for each 1 of it; and at most."""
_FREEDOM = 4.0
_ROUNDS = 8
_POSE, _OF_GROUND = 5, 9


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """What one photo shows: its marks, and where the camera stood (x, y, height), mm on the layout.

    ``blur`` is a standard deviation, mm on the sheet.
    """

    sightings: tuple[Sighting, ...]
    standpoint: Array
    blur: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """How the pages lie.

    ``values`` has five numbers a page (shift x and y in mm, turn in radians, stretches), in the sheet's order, and
    ``covariance`` theirs.
    """

    sheet: PrintedSheet
    values: Array
    covariance: Array

    def slip(self, first: str, second: str, at: Array) -> tuple[Array, Array]:
        """How far the second page is from where it should be relative to the first at a place (2,).

        Returns:
            (2,) in mm, x to the right and y down, and its (2, 2) covariance.
        """
        effect = self._off(second, at) - self._off(first, at)
        return effect @ self.values, effect @ self.covariance @ effect.T

    def longer(self, span: PrintedSpan) -> tuple[float, float]:
        """By how much a span is longer than it should be, and the standard deviation of that, mm.

        For pages that are in the mean of the size they should be: of that no photo says anything.
        """
        ahead = (span.ends[1] - span.ends[0]) / span.length
        first, second = (self._off(name, at) for name, at in zip(span.pages, span.ends, strict=True))
        return self._summed(ahead @ (second - first))

    def gained(self, seam: PrintedSeam) -> tuple[float, float]:
        """By how much the slips that a seam crosses lengthen it, and the standard deviation of that, mm."""
        parts = [one.ahead @ (self._off(one.second, one.at) - self._off(one.first, one.at)) for one in seam.crossings]
        return self._summed(np.sum(parts, axis=0))

    def pose(self, name: str) -> tuple[Array, Array]:
        """Where a page's middle should lie (2,), and how it lies: shifted by x and y, mm, and turned by radians."""
        number = self._number(name)
        return self.sheet.pages[number].middle, self.values[_POSE * number : _POSE * number + 3]

    def _off(self, name: str, at: Array) -> Array:
        """What all pages' numbers do to a place (2,) of one of them, (2, pages * 5)."""
        number = self._number(name)
        effect = np.zeros((2, len(self.values)))
        effect[:, _POSE * number : _POSE * (number + 1)] = _of_pose(at - self.sheet.pages[number].middle)
        return effect

    def _summed(self, effect: Array) -> tuple[float, float]:
        return float(effect @ self.values), float(np.sqrt(effect @ self.covariance @ effect))

    def _number(self, name: str) -> int:
        return next(number for number, page in enumerate(self.sheet.pages) if page.name == name)

    def turn(self, name: str) -> float:
        """By how many degrees a page is turned, clockwise as seen."""
        return float(np.degrees(self.pose(name)[1][2]))


def solved(views: Sequence[View], sheet: PrintedSheet) -> Solution:
    """The pages' places from all that is seen of their marks in photos of one sheet."""
    model = _Model(sheet, views)
    rows, off, spread = model.rows, model.off, model.spread
    weights = np.ones(len(off))
    for _ in range(_ROUNDS):
        whole = rows * (np.sqrt(np.repeat(weights, 2)) / np.repeat(spread, 2))[:, None]
        normal = whole.T @ whole + np.diag(model.prior) + model.bows + model.sizes
        values = np.linalg.solve(normal, whole.T @ (off * np.sqrt(weights)[:, None] / spread[:, None]).ravel())
        rest = (off.ravel() - rows @ values).reshape(-1, 2)
        square = (rest**2).sum(axis=1) / spread**2 / 2
        weights = (_FREEDOM + 2) / (_FREEDOM + 2 * square)
    count = _POSE * len(sheet.pages)
    covariance = np.linalg.inv(normal)[:count, :count]
    factor = float((weights * square).sum() / max(weights.sum() - count / 2, 1.0))
    return Solution(sheet, values[:count], covariance * max(factor, 1.0))


def _of_pose(away: Array) -> Array:
    """What a page's five numbers do to a place (2,) so far from its middle, (2, 5)."""
    x, y = away
    return np.array([[1.0, 0.0, -y, x, 0.0], [0.0, 1.0, x, 0.0, y]])


def _unlike(seen: Sequence[tuple[int, Sighting]]) -> Array:
    """How far each mark may be off because its patch is less like the photo than others of it are, mm, (n,)."""
    views, alike = np.array([number for number, _ in seen]), np.array([one.alike for _, one in seen])
    usual = np.array([np.median(alike[views == number]) for number in views])
    return np.asarray(np.clip(_PARTLY * (usual - alike - _ALIKE), 0.0, _HIDDEN))


class _Model:
    """The rows of the linear model, two a sighting, and the priors."""

    def __init__(self, sheet: PrintedSheet, views: Sequence[View]) -> None:
        self._sheet = sheet
        seen = [(number, one) for number, view in enumerate(views) for one in view.sightings]
        self.off = np.array([one.off for _, one in seen])
        floors = np.array([_FLOOR * max(view.blur / _SHARP, 1.0) ** 2 for view in views])[[v for v, _ in seen]]
        self.spread = np.sqrt(np.array([np.trace(one.doubt) / 2 for _, one in seen]) + floors**2 + _unlike(seen) ** 2)
        x0, y0, x1, y1 = sheet.box
        self._low, self._size = np.array([x0, y0]), np.array([x1 - x0, y1 - y0])
        self._nodes = [max(int(side / _NODES), 1) for side in self._size]
        places = np.array([one.at for _, one in seen])
        marks = {(one.page, *one.at.round(2)): 0 for _, one in seen}
        marks = {key: number for number, key in enumerate(marks)}
        pages = {page.name: number for number, page in enumerate(sheet.pages)}
        parallax = np.array([(one.at - views[v].standpoint[:2]) / views[v].standpoint[2] for v, one in seen])
        wave = self._wave(places)
        sizes = (_POSE * len(pages), wave.shape[1], len(marks), _OF_GROUND * len(views))
        starts = np.concatenate([[0], np.cumsum(sizes)])
        self.rows = np.zeros((2 * len(seen), int(starts[-1])))
        for number, (v, one) in enumerate(seen):
            rows = slice(2 * number, 2 * number + 2)
            page = pages[one.page]
            self.rows[rows, _POSE * page : _POSE * (page + 1)] = _of_pose(one.at - sheet.pages[page].middle)
            self.rows[rows, starts[1] : starts[2]] = np.outer(parallax[number], wave[number])
            self.rows[rows, starts[2] + marks[(one.page, *one.at.round(2))]] = parallax[number]
            at = starts[3] + _OF_GROUND * v
            self.rows[rows, at : at + _OF_GROUND] = self._of_ground(one.at)
        deviations = np.concatenate([
            np.tile([_SHIFT, _SHIFT, _TURN, _STRETCH, _STRETCH], len(pages)), np.full(sizes[1], _WAVE),
            np.full(sizes[2], _LIFT), np.full(sizes[3], _GROUND),
        ])  # fmt: skip
        self.prior = deviations**-2.0
        # A photo knows no size: the pages have in the mean the one they should have.
        stretches = np.zeros((2, len(deviations)))
        stretches[0, 3 : starts[1] : _POSE] = stretches[1, 4 : starts[1] : _POSE] = 1.0 / len(pages)
        self.sizes = stretches.T @ stretches / _SIZE**2
        self.bows = np.zeros((len(deviations), len(deviations)))
        self.bows[starts[1] : starts[2], starts[1] : starts[2]] = self._bending()

    def _wave(self, places: Array) -> Array:
        """What each node's height adds at places (n, 2): cubic B-splines, (n, nodes)."""
        sides = []
        for axis in (0, 1):
            step = self._size[axis] / self._nodes[axis]
            knots = self._low[axis] + step * np.arange(-3, self._nodes[axis] + 4)
            at = np.clip(places[:, axis], knots[3], knots[-4] - 1e-9)
            sides.append(BSpline.design_matrix(at, knots, 3).toarray())
        return np.asarray((sides[0][:, :, None] * sides[1][:, None, :]).reshape(len(places), -1))

    def _bending(self) -> Array:
        """The prior against sharp bends, as a matrix over the nodes."""
        across, down = (nodes + 3 for nodes in self._nodes)
        total = np.zeros((across * down, across * down))
        for one, other in ((across, down), (down, across)):
            second = np.diff(np.eye(one), 2, axis=0)
            bow = second.T @ second / _BOW**2
            total += np.kron(bow, np.eye(other)) if one is across and other is down else np.kron(np.eye(other), bow)
        return total

    def _of_ground(self, at: Array) -> Array:
        """What a perspective's eight numbers and a radial one do at a place (2,), each about 1 at the edge, (2, 9)."""
        x, y = (at - self._low - self._size / 2) / (self._size.max() / 2)
        square = x * x + y * y
        return np.array([
            [1.0, x, y, 0.0, 0.0, 0.0, x * x, x * y, square * x], [0.0, 0.0, 0.0, 1.0, x, y, x * y, y * y, square * y],
        ])  # fmt: skip
