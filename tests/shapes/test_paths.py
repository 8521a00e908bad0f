"""Paths: which segments are straight and which subpaths are closed doesn't depend on where on the sheet they lie."""

from __future__ import annotations

import numpy as np
import pytest

from tiling.shapes import Affine, Op, Path, PathBuilder
from tiling.shapes.regions import ring_of

FAR = 5000.0
"""mm from the sheet's corner: a long roll."""


@pytest.mark.parametrize("place", [0.0, 1000.0, FAR])
@pytest.mark.parametrize("bulge", [2e-3, 2e-2])
def test_a_flat_curve_stays_a_curve_wherever_it_lies(place: float, bulge: float) -> None:
    """A control point off its place by 0.002 mm is not a straight line's, at 5 m as little as at the corner."""
    cubic = np.array([[0.0, 0.0], [10.0, bulge], [20.0, 0.0], [30.0, 0.0]]) + place
    assert Path.from_cubics([cubic]).ops.tolist() == [Op.MOVE, Op.CURVE]


@pytest.mark.parametrize("place", [0.0, 1000.0, FAR])
@pytest.mark.parametrize("angle", [0.0, 33.0])
def test_a_straight_cubic_becomes_a_straight_segment_wherever_it_lies(place: float, angle: float) -> None:
    """The other way round: float noise of a move does not make a curve of a straight line."""
    line = Path.polyline(np.array([[0.0, 0.0], [30.0, 7.0]]))
    move = Affine.shift(place, place) @ Affine.turn(angle)
    cubics = [move.points(cubic) for cubic in line.cubics()]
    assert Path.from_cubics(cubics).ops.tolist() == [Op.MOVE, Op.LINE]


@pytest.mark.parametrize("place", [0.0, FAR])
def test_a_short_closing_segment_is_not_lost_far_off(place: float) -> None:
    """Ends 0.02 mm apart are closed by a segment of that length, at 5 m as at the corner."""
    build = PathBuilder()
    build.move(place, place)
    build.line(place + 100, place)
    build.line(place + 0.02, place)
    build.close()
    assert build.path().length() == pytest.approx(200.0, abs=1e-9)
    assert len(list(build.path().cubics())) == 3


@pytest.mark.parametrize("place", [0.0, FAR])
def test_a_ring_that_is_open_by_a_little_is_closed_far_off_too(place: float) -> None:
    """The polyline repeats its start exactly, so that shapely and even-odd counting see a ring."""
    corners = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 0.02]]) + place
    ring = ring_of(tuple(Path.polyline(corners).cubics()))
    assert ring[0].tolist() == ring[-1].tolist()
