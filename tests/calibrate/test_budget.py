"""What an expanded uncertainty covers, and when that is more than 95 of 100 cases."""

from __future__ import annotations

import numpy as np

from calibrate.budget import COVERAGE, Contribution, Spread, combined, coverage

CUT = Contribution("reference tolerance", 0.0055, 0.0039, Spread.RECTANGULAR)
NOISE = Contribution("corner noise", 0.0005, 0.0005)


def test_one_rectangular_term_that_outweighs_all_is_stated() -> None:
    """GUM (JCGM 100:2008), annex G.2: the sum is not near normal then, and k = 2 covers more than 95 of 100 cases.

    A Monte Carlo trial (JCGM 101:2008, 7) of 100,000 draws by numpy says the same.
    """
    budget = (CUT, NOISE)
    said = coverage(budget)
    assert "bounds the error (k = 2)" in said
    assert "0.95 % across" in said  # root three of 0.55 %
    rng = np.random.default_rng(7)
    drawn = rng.uniform(-1, 1, 100_000) * np.sqrt(3) * CUT.across + rng.normal(0, NOISE.across, 100_000)
    assert np.mean(np.abs(drawn) <= COVERAGE * combined(budget)[0]) > 0.999


def test_many_terms_of_like_size_cover_95_of_100_cases() -> None:
    """Five terms, rectangular ones too: their sum is near enough to normal (GUM, G.2.1)."""
    terms = [
        Contribution(f"term {n}", 1e-3, 1e-3, spread) for n, spread in enumerate([*Spread, *Spread, Spread.NORMAL])
    ]
    assert coverage(tuple(terms)) == "holds in about 95 of 100 cases (k = 2)"
