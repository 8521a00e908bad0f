"""Regions: inside or out, distance, area; against shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from tiling.shapes import PathBuilder, Point
from tiling.shapes.chains import chains_of
from tiling.shapes.regions import area, distance_to, holds, ring_of


@pytest.fixture(scope="module")
def ring() -> np.ndarray:
    """A shape with a bay and a curved side."""
    build = PathBuilder()
    build.move(0, 0)
    build.line(100, 0)
    build.curve(160, 30, 40, 70, 100, 100)
    build.line(0, 100)
    build.line(50, 50)
    build.close()
    return ring_of(chains_of(build.path())[0][0], 0.001)


def test_points_inside_and_their_distance(ring: np.ndarray) -> None:
    """The same answers as shapely for 500 random points (fixed seed)."""
    shape = shapely.Polygon(ring)
    for x, y in np.random.default_rng(7).uniform(-20, 130, (500, 2)):
        point = Point(float(x), float(y))
        assert holds(ring, point) == shape.contains(shapely.Point(x, y))
        assert distance_to(ring, point) == pytest.approx(shape.exterior.distance(shapely.Point(x, y)), abs=1e-9)


def test_area_is_the_same_either_way_round(ring: np.ndarray) -> None:
    """Shoelace against shapely."""
    assert area(ring) == pytest.approx(shapely.Polygon(ring).area)
    assert area(ring[::-1]) == pytest.approx(area(ring))
