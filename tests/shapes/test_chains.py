"""Cutting paths: crossings, parts, lengths along, and joining again."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely import LineString

from tiling.shapes import Path, PathBuilder, Point, curves
from tiling.shapes.chains import (
    chain_length,
    chain_path,
    chains_of,
    crossings,
    is_straight,
    merged_straights,
    point_along,
    reverse_chain,
    split_at,
    trimmed,
)

NUMBERS = st.floats(-200.0, 200.0)
CUBICS = st.lists(st.tuples(NUMBERS, NUMBERS), min_size=4, max_size=4, unique=True).map(np.array)
SQUARE = Path.polyline([Point(0, 0), Point(100, 0), Point(100, 100), Point(0, 100)], closed=True)


def chain_of(path: Path) -> tuple[tuple[np.ndarray, ...], bool]:
    """The only subpath's chain."""
    return chains_of(path)[0]


def test_a_line_through_a_square_crosses_it_twice() -> None:
    """In order along the outline, each with its place on the line."""
    chain, closed = chain_of(SQUARE)
    found = crossings(chain, Point(30, -50), Point(30, 150), closed=closed)
    assert [(c.point.x, c.point.y) for c in found] == [pytest.approx((30, 0)), pytest.approx((30, 100))]
    assert [c.along for c in found] == pytest.approx([0.25, 0.75])


@pytest.mark.parametrize(
    ("start", "end", "count"),
    [
        ((-50, 0), (150, 0), 0),  # along an edge: never from one side to the other
        ((-50, 50), (50, -50), 0),  # touches the corner at 0, 0
        ((-50, -50), (150, 150), 2),  # through two corners
        ((50, 50), (50, 150), 1),  # from inside
        ((0, -10), (0, 110), 0),  # along the side that holds the ring's start
        ((120, -10), (120, 110), 0),  # misses
        ((100, 50), (200, 50), 1),  # starts on the edge
    ],
)
def test_only_a_change_of_sides_is_a_crossing(start: tuple[float, float], end: tuple[float, float], count: int) -> None:
    """Touching a corner or lying along an edge is none; a corner passed through is one."""
    chain, closed = chain_of(SQUARE)
    assert len(crossings(chain, Point(*start), Point(*end), closed=closed)) == count


@settings(max_examples=60, deadline=None)
@given(cubic=CUBICS, x=NUMBERS)
def test_crossings_are_those_of_a_fine_polyline(cubic: np.ndarray, x: float) -> None:
    """As many as shapely finds on 2,000 chords, and at the same places to 0.05 mm."""
    points = curves.evaluate(cubic, np.linspace(0, 1, 2001))
    sides = np.sign(points[:, 0] - x)
    if np.min(np.abs(cubic[[0, 3], 0] - x)) < 0.01 or np.abs(np.diff(cubic, axis=0)).max() < 1.0:
        return
    expected = np.flatnonzero(sides[:-1] * sides[1:] < 0)
    found = crossings((cubic,), Point(x, -1e4), Point(x, 1e4), closed=False)
    if len(found) != len(expected):
        # A near touch may fall between two points of the polyline.
        assert min(abs(curves.evaluate(cubic, np.linspace(0, 1, 20001))[:, 0] - x)) < 1e-2
        return
    line = LineString(points)
    assert all(line.distance(LineString([(c.point.x, c.point.y)] * 2)) < 0.05 for c in found)
    assert all(abs(c.point.x - x) < 1e-7 for c in found)


@pytest.mark.parametrize("share", [0.05, 0.31, 0.5, 0.77, 0.98])
@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (60, -10), (110, 30), (120, 120)],
        [(0, 0), (0, 0), (10, 90), (100, 100)],
        [(0, 0), (300, 40), (-200, 40), (100, 0)],
    ],
)
def test_a_point_along_is_at_its_arc_length(points: list[tuple[float, float]], share: float) -> None:
    """Up to the parameter found, scipy's quadrature gives the length asked for, to 0.001 mm."""
    cubic = np.array(points, dtype=float)

    def length_to(t: float) -> float:
        found, _ = quad(lambda u: float(np.hypot(*curves.derivative(cubic, u))), 0, t, limit=400, epsabs=1e-7)
        return float(found)

    whole = chain_length((cubic,))
    assert whole == pytest.approx(length_to(1.0), abs=1e-3)
    _, t = point_along((cubic,), share * whole)
    assert length_to(t) == pytest.approx(share * whole, abs=1e-3)


@settings(max_examples=40, deadline=None)
@given(cubics=st.lists(CUBICS, min_size=1, max_size=4), shares=st.tuples(st.floats(0, 0.45), st.floats(0, 0.45)))
def test_trimming_takes_off_the_length_asked(cubics: list[np.ndarray], shares: tuple[float, float]) -> None:
    """What is left is shorter by both cuts, and lies on the curve."""
    chain: list[np.ndarray] = []
    for cubic in cubics:
        chain.append(cubic if not chain else cubic + (chain[-1][3] - cubic[0]))
    whole = chain_length(chain)
    if whole < 1.0:
        return
    left = trimmed(chain, shares[0] * whole, shares[1] * whole)
    assert chain_length(left) == pytest.approx(whole * (1 - sum(shares)), abs=1e-3 * whole)


def test_parts_of_a_ring_go_round_it() -> None:
    """Two cuts make two parts; together they are the ring, from the first cut on."""
    chain, closed = chain_of(SQUARE)
    found = crossings(chain, Point(30, -50), Point(30, 150), closed=closed)
    parts = split_at(chain, found, closed=True)
    assert [chain_length(part) for part in parts] == pytest.approx([240.0, 160.0])
    assert np.allclose(parts[0][0][0], (30, 0))
    assert np.allclose(parts[0][-1][3], parts[1][0][0])
    assert np.allclose(parts[1][-1][3], (30, 0))


def test_parts_of_an_open_chain_keep_its_ends() -> None:
    """So many cuts make one part more: n cuts make n + 1 parts."""
    chain, closed = chain_of(Path.polyline([Point(0, 0), Point(100, 50), Point(0, 100)]))
    found = crossings(chain, Point(40, -50), Point(40, 150), closed=closed)
    parts = split_at(chain, found, closed=False)
    assert len(parts) == 3
    assert np.allclose(parts[0][0][0], (0, 0))
    assert np.allclose(parts[2][-1][3], (0, 100))


def test_a_chain_is_written_as_the_path_it_was() -> None:
    """Path to chain to path: the same steps, for straight and curved, open and closed."""
    build = PathBuilder()
    build.move(0, 0)
    build.line(50, 0)
    build.curve(80, 0, 100, 20, 100, 50)
    build.close()
    for path in (SQUARE, build.path(), Path.polyline([Point(0, 0), Point(3, 4)])):
        chain, closed = chain_of(path)
        again = chain_path(chain, closed=closed)
        assert list(again.ops) == list(path.ops)
        assert np.allclose(again.points, path.points)


def test_straight_runs_become_one() -> None:
    """Points on a straight line are left out, corners and curves stay."""
    path = Path.polyline(
        [Point(0, 0), Point(10, 0), Point(30, 0), Point(30, 40), Point(0, 40), Point(0, 20)], closed=True
    )
    chain, closed = chain_of(path)
    merged = merged_straights(chain, closed=closed)
    assert len(merged) == 4
    assert all(is_straight(c) for c in merged)


def test_a_chain_run_backwards_has_the_same_points() -> None:
    """Twice reversed is the chain itself."""
    chain, _ = chain_of(SQUARE)
    assert np.allclose(reverse_chain(reverse_chain(chain)), chain)
    assert np.allclose(reverse_chain(chain)[0][0], chain[-1][3])


def test_points_without_length_are_no_chain() -> None:
    """A path of one point repeated has no direction and is left out."""
    assert chains_of(Path.polyline([Point(5, 5), Point(5, 5)])) == []
