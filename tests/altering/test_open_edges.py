"""Outlines drawn as open lines that meet, frames of a page, bent lines to cut along."""

from __future__ import annotations

import pytest

from tests.altering.drawings import line, pattern_of, rectangle, through
from tests.altering.garments import path
from tiling.altering.alter import Alteration, alter
from tiling.failures import InputUnfit
from tiling.pattern import Line, Mark, Pattern, Role
from tiling.reading.roles import with_roles
from tiling.shapes import Path, Point
from tiling.shapes.straights import Straight


def plain(shape: Path) -> Line:
    """A line of no piece and no role."""
    return line("", Role.PLAIN, shape)


def box(x0: float, y0: float, x1: float, y1: float) -> Line:
    """A rectangle of no piece."""
    return plain(through((x0, y0), (x1, y0), (x1, y1), (x0, y1), closed=True))


def upright(x: float) -> Alteration:
    """20 mm more at an upright line."""
    return Alteration(around=20.0, cut_lines=(Straight(Point(x, 90), Point(x, 710)),))


HALVES = [
    plain(through((300, 100), (100, 100), (100, 700), (300, 700))),
    plain(path((300, 100), (500, 100), (500, 700), (300, 700))),
]


def extents(pattern: Pattern) -> list[tuple[float, float]]:
    """From where to where each line reaches across."""
    return [(bounds.x0, bounds.x1) for mark in pattern.lines() if (bounds := mark.path.bounds())]


def test_a_page_frame_is_no_part_of_the_piece_in_its_middle() -> None:
    """A frame and a long base line stay; only the piece grows, by its 20 mm."""
    base = plain(through((20, 650), (800, 650)))
    before = pattern_of([box(10, 10, 810, 790), box(40, 100, 240, 700), box(300, 100, 500, 700), base])
    assert {piece.ident: piece.marks for piece in with_roles(before).pieces} == {"piece-1": (1,), "piece-2": (2,)}
    after = alter(before, upright(400.0)).pattern
    for index in (0, 1, 3):
        assert extents(after)[index] == extents(before)[index]
    x0, x1 = extents(after)[2]
    assert x1 - x0 == pytest.approx(220.0)


@pytest.mark.parametrize("x", [250.0, 300.0, 300.4, 380.0])
def test_two_open_lines_that_touch_are_an_outline(x: float) -> None:
    """Also with a closed pocket inside, which is no piece; and where the cut runs through the place where they meet."""
    before = pattern_of([*HALVES, box(340, 300, 420, 400)])
    after = alter(before, upright(x)).pattern
    edges = extents(after)[:2]
    assert max(e[1] for e in edges) - min(e[0] for e in edges) == pytest.approx(420.0)
    assert abs(edges[0][1] - edges[1][0]) < 1e-6
    back = alter(after, Alteration(around=-20.0)).pattern
    assert extents(back)[:3] == [pytest.approx(e, abs=0.01) for e in extents(before)]


def test_a_named_piece_may_be_drawn_so_too() -> None:
    """Two cutting lines that meet around a closed slit."""
    marks: list[Mark] = [line("p", Role.CUTTING, half.path) for half in HALVES]
    slit = line("p", Role.CUTTING, through((180, 300), (190, 300), (190, 400), (180, 400), closed=True))
    marks += [slit, line("p", Role.GRAINLINE, through((150, 200), (150, 600)))]
    marks.append(line("p", Role.GRADING, through((400, 90), (400, 710))))
    after = alter(pattern_of(marks), Alteration(around=20.0)).pattern
    assert extents(after)[1] == pytest.approx((300.0, 520.0))


def test_lines_that_leave_a_gap_are_none() -> None:
    """3 mm between the ends."""
    apart = plain(path((303, 100), (500, 100), (500, 700), (303, 700)))
    with pytest.raises(InputUnfit, match="no piece is found"):
        alter(pattern_of([HALVES[0], apart]), upright(400.0))


def test_a_bent_line_to_cut_along_is_refused() -> None:
    """By how much it bends is said; what a hand trembles is let pass."""
    marks = [mark for mark in rectangle() if mark.tag.role is not Role.GRADING]
    bent = line("panel", Role.GRADING, through((250, 95), (265, 400), (250, 705)), "width")
    with pytest.raises(InputUnfit, match=r"bends by 15 mm .* draw the line straight"):
        alter(pattern_of([*marks, bent]), Alteration(around=20.0))
    trembling = line("panel", Role.GRADING, through((250, 95), (250.6, 400), (250, 705)), "width")
    after = alter(pattern_of([*marks, trembling]), Alteration(around=20.0)).pattern
    assert extents(after)[0] == pytest.approx((100.0, 310.0))
