"""A cut that meets a dart leaves it as it is: its legs, its point, its take; the amount lies beside it in the seam."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Polygon

from tests.altering.drawings import line, pattern_of, ring, through
from tests.altering.garments import path, skirt, with_dart
from tiling.altering.alter import Alteration, alter
from tiling.altering.darts import notches_of
from tiling.failures import InputUnfit
from tiling.pattern import FindingKind, Mark, Pattern, Role
from tiling.shapes.chains import chains_of

THROUGH = [164.0, 170.0, 176.0]
"""Grading lines through the left leg, the point and the right leg."""


def legs(pattern: Pattern, kind: str) -> list[float]:
    """Lengths of both legs and the take, mm, measured on the drawn lines."""
    if kind == "dart":
        (mark,) = pattern.lines(role=Role.DART)
        left, point, right = mark.path.points
    else:
        outline = pattern.lines(role=Role.CUTTING)[0].path.points
        at = int(np.argmin(np.abs(outline[:, 1] - 209) + 1e3 * (np.abs(outline[:, 0] - 180) > 60)))
        left, point, right = outline[at - 1], outline[at], outline[at + 1]
    return [float(np.hypot(*(p - q))) for p, q in ((left, point), (right, point), (left, right))]


def waist_and_hem(pattern: Pattern) -> float:
    """Length of the whole outline: sides, legs and folds keep theirs, so that it grows by what waist and hem gain."""
    return pattern.lines(role=Role.CUTTING)[0].path.length()


@pytest.mark.parametrize("kind", ["notch", "dart"])
@pytest.mark.parametrize("x", THROUGH)
@pytest.mark.parametrize("around", [48.0, -32.0])
def test_a_dart_keeps_its_shape_and_the_amount_goes_to_the_seam(kind: str, x: float, around: float) -> None:
    """Two layers: waist and hem both gain half of it, to 0.1 mm, and the legs are as drawn to 1e-6 mm."""
    before = pattern_of(with_dart(kind, x))
    outcome = alter(before, Alteration(around=around))
    assert waist_and_hem(outcome.pattern) - waist_and_hem(before) == pytest.approx(around, abs=0.1)
    assert legs(outcome.pattern, kind) == pytest.approx(legs(before, kind), abs=1e-6)
    (finding,) = outcome.findings
    assert finding.kind is FindingKind.SHAPE_KEPT_AT_CUT
    assert "the dart with its point at x = 170 mm, y = 209 mm keeps its shape" in finding.text


@pytest.mark.parametrize("kind", ["notch", "dart"])
@pytest.mark.parametrize("x", THROUGH)
@pytest.mark.parametrize("around", [48.0, -32.0])
def test_a_dart_comes_back(kind: str, x: float, around: float) -> None:
    """There and back, every point of every line is within 0.01 mm of where it was."""
    before = pattern_of(with_dart(kind, x))
    back = alter(alter(before, Alteration(around=around)).pattern, Alteration(around=-around)).pattern
    for old, new in zip(before.lines(), back.lines(), strict=True):
        if old.tag.role is not Role.GRADING:
            lines = [LineString(mark.path.flatten(0.001)[0]) for mark in (old, new)]
            assert lines[0].hausdorff_distance(lines[1]) < 0.01, old.tag.role


def test_legs_drawn_one_by_one_and_what_is_written_in_the_dart_go_with_it() -> None:
    """Two legs as two lines, a notch at either end and a plain middle line keep their places to each other."""
    marks = [mark for mark in with_dart("dart", 176.0) if mark.tag.role is not Role.DART]
    own: list[Mark] = [
        line("skirt", Role.DART, through((158, 109.5), (170, 209)), "dart"),
        line("skirt", Role.DART, through((170, 209), (182, 108)), "dart"),
        line("skirt", Role.PLAIN, through((170, 112), (170, 200))),
        line("skirt", Role.NOTCH, through((182, 108), (182, 114))),
    ]
    after = alter(pattern_of([*marks, *own]), Alteration(around=40.0)).pattern
    new = after.lines()[-len(own) :]
    shifts = [b.path.points - a.path.points for a, b in zip(own, new, strict=True) if hasattr(a, "path")]
    assert all(np.allclose(shift, shifts[0][0], atol=1e-9) for shift in shifts)


def test_the_stitching_line_opens_beside_the_dart_too() -> None:
    """A stitching line that the legs cross is straight between them as before, and longer by the amount outside."""
    before = pattern_of(with_dart("dart", 176.0, stitched=True))
    after = alter(before, Alteration(around=40.0)).pattern
    (old,), (new,) = (p.lines(role=Role.STITCHING) for p in (before, after))
    assert new.path.length() - old.path.length() == pytest.approx(20.0, abs=0.05)


@pytest.mark.parametrize(
    ("marks", "alteration"),
    [
        (
            [*with_dart("notch", 225.0), line("skirt", Role.LENGTHEN, through((90, 150), (300, 150)))],
            Alteration(longer=20.0),
        ),
        (
            [*with_dart("dart", 225.0), line("skirt", Role.LENGTHEN, through((90, 150), (300, 150)))],
            Alteration(longer=20.0),
        ),
        (
            [*with_dart("notch", 225.0)[:-1], line("skirt", Role.GRADING, through((136, 60), (336, 660)))],
            Alteration(around=20.0),
        ),
    ],
)
def test_a_line_through_both_legs_is_refused(marks: list[Mark], alteration: Alteration) -> None:
    """What to do is said: past the point, beside the dart, or into its open end."""
    with pytest.raises(InputUnfit, match=r"both legs of the dart .* x = 170 mm, y = 209 mm.*past the dart's point"):
        alter(pattern_of(marks), alteration)


def test_a_diamond_inside_moves_whole() -> None:
    """A dart with two points, cut along its length: nothing opens in it, and the outline gains all."""
    diamond = line("skirt", Role.DART, through((228, 240), (238, 320), (228, 400), (218, 320), closed=True), "dart")
    before = pattern_of([*skirt(), diamond])
    after = alter(before, Alteration(around=40.0)).pattern
    (new,) = after.lines(role=Role.DART)
    assert new.path.closed
    assert np.ptp(new.path.points - diamond.path.points, axis=0).max() < 1e-9
    bounds = [Polygon(ring(p.lines(role=Role.CUTTING)[0].path)).bounds for p in (before, after)]
    assert bounds[1][2] - bounds[0][2] == pytest.approx(20.0, abs=1e-6)


def test_a_neckline_a_vent_and_a_bay_are_no_darts() -> None:
    """A V neck turns the shoulders; a square slit has no point; a corner that stands out is none either."""
    v_neck = path((0, 20), (90, 0), (150, 170), (210, 0), (300, 20), (300, 500), (0, 500), closed=True)
    slit = path((0, 0), (140, 0), (140, 100), (160, 100), (160, 0), (300, 0), (300, 500), (0, 500), closed=True)
    beak = path((0, 0), (140, 0), (150, -100), (160, 0), (300, 0), (300, 500), (0, 500), closed=True)
    for outline in (v_neck, slit, beak):
        ((chain, _),) = chains_of(outline)
        assert not notches_of(chain, closed=True)
    dart = path((0, 0), (140, 0), (150, 100), (160, 0), (300, 0), (300, 500), (0, 500), closed=True)
    ((chain, _),) = chains_of(dart)
    assert len(notches_of(chain, closed=True)) == 1
