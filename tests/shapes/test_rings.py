"""Paths that meet end to end become a ring, however they are drawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tiling.shapes import Path, Point
from tiling.shapes.rings import RingOpen, closes, largest_closed, ring_of_paths

CORNERS = np.array([[0.0, 0.0], [90.0, 0.0], [120.0, 70.0], [60.0, 110.0], [0.0, 80.0]])
EDGES = [Path.polyline(CORNERS[[i, (i + 1) % 5]]) for i in range(5)]


@given(st.permutations(range(5)), st.lists(st.booleans(), min_size=5, max_size=5), st.integers(0, 4))
def test_edges_in_any_order_and_direction_make_the_same_ring(order: list[int], turned: list[bool], first: int) -> None:
    """Each starts where the last one ended; the ring begins with the first edge given, as drawn."""
    paths = [EDGES[i].reversed() if turned[i] else EDGES[i] for i in order]
    parts = ring_of_paths(paths, first)
    assert (parts[0].index, parts[0].turned) == (0, False)
    runs = [paths[part.index].points[:: -1 if part.turned else 1] for part in parts]
    assert sorted(part.index for part in parts) == list(range(5))
    for before, after in zip(runs, runs[1:] + runs[:1], strict=True):
        assert before[-1].tolist() == after[0].tolist()


def test_what_is_left_over_lies_inside() -> None:
    """A slit from within the outline is no part of it, though it is drawn first."""
    slit = Path.polyline(np.array([[20.0, 20.0], [30.0, 30.0]]))
    assert sorted(part.index for part in ring_of_paths([slit, *EDGES], 2)) == [1, 2, 3, 4, 5]


def test_a_gap_is_told_with_its_place_and_width() -> None:
    """One edge ends 8 mm short."""
    short = Path.polyline(np.array([[0.0, 80.0], [0.0, 8.0]]))
    with pytest.raises(RingOpen) as caught:
        ring_of_paths([*EDGES[:4], short], 0)
    assert caught.value.at == Point(0.0, 8.0)
    assert caught.value.gap == pytest.approx(8.0)


def test_the_largest_closed_path_is_found() -> None:
    """By its CLOSE, or by ending where it began; open ones don't count, however large."""
    small, large = (Path.polyline(CORNERS * size, closed=True) for size in (0.5, 1.0))
    back = Path.polyline(np.vstack([CORNERS * 2, CORNERS[:1] * 2]))
    open_one = Path.polyline(CORNERS * 9)
    assert [closes(path) for path in (small, large, back, open_one)] == [True, True, True, False]
    assert largest_closed([small, open_one, large]) is large
    assert largest_closed([small, back, open_one]) is back
    assert largest_closed([open_one]) is None
