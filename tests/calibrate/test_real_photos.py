"""The map fitted on real photographs: chessboards through a strong lens, printed marker boards, webcam pictures.

Photos: OpenCV's samples and opencv_contrib's ChArUco pictures (Apache-2.0), a printed ArUco board (MIT); they lie
outside the project, in ``../shared/open-data/photos`` or in the folder named by ``PAGESEAM_OPEN_DATA``.
"""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np
import pytest

from calibrate.arrays import Array
from calibrate.camera import Mapping
from calibrate.fit import Points, fit_mapping, lens_of

ROOT = Path(os.environ.get("PAGESEAM_OPEN_DATA") or Path(__file__).resolve().parents[3] / "shared" / "open-data")
PHOTOS = ROOT / "photos"
needs_photos = pytest.mark.skipif(not PHOTOS.is_dir(), reason=f"no open photographs in {PHOTOS}")
pytestmark = needs_photos

SQUARE = 25.0  # any unit will do: only ratios of spans are compared


def grey(path: Path) -> np.ndarray:
    """A photo in grey."""
    picture = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    assert picture is not None
    return picture


def chessboard(path: Path) -> Points:
    """The 9 x 6 inner corners of a board."""
    picture = grey(path)
    found, corners = cv2.findChessboardCorners(picture, (9, 6))
    assert found
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 1e-3)
    corners = cv2.cornerSubPix(picture, corners, (5, 5), (-1, -1), stop)
    page = np.array([[SQUARE * i, SQUARE * j] for j in range(6) for i in range(9)])
    return Points(page, corners.reshape(-1, 2).astype(float))


def outer_ring(points: Points) -> Points:
    """The corners along the board's edge."""
    x, y = points.page.T
    ring = (x == 0) | (x == 8 * SQUARE) | (y == 0) | (y == 5 * SQUARE)
    return Points(points.page[ring], points.pixels[ring])


def on_page(mapping: Mapping, points: Points) -> Array:
    """Pixels back on the page, (6, 9, 2)."""
    page = points.page.copy()
    for _ in range(6):
        at = mapping.project(page)
        right, below = (mapping.project(page + step) - at for step in np.eye(2) * 0.05)
        jacobian = np.stack([right, below], axis=-1) / 0.05
        page = page + np.linalg.solve(jacobian, (points.pixels - at)[..., None])[..., 0]
    return page.reshape(6, 9, 2)


def spans_off(grid: Array) -> Array:
    """How far the inner rows' 8-square spans are off, as shares."""
    return np.array([np.linalg.norm(grid[j, 8] - grid[j, 0]) / (8 * SQUARE) - 1 for j in range(1, 5)])


CHESSBOARDS = sorted((PHOTOS / "chessboard").glob("left*.jpg"))


@pytest.mark.parametrize("path", CHESSBOARDS, ids=[p.stem for p in CHESSBOARDS])
def test_the_outer_ring_predicts_inner_spans_to_a_fifth_of_a_per_cent(path: Path) -> None:
    """The lens fitted on a board's outer ring gives every inner row's span within 0.2 %."""
    points = chessboard(path)
    frame = (640, 480)
    fit = fit_mapping(outer_ring(points), lens_of(None, frame), frame, may_bend=False)
    assert fit is not None
    assert np.abs(spans_off(on_page(fit.mapping, points))).max() < 0.002


def test_without_the_lens_the_spans_are_off_by_one_per_cent() -> None:
    """The same spans read through the four outer corners alone are off by up to 1.5 %: the comparison can fail."""
    worst = []
    for path in CHESSBOARDS:
        points = chessboard(path)
        outermost = points.page[[0, 8, 45, 53]], points.pixels[[0, 8, 45, 53]]
        flat, _ = cv2.findHomography(outermost[1], outermost[0], 0)
        grid = cv2.perspectiveTransform(points.pixels.reshape(-1, 1, 2), flat).reshape(6, 9, 2)
        worst.append(np.abs(spans_off(grid)).max())
    assert np.mean(worst) > 0.005
    assert max(worst) > 0.01


MARKER_BOARDS = sorted((PHOTOS / "aruco-board").glob("*.jpg"))


@pytest.mark.parametrize("path", MARKER_BOARDS, ids=[p.stem for p in MARKER_BOARDS])
def test_a_printed_marker_board_is_a_plane_to_a_third_of_a_pixel(path: Path) -> None:
    """Twenty markers of 37.5 mm, 5 mm apart (measured by its author): residual at most 0.3 px."""
    picture = grey(path)
    options = cv2.aruco.DetectorParameters()
    options.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_APRILTAG
    kinds = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000)
    twice = cv2.resize(picture, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    corners, numbers, _ = cv2.aruco.ArucoDetector(kinds, options).detectMarkers(twice)
    page, pixels = [], []
    for quad, number in zip(corners, numbers.ravel(), strict=True):
        x, y = (number % 4) * 42.5, (number // 4) * 42.5
        page += [[x, y], [x + 37.5, y], [x + 37.5, y + 37.5], [x, y + 37.5]]
        pixels += list((quad.reshape(-1, 2) + 0.5) / 2 - 0.5)
    frame = (picture.shape[1], picture.shape[0])
    fit = fit_mapping(Points(np.array(page, float), np.array(pixels, float)), lens_of(None, frame), frame)
    assert fit is not None
    assert len(numbers) >= 19
    assert fit.residual <= 0.3


@pytest.mark.parametrize("name", ["img_00.jpg", "img_02.jpg"])
def test_a_board_of_saddles_and_markers_is_a_plane(name: str) -> None:
    """A 5 x 7 board of 40 mm squares seen by a webcam: residual at most 0.3 px over its 24 saddles."""
    picture = grey(PHOTOS / "charuco" / name)
    kinds = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    board = cv2.aruco.CharucoBoard((5, 7), 40.0, 20.0, kinds)
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(board).detectBoard(picture)
    page = board.getChessboardCorners()[numbers.ravel(), :2].astype(float)
    frame = (picture.shape[1], picture.shape[0])
    fit = fit_mapping(Points(page, corners.reshape(-1, 2).astype(float)), lens_of(None, frame), frame)
    assert fit is not None
    assert len(page) == 24
    assert fit.residual <= 0.3
