"""Edges after a cut as a practitioner would true them: ruled, with their corners, the allowance as it was."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path as FilePath

import numpy as np
import pytest
from scipy.integrate import quad
from shapely import LinearRing, LineString

from tests.altering.drawings import line, pattern_of, through, trapezium
from tests.altering.garments import GARMENTS, bodice, gore, path, skirt
from tests.drawings import drawing_at
from tiling.altering.alter import Alteration, alter
from tiling.pattern import Pattern, Role
from tiling.shapes import Path, curves
from tiling.shapes.chains import chains_of, direction_at_end, direction_at_start, turn_between

SMOCK = FilePath(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"
CHANGES = {
    "wider": Alteration(around=40.0),
    "narrower": Alteration(around=-30.0),
    "wider above": Alteration(around=40.0, taper=0.0),
    "longer": Alteration(longer=40.0),
    "shorter": Alteration(longer=-30.0),
    "both": Alteration(around=30.0, longer=30.0, taper=0.3),
}


def edge_of(pattern: Pattern) -> Path:
    """The cutting line."""
    return pattern.lines(role=Role.CUTTING)[0].path


def kinks(chain: Sequence[np.ndarray]) -> list[float]:
    """By how many degrees a chain turns at each of its joints."""
    return [turn_between(direction_at_end([a]), direction_at_start([b])) for a, b in pairwise(chain)]


def allowances(pattern: Pattern) -> list[np.ndarray]:
    """Along each stitching edge, 12 mm short of its ends, the distances to the cutting line (shapely)."""
    outline = LinearRing(edge_of(pattern).flatten(0.002)[0])
    found = []
    for mark in pattern.lines(role=Role.STITCHING):
        for run in mark.path.flatten(0.002):
            seam = LineString(run)
            at = np.linspace(12.0, seam.length - 12.0, 120) if seam.length > 30 else np.array([])
            found.append(np.array([outline.distance(seam.interpolate(a)) for a in at]))
    return found


@pytest.mark.parametrize("name", GARMENTS)
@pytest.mark.parametrize("change", CHANGES)
def test_the_allowance_stays_what_it_was(name: str, change: str) -> None:
    """Everywhere along every seam, to 0.3 mm, where 15, 10, 30 or 40 mm were drawn (0 mm on the fold)."""
    before = pattern_of(GARMENTS[name]())
    after = alter(before, CHANGES[change]).pattern
    for old, new in zip(allowances(before), allowances(after), strict=True):
        if len(old) and len(new) and np.ptp(old) < 0.1:
            assert np.abs(new - np.median(old)).max() < 0.3


def test_the_allowance_of_the_sample_stays() -> None:
    """The smock, wider and longer: what lay 15 mm (or 10) from the edge by its drawing still does, to 0.3 mm."""
    before = drawing_at(SMOCK)
    after = alter(before, Alteration(around=60.0, longer=30.0)).pattern
    checked = 0
    for old, new in zip(before.marks, after.marks, strict=True):
        if old.tag.role is not Role.STITCHING or old.tag.piece == "pocket":
            continue
        rings = [LinearRing(p.lines(piece=old.tag.piece, role=Role.CUTTING)[0].path.flatten(0.01)[0])
                 for p in (before, after)]  # fmt: skip
        runs = [LineString(mark.path.flatten(0.01)[0]) for mark in (old, new)]
        apart = [
            [ring.distance(run.interpolate(a)) for a in np.linspace(20.0, run.length - 20.0, 60)]
            for ring, run in zip(rings, runs, strict=True)
            if run.length > 60
        ]
        if len(apart) == 2 and np.ptp(apart[0]) < 0.05:
            assert np.abs(np.array(apart[1]) - np.median(apart[0])).max() < 0.3, old.tag.name
            checked += 1
    assert checked > 5


@pytest.mark.parametrize("longer", [30.0, -30.0])
def test_a_straight_slanting_side_is_ruled_from_corner_to_corner(longer: float) -> None:
    """Lengthened, the side of a gore is one straight line between waist and hem (common practice, no source).

    Its slant is that of its ends: 80 mm out over 600 mm and what was added.
    """
    marks = [*trapezium(), line("gore", Role.LENGTHEN, through((100, 400), (330, 400)))]
    points = edge_of(alter(pattern_of(marks), Alteration(longer=longer)).pattern).points
    assert len(points) == 4
    top, hem = (points[int(np.argmax(points @ way))] for way in (np.array([1.0, -1.0]), np.array([1.0, 1.0])))
    assert hem - top == pytest.approx((80.0, 600.0 + longer))


def test_a_straight_shoulder_is_ruled_from_neck_to_tip() -> None:
    """Spread by 20 mm on the level, a shoulder that falls 40 mm over 120 falls 40 over 140; its corner mitres anew."""
    after = alter(pattern_of(bodice()), Alteration(around=40.0)).pattern
    points = edge_of(after).points
    neck, tip = points[np.abs(points[:, 1] - 100).argmin()], points[np.abs(points - (320, 140)).sum(axis=1).argmin()]
    assert tip - neck == pytest.approx((140.0, 40.0), abs=1.5)
    between = [p for p in points if neck[0] + 1 < p[0] < tip[0] - 1 and p[1] < 150]
    assert not between


def test_a_side_that_is_straight_from_the_hip_down_is_ruled_and_the_hip_runs_into_it() -> None:
    """No S in the straight part, no kink at the hip; the hip curve is the drawn one to 0.5 mm (shapely)."""
    before = pattern_of(skirt())
    after = alter(before, Alteration(longer=40.0)).pattern
    ((chain, _),) = chains_of(edge_of(after))
    ((drawn, _),) = chains_of(edge_of(before))
    assert min(kinks(chain)) == pytest.approx(min(kinks(drawn)), abs=0.05)
    assert len(kinks(chain)) == len(kinks(drawn))
    side = [c for c in chain if c[0][0] > 300 and c[3][0] > 300 and abs(c[3][1] - c[0][1]) > 200]
    assert len(side) == 1
    hips = [LineString(curves.flatten(next(c for c in one if c[0][1] < 100 and c[0][0] > 200), 0.01))
            for one in (drawn, chain)]  # fmt: skip
    assert hips[0].hausdorff_distance(hips[1]) < 0.5


@pytest.mark.parametrize("degrees", [5.0, 8.0, 12.0, 18.0])
def test_a_slight_corner_near_the_cut_stays(degrees: float) -> None:
    """A hem that turns by a few degrees 30 mm beside the cut turns there by as much afterwards."""
    drop = float(np.tan(np.radians(degrees)) * 70)
    outline = through((100, 100), (300, 100), (300, 700), (230, 700 + drop), (100, 700 + drop), closed=True)
    marks = [
        line("p", Role.CUTTING, outline),
        line("p", Role.FOLD, through((100, 100), (100, 700 + drop))),
        line("p", Role.GRADING, through((200, 90), (200, 740))),
    ]
    for alteration in (Alteration(around=40.0, taper=0.0), Alteration(around=-30.0, taper=0.0)):
        ((chain, _),) = chains_of(edge_of(alter(pattern_of(marks), alteration).pattern))
        assert any(turn == pytest.approx(degrees, abs=1.5) for turn in kinks((*chain, chain[0]))), alteration


def test_a_curve_in_short_chords_has_no_corners_in_it() -> None:
    """A waist digitised at steps of 20 mm that turn by 4 degrees is faired as the curve that it is."""
    angles = np.radians(np.arange(-20, 21, 4))
    waist = [(250 + 280 * float(np.sin(a)), 150 - 280 * float(1 - np.cos(a))) for a in angles]
    outline = through(*waist, (345, 600), (155, 600), closed=True)
    marks = [
        line("p", Role.CUTTING, outline),
        line("p", Role.GRAINLINE, through((220, 200), (220, 500))),
        line("p", Role.GRADING, through((252, 60), (252, 620))),
    ]
    after = alter(pattern_of(marks), Alteration(around=20.0)).pattern
    ((chain, _),) = chains_of(edge_of(after))
    tops = [c for c in chain if max(c[0][1], c[3][1]) < 200]
    assert max(kinks(tops)) < 5.0


def test_an_edge_gains_what_its_cut_opens() -> None:
    """Arc lengths by scipy's quadrature: shoulder, waist and hem gain 20 mm less what truing straightens (0.3 mm)."""

    def length(cubic: np.ndarray) -> float:
        return float(quad(lambda t: float(np.hypot(*curves.derivative(cubic, t))), 0.0, 1.0)[0])

    for marks, count in ((bodice(), 2), (gore(), 2), (skirt(), 2)):
        before = pattern_of(marks)
        after = alter(before, Alteration(around=40.0)).pattern
        old, new = (sum(length(c) for chain, _ in chains_of(edge_of(p)) for c in chain) for p in (before, after))
        # The shoulder slants: 20 mm on the level are 126.5 mm grown to 145.6.
        slant = 126.491 + 20 - 145.602 if marks[0].tag.piece == "bodice" else 0.0
        assert new - old == pytest.approx(20.0 * count - slant, abs=0.3), marks[0].tag.piece


def test_the_allowance_check_sees_lines_trued_apart() -> None:
    """Moved by 0.5 mm against each other, the lines fail it."""
    before = pattern_of(gore())
    marks = [m if m.tag.role is not Role.STITCHING else line("gore", Role.STITCHING, path((268, 115), (344, 670)))
             for m in before.marks]  # fmt: skip
    apart = allowances(pattern_of(marks))[0]
    assert np.abs(apart - 15.0).max() > 0.3
