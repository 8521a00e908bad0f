"""Polylines: the nearest place on one against shapely, and where straight lines cross one."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from tiling.shapes import Path, Point
from tiling.shapes.polylines import crossing_places, nearest_places, nearest_position

COORDINATE = st.integers(-40, 40).map(float)
PLACE = st.tuples(COORDINATE, COORDINATE)


@given(st.lists(PLACE, min_size=2, max_size=7), st.lists(PLACE, min_size=1, max_size=4))
def test_the_nearest_place_is_shapelys(line: list[tuple[float, float]], points: list[tuple[float, float]]) -> None:
    """Distance, and a place along the line that is as near; corners may repeat."""
    along, apart = nearest_places(np.array(line), np.array(points))
    string = shapely.LineString(line)
    for point, at, distance in zip(points, along, apart, strict=True):
        assert distance == pytest.approx(string.distance(shapely.Point(point)), abs=1e-9)
        assert string.interpolate(at).distance(shapely.Point(point)) == pytest.approx(distance, abs=1e-9)


def test_a_position_counts_the_subpaths_before_it() -> None:
    """Two lines of 30 and 50 mm, drawn in one path: 10 mm into the second is 40 mm along both."""
    lines = [[[0.0, 0.0], [30.0, 0.0]], [[0.0, 9.0], [50.0, 9.0]]]
    path = Path.joined([Path.polyline(np.array(line)) for line in lines])
    assert nearest_position(path, Point(10.0, 12.0), 0.01) == pytest.approx((40.0, 3.0))


def test_a_straight_line_crosses_where_it_passes_through() -> None:
    """A square seen from its middle, in two directions; one that lies beside it meets nothing."""
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0], [0.0, 0.0]])
    assert sorted(crossing_places(square, Point(4.0, 5.0), Point(1.0, 0.0))) == pytest.approx([-4.0, 6.0])
    assert sorted(crossing_places(square, Point(4.0, 5.0), Point(0.6, 0.8))) == pytest.approx([-6.25, 6.25])
    assert not len(crossing_places(square, Point(4.0, 15.0), Point(1.0, 0.0)))


@pytest.mark.parametrize("angle", range(0, 360, 45))
def test_a_line_through_two_corners_crosses_an_even_number_of_times(angle: float) -> None:
    """What runs through corners of a closed outline goes in as often as it comes out."""
    turns = np.radians([angle, angle + 90, angle + 180, angle + 270, angle])
    diamond = 10 * np.column_stack([np.cos(turns), np.sin(turns)])
    places = crossing_places(diamond, Point(0.0, 0.0), Point(1.0, 0.0))
    assert len(places) == 2
