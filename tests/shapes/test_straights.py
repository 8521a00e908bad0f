"""The straight line that a drawn path stands for."""

from __future__ import annotations

import numpy as np
import pytest

from tiling.shapes import Path, Point
from tiling.shapes.straights import Straight, longest_stretch, straight_of


def path(*points: tuple[float, float]) -> Path:
    """A polyline."""
    return Path.polyline(np.array(points))


@pytest.mark.parametrize(
    "arrow",
    [
        path((10, 20), (10, 220)),
        path((10, 20), (10, 90), (10, 220)),  # with a point on the way
        path((10, 20), (10, 220), (16, 210)),  # with half a head, drawn in one go
        Path.joined([path((4, 30), (10, 20), (16, 30)), path((10, 20), (10, 220))]),
    ],
    ids=["plain", "in two parts", "with its head", "head first"],
)
def test_the_shaft_of_an_arrow_is_its_longest_stretch(arrow: Path) -> None:
    """However the arrow is drawn."""
    assert longest_stretch([arrow]) == Straight(Point(10.0, 20.0), Point(10.0, 220.0))


def test_nothing_with_a_length_has_no_stretch() -> None:
    """A dot, and nothing at all."""
    assert longest_stretch([path((3, 3), (3, 3))]) is None
    assert longest_stretch([]) is None


@pytest.mark.parametrize("end", [(30.0, 60.0), (-30.0, 60.0), (50.0, 0.0), (0.0, 50.0)])
def test_downwards_is_the_same_either_way_round(end: tuple[float, float]) -> None:
    """Down the page, to the right where level."""
    line = Straight(Point(0.0, 0.0), Point(*end))
    assert line.downwards() == Straight(line.end, line.start).downwards() == line


def test_a_line_runs_from_its_first_to_its_last_point() -> None:
    """Of the longest subpath; a bend on the way does not count, a dot gives a line without length."""
    assert straight_of(Path.joined([path((0, 0), (5, 0)), path((0, 0), (40, 9), (80, 0))])) == Straight(
        Point(0.0, 0.0), Point(80.0, 0.0)
    )
    assert straight_of(path((7, 7))).length == 0.0
