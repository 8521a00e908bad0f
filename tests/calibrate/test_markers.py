"""Finding the target among other things, and its saddles to a few hundredths of a pixel."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from calibrate.failures import Reason, Refusal
from calibrate.ink import Rect
from calibrate.marker_cells import marker_cells
from calibrate.markers import Sighting, find_target
from calibrate.photo import Photo
from calibrate.printer_scale import PrinterScale
from calibrate.saddles import find_saddles
from calibrate.survey import Survey, survey
from calibrate.target import Target, make_target

PER_MM = 8
FRAME = (2400, 3200)


def page(target: Target) -> np.ndarray:
    """A page's filled rectangles, painted here at 16 pixels to the mm."""
    k = 2 * PER_MM
    picture = np.full((round(target.field.height * k), round(target.field.width * k)), 235, np.uint8)
    for shape in target.shapes():
        if isinstance(shape, Rect):
            rows = slice(round(shape.y * k), round((shape.y + shape.height) * k))
            columns = slice(round(shape.x * k), round((shape.x + shape.width) * k))
            picture[rows, columns] = round(20 + 215 * shape.ink.value)
    return picture


def homography(target: Target, shift: tuple[float, float] = (0, 0), size: float = 1.0) -> np.ndarray:
    """A slanted view: page mm to pixels."""
    w, h = target.field.width, target.field.height
    seen = np.array([[300, 320], [2080, 400], [1960, 2840], [380, 2780]]) * size + shift
    return cv2.getPerspectiveTransform(np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32), seen.astype(np.float32))


def laid(target: Target, onto: np.ndarray, view: np.ndarray) -> np.ndarray:
    """A page photographed onto a picture, blurred a little."""
    k = 2 * PER_MM
    to_page = np.array([[1 / k, 0, 0.5 / k], [0, 1 / k, 0.5 / k], [0, 0, 1]])
    size = (onto.shape[1], onto.shape[0])
    # Half the dots go, so the page is softened first.
    soft = cv2.GaussianBlur(page(target), (0, 0), 1.2)
    seen = cv2.warpPerspective(soft, view @ to_page, size)
    mask = cv2.warpPerspective(np.full_like(page(target), 255), view @ to_page, size)
    return cv2.GaussianBlur(np.where(mask > 127, seen, onto), (0, 0), 1.0)


def table() -> np.ndarray:
    """A dark table with some grain."""
    rng = np.random.default_rng(2)
    return cv2.GaussianBlur(rng.integers(40, 100, FRAME[::-1]).astype(np.uint8), (0, 0), 2.0)


def test_marker_cells_are_opencv_s() -> None:
    """Seven by seven cells with a black border, as cv2.aruco draws number 517 of its 5 x 5 dictionary of 1000."""
    cells = np.array(marker_cells(517))
    kinds = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    assert (cells == (cv2.aruco.generateImageMarker(kinds, 517, 7) > 127)).all()
    assert not cells[0].any()
    assert cells.any()


@pytest.mark.parametrize("size", [(210.0, 297.0), (215.9, 279.4), (148.0, 210.0), (297.0, 210.0)])
def test_the_target_says_what_it_is(size: tuple[float, float]) -> None:
    """Paper and correction are read back from a slanted picture, and nearly all markers are found."""
    target = make_target(*size, PrinterScale(0.9731, 1.0204))
    found = find_target(laid(target, table(), homography(target)))
    assert isinstance(found, Sighting)
    assert found.target == target
    assert len(found.corners) >= 26


def test_markers_of_other_things_do_no_harm() -> None:
    """Twelve stray markers, some with the target's own numbers, lie about; the target is read all the same."""
    target = make_target(210.0, 297.0)
    picture = laid(target, table(), homography(target))
    kinds = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    rng = np.random.default_rng(5)
    for n in range(12):
        number = target.markers[n].number if n < 6 else int(rng.integers(0, 1000))
        stray = np.pad(cv2.aruco.generateImageMarker(kinds, number, 63), 9, constant_values=230)
        x, y = (20 + 190 * n, 60) if n < 6 else (20 + 190 * (n - 6), 3050)
        picture[y : y + 81, x : x + 81] = stray
    found = find_target(picture)
    assert isinstance(found, Sighting)
    assert found.target == target
    there = homography(target)
    for place, corners in found.corners.items():
        expected = cv2.perspectiveTransform(np.array([target.markers[place].corners]), there)[0]
        assert np.abs(corners - expected).max() < 3.0, place


def test_two_pages_are_refused() -> None:
    """Two test pages in one photo can't be told apart: refused with that reason."""
    target = make_target(148.0, 210.0)
    picture = laid(target, table(), homography(target, size=0.5))
    picture = laid(target, picture, homography(target, (1150, 1500), 0.5))
    found = find_target(picture)
    assert isinstance(found, Refusal)
    assert found.reason is Reason.TWO_TARGETS


def test_a_table_without_a_page_has_no_target() -> None:
    """Nothing is made of an empty table."""
    found = find_target(table())
    assert isinstance(found, Refusal)
    assert found.reason is Reason.NO_TARGET
    assert not found


def surveyed(picture: np.ndarray) -> Survey | Refusal:
    """What a grey picture is read as."""
    return survey(Photo(picture, None, None, "photo"))


def test_saddles_are_found_to_a_tenth_of_a_pixel() -> None:
    """All of them, against the view they were painted with; ink that spreads by 0.2 mm moves none."""
    target = make_target(210.0, 297.0)
    view = homography(target)
    # The page is painted in whole dots of a sixteenth of a mm.
    points = np.round(np.array([[[s.x, s.y] for s in target.saddles]]) * 2 * PER_MM) / (2 * PER_MM)
    truth = cv2.perspectiveTransform(points, view)[0]
    for spread in (0, 3):
        picture = laid(target, table(), view)
        if spread:
            picture = cv2.erode(picture, np.ones((spread, spread), np.uint8))
        found = surveyed(picture)
        assert isinstance(found, Survey)
        assert len(found.seen.which) >= len(target.saddles) - 1
        miss = found.seen.points.pixels - truth[list(found.seen.which)]
        assert np.sqrt((miss**2).sum(axis=1).mean()) < 0.1


def test_a_covered_saddle_is_left_out() -> None:
    """Where something hides a saddle, none is made up."""
    target = make_target(210.0, 297.0)
    picture = laid(target, table(), homography(target))
    hidden = cv2.perspectiveTransform(np.array([[[target.saddles[3].x, target.saddles[3].y]]]), homography(target))
    x, y = hidden[0, 0].astype(int)
    picture[y - 40 : y + 40, x - 40 : x + 40] = 128
    found = surveyed(picture)
    assert isinstance(found, Survey)
    assert 3 not in found.seen.which
    assert 4 in find_saddles(picture, found.mapping, target.saddles).which


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [
        (lambda p: cv2.GaussianBlur(p, (0, 0), 14), Reason.TOO_BLURRED),
        (lambda p: p[:, :1100].copy(), Reason.TARGET_CUT_OFF),
        (lambda p: cv2.resize(p, None, fx=0.16, fy=0.16, interpolation=cv2.INTER_AREA), Reason.TOO_FEW_PIXELS),
    ],
    ids=["blurred", "cut off", "small"],
)
def test_a_refusal_names_its_reason_and_what_to_do(spoil: object, reason: Reason) -> None:
    """One reason, and advice in words."""
    assert callable(spoil)
    target = make_target(210.0, 297.0)
    found = surveyed(spoil(laid(target, table(), homography(target))))
    assert isinstance(found, Refusal)
    assert found.reason is reason
    assert found.advice in str(found)
