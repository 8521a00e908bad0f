"""A print's proportion from the camera, what it says of sheets, and how photos are taken together."""

from __future__ import annotations

import math

import numpy as np
import pytest

from calibrate.budget import COVERAGE, Contribution
from calibrate.edges import SeenEdge, light_at, tone_shift
from calibrate.papers import PAPERS
from calibrate.pooling import pooled
from calibrate.readings import ScaleReading
from calibrate.references import CARD
from calibrate.shape import trimmed_doubt

A4 = PAPERS["a4"]


@pytest.mark.parametrize("lost", [4.0, 7.0, 10.0])
def test_a_sheet_trimmed_all_round_is_no_surer_than_it_is_wrong(lost: float) -> None:
    """An A4 sheet that lost as much of its width as of its height reads large by lost / 210 and lost / 297."""
    misfit = math.log((A4.width / (A4.width - lost)) / (A4.height / (A4.height - lost)))
    doubt = trimmed_doubt(misfit, 0.001, A4)
    assert COVERAGE * doubt.across >= lost / A4.width
    assert COVERAGE * doubt.down >= lost / A4.height
    assert COVERAGE * trimmed_doubt(-misfit, 0.001, A4.turned()).down >= lost / A4.width


def test_a_sheet_that_lost_its_foot_is_doubted_down_alone() -> None:
    """10 mm off the bottom of A4: 3.5 % down, nothing across but what chance leaves open."""
    misfit = -math.log(A4.height / (A4.height - 10.0))
    doubt = trimmed_doubt(misfit, 0.001, A4)
    assert COVERAGE * doubt.down >= 10.0 / A4.height
    assert doubt.across < 0.001


def test_a_whole_sheet_is_hardly_doubted() -> None:
    """Of the right shape to a thousandth: under a quarter of a per cent, where its cut (ISO 216) leaves 1.1 % open."""
    assert COVERAGE * trimmed_doubt(0.0, 0.001, A4).across < 0.0025


def test_the_tone_term_is_what_blending_coded_values_does() -> None:
    """A step blurred in coded values, read as light, moves by about the term: worked out here by sRGB's own curve."""
    dark, bright = 60.0, 240.0
    at = np.arange(41.0)
    edge = 20.3
    blurred = dark + (bright - dark) * 0.5 * (1 + np.vectorize(math.erf)((at - edge) / math.sqrt(2.0)))
    picture = np.tile(np.round(blurred), (3, 1)).astype(np.uint8)
    fine = np.arange(15.0, 25.0, 0.01)
    light = light_at(picture, np.column_stack([fine, np.ones_like(fine)]))
    low, high = (light_at(np.full((3, 3), code, np.uint8), np.array([[1.0, 1.0]]))[0] for code in (dark, bright))
    half = fine[np.argmin(np.abs(light - (low + high) / 2))]
    edge_seen = SeenEdge(np.zeros((3, 2)), 0.0, 0.5, 1.0, depth=float(1.0 - low / high), blur=1.0)
    assert tone_shift(edge_seen) == pytest.approx(abs(half - edge), abs=0.06)


def reading(across: float, noise: float, lens: float) -> ScaleReading:
    """A reading with a term that averages out and one that does not."""
    own = (Contribution("corner noise", noise, noise), Contribution("lens", lens, lens))
    return ScaleReading(CARD, across, 1.0, 0.0, own, (), {}, {})


def test_what_a_phone_does_to_all_its_photos_does_not_average_out() -> None:
    """Four photos: noise is halved, the lens's term stays (GUM 5.2.2, full correlation)."""
    found = pooled([reading(1.0, 1e-4, 3e-4)] * 4)
    terms = {c.name: c.across for c in found.budget}
    assert terms["corner noise"] == pytest.approx(0.5e-4)
    assert terms["lens"] == pytest.approx(3e-4)


def test_readings_that_scatter_more_than_stated_widen_the_doubt() -> None:
    """Two readings 0.2 % apart, each stated to 0.01 %: the doubt grows to what they show (Birge's ratio)."""
    calm = pooled([reading(1.0, 1e-4, 0.0), reading(1.0001, 1e-4, 0.0)])
    wild = pooled([reading(1.0, 1e-4, 0.0), reading(1.002, 1e-4, 0.0)])
    assert calm.budget[0].across == pytest.approx(1e-4 / math.sqrt(2.0))
    assert wild.budget[0].across == pytest.approx(1e-3, rel=0.01)
