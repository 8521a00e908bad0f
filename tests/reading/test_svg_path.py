"""Path data, arcs and transforms: every line lies where the source says, to 0.01 mm and better."""

from __future__ import annotations

import cmath
from itertools import pairwise
from math import cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tiling.failures import InputUnfit
from tiling.pattern import FindingKind
from tiling.reading.svg_path import parse_path, parse_transform
from tiling.shapes import Point, curves

small = st.floats(-400, 400).map(lambda v: round(v, 3))


def sampled(data: str, n: int = 25) -> np.ndarray:
    """Points along every segment of the path."""
    path, wrong = parse_path(data)
    assert wrong == ""
    return np.vstack([curves.evaluate(cubic, np.linspace(0, 1, n)) for cubic in path.cubics()])


@pytest.mark.parametrize("radius", [0.5, 10.0, 500.0, 5000.0])
def test_a_circle_is_round_to_a_thousandth_of_a_millimetre(drawn, radius):
    """A single cubic per quarter would be 0.14 mm off at 500 mm; the circle of 5 m is as round as the small one."""
    view = f'width="{2 * radius}mm" height="{2 * radius}mm" viewBox="0 0 {2 * radius} {2 * radius}"'
    body = f'<circle cx="{radius}" cy="{radius}" r="{radius}" stroke="#000"/>'
    pattern = drawn(f'<svg xmlns="http://www.w3.org/2000/svg" {view}>{body}</svg>', whole=True)
    points = np.vstack([curves.evaluate(c, np.linspace(0, 1, 50)) for c in pattern.marks[0].path.cubics()])
    off = np.abs(np.hypot(*(points - radius).T) - radius)
    assert off.max() < 0.001
    assert pattern.marks[0].path.length() == pytest.approx(2 * pi * radius, abs=0.005)


def ellipse_by_centre(rx, ry, turn, large, sweep, chord):
    """SVG 2, appendix B.2.4, worked with complex numbers: centre, radii, start angle and sweep of an arc from 0."""
    spin = cmath.exp(-1j * radians(turn))
    half = -chord * spin / 2
    grow = (half.real / rx) ** 2 + (half.imag / ry) ** 2
    if grow > 1:
        rx, ry = rx * grow**0.5, ry * grow**0.5
        grow = 1.0
    factor = (1 / grow - 1) ** 0.5 * (-1 if large == sweep else 1)
    inner = complex(factor * rx * half.imag / ry, -factor * ry * half.real / rx)
    start = cmath.phase(complex((half.real - inner.real) / rx, (half.imag - inner.imag) / ry))
    end = cmath.phase(complex((-half.real - inner.real) / rx, (-half.imag - inner.imag) / ry))
    turned = (end - start) % (2 * pi)
    return inner / spin + chord / 2, rx, ry, start, turned if sweep else turned - 2 * pi


@settings(deadline=None, max_examples=150)
@given(st.floats(1, 300), st.floats(1, 300), st.floats(-360, 360), st.booleans(), st.booleans(), small, small)
def test_an_arc_follows_its_ellipse(rx, ry, turn, large, sweep, x, y):
    """Every sampled point satisfies the ellipse's equation, and the middle of the arc is on the right side."""
    assume(abs(complex(x, y)) > 1)
    centre, rx, ry, start, swept = ellipse_by_centre(rx, ry, turn, large, sweep, complex(x, y))
    assume(0.01 < abs(swept) < 2 * pi - 0.01)
    data = f"M0 0A{rx} {ry} {turn} {int(large)} {int(sweep)} {x} {y}"
    points = sampled(data)
    spin = cmath.exp(-1j * radians(turn))
    for px, py in points:
        local = (complex(px, py) - centre) * spin
        radial = abs(complex(local.real / rx, local.imag / ry)) - 1
        assert abs(radial) * min(rx, ry) < 0.002
    middle = start + swept / 2
    wanted = complex(rx * cos(middle), ry * sin(middle)) / spin + centre
    assert min(abs(complex(px, py) - wanted) for px, py in sampled(data, 401)) < 0.02 * max(rx, ry)
    assert points[-1] == pytest.approx([x, y], abs=1e-12)


def test_radii_too_small_are_scaled_up():
    """SVG 2, appendix B.2.5: the arc becomes a half circle on its chord."""
    points = sampled("M0 0A1 1 0 0 1 20 0")
    assert points[:, 1].min() == pytest.approx(-10.0, abs=1e-3)


@pytest.mark.parametrize(
    ("data", "end"),
    [
        ("M10-20L.5.5", (0.5, 0.5)),
        ("M0 0a25,25-30 01 50-25", (50.0, -25.0)),
        ("M0 0a25,25-30 0150-25", (50.0, -25.0)),
        ("m5 5 1 1 1 1", (7.0, 7.0)),
        ("M0 0H10V20h-5v-5", (5.0, 15.0)),
        ("M0,0 1e1,1E1", (10.0, 10.0)),
        ("M0 0 10 0 10 10zl1 1", (1.0, 1.0)),
        ("M0 0q10 0 10 10t10 10", (20.0, 20.0)),
        ("M0 0c0 5 5 10 10 10s10-5 10-10", (20.0, 0.0)),
    ],
)
def test_numbers_may_touch_and_runs_go_on(data, end):
    """The grammar of SVG 2, section 9.3.9, in the forms that programs write to save room."""
    assert sampled(data)[-1] == pytest.approx(end, abs=1e-12)


def test_quadratics_are_raised_exactly():
    """B(t) = (1-t)²·P0 + 2t(1-t)·P1 + t²·P2, and T mirrors the control point."""
    points = sampled("M0 0Q10 30 40 0T80 0", 5)
    t = np.linspace(0, 1, 5)[:, None]
    first = 2 * t * (1 - t) * [10, 30] + t**2 * [40, 0]
    second = (1 - t) ** 2 * [40, 0] + 2 * t * (1 - t) * [70, -30] + t**2 * [80, 0]
    assert points == pytest.approx(np.vstack([first, second]), abs=1e-12)


def test_a_smooth_cubic_mirrors_only_after_a_cubic():
    """After any other step S begins with its current point (SVG 2, section 9.3.6)."""
    path, _ = parse_path("M0 0L10 0S20 10 30 0S50 -10 60 0")
    cubics = list(path.cubics())
    assert cubics[1][1].tolist() == [10.0, 0.0]
    assert cubics[2][1].tolist() == [40.0, -10.0]


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(small, small), min_size=2, max_size=30))
def test_relative_and_absolute_steps_meet(points):
    """The same outline written both ways."""
    absolute = "M" + "L".join(f"{x} {y}" for x, y in points)
    steps = [(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in pairwise(points)]
    relative = f"m{points[0][0]} {points[0][1]}" + "".join(f"l{x!r},{y!r}" for x, y in steps)
    assert parse_path(relative)[0].points == pytest.approx(parse_path(absolute)[0].points, abs=1e-9)


def test_a_very_long_run_is_read_whole():
    """More numbers than are taken at once."""
    path, wrong = parse_path("M0 0l" + "1 1 1 -1 " * 20_000 + "c" + "0 1 1 1 2 0 " * 10_000)
    assert (wrong, len(path.ops)) == ("", 1 + 40_000 + 10_000)
    assert path.points[-1].tolist() == [60_000.0, 0.0]


def test_broken_path_data_is_drawn_up_to_the_fault_and_reported(drawn):
    """SVG 2, section 9.5.4; and the finding says which line."""
    pattern = drawn('<path id="hem" stroke="#000" d="M10 10L20 20 30 X 5"/><path stroke="#000" d="L5 5"/>')
    assert pattern.marks[0].path.points.tolist() == [[10.0, 10.0], [20.0, 20.0]]
    assert [f.kind for f in pattern.findings] == [FindingKind.CONTENT_REPAIRED] * 2
    assert 'id="hem"' in pattern.findings[0].where


@pytest.mark.parametrize(
    "data",
    [
        "M0 0L1e300 5",
        "M0 0Lnan 5",
        "M0 0L1e999 5",
        "M0 0L-inf 5",
        "M0 0L1e9 1e9",
        "M0 0A1e200 1 0 0 1 5 5",
        "M0 0A1 1 0 0 1 1e400 5",
    ],
)
def test_coordinates_out_of_this_world_are_refused_by_name(drawn, data):
    """The message names the file, the line and the element."""
    with pytest.raises(InputUnfit, match=r'drawing\.svg: line 1 <path id="hem">: .*(finite|farther out)'):
        drawn(f'<path id="hem" stroke="#000" d="{data}"/>')


@pytest.mark.parametrize(
    "body",
    ['<circle id="c" r="1e400" stroke="#000"/>',
     '<g transform="scale(1e200)"><path id="c" stroke="#000" d="M1 1L2 2"/></g>',
     '<text id="c" x="1e300">a</text>', '<text id="c" font-size="1e200">a</text>',
     '<g id="c" transform="matrix(1 0 0 nan 0 0)"/>', '<polyline id="c" points="0,0 inf,3"/>'],
)  # fmt: skip
def test_so_are_sizes_and_transforms(drawn, body):
    """Wherever the number hides."""
    with pytest.raises(InputUnfit, match='id="c"'):
        drawn(body)


@pytest.mark.parametrize(
    ("text", "image"),
    [
        # SVG 2, section 8.4, definitions of the transform functions; the image of the point (10, 0).
        ("translate(3,4)", (13, 4)),
        ("translate(3)", (13, 0)),
        ("scale(2)", (20, 0)),
        ("scale(2 3)", (20, 0)),
        ("rotate(90)", (0, 10)),
        ("rotate(90 10 10)", (20, 10)),
        ("skewY(45)", (10, 10)),
        ("skewX(45)", (10, 0)),
        ("matrix(1 2 3 4 5 6)", (15, 26)),
        ("translate(5 0) , rotate(90)", (5, 10)),
        ("rotate(90)translate(5 0)", (0, 15)),
        ("translate(3px, 4px) rotate(0deg)", (13, 4)),
    ],
)
def test_transforms_move_points_as_defined(text, image):
    """Lists apply from the right."""
    move = parse_transform(text)
    assert move is not None
    moved = move.point(Point(10, 0))
    assert (moved.x, moved.y) == pytest.approx(image, abs=1e-12)


@pytest.mark.parametrize("text", ["spin(3)", "rotate(1,2)", "translate(", "matrix(1 2 3)", "rotate"])
def test_an_unreadable_transform_moves_nothing_and_is_reported(drawn, text):
    """Not guessed at."""
    pattern = drawn(f'<path stroke="#000" transform="{text}" d="M1 1L2 2"/>')
    assert pattern.marks[0].path.points[0].tolist() == [1.0, 1.0]
    assert pattern.findings[0].kind is FindingKind.CONTENT_REPAIRED


@pytest.mark.parametrize(
    ("shape", "box", "length"),
    [
        ('<rect x="10" y="20" width="30" height="40"/>', (10, 20, 40, 60), 140.0),
        ('<rect x="10" y="20" width="30" height="40" rx="5"/>', (10, 20, 40, 60), 140 - 40 + 10 * pi),
        ('<rect x="10" y="20" width="30" height="40" rx="500"/>', (10, 20, 40, 60), None),
        ('<ellipse cx="50" cy="50" rx="30" ry="10"/>', (20, 40, 80, 60), None),
        ('<line x1="5" y1="6" x2="10%" y2="50%"/>', (5, 6, 10, 50), None),
        ('<polygon points="0,0 10,0 10,10"/>', (0, 0, 10, 10), 20 + 200**0.5),
        ('<polyline points="0,0 10,0 10,10"/>', (0, 0, 10, 10), 20.0),
        ('<circle style="cx:50px;cy:50px;r:10px"/>', (40, 40, 60, 60), 20 * pi),
    ],
)
def test_basic_shapes_have_their_outlines(drawn, shape, box, length):
    """SVG 2, chapter 10; lengths by school geometry."""
    pattern = drawn(f'<g stroke="#000">{shape}</g>')
    path = pattern.marks[0].path
    bounds = path.bounds()
    assert (bounds.x0, bounds.y0, bounds.x1, bounds.y1) == pytest.approx(box, abs=1e-3)
    if length is not None:
        assert path.length() == pytest.approx(length, abs=1e-3)
