"""Drawings of too many lines to be a pattern, or of too many in one place: they cost as much as is drawn."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from pathlib import Path as File

import numpy as np
import pytest

from tests.drawings import drawing_at
from tests.hostile.test_hostile_svg import MARKS, copies_in_a_piece
from tiling.pattern import Line, Tag
from tiling.planning.traces import Trace, shift_votes
from tiling.recognition.strands import rings_of, strands_of
from tiling.recognition.told import in_one_line
from tiling.recognition.understand import understood
from tiling.shapes import Path
from tiling.style import Stroke, Style


def squares(count: int) -> str:
    """So many squares of 9 cm side by side."""
    drawn = "".join(f'<path d="M{k % 40 * 100} {k // 40 * 100}h90v90h-90z"/>' for k in range(count))
    size = f'width="4000mm" height="{count // 40 * 100 + 100}mm" viewBox="0 0 4000 {count // 40 * 100 + 100}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}><g fill="none" stroke="black">{drawn}</g></svg>'


def peak_of(work: Callable[[], object]) -> int:
    """The most memory that it takes at once, bytes."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_a_thousand_outlines_are_no_pieces(tmp_path: File) -> None:
    """Nor is each looked through as if it were one."""
    file = tmp_path / "chart.svg"
    file.write_text(squares(1000), encoding="utf-8")
    pattern = drawing_at(file)
    seen = understood(pattern)
    assert not seen.pieces
    assert not pattern.pieces
    assert in_one_line(seen) == "1000 closed outlines, more than a pattern has pieces, so none is taken for one"


def test_as_many_as_a_large_pattern_has_are(tmp_path: File) -> None:
    """Two hundred are."""
    file = tmp_path / "many.svg"
    file.write_text(squares(200), encoding="utf-8")
    assert len(understood(drawing_at(file)).pieces) == 200


def test_copies_of_one_line_cost_as_much_as_as_many_lines() -> None:
    """Two thousand lines that begin in one place are not compared each with each: four million pairs take 400 MB."""
    line = Line(Path.polyline(np.array([(5.0, 5.0), (50.0, 80.0)])), Style(stroke=Stroke(0.5)), Tag())
    strands = strands_of([line] * 2000)
    assert peak_of(lambda: rings_of(strands)) < 20e6


@pytest.mark.parametrize("mark", MARKS)
def test_copies_in_one_place_of_a_piece_cost_as_much_as_as_many_lines(tmp_path: File, mark: str) -> None:
    """Five hundred of any mark: not each with each, neither when they are understood nor when two are compared."""
    file = tmp_path / "copies.svg"
    file.write_text(copies_in_a_piece(mark, 8), encoding="utf-8")
    pattern = drawing_at(file)
    traces = [Trace("line", "piece", "", mark.path) for mark in pattern.marks if isinstance(mark, Line)]
    assert peak_of(lambda: understood(pattern)) < 20e6
    assert peak_of(lambda: shift_votes(traces, traces)) < 5e6


def test_ends_that_nearly_meet_are_one_place_wherever_they_lie() -> None:
    """Four lines make a ring with gaps of less than 0.5 mm at its corners, and none with one of more."""
    random = np.random.default_rng(7)
    for _ in range(100):
        x, y = random.uniform(0.0, 10.0, 2)
        for gap, count in ((0.45, 1), (0.55, 0)):
            corners = [(x, y), (x + 90.0, y), (x + 90.0, y + 90.0), (x, y + 90.0)]
            sides = [Path.polyline(np.array([corners[k], corners[(k + 1) % 4]])) for k in range(4)]
            sides[0] = Path.polyline(np.array([corners[0], (corners[1][0] - gap, y)]))
            strands = strands_of([Line(side, Style(stroke=Stroke(0.5)), Tag()) for side in sides])
            assert len(rings_of(strands)) == count
