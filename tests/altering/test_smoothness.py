"""Rejoined edges run smoothly: no step, no kink, no loop, Béziers stay Béziers, straight lines stay straight."""

from __future__ import annotations

from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point

from tests.altering.drawings import half_skirt, line, pattern_of, rectangle, ring, through, trapezium
from tests.drawings import drawing_at
from tiling.altering.alter import Alteration, Matching, alter
from tiling.failures import PageseamError, UsageWrong
from tiling.pattern import Pattern, Role
from tiling.shapes import Op, Path
from tiling.shapes.chains import chains_of, direction_at_end, direction_at_start, is_straight, turn_between

SMOCK = FilePath(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"


@pytest.fixture(scope="module")
def smock() -> Pattern:
    """The sample with its notes."""
    return drawing_at(SMOCK)


def turns(path: Path, least: float = 0.5) -> list[float]:
    """Angles in degrees, above `least`, by which the path turns at its joints."""
    found = []
    for chain, closed in chains_of(path):
        joints = list(zip(chain, [*chain[1:], chain[0]] if closed else chain[1:], strict=False))
        angles = [turn_between(direction_at_end([a]), direction_at_start([b])) for a, b in joints]
        found += [angle for angle in angles if angle > least]
    return found


ALTERATIONS = {
    "wider": Alteration(around=60.0),
    "narrower": Alteration(around=-40.0),
    "wider at the armhole": Alteration(around=60.0, taper=0.0),
    "narrower at the armhole": Alteration(around=-40.0, taper=0.0),
    "longer": Alteration(longer=40.0),
    "shorter": Alteration(longer=-40.0),
    "both": Alteration(around=50.0, longer=-30.0, taper=0.3),
    "sleeve alone": Alteration(around=-30.0, pieces=("sleeve",)),
    "faired short": Alteration(around=60.0, longer=20.0, fairing=15.0),
}


@pytest.mark.parametrize("name", ALTERATIONS)
def test_no_edge_of_the_smock_gets_a_kink(smock: Pattern, name: str) -> None:
    """At a joint of a cutting or stitching line the tangent turns by less than 0.5 degrees, or it is a drawn corner.

    There are as many corners as before, each turned by as much.
    """
    after = alter(smock, ALTERATIONS[name]).pattern
    compared = 0
    for old, new in zip(smock.marks, after.marks, strict=True):
        if old.tag.role not in {Role.CUTTING, Role.STITCHING}:
            continue
        corners = [turns(mark.path, least=0.5) for mark in (old, new)]
        assert sorted(corners[1]) == pytest.approx(sorted(corners[0]), abs=0.6), f"{old.tag.piece} {old.tag.name}"
        compared += old.path is not new.path
    assert compared > 2


@pytest.mark.parametrize("name", ALTERATIONS)
def test_no_outline_of_the_smock_gets_a_loop(smock: Pattern, name: str) -> None:
    """Every cutting line stays one simple ring (shapely), without doubled ends."""
    after = alter(smock, ALTERATIONS[name]).pattern
    for mark in after.lines(role=Role.CUTTING):
        assert LinearRing(ring(mark.path)[::3]).is_simple, mark.tag.piece
        assert len(mark.path.subpaths()) == 1


@settings(max_examples=10, deadline=None)
@given(
    around=st.floats(-80, 160),
    longer=st.floats(-80, 80),
    taper=st.sampled_from([None, 0.0, 0.4, 1.0]),
    pieces=st.sampled_from([(), ("front",), ("sleeve",)]),
    matching=st.sampled_from(Matching),
)
def test_whatever_is_asked_no_kink_and_no_loop(
    smock: Pattern, around: float, longer: float, taper: float | None, pieces: tuple[str, ...], matching: Matching
) -> None:
    """Any alteration of the smock is refused with a reason, or leaves every edge smooth and every outline simple."""
    asked = Alteration(around=around, longer=longer, taper=taper, pieces=pieces, matching=matching)
    try:
        after = alter(smock, asked).pattern
    except PageseamError:
        return
    for old, new in zip(smock.marks, after.marks, strict=True):
        if old.tag.role in {Role.CUTTING, Role.STITCHING}:
            assert len(turns(new.path)) == len(turns(old.path)), f"{old.tag.piece} {old.tag.name}"
        if old.tag.role is Role.CUTTING:
            assert LinearRing(ring(new.path)[::3]).is_simple, old.tag.piece


def test_the_comparison_sees_a_kink() -> None:
    """Joined straight across without fairing, the same alteration does leave kinks."""
    skirt = pattern_of(half_skirt())
    plain = alter(skirt, Alteration(around=60.0, taper=0.0, fairing=0.0)).pattern
    faired = alter(skirt, Alteration(around=60.0, taper=0.0)).pattern
    counts = [len(turns(p.lines(role=Role.CUTTING)[0].path)) for p in (skirt, plain, faired)]
    assert counts[1] > counts[0] == counts[2]


@pytest.mark.parametrize("alteration", [Alteration(around=40.0), Alteration(around=-40.0), Alteration(longer=30.0)])
def test_straight_hems_and_folds_stay_straight(alteration: Alteration) -> None:
    """A rectangle spread in parallel, or lengthened, is a rectangle of four straight edges."""
    after = alter(pattern_of(rectangle()), alteration).pattern
    path = after.lines(role=Role.CUTTING)[0].path
    assert list(path.ops) == [Op.MOVE, Op.LINE, Op.LINE, Op.LINE, Op.CLOSE]
    fold = after.lines(role=Role.FOLD)[0].path
    assert np.allclose(fold.points[:, 0], 100.0, atol=0)


def test_beziers_stay_beziers(smock: Pattern) -> None:
    """An altered armhole is still a handful of cubics, not a polyline."""
    after = alter(smock, ALTERATIONS["wider"]).pattern
    for piece in ("front", "back"):
        (armhole,) = after.lines(piece=piece, name="armhole", role=Role.STITCHING)
        ops = list(armhole.path.ops)
        assert 2 <= ops.count(Op.CURVE) <= 5
        assert Op.LINE not in ops


def test_a_step_in_a_slanting_side_is_trued() -> None:
    """Lengthening a slanting side moves its halves apart sideways; the step is gone after fairing.

    It is faired over the length chosen; beyond that both halves are as drawn.
    """
    marks = [*trapezium(), line("gore", Role.LENGTHEN, through((100, 400), (330, 400)))]
    after = alter(pattern_of(marks), Alteration(longer=30.0, fairing=80.0)).pattern
    path = after.lines(role=Role.CUTTING)[0].path
    assert not [angle for angle in turns(path) if angle < 30]
    (chain, _), *_ = chains_of(path)
    curved = [c for c in chain if not is_straight(c)]
    assert len(curved) == 1
    reach = abs(curved[0][3] - curved[0][0])
    # 80 mm along either side, and the gap of 30 mm between them.
    assert reach[1] == pytest.approx(30 + 2 * 80 * np.cos(np.arctan(80 / 600)), abs=0.01)


def test_a_curve_keeps_its_shape_beyond_the_fairing(smock: Pattern) -> None:
    """Farther than the fairing from the cut, the armhole is the drawn curve to 0.001 mm (shapely)."""
    after = alter(smock, Alteration(around=40.0, fairing=30.0)).pattern
    (old,), (new,) = (p.lines(piece="front", name="armhole", role=Role.STITCHING) for p in (smock, after))
    drawn, altered = (mark.path.flatten(0.0001)[0] for mark in (old, new))
    # The cut lies at x = 282 mm on the sheet; the armhole is longer than it is wide, so 30 mm along is less across.
    beyond = altered[altered[:, 0] < 282.0 - 30.0]
    assert len(beyond) > 100
    curve = LineString(drawn)
    assert max(curve.distance(Point(*point)) for point in beyond) < 0.001


@pytest.mark.parametrize("around", [-390.0, -400.0])
def test_an_overlap_beyond_the_edge_is_refused(around: float) -> None:
    """An overlap of 195 mm and more would leave nothing of a piece 200 mm wide."""
    with pytest.raises(UsageWrong, match=r"inside out|pass the fold"):
        alter(pattern_of(rectangle()), Alteration(around=around))


def test_a_corner_on_the_cut_stays_a_corner() -> None:
    """A cut through a drawn corner joins it straight across and smooths nothing away."""
    marks = [m for m in rectangle() if m.tag.role is not Role.GRADING]
    marks.append(line("panel", Role.GRADING, through((250, 55), (250, 705))))
    marks[0] = line(
        "panel", Role.CUTTING, through((100, 100), (250, 60), (300, 100), (300, 700), (100, 700), closed=True)
    )
    after = alter(pattern_of(marks), Alteration(around=20.0)).pattern
    assert Op.CURVE not in list(after.lines(role=Role.CUTTING)[0].path.ops)
