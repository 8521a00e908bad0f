"""How well a scale is known: each cause of doubt on its own, then together (GUM, JCGM 100:2008, 5.1 and 6.2).

What the fit of the page's map leaves open is carried through to the answer: every value of the mapping is
nudged, the reference's outline, whose pixels stay where they were seen, is taken back to the page, and the
change of the scale is noted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from calibrate.camera import BEND, LENS, NAMES
from calibrate.run import Run

if TYPE_CHECKING:
    from collections.abc import Callable

    from calibrate.arrays import Array, Mask
    from calibrate.camera import Chart, Mapping
    from calibrate.fit import CameraFit

_DOMINANT = 0.7  # share of the variance
COVERAGE = 2.0
"""Coverage factor k of every expanded uncertainty."""

_NUDGE = np.array([1e-5, 1e-5, 1e-5, 1e-2, 1e-2, 1e-2, 1e-5, 1e-5, 1e-4,
                   1e-4, 1e-4, 1e-5, 1e-5, 1e-3, 1e-7, 1e-9, 1e-11])  # fmt: skip


class Spread(StrEnum):
    """How likely the values are that a cause of doubt may have."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"


@dataclass(frozen=True, slots=True)
class Contribution:
    """One cause of doubt: its standard uncertainties across and down, as parts of the scale, and how it is spread."""

    name: str
    across: float
    down: float
    spread: Spread = Spread.NORMAL


@dataclass(frozen=True, slots=True)
class ReferenceOutline:
    """How a reference's outline turns into a scale.

    ``points`` (n, 2) lie on it, page mm; ``chart`` makes the plane they lie in from a mapping; ``scales``
    takes such points, in the same order, to the scale (across, down).
    """

    points: Array
    chart: Callable[[Mapping], Chart]
    scales: Callable[[Array], Array]


def combined(contributions: tuple[Contribution, ...]) -> tuple[float, float]:
    """Combined standard uncertainty across and down: the root of the sum of squares."""
    across = float(np.sqrt(sum(c.across**2 for c in contributions)))
    down = float(np.sqrt(sum(c.down**2 for c in contributions)))
    return across, down


_IN_WORDS = {
    "reference tolerance": "how exactly the sheet, card or coin is made",
    "scanner's resolution": "how well the scanner keeps its resolution",
    "thickness": "how thick the card or coin is",
    "tone curve": "how the phone turns light into tones",
}


def coverage(contributions: tuple[Contribution, ...]) -> str:
    """What the expanded uncertainty covers, in one line: 95 of 100 cases, unless one rectangular term outweighs all.

    With k = 2 a rectangular term alone is covered wholly, since it ends at root three of its standard uncertainties
    (GUM, JCGM 100:2008, annex G.2: the central limit theorem needs terms of like size).
    """
    whole = combined(contributions)
    for one in contributions:
        shares = [(own / max(total, 1e-12)) ** 2 for own, total in zip((one.across, one.down), whole, strict=True)]
        if one.spread is Spread.RECTANGULAR and max(shares) > _DOMINANT:
            across, down = (100.0 * np.sqrt(3.0) * part for part in (one.across, one.down))
            return (
                f"bounds the error (k = {COVERAGE:g}): most of it is {_IN_WORDS.get(one.name, one.name)}, all within "
                f"{across:.2f} % across and {down:.2f} % down being alike likely (a rectangular term, GUM G.2)"
            )
    return f"holds in about 95 of 100 cases (k = {COVERAGE:g})"


def taken_back(outline: ReferenceOutline, seen: Array, mapping: Mapping) -> Array:
    """Points whose pixels are ``seen`` (n, 2), on the page under another mapping; Newton's steps."""
    chart = outline.chart(mapping)
    page = outline.points.copy()
    for _ in range(4):
        at = chart.project(page)
        right = chart.project(page + np.array([0.05, 0.0])) - at
        below = chart.project(page + np.array([0.0, 0.05])) - at
        jacobian = np.stack([right, below], axis=-1) / 0.05
        page = page + np.linalg.solve(jacobian, (seen - at)[..., None])[..., 0]
    return page


def mapping_doubt(fit: CameraFit, outline: ReferenceOutline, run: Run = Run()) -> tuple[Contribution, ...]:
    """What the fit leaves open: noise of the corners, the lens, and the sheet's flatness.

    Raises:
        Cancelled: the run is to end.
    """
    seen = outline.chart(fit.mapping).project(outline.points)
    base = outline.scales(outline.points)
    sensitivity = np.zeros((2, len(fit.free)))
    for n, index in enumerate(fit.free):
        run.check()
        values = fit.mapping.values.copy()
        values[index] += _NUDGE[index]
        moved = taken_back(outline, seen, replace(fit.mapping, values=values))
        sensitivity[:, n] = (outline.scales(moved) - base) / base / _NUDGE[index]
    lens = np.isin(fit.free, np.arange(len(NAMES))[LENS])
    bend = np.isin(fit.free, np.arange(len(NAMES))[BEND])
    noise = _variance(fit, sensitivity, ~lens & ~bend)
    with_lens = _variance(fit, sensitivity, ~bend)
    whole = _variance(fit, sensitivity, np.ones(len(fit.free), bool))
    flatness = np.sqrt(np.maximum(whole - with_lens, 0.0))
    if fit.other is not None:
        other = outline.scales(taken_back(outline, seen, fit.other))
        # Flat was preferred: what the bend not believed in would have changed, as a uniform half width. Bent
        # was preferred: a twentieth of what it changed, for curls that are no cylinders.
        share = 0.05 if fit.bent else 1.0 / np.sqrt(3.0)
        flatness = np.hypot(flatness, share * (other - base) / base)
    return (
        Contribution("corner noise", *np.sqrt(noise)),
        Contribution("lens", *np.sqrt(np.maximum(with_lens - noise, 0.0))),
        Contribution("flatness", *flatness),
    )


def _variance(fit: CameraFit, sensitivity: Array, which: Mask) -> Array:
    """Variance (2,) of the scales when only some of the free values are uncertain."""
    part = fit.information[np.ix_(which, which)]
    # Values differ by many powers of ten; scaled to unit diagonal the inverse is safe.
    size = np.sqrt(np.maximum(np.diag(part), 1e-300))
    inverse = np.linalg.pinv(part / size[:, None] / size[None, :], rcond=1e-13)
    chosen = sensitivity[:, which] / size
    return np.asarray(np.maximum(np.einsum("ij,jk,ik->i", chosen, inverse, chosen), 0.0))
