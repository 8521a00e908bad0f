"""Fitting one cubic to points: what it finds, and that it never amplifies the last bits of its input."""

from __future__ import annotations

import numpy as np
import pytest

from tiling.shapes import curves
from tiling.shapes.fitting import fitted

ANY = (0.0, 2.0)


def ends_of(cubic: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Its two ends and the unit tangents there."""
    steps = np.array([cubic[1] - cubic[0], cubic[3] - cubic[2]])
    return cubic[[0, 3]], steps / np.linalg.norm(steps, axis=1)[:, None]


@pytest.mark.parametrize(
    "cubic",
    [
        np.array([[0.0, 0.0], [30.0, -40.0], [90.0, -35.0], [100.0, 0.0]]),
        np.array([[0.0, 0.0], [40.0, 30.0], [60.0, -30.0], [100.0, 0.0]]),  # both ends run the same way
        np.array([[500.0, 900.0], [500.4, 930.0], [499.2, 960.0], [499.0, 990.0]]),  # nearly straight
    ],
)
def test_points_of_a_cubic_give_that_cubic_back(cubic: np.ndarray) -> None:
    """Also where both ends point the same way, and for a curve that is all but straight."""
    t = np.linspace(0.0, 1.0, 41)
    ends, directions = ends_of(cubic)
    found = fitted(ends, directions, curves.evaluate(cubic, t), t, ANY)
    assert np.abs(found - cubic).max() < 1e-9


@pytest.mark.parametrize("bend", [30.0, 0.3, 0.003, 0.0])
def test_noise_of_the_input_is_not_amplified(bend: float) -> None:
    """Points off by 1e-12 mm move no control point by more than 2e-11 mm, however flat the curve is."""
    cubic = np.array([[0.0, 0.0], [30.0, bend], [66.0, bend / 2], [100.0, 0.0]]) + 700.0
    t = np.linspace(0.0, 1.0, 41)
    ends, directions = ends_of(cubic)
    points = curves.evaluate(cubic, t) + 0.01 * np.sin(9 * t)[:, None]  # nothing that a cubic could meet
    expected = fitted(ends, directions, points, t, ANY)
    for seed in range(5):
        noise = np.random.default_rng(seed).uniform(-1e-12, 1e-12, (points.size + 4,))
        found = fitted(ends + noise[-4:].reshape(2, 2), directions, points + noise[:-4].reshape(-1, 2), t, ANY)
        assert np.abs(found - expected).max() < 2e-11


def test_handles_keep_to_their_bounds() -> None:
    """Points that ask for handles far too long get the longest allowed."""
    ends, directions = np.array([[0.0, 0.0], [100.0, 0.0]]), np.array([[0.0, -1.0], [0.0, 1.0]])
    t = np.linspace(0.0, 1.0, 21)
    high = np.column_stack([100.0 * t, -400.0 * np.sin(np.pi * t)])
    found = fitted(ends, directions, high, t, (0.12, 0.9))
    assert np.linalg.norm(found[1] - found[0]) == pytest.approx(90.0, abs=1e-9)
    assert np.linalg.norm(found[3] - found[2]) == pytest.approx(90.0, abs=1e-9)
