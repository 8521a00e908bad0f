"""The outline around a piece, and which outlines are pieces where none is named."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from tests.cloth.drafts import front, mark, pattern, rectangle
from tiling.outlines import grain_of, is_frame, outermost, piece_outline
from tiling.pattern import Line, Role
from tiling.shapes.regions import area


def test_a_short_slit_drawn_first_is_not_the_outline() -> None:
    """The ring is found from the longest line on; the slit is left out."""
    slit = mark("front", Role.CUTTING, "slit", (100, 600), (100, 640))
    outline = piece_outline(pattern([slit, *front()]), "front")
    assert outline is not None
    assert [run.name for run in outline.runs] == ["neckline", "shoulder", "armhole", "side", "hem", ""]


def test_roles_are_taken_in_the_order_asked_for() -> None:
    """A piece with stitching and plain lines only: by default it has no outline, else its stitching line is it."""
    marks = [
        mark("a", Role.PLAIN, "", (0, 0), (300, 0), (300, 300), closed=True),
        mark("a", Role.STITCHING, "", (0, 0), (200, 0), (200, 200), closed=True),
    ]
    assert piece_outline(pattern(marks), "a") is None
    outline = piece_outline(pattern(marks), "a", (Role.CUTTING, Role.STITCHING, Role.PLAIN))
    assert outline is not None
    assert area(outline.ring()) == pytest.approx(20_000)


def test_the_chain_is_the_outline_in_cubics() -> None:
    """Its segments follow each other all round."""
    outline = piece_outline(pattern(front()), "front")
    assert outline is not None
    chain = outline.chain()
    for before, after in zip(chain, chain[1:] + chain[:1], strict=True):
        assert np.abs(before[3] - after[0]).max() < 1e-9


def test_areas_within_each_other_belong_to_the_outermost() -> None:
    """Three deep, one beside them, one twice, and two that overlap: the host of each."""
    areas = [box(0, 0, 90, 90), box(10, 10, 80, 80), box(20, 20, 30, 30), box(100, 0, 120, 20), box(100, 0, 120, 20)]
    areas += [box(200, 0, 260, 60), box(250, 10, 290, 50)]
    assert outermost(areas) == [0, 0, 0, 3, 3, 5, 6]


def test_a_frame_holds_several_that_lie_apart() -> None:
    """A pocket inside a piece makes the piece no frame; two pieces make the rectangle around them one."""
    piece, pocket, other = box(10, 10, 80, 80), box(20, 20, 30, 30), box(100, 10, 150, 80)
    page = box(0, 0, 200, 100)
    assert is_frame(page, [page, piece, pocket, other])
    assert not is_frame(piece, [page, piece, pocket, other])
    assert not is_frame(page, [page, piece, pocket])


def test_the_grain_is_the_longest_shaft_pointing_down() -> None:
    """Drawn upwards, beside a shorter one."""
    lines: list[Line] = [
        mark("a", Role.GRAINLINE, "", (10, 50), (10, 90)),
        mark("a", Role.GRAINLINE, "", (40, 300), (40, 100)),
        mark("a", Role.CUTTING, "", (0, 0), (0, 900)),
    ]
    grain = grain_of(lines)
    assert grain is not None
    assert (grain.start.y, grain.end.y, grain.start.x) == (100.0, 300.0, 40.0)
    assert grain_of(lines[2:]) is None


def test_a_closed_line_inside_an_outline_of_several_lines_is_no_outline() -> None:
    """A slot in a piece drawn edge by edge; lines along a closed outline leave that the outline."""
    edges = rectangle("a", 200, 300)
    slot = mark("a", Role.CUTTING, "slot", (50, 50), (90, 50), (90, 150), (50, 150), closed=True)
    found = piece_outline(pattern([slot, *edges]), "a")
    assert found is not None
    assert [run.name for run in found.runs] == ["top", "right", "bottom", "left"]
    whole = mark("a", Role.CUTTING, "whole", (0, 0), (200, 0), (200, 300), (0, 300), closed=True)
    for lines in ([whole, *edges], [whole, *edges[:2]]):
        found = piece_outline(pattern(lines), "a")
        assert found is not None
        assert [run.name for run in found.runs] == ["whole"]
