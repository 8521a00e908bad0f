"""Several photos of one page taken together, though they are not independent (GUM, JCGM 100:2008, 5.2)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from calibrate.budget import Contribution, combined

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibrate.arrays import Array
    from calibrate.photo import Photo
    from calibrate.readings import ScaleReading

_AVERAGES_OUT = "corner noise"
"""The one cause of doubt that a second photo of the same phone does not repeat."""


@dataclass(frozen=True, slots=True, eq=False)
class Pooled:
    """The weighted mean of readings of one reference.

    ``weights`` (n, 2) are those of the readings across and down.
    """

    across: float
    down: float
    weights: Array
    budget: tuple[Contribution, ...]


def pooled(readings: Sequence[ScaleReading]) -> Pooled:
    """The mean of at least one reading, weighted by what is doubtful in each photo.

    What the lens, the phone's sharpening and its tones do is the same in all, so it does not become less by averaging.
    Readings that scatter more than they should make the doubt larger by as much (Birge's ratio).
    """
    own = np.array([combined(reading.own) for reading in readings])
    weights = 1.0 / np.maximum(own, 1e-6) ** 2
    weights /= weights.sum(axis=0)
    values = np.array([[reading.across, reading.down] for reading in readings])
    mean = (weights * values).sum(axis=0)
    wider = _birge(values / mean - 1.0, own)
    budget = []
    for n, contribution in enumerate(readings[0].own):
        parts = weights * np.array([[reading.own[n].across, reading.own[n].down] for reading in readings])
        whole = np.sqrt((parts**2).sum(axis=0)) if contribution.name == _AVERAGES_OUT else parts.sum(axis=0)
        across, down = (float(v) for v in whole * wider)
        budget.append(Contribution(contribution.name, across, down, contribution.spread))
    return Pooled(float(mean[0]), float(mean[1]), weights, (*budget, *readings[0].shared))


def _birge(misses: Array, own: Array) -> Array:
    """By how much readings (n, 2) scatter more than stated, at least 1 (R. T. Birge, Phys. Rev. 40, 1932, 207)."""
    if len(misses) == 1:
        return np.ones(2)
    squares = ((misses / np.maximum(own, 1e-9)) ** 2).sum(axis=0) / (len(misses) - 1)
    return np.asarray(np.sqrt(np.maximum(squares, 1.0)))


def distinct(photos: Sequence[Photo]) -> list[Photo]:
    """The photos without those that repeat an earlier one pixel by pixel: a copy says nothing new."""
    kept: list[Photo] = []
    for photo in photos:
        if not any(np.array_equal(photo.pixels, other.pixels) for other in kept):
            kept.append(photo)
    return kept
