"""Edges and rims to a fraction of a pixel, from pictures whose truth is known."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import pytest
from scipy.special import ndtr

from calibrate.arrays import Array
from calibrate.edges import EdgeCriteria, SeenEdge, Track, light_at, profiles, straight_edge, tone_shift, with_depth
from calibrate.rectangle import stretch_of
from calibrate.rim import Beside, Blur, rim_in


@dataclass(frozen=True)
class Straight:
    """A chart of 10 pixels to the mm."""

    def project(self, page: Array) -> Array:
        """Page mm to pixels."""
        return page * 10.0


def coded(light: Array) -> np.ndarray:
    """Linear light as 8 bit sRGB (IEC 61966-2-1)."""
    srgb = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, None) ** (1 / 2.4) - 0.055)
    return np.clip(np.round(srgb * 255), 0, 255).astype(np.uint8)


def stepped(edge: float, inside: float, outside: float, blur: float = 1.2) -> np.ndarray:
    """A picture that changes from inside to outside at ``edge`` mm, blurred in linear light, with noise."""
    fine = np.where((np.arange(4000) + 0.5) / 100.0 < edge, inside, outside)
    row = cv2.GaussianBlur(fine.reshape(1, -1), (0, 0), blur * 10).reshape(400, 10).mean(axis=1)
    rng = np.random.default_rng(3)
    return coded(np.tile(row, (300, 1))) + rng.integers(-2, 3, (300, 400)).clip(0).astype(np.uint8)


def track(start: float = 10.0) -> Track:
    """Forty stations that look to the right."""
    return Track(np.column_stack([np.full(40, start), np.linspace(3, 27, 40)]), np.array([1.0, 0.0]), 20.0)


@pytest.mark.parametrize(("inside", "outside"), [(0.8, 0.05), (0.8, 0.4), (0.05, 0.6)])
def test_an_edge_is_found_where_the_light_is_half_way(inside: float, outside: float) -> None:
    """To 0.01 mm, a tenth of a pixel; pixel centres lie at whole numbers, so a pixel covers half on each side."""
    found = straight_edge(stepped(20.37, inside, outside), Straight(), track())
    assert found is not None
    assert found.points[:, 0].mean() == pytest.approx(20.37 - 0.05, abs=0.01)


def test_taking_coded_numbers_for_light_would_shift_the_edge() -> None:
    """Half way between the coded numbers lies a fifth of a pixel further out: the comparison can fail."""
    row = stepped(20.37, 0.8, 0.05)[:, 190:220].mean(axis=0)
    half = (row[0] + row[-1]) / 2
    crossing = np.interp(-half, -row, np.arange(190, 220)) / 10.0
    assert crossing > 20.37 - 0.05 + 0.02


def test_nothing_is_found_on_plain_paper_and_off_the_picture() -> None:
    """An even picture has no edge, and a track that leaves the picture sees nothing there."""
    plain = np.full((300, 400), 200, np.uint8)
    assert straight_edge(plain, Straight(), track()) is None
    assert np.isnan(light_at(plain, np.array([[500.0, 10.0]]))).all()


def test_the_first_of_two_lines_is_taken() -> None:
    """A plank's joint further out does not win over the sheet's own edge."""
    picture = stepped(18.0, 0.8, 0.3)
    picture[:, 240:] = coded(np.array(0.05))
    found = straight_edge(picture, Straight(), track(), EdgeCriteria())
    assert found is not None
    assert found.points[:, 0].mean() == pytest.approx(17.95, abs=0.02)


@pytest.mark.parametrize("reach", [0.0, 0.3])
def test_a_rim_is_found_under_its_shadow(reach: float) -> None:
    """A shadow that halves the light beside a rim shifts the rough edge, the rim found by less than 0.05 mm."""
    x = (np.arange(4000) + 0.5) / 100.0
    shade = 1.0 - 0.4 / (1.0 + np.exp((x - 20.0 - reach) / 0.04))
    fine = np.where(x < 20.0, 0.05, 0.5 * shade)
    row = cv2.GaussianBlur(fine.reshape(1, -1), (0, 0), 12).reshape(400, 10).mean(axis=1)
    picture = coded(np.tile(row, (300, 1)))
    found = profiles(picture, Straight(), track(15.0))
    rim = rim_in(found, np.full(40, 20.0 - 15.0 - 0.05), Beside(-0.1, 5.0), Blur(0.12))
    assert rim is not None
    assert abs(rim.offset) < max(0.05, 2.5 * rim.spread)


def rectangle(across: float, down: float, skew: float) -> dict[str, SeenEdge]:
    """The four edges of a 200 x 100 mm sheet as a print of that stretch sees them, in page mm."""
    lean = np.tan(np.radians(skew))
    # A page point (x, y) lies on the sheet at (across x - lean down y, down y).
    to_page = np.linalg.inv(np.array([[across, -lean * down], [0.0, down]]))
    t = np.linspace(0, 1, 30)[:, None]
    ends = {
        "left": ([0, 0], [0, 100]), "right": ([200, 0], [200, 100]), "top": ([0, 0], [200, 0]),
        "bottom": ([0, 100], [200, 100]),
    }  # fmt: skip
    return {
        side: SeenEdge((np.array(a) + t * (np.array(b) - np.array(a))) @ to_page.T, 0.01, 0.5, 1.0)
        for side, (a, b) in ends.items()
    }


@pytest.mark.parametrize(("across", "down", "skew"), [(0.97, 1.02, 0.3), (1.0, 1.0, 0.0), (0.94, 0.94, -0.5)])
def test_a_rectangle_gives_scale_and_skew(across: float, down: float, skew: float) -> None:
    """Four edges give the scale across and along the leaning verticals, and the lean itself."""
    found = stretch_of(rectangle(across, down, skew), 200.0, 100.0)
    assert found.across == pytest.approx(across, rel=1e-9)
    assert found.down == pytest.approx(down / np.cos(np.radians(skew)), rel=1e-9)
    assert found.skew_degrees == pytest.approx(skew, abs=1e-6)


@pytest.mark.parametrize(("dark", "blur"), [(0.1, 1.5), (0.35, 1.0), (0.05, 2.5)])
def test_blurring_coded_values_moves_an_edge_by_what_the_budget_says(dark: float, blur: float) -> None:
    """Half the light of an edge that was blurred in sRGB codes (IEC 61966-2-1) lies off its place, within a fifth."""
    inside, outside = (float(coded(np.array([light]))[0]) for light in (1.0, dark))
    x = np.linspace(-8.0, 8.0, 16001)
    code = outside + (inside - outside) * ndtr(-x / blur)
    light = np.interp(code, np.arange(256), light_at_codes())
    moved = float(x[np.argmin(np.abs(light - (1.0 + dark) / 2.0))])
    steepest = (1.0 - dark) * 1.2 / float(np.hypot(1.2, blur))  # what the edge filter of 1.2 pixels leaves of it
    edge = with_depth(SeenEdge(np.zeros((2, 2)), 0.0, steepest, 1.0), 1.0 - dark)
    assert edge.blur == pytest.approx(blur, rel=1e-6)
    assert tone_shift(edge) == pytest.approx(abs(moved), rel=0.2)


def light_at_codes() -> Array:
    """Linear light of the 256 codes (IEC 61966-2-1)."""
    code = np.arange(256) / 255.0
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
