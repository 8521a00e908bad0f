"""The grain of a piece and the way of its nap: from its arrowhead, its line, its fold, or the drawing."""

from __future__ import annotations

import numpy as np
import pytest

from tests.cloth.drafts import INK, mark, path, pattern, rectangle
from tiling.cloth.cloth_choice import ClothFold
from tiling.cloth.cutting_list import cutting_rows
from tiling.cloth.grain import GrainBasis, grain_findings, grains_of
from tiling.cloth.lay_pieces import lay_pieces
from tiling.cloth.seam_lines import SeamLines
from tiling.pattern import FindingKind, Line, Role, Tag
from tiling.shapes import Affine
from tiling.style import BLACK, Style

UP, DOWN = (100.0, 100.0), (100.0, 400.0)
"""Ends of the shaft."""


def plain(*steps: tuple[float, float], closed: bool = True) -> Line:
    """A filled shape without a role, as a marker at a line's end is read."""
    return Line(path(*steps, closed=closed), Style(fill=BLACK), Tag("panel"))


def grain(*steps: tuple[float, float], closed: bool = False) -> Line:
    """A line of the grainline."""
    return mark("panel", Role.GRAINLINE, "", *steps, closed=closed)


SHAFT = grain(UP, DOWN)
HEADS = {
    "two barbs": [SHAFT, grain((92, 112), UP), grain((108, 112), UP)],
    "one stroke over the tip": [SHAFT, grain((92, 112), UP, (108, 112))],
    "a half head": [SHAFT, grain(UP, (108, 112))],
    "drawn in one go with the shaft": [grain(DOWN, UP, (92, 112))],
    "a filled triangle at the tip": [SHAFT, plain(UP, (95, 115), (105, 115))],
    "a filled triangle before the shaft": [SHAFT, plain((100, 85), (95, 100), (105, 100))],
    "a triangle of the grainline's own": [SHAFT, grain((100, 85), (95, 100), (105, 100), closed=True)],
    "a small head": [SHAFT, grain((98, 104), UP, (102, 104))],
}
LINES = {
    "a line": [SHAFT],
    "heads at both ends": [SHAFT, grain((92, 112), UP, (108, 112)), grain((92, 388), DOWN, (108, 388))],
    "a bar across the end": [SHAFT, grain((92, 100), (108, 100))],
    "feathers beyond the end": [SHAFT, grain((92, 88), UP, (108, 88))],
    "words beside it": [SHAFT, plain((103, 240), (120, 240), (120, 246), (103, 246))],
}


def panel(lines: list[Line], turned: float = 0.0) -> list[Line]:
    """A panel, narrow at its top, with these lines; turned about its grain's middle."""
    outline = mark("panel", Role.CUTTING, "", (60, 50), (140, 50), (220, 450), (-20, 450), closed=True)
    about = Affine.shift(600, 600) @ Affine.turn(turned) @ Affine.shift(-100, -250)
    return [line.moved(about) for line in (outline, *lines)]


def taken(lines: list[Line]) -> tuple[float, GrainBasis]:
    """The way of the nap in degrees from x, and what it comes from."""
    drawing = pattern(lines)
    (found,) = grains_of(drawing, [SeamLines(drawing).outline("panel")]).values()
    way = found.line.direction
    return float(np.degrees(np.arctan2(way.y, way.x))), found.basis


@pytest.mark.parametrize("turned", [0.0, 90.0, 180.0, 217.0])
@pytest.mark.parametrize("name", HEADS)
def test_the_nap_runs_as_the_arrowhead_points(name: str, turned: float) -> None:
    """However it is drawn, and whichever way the piece lies in the drawing."""
    way, basis = taken(panel(HEADS[name], turned))
    assert basis is GrainBasis.ARROW
    assert (way - (turned - 90.0) + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("turned", [0.0, 180.0])
@pytest.mark.parametrize("name", LINES)
def test_without_one_head_the_top_of_the_drawing_comes_first(name: str, turned: float) -> None:
    """A line, or arrow both ways, does not say which; feathers and bars are no heads."""
    way, basis = taken(panel(LINES[name], turned))
    assert (way, basis) == (pytest.approx(-90.0), GrainBasis.LINE)


def test_pieces_without_a_head_run_as_those_with_one_agree() -> None:
    """Arrows that all point down: a plain line, too, is taken downwards; where they disagree, upwards."""
    down = [grain((92, 388), DOWN, (108, 388)), SHAFT]
    other = rectangle("band", 100, 300, 500, 50)
    for lines, sign in ((panel(down), 1.0), (panel(HEADS["two barbs"]), -1.0)):
        drawing = pattern([*lines, *other])
        seam_lines = SeamLines(drawing)
        found = grains_of(drawing, [seam_lines.outline("panel"), seam_lines.outline("band")])
        assert found["band"].basis is GrainBasis.LINE
        assert found["band"].line.direction.y == pytest.approx(sign)


@pytest.mark.parametrize("fold", list(ClothFold))
def test_all_arrowheads_point_the_same_way_on_the_cloth(fold: ClothFold) -> None:
    """Two like panels, one drawn upside down with its arrow: the narrow end of each lies at its arrow's end."""
    upright = panel(HEADS["two barbs"])
    upside = [
        Line(line.path.moved(Affine.shift(600, 0)), INK, Tag("other", line.tag.role))
        for line in panel(HEADS["two barbs"], 180.0)
    ]
    drawing = pattern([*upright, *upside])
    pieces = lay_pieces(SeamLines(drawing), cutting_rows(drawing), "main", fold)
    for piece in pieces:
        head = piece.ring[:, 0].min() if piece.arrow < 0 else piece.ring[:, 0].max()
        narrow = piece.ring[np.abs(piece.ring[:, 0] - head) < 1e-6]
        assert np.ptp(narrow[:, 1]) == pytest.approx(80.0)
    assert len({piece.arrow for piece in pieces}) == 1


def test_a_piece_without_a_grainline_is_a_finding_that_says_what_was_taken() -> None:
    """The fold line, or else the drawing's upright."""
    fold = [*rectangle("yoke", 100, 300)[:3], mark("yoke", Role.FOLD, "", (0, 300), (0, 0))]
    bare = rectangle("patch", 80, 90, 300)[:4]
    drawing = pattern([*fold, *bare, *rectangle("band", 40, 300, 500)])
    seam_lines = SeamLines(drawing)
    found = list(grain_findings(drawing, [seam_lines.outline(row.piece) for row in cutting_rows(drawing)]))
    assert [finding.kind for finding in found] == [FindingKind.GRAINLINE_MISSING] * 2
    assert [finding.where for finding in found] == ["piece 'yoke'", "piece 'patch'"]
    assert "its fold line" in found[0].text
    assert "the drawing's upright" in found[1].text
