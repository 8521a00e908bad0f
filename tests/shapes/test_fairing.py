"""Joins: in the edges' directions at both ends, and no different where nothing was cut apart."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tiling.shapes import Affine, Point, curves
from tiling.shapes.chains import (
    Chain,
    chain_length,
    direction_at_end,
    direction_at_start,
    moved_chain,
    trimmed,
    turn_between,
)
from tiling.shapes.corners import smooth_run
from tiling.shapes.fairing import EdgeUsedUp, Finish, bridge


def straight(start: tuple[float, float], end: tuple[float, float]) -> Chain:
    """One straight cubic."""
    return (curves.line_as_cubic(np.array(start), np.array(end)),)


CURVE = np.array([[0, 0], [60, -10], [110, 30], [120, 120]], dtype=float)


def joined(before: Chain, after: Chain, reach: float, finish: Finish = Finish.FAIRED) -> Chain:
    """Both chains with the bridge between."""
    found = bridge(before, after, finish, reach)
    return (*trimmed(before, 0, found.back), *found.cubics, *trimmed(after, found.ahead, 0))


@settings(max_examples=60, deadline=None)
@given(
    dx=st.floats(-15, 25),
    dy=st.floats(-15, 15),
    turn=st.floats(-4, 4),
    at=st.floats(0.3, 0.7),
    reach=st.floats(5, 30),
)
def test_no_kink_at_either_end_of_a_join(dx: float, dy: float, turn: float, at: float, reach: float) -> None:
    """Whatever the gap, the tangent turns by less than 0.5 degrees at every joint, and the ends meet."""
    head, tail = curves.split(CURVE, at)
    move = Affine.shift(dx, dy) @ Affine.turn(turn, about=Point(60, 20))
    chain = joined((head,), moved_chain((tail,), move), reach)
    for one, other in pairwise(chain):
        assert np.allclose(one[3], other[0], atol=1e-6)
        assert turn_between(direction_at_end([one]), direction_at_start([other])) < 0.5


@given(at=st.floats(0.2, 0.8), reach=st.floats(2, 40))
@settings(max_examples=30, deadline=None)
def test_a_curve_cut_and_joined_again_is_the_curve(at: float, reach: float) -> None:
    """Without a gap nothing is cut back, and nothing laid between."""
    head, tail = curves.split(CURVE, at)
    found = bridge((head,), (tail,), Finish.FAIRED, reach)
    assert (found.back, found.ahead, found.cubics) == (0.0, 0.0, ())


def test_a_straight_edge_spread_along_itself_stays_straight() -> None:
    """Gap and edges in one line: one straight piece across the gap."""
    found = bridge(straight((0, 0), (100, 0)), straight((120, 0), (200, 0)), Finish.FAIRED, 50.0)
    assert (found.back, found.ahead) == (0.0, 0.0)
    assert np.allclose(found.cubics[0][[0, 3]], [[100, 0], [120, 0]])


def test_a_straight_edge_overlapped_along_itself_is_cut_back_by_half_from_either_end() -> None:
    """No doubled ends."""
    found = bridge(straight((0, 0), (100, 0)), straight((80, 0), (200, 0)), Finish.FAIRED, 50.0)
    assert (found.back, found.ahead, found.cubics) == (10.0, 10.0, ())


def test_fairing_reaches_as_far_as_asked() -> None:
    """A side step of 4 mm is spread over 30 mm on either side."""
    found = bridge(straight((0, 0), (100, 0)), straight((100, 4), (200, 4)), Finish.FAIRED, 30.0)
    assert (found.back, found.ahead) == (30.0, 30.0)
    (cubic,) = found.cubics
    assert np.allclose(cubic[[0, 3]], [[70, 0], [130, 4]])
    assert np.allclose(cubic[[1, 2], 1], [0, 4])


def test_fairing_stops_at_a_corner() -> None:
    """A corner 12 mm from the cut is not smoothed away."""
    before = (*straight((88, 50), (88, 0)), *straight((88, 0), (100, 0)))
    found = bridge(before, straight((100, 4), (200, 4)), Finish.FAIRED, 30.0)
    assert found.back == pytest.approx(12.0)
    assert smooth_run(tuple(c[::-1] for c in reversed(before))) == pytest.approx(12.0)


def test_a_join_without_fairing_is_a_straight_line() -> None:
    """Straight across the gap, and no more."""
    found = bridge(straight((0, 0), (100, 0)), straight((100, 4), (200, 4)), Finish.STRAIGHT, 30.0)
    assert (found.back, found.ahead) == (0.0, 0.0)
    assert np.allclose(found.cubics[0][[0, 3]], [[100, 0], [100, 4]])


def test_an_overlap_longer_than_both_edges_is_refused() -> None:
    """There is no edge left to join."""
    with pytest.raises(EdgeUsedUp):
        bridge(straight((0, 0), (20, 0)), straight((-30, 0), (5, 0)), Finish.FAIRED, 10.0)


def test_a_short_edge_gives_less_of_itself() -> None:
    """10 mm on one side of an overlap of 12 mm: half of it stays, the other edge gives the rest."""
    found = bridge(straight((0, 0), (100, 0)), straight((88, 0), (98, 0)), Finish.FAIRED, 0.0)
    assert (found.back, found.ahead) == (7.0, 5.0)


def test_a_fair_curve_is_hardly_longer_than_its_parts_and_the_gap() -> None:
    """The seam's length changes by what geometry says: a 10 mm gap in the curve adds about 10 mm."""
    head, tail = curves.split(CURVE, 0.5)
    way = direction_at_end((head,))
    chain = joined((head,), moved_chain((tail,), Affine.shift(*(10 * way))), 25.0)
    grown = chain_length(chain) - chain_length((CURVE,))
    assert grown == pytest.approx(10.0, abs=0.2)
