"""Where seams are measured: drawn stitching lines first, else the cutting line less its allowance."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from scipy.integrate import quad
from shapely import LineString, Polygon

from calibrate.run import Cancelled, Run
from tests.cloth.drafts import NOTES, front, mark, pattern, rectangle, smock
from tiling.cloth.hollowing import inset_by_subtraction
from tiling.cloth.seam_lines import Basis, LineLengths, SeamLines
from tiling.failures import InputUnfit
from tiling.notes import LineRef, Notes, PieceNote
from tiling.pattern import Role
from tiling.shapes import curves
from tiling.shapes.curves import Array
from tiling.shapes.offset import OffsetEdge


def arc_length(cubic: Array) -> float:
    """Reference: scipy's adaptive quadrature of the Bézier's speed."""

    def speed(t: float) -> float:
        return hypot(*curves.derivative(cubic, t))

    return float(quad(speed, 0.0, 1.0, epsabs=1e-10, limit=200)[0])


def test_a_drawn_stitching_line_is_measured_as_drawn() -> None:
    """The sleeve cap, against scipy's numerical integration of its two Béziers."""
    cap = SeamLines(smock()).line(LineRef("sleeve", "cap"))
    assert cap.basis is Basis.STITCHING
    assert cap.length == pytest.approx(sum(arc_length(c) for c in cap.path.cubics()), abs=1e-6)


def test_a_worked_out_stitching_line_has_the_length_of_shapelys_offset() -> None:
    """The armhole 15 mm in from its cutting line, trimmed at both ends: against shapely's mitred buffer."""
    seam_lines = SeamLines(smock(replace(NOTES, pieces={"front": PieceNote("front", seam_allowance=15.0)})))
    line = seam_lines.line(LineRef("front", "armhole"))
    assert line.basis is Basis.OFFSET
    assert line.length == pytest.approx(sum(arc_length(c) for c in line.path.cubics()), abs=1e-6)
    # The fold has no allowance: widen the piece beyond it before taking 15 mm off all round.
    ring = seam_lines.outline("front").ring(5e-4)
    mirrored = Polygon(np.vstack([ring, ring[::-1] * (-1.0, 1.0)])).buffer(1e-6)
    inner = mirrored.buffer(-15.0, join_style="mitre", mitre_limit=10)
    armhole = LineString(seam_lines.pattern.lines("front", Role.CUTTING, "armhole")[0].path.flatten(1e-3)[0])
    near = inner.exterior.intersection(armhole.buffer(15.02, cap_style="flat"))
    right = [part for part in getattr(near, "geoms", [near]) if part.bounds[0] > 0]
    assert line.length == pytest.approx(sum(part.length for part in right), abs=0.5)
    drawn = LineString(line.path.flatten(1e-3)[0])
    assert max(inner.exterior.distance(LineString([p, p])) for p in drawn.coords) < 0.01


def test_allowances_by_line_come_before_the_seam_allowance() -> None:
    """A hem of 30 mm where the rest has 15: the side seam ends 30 mm above the hem's cutting line."""
    side = SeamLines(smock()).line(LineRef("front", "side"))
    assert side.path.points[:, 1].max() == pytest.approx(740 - 30, abs=1e-6)


def test_an_unnamed_stitching_outline_is_read_beside_the_named_cutting_lines() -> None:
    """Stitching drawn as one rectangle: its right edge is the seam of the cutting line named right."""
    lines = [*rectangle("pocket", 160, 180)]
    lines.append(mark("pocket", Role.STITCHING, "", (10, 12), (150, 12), (150, 170), (10, 170), closed=True))
    found = SeamLines(pattern(lines)).line(LineRef("pocket", "right"))
    assert found.basis is Basis.STITCHING
    assert found.length == pytest.approx(158.0)


@pytest.mark.parametrize("top", [0.0, 5000.0])
def test_stitching_with_a_gap_is_not_closed_up_wherever_it_lies(top: float) -> None:
    """Two lines 0.02 mm apart stay two, at 5 m as at the sheet's corner: nothing of them moves."""
    lines = rectangle("pocket", 160, 180, 0, top)
    for y0, y1 in ((12.0, 90.0), (90.02, 170.0)):
        lines.append(mark("pocket", Role.STITCHING, "", (150, top + y0), (150, top + y1)))
    found = SeamLines(pattern(lines)).line(LineRef("pocket", "right"))
    assert len(found.path.subpaths()) == 2
    assert found.length == pytest.approx(157.98, abs=1e-9)


def test_without_an_allowance_the_cutting_line_is_measured_and_named_as_such() -> None:
    """No notes at all."""
    found = SeamLines(smock(None)).line(LineRef("front", "side"))
    assert found.basis is Basis.CUTTING
    assert found.length == pytest.approx(hypot(10, 515))


def test_a_placement_line_is_measured_as_drawn() -> None:
    """The bust level."""
    assert SeamLines(smock()).line(LineRef("front", "bust")).basis is Basis.DRAWN


def test_a_line_that_is_not_there_is_refused_with_the_nearest_right_word() -> None:
    """A slip of one letter."""
    with pytest.raises(InputUnfit, match=r"smock.toml: the line 'front.armhloe' .* did you mean 'front.armhole'"):
        SeamLines(smock()).line(LineRef("front", "armhloe"))


def test_an_allowance_for_a_line_that_is_not_there_is_refused() -> None:
    """The notes say hemm."""
    notes = Notes(pieces={"front": PieceNote("front", seam_allowance=10.0, allowances={"hemm": 30.0})}, file="x.toml")
    with pytest.raises(InputUnfit, match=r"x.toml, pieces.front allowances: .*'hemm'; did you mean 'hem'"):
        SeamLines(smock(notes)).line(LineRef("front", "side"))


def test_an_outline_with_a_notch_cut_into_it_still_gets_a_stitching_line() -> None:
    """A V notch 5 mm deep under an allowance of 10 mm: its edges vanish, and the seam goes round it."""
    steps = [(0, 0), (95, 0), (100, 5), (105, 0), (200, 0)]
    lines = [
        mark("yoke", Role.CUTTING, "top", *steps),
        mark("yoke", Role.CUTTING, "right", (200, 0), (200, 120)),
        mark("yoke", Role.CUTTING, "bottom", (200, 120), (0, 120)),
        mark("yoke", Role.CUTTING, "left", (0, 120), (0, 0)),
    ]
    notes = Notes(pieces={"yoke": PieceNote("yoke", seam_allowance=10.0)})
    top = SeamLines(pattern(lines, notes)).line(LineRef("yoke", "top"))
    assert top.basis is Basis.OFFSET
    assert 180.0 < top.length < 190.0
    assert SeamLines(pattern(lines, notes)).line(LineRef("yoke", "right")).length == pytest.approx(100.0, abs=0.02)


def test_an_allowance_wider_than_the_piece_is_refused() -> None:
    """A strap of 15 mm with 10 mm on either side."""
    notes = Notes(pieces={"strap": PieceNote("strap", seam_allowance=10.0)}, file="strap.toml")
    with pytest.raises(InputUnfit, match=r"Test smock, piece 'strap': no stitching line can be worked out"):
        SeamLines(pattern(rectangle("strap", 300, 15), notes)).line(LineRef("strap", "top"))


def test_hollowing_and_offsetting_agree_where_both_can() -> None:
    """Two ways to the stitching line of the front: each named line to 0.05 mm (corners that point in are rounded)."""
    outline = SeamLines(smock()).outline("front")
    edges = [OffsetEdge(run.path, 0.0 if run.on_fold else 8.0) for run in outline.runs]
    seam_lines = SeamLines(smock(replace(NOTES, pieces={"front": PieceNote("front", seam_allowance=8.0)})))
    for path, run in zip(inset_by_subtraction(edges), outline.runs, strict=True):
        if run.name in {"neckline", "hem", "side"}:
            assert path.length() == pytest.approx(seam_lines.line(LineRef("front", run.name)).length, abs=0.2), run.name


def test_lengths_by_name_hold_every_named_line_and_no_other() -> None:
    """What the rules may name."""
    lengths = LineLengths(SeamLines(smock()))
    assert "front.armhole" in lengths
    assert "front.armhloe" not in lengths
    assert len(list(lengths)) == len(lengths)
    with pytest.raises(KeyError):
        lengths["front.armhloe"]


def test_the_front_of_the_drafts_is_the_front_that_was_meant() -> None:
    """A check of the test data: the fold lies at x = 0 and nothing lies left of it."""
    assert min(float(line.path.points[:, 0].min()) for line in front()) == 0.0


def test_a_piece_too_narrow_in_the_middle_keeps_its_larger_part() -> None:
    """A tie of two lobes with a neck of 12 mm under an allowance of 10 mm: what lies in the lost lobe is refused."""
    corners = [(0, 0), (200, 0), (200, 44), (300, 44), (300, 20), (400, 20), (400, 80), (300, 80), (300, 56), (200, 56)]
    ring = [*corners, (200, 100), (0, 100), (0, 0)]
    names = ["top", "a", "b", "c", "d", "end", "e", "f", "g", "h", "bottom", "left"]
    lines = [mark("tie", Role.CUTTING, name, ring[i], ring[i + 1]) for i, name in enumerate(names)]
    seam_lines = SeamLines(pattern(lines, Notes(pieces={"tie": PieceNote("tie", seam_allowance=10.0)})))
    assert seam_lines.line(LineRef("tie", "top")).length == pytest.approx(180.0, abs=0.02)
    with pytest.raises(InputUnfit, match=r"nothing of the line 'tie.end' is left"):
        seam_lines.line(LineRef("tie", "end"))


def test_measuring_ends_when_it_is_called_off() -> None:
    """Before a line is measured, and while an outline is moved inwards."""
    answers = iter([False, False, True])
    lines = SeamLines(smock(), Run(cancelled=lambda: next(answers, True)))
    with pytest.raises(Cancelled):
        lines.line(LineRef("front", "side"))
    with pytest.raises(Cancelled):
        SeamLines(smock(), Run(cancelled=lambda: True)).line(LineRef("front", "side"))
    assert SeamLines(smock(), Run(cancelled=lambda: False)).line(LineRef("front", "side")).length == pytest.approx(
        SeamLines(smock()).line(LineRef("front", "side")).length, abs=1e-12
    )
