"""The map from page to picture: lens, bend, fit, and what it leaves open. Checked against OpenCV."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.bend import Bend
from calibrate.camera import NAMES, Mapping, rotation
from calibrate.fit import Lens, Points, fit_mapping, lens_of
from calibrate.target import make_target

FRAME = (4000, 3000)
PAGE = np.array([[s.x, s.y] for s in make_target(210.0, 297.0).saddles])
MIDDLE = (105.0, 148.5)


def mapping(**values: float) -> Mapping:
    """A mapping of a page seen from 400 mm, leaning a little, with the values given."""
    usual = {"turn_x": 0.25, "turn_y": -0.1, "turn_z": 0.1, "shift_z": 420.0, "log_focal": np.log(3000.0)}
    vector = np.zeros(len(NAMES))
    for name, value in (usual | values).items():
        vector[NAMES.index(name)] = value
    return Mapping(vector, MIDDLE, FRAME)


def test_flat_page_is_seen_as_opencv_sees_it() -> None:
    """Pose, focal length and Brown's four lens terms agree with cv2.projectPoints to a millionth of a pixel."""
    found = mapping(k1=0.08, k2=-0.05, p1=0.002, p2=-0.001, shift_x=12.0)
    matrix = np.array([[3000.0, 0, 1999.5], [0, 3000.0, 1499.5], [0, 0, 1]])
    world = np.column_stack([PAGE - MIDDLE, np.zeros(len(PAGE))])
    lens = np.array([0.08, -0.05, 0.002, -0.001])
    theirs, _ = cv2.projectPoints(world, found.values[:3], found.values[3:6], matrix, lens)
    assert np.abs(found.project(PAGE) - theirs.reshape(-1, 2)).max() < 1e-6


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-2.0, 2.0), min_size=3, max_size=3))
def test_rotation_is_opencv_s(turn: list[float]) -> None:
    """Rodrigues' formula gives the matrix that cv2.Rodrigues gives."""
    theirs, _ = cv2.Rodrigues(np.array(turn))
    assert np.abs(rotation(np.array(turn)) - theirs).max() < 1e-9


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.0, 3.14), st.floats(-8e-4, 8e-4), st.floats(-4e-6, 4e-6),
    st.floats(-140, 140), st.floats(-90, 90), st.floats(0.0, 3.14),
)  # fmt: skip
def test_a_bent_sheet_does_not_stretch(
    direction: float, c0: float, c1: float, x: float, y: float, towards: float
) -> None:
    """A step of a hundredth of a mm on the unrolled sheet is as long on the bent one, whichever way it goes."""
    bend = Bend(direction, c0, c1, 0.0)
    step = 0.01 * np.array([np.cos(towards), np.sin(towards)])
    ends = bend.raised(np.array([[x, y] - step / 2, [x, y] + step / 2]))
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(0.01, rel=2e-5)


def test_a_parabola_rises_as_it_should() -> None:
    """Constant curvature of 2e-4 per mm lifts a point 100 mm away by 1 mm (s squared over two)."""
    raised = Bend(0.0, 2e-4).raised(np.array([[100.0, 30.0]]))
    assert raised[0] == pytest.approx([100.0 - 0.0067, 30.0, -1.0], abs=2e-3)


def noisy(true: Mapping, noise: float, seed: int = 1) -> Points:
    """The saddles as the mapping sees them, with noise in pixels."""
    rng = np.random.default_rng(seed)
    return Points(PAGE, true.project(PAGE) + rng.normal(0, noise, PAGE.shape))


def worst(one: Mapping, other: Mapping) -> float:
    """The largest distance between two mappings over the whole sheet, edges too, in pixels."""
    x, y = np.meshgrid(np.linspace(0, 210, 9), np.linspace(0, 297, 9))
    sheet = np.column_stack([x.ravel(), y.ravel()])
    return float(np.abs(one.project(sheet) - other.project(sheet)).max())


@pytest.mark.parametrize("noted", [3000.0, 3150.0, None])
def test_flat_page_is_mapped_to_the_edges_of_the_sheet(noted: float | None) -> None:
    """With a tenth of a pixel of noise the map holds to a third of one, whatever the notes say of the focal length."""
    true = mapping(k1=0.05, k2=-0.03, p1=4e-4, aspect=0.006, shear=0.002)
    fit = fit_mapping(noisy(true, 0.1), lens_of(noted, FRAME), FRAME)
    assert fit is not None
    assert not fit.bent
    assert worst(fit.mapping, true) < 0.35
    assert fit.noise == pytest.approx(0.1, rel=0.35)


@pytest.mark.parametrize("direction", [0.0, 40.0, 90.0])
def test_curl_is_found_and_undone(direction: float) -> None:
    """A sheet whose ends rise 4 mm is mapped to within half a pixel; taken as flat it is off by many."""
    true = mapping(k1=0.04, c0=3.6e-4, c1=5e-7, direction=np.radians(direction))
    points = noisy(true, 0.1)
    fit = fit_mapping(points, Lens(3030.0, 0.05), FRAME)
    flat = fit_mapping(points, Lens(3030.0, 0.05), FRAME, may_bend=False)
    assert fit is not None
    assert flat is not None
    assert fit.bent
    assert worst(fit.mapping, true) < 0.5
    assert worst(flat.mapping, true) > 3.0
    assert flat.residual > 3 * fit.residual


def test_wrong_points_lose_their_weight() -> None:
    """Five points 2 to 20 pixels off are set aside and hardly move the map."""
    true = mapping(k1=0.05)
    points = noisy(true, 0.1)
    rng = np.random.default_rng(4)
    wrong = rng.choice(len(PAGE), 5, replace=False)
    points.pixels[wrong] += rng.uniform(2, 20, (5, 2))
    fit = fit_mapping(points, Lens(3000.0, 0.05), FRAME)
    assert fit is not None
    assert not fit.used[wrong].any()
    assert fit.used.sum() >= len(PAGE) - 7
    assert worst(fit.mapping, true) < 0.5


def test_points_on_a_line_give_no_map() -> None:
    """Degenerate input gives None, not a number."""
    page = np.column_stack([np.linspace(0, 100, 10), np.zeros(10)])
    assert fit_mapping(Points(page, page * 10 + 50), Lens(3000.0, 0.05), FRAME) is None
    assert fit_mapping(Points(page[:3], page[:3]), Lens(3000.0, 0.05), FRAME) is None


def test_a_raised_plane_looks_larger_by_its_height() -> None:
    """Seen from 400 mm, a plane 0.76 mm up looks 0.76 / (400 - 0.76) larger; lowered again, as the sheet."""
    flat = mapping(turn_x=0.0, turn_y=0.0, turn_z=0.0, shift_z=400.0)
    outline = np.array([[60.0, 120.0], [150.0, 180.0]])
    top = flat.lying_on(*MIDDLE, outline, 0.76)
    span = np.array([[80.0, 148.5], [130.0, 148.5]])
    on_sheet, on_top = (np.linalg.norm(np.diff(chart.project(span), axis=0)) for chart in (flat, top))
    assert on_top / on_sheet == pytest.approx(400 / (400 - 0.76), rel=1e-9)
    assert np.abs(top.lowered(0.76).project(span) - flat.project(span)).max() < 1e-6


def test_a_card_on_a_bowl_lies_on_its_rim() -> None:
    """Over a sheet bent upwards a stiff card touches at its ends: it lies higher than its middle's paper."""
    bowl = mapping(turn_x=0.0, turn_y=0.0, turn_z=0.0, shift_z=400.0, c0=4e-4)
    ends = np.array([[105.0 - 42.8, 148.5], [105.0 + 42.8, 148.5]])
    lifted = bowl.lying_on(*MIDDLE, ends, 0.0)
    assert lifted.origin[2] == pytest.approx(400.0 - 4e-4 * 42.8**2 / 2, abs=2e-3)


def test_slant_and_pixels_are_those_of_the_pose() -> None:
    """Straight above, no slant; 20 degrees of lean are 20 degrees; pixels per mm are focal over distance."""
    above = mapping(turn_x=0.0, turn_y=0.0, turn_z=0.3, shift_z=400.0)
    assert above.slant(*MIDDLE) == pytest.approx(0.0, abs=1e-5)
    assert above.pixels_per_mm(*MIDDLE) == pytest.approx(3000 / 400, rel=1e-3)
    assert mapping(turn_x=np.radians(20), turn_y=0.0, turn_z=0.0).slant(*MIDDLE) == pytest.approx(20.0, abs=1e-3)


def test_derivatives_are_those_of_the_projection() -> None:
    """What is worked out once for several values at a time agrees with moving each value and projecting anew."""
    found = mapping(k1=0.05, p1=0.001, direction=0.4, c0=3e-4, c1=1e-6, aspect=0.01, shear=0.002)
    which, steps = np.arange(len(NAMES)), np.full(len(NAMES), 1e-7)
    derived = found.derivatives(PAGE, which, steps)
    for index in which:
        values = found.values.copy()
        values[index] += steps[index]
        direct = (replace(found, values=values).project(PAGE) - found.project(PAGE)) / steps[index]
        assert derived[index] == pytest.approx(direct, rel=1e-6, abs=1e-4)
