"""Stitching lines from cutting lines: the true offset of Béziers, against shapely's buffer."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from tiling.shapes import Box, Path, PathBuilder
from tiling.shapes.offset import OffsetCollapsed, OffsetEdge, inset

KAPPA = 4 / 3 * tan(pi / 8)
"""Handle length of a quarter circle of radius 1 (textbook value)."""


def polygon(path: Path, tolerance: float = 5e-4) -> Polygon:
    """The filled outline, flattened finely (at 1e-4 mm, buffer of GEOS 3.14 drops part of one test outline)."""
    return Polygon(np.vstack(path.flatten(tolerance)))


def ring(paths: tuple[Path, ...]) -> Polygon:
    """The inset's edges put together."""
    points = np.vstack([line[:-1] for path in paths for line in path.flatten(1e-4)])
    return Polygon(points)


def bodice() -> list[Path]:
    """Half a bodice, clockwise from the neck: shoulder, armhole, side, hem, centre front, neckline."""
    shoulder, armhole, side, hem, centre, neck = (PathBuilder() for _ in range(6))
    shoulder.move(75, 0)
    shoulder.line(200, 45)
    armhole.move(200, 45)
    armhole.curve(180, 120, 190, 200, 260, 225)
    side.move(260, 225)
    side.curve(250, 330, 255, 420, 270, 520)
    hem.move(270, 520)
    hem.line(0, 540)
    centre.move(0, 540)
    centre.line(0, 90)
    neck.move(0, 90)
    neck.curve(45, 90, 75, 60, 75, 0)
    return [build.path() for build in (shoulder, armhole, side, hem, centre, neck)]


def closed(paths: list[Path]) -> Path:
    """The edges as one closed outline."""
    return Path.from_cubics([cubic for path in paths for cubic in path.cubics()], closed=True)


@pytest.mark.parametrize("distance", [5.0, 10.0, 15.875, 25.0])
@pytest.mark.parametrize("way", ["clockwise", "against"])
def test_the_inset_of_a_bodice_is_shapelys_negative_buffer(distance: float, way: str) -> None:
    """Mitred buffer of shapely (GEOS) on the finely flattened outline: within 0.01 mm everywhere."""
    paths = bodice()
    if way == "against":
        paths = [path.reversed() for path in paths[::-1]]
    mine = ring(inset([OffsetEdge(path, distance) for path in paths]))
    theirs = polygon(closed(paths)).buffer(-distance, join_style="mitre", mitre_limit=10)
    assert mine.is_valid
    assert mine.exterior.hausdorff_distance(theirs.exterior) < 0.01


def test_the_comparison_fails_for_a_wrong_distance() -> None:
    """A tenth of a millimetre too much is seen."""
    mine = ring(inset([OffsetEdge(path, 10.1) for path in bodice()]))
    theirs = polygon(closed(bodice())).buffer(-10.0, join_style="mitre", mitre_limit=10)
    assert mine.exterior.hausdorff_distance(theirs.exterior) > 0.09


def test_every_point_of_a_moved_curve_lies_at_the_distance_from_its_curve() -> None:
    """The definition of an offset, on the armhole away from its corners."""
    paths = bodice()
    armhole = inset([OffsetEdge(path, 12.0) for path in paths])[1]
    source = LineString(np.vstack(paths[1].flatten(1e-5)))
    line = LineString(np.vstack(armhole.flatten(1e-4)))
    for share in np.linspace(0.15, 0.85, 60):
        assert source.distance(line.interpolate(share, normalized=True)) == pytest.approx(12.0, abs=0.005)


def test_a_circle_moved_inwards_is_the_smaller_circle() -> None:
    """A closed curve without corners stays without corners; length 2πr (the Bézier circle's own error is 0.03 %)."""
    build = PathBuilder()
    r = 80.0
    build.move(r, 0)
    for quarter in range(4):
        a = quarter * pi / 2
        x, y, k = cos(a), sin(a), KAPPA
        build.curve(r * (x - k * y), r * (y + k * x), r * (-y + k * x), r * (x + k * y), r * -y, r * x)
    build.close()
    (moved,) = inset([OffsetEdge(build.path(), 30.0)])
    assert moved.length() == pytest.approx(2 * pi * 50.0, rel=5e-4)


def test_a_fold_keeps_its_place_and_the_hem_still_ends_on_it() -> None:
    """Centre front on the fold moves by nothing; neighbours are trimmed to it."""
    distances = [10.0, 10.0, 10.0, 40.0, 0.0, 6.0]
    paths = inset([OffsetEdge(path, d) for path, d in zip(bodice(), distances, strict=True)])
    fold = paths[4].flatten()[0]
    assert np.abs(fold[:, 0]).max() < 1e-9
    hem = paths[3].flatten()[0]
    assert hem[-1] == pytest.approx(fold[0], abs=1e-6)
    below = LineString(bodice()[3].flatten()[0])
    assert below.distance(LineString(hem)) == pytest.approx(40.0, abs=1e-6)


def test_inner_corners_get_mitres() -> None:
    """An L: the inner corner of the moved outline lies at distance on both lines, as a mitre does."""
    points = [(0, 0), (200, 0), (200, 80), (80, 80), (80, 200), (0, 200)]
    edges = [OffsetEdge(Path.polyline(np.array([points[i], points[(i + 1) % 6]], dtype=float)), 10.0) for i in range(6)]
    paths = inset(edges)
    assert paths[2].flatten()[0][-1] == pytest.approx([70.0, 70.0])
    assert ring(paths).area == pytest.approx(180 * 60 + 60 * 180 - 60 * 60)


def test_a_single_closed_path_with_corners_is_moved_whole() -> None:
    """A rectangle as one edge."""
    (moved,) = inset([OffsetEdge(Path.rectangle(Box(0, 0, 100, 60)), 10.0)])
    assert polygon(moved).bounds == pytest.approx((10.0, 10.0, 90.0, 50.0))


def test_a_leaf_with_two_corners_and_a_drop_with_one() -> None:
    """Curved edges crossing near their corners are trimmed there; against shapely's buffer."""
    leaf = PathBuilder()
    leaf.move(0, 0)
    leaf.curve(60, -60, 140, -60, 200, 0)
    leaf.curve(140, 60, 60, 60, 0, 0)
    leaf.close()
    drop = PathBuilder()
    drop.move(0, 0)
    drop.curve(160, -150, 160, 150, 0, 0)
    drop.close()
    for shape in (leaf.path(), drop.path()):
        mine = ring(inset([OffsetEdge(shape, 8.0)]))
        theirs = polygon(shape).buffer(-8.0, join_style="mitre", mitre_limit=10)
        assert mine.exterior.hausdorff_distance(theirs.exterior) < 0.01


def test_a_bend_tighter_than_the_distance_is_cut_short_as_shapely_does() -> None:
    """A rounded corner of radius 5 under an allowance of 10 becomes a sharp corner."""
    build = PathBuilder()
    build.move(0, 0)
    build.line(195, 0)
    build.curve(195 + 5 * KAPPA, 0, 200, 5 - 5 * KAPPA, 200, 5)
    build.line(200, 150)
    build.line(0, 150)
    build.close()
    (moved,) = inset([OffsetEdge(build.path(), 10.0)])
    assert polygon(moved).bounds == pytest.approx((10.0, 10.0, 190.0, 140.0), abs=1e-4)


def test_an_outline_too_small_for_the_distance_is_refused() -> None:
    """A strip 15 mm wide has no room for 10 mm from either side."""
    points = np.array([(0, 0), (200, 0), (200, 15), (0, 15)], dtype=float)
    edges = [OffsetEdge(Path.polyline(points[[i, (i + 1) % 4]]), 10.0) for i in range(4)]
    with pytest.raises(OffsetCollapsed):
        inset(edges)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(60.0, 100.0), min_size=5, max_size=9), st.floats(1.0, 12.0))
def test_any_star_shaped_outline_agrees_with_shapely(radii: list[float], distance: float) -> None:
    """Polygons with gentle corners: area to 1 part in 10,000 of shapely's mitred buffer."""
    count = len(radii)
    points = np.array(
        [(r * cos(radians(360 * i / count)), r * sin(radians(360 * i / count))) for i, r in enumerate(radii)]
    )
    edges = [OffsetEdge(Path.polyline(points[[i, (i + 1) % count]]), distance) for i in range(count)]
    theirs = Polygon(points).buffer(-distance, join_style="mitre", mitre_limit=10)
    assert ring(inset(edges)).area == pytest.approx(theirs.area, rel=1e-4)


def smooth_edge(digits: int) -> Path:
    """A closed outline with corners and curves that join smoothly, its numbers rounded as a drawing program writes."""
    wave = [(x, 100 + 30 * sin(x / 40)) for x in range(0, 401, 20)]
    build = PathBuilder()
    build.move(0, 0)
    build.line(400, 0)
    build.line(*np.round(wave[-1], digits))
    for (x1, y1), (x0, y0) in zip(wave[::-1], wave[-2::-1], strict=False):
        third = (x0 - x1) / 3
        slopes = [0.75 * cos(x / 40) * third for x in (x1, x0)]
        build.curve(*np.round([x1 + third, y1 + slopes[0], x0 - third, y0 - slopes[1], x0, y0], digits))
    build.close()
    return build.path()


@pytest.mark.parametrize("distance", [5.0, 15.0, 30.0])
def test_numbers_rounded_to_a_micrometre_make_no_corners(distance: float) -> None:
    """Kinks of a thousandth of a millimetre are no edges to trim: against shapely's buffer, and no part too many."""
    outline = smooth_edge(3)
    (moved,) = inset([OffsetEdge(outline, distance)])
    theirs = polygon(outline).buffer(-distance, join_style="mitre", mitre_limit=10)
    assert ring((moved,)).exterior.hausdorff_distance(theirs.exterior) < 0.025
    assert len(moved) == len(inset([OffsetEdge(smooth_edge(9), distance)])[0])


@pytest.mark.parametrize("paths", [bodice(), [smooth_edge(3)]], ids=["bodice", "smooth edge"])
@pytest.mark.parametrize("seed", range(4))
def test_noise_of_the_outline_is_not_amplified(paths: list[Path], seed: int) -> None:
    """An outline off by 1e-12 mm gives the same segments, none moved by more than 1e-10 mm."""
    chance = np.random.default_rng(seed)
    noisy = [Path(path.ops.copy(), path.points + chance.uniform(-1e-12, 1e-12, path.points.shape)) for path in paths]
    one, other = (inset([OffsetEdge(path, 15.0) for path in given]) for given in (paths, noisy))
    for mine, theirs in zip(one, other, strict=True):
        assert mine.ops.tolist() == theirs.ops.tolist()
        assert np.abs(mine.points - theirs.points).max() < 1e-10


@pytest.mark.parametrize("shift", [-1e-12, 0.0, 1e-12])
def test_a_corner_that_falls_on_a_joint_leaves_no_part_without_length(shift: float) -> None:
    """An edge in two, the first as long as the distance: both moved edges cross right where the parts meet."""
    corners = [(0, 0), (15 + shift, 0), (200, 0), (200, 120), (0, 120), (0, 15 - shift)]
    (moved,) = inset([OffsetEdge(Path.polyline(np.array(corners, dtype=float), closed=True), 15.0)])
    assert len(moved) == 5
    assert moved.length() == pytest.approx(2 * (170 + 90), abs=1e-9)
