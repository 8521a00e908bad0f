"""Simulated photos against the truth: a small part of what tests/benchmarks/photo_accuracy.py measures.

Three megapixels instead of twelve, so errors are larger than the table's; the limits here are twice its limits.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.simulator.conditions import Condition, ordinary
from tests.simulator.judging import Outcome, judged, tally
from tests.simulator.spoilt import Spoilt, spoilt

WIDTH = 2000
LIMITS = {
    Condition.SHEET: 0.0012,
    Condition.SHEET_SLANT: 0.0012,
    Condition.SHEET_CURL: 0.0024,
    Condition.SHEET_HARD: 0.0024,
    Condition.SHEET_SAVING: 0.0012,
    Condition.SHEET_LETTER: 0.0012,
    Condition.CARD: 0.0020,
    Condition.CARD_CURL: 0.0030,
}


def outcome_of(condition: Condition, seed: int) -> Outcome:
    """One ordinary photo, read and judged."""
    case = ordinary(condition, seed, WIDTH)
    return judged(condition.name, seed, case.shot, condition.reference)


@pytest.mark.parametrize("condition", LIMITS, ids=lambda c: c.name.lower())
def test_the_scale_is_right_and_owns_up_to_its_doubt(condition: Condition) -> None:
    """The method's own error is small, and lies within the uncertainty that was stated."""
    outcome = outcome_of(condition, 3)
    assert outcome.read, outcome.refused
    assert max(abs(e) for e in outcome.errors) < LIMITS[condition]
    assert all(outcome.covered)
    # A card is a short arm to tell an angle by.
    assert abs(outcome.skew_error) < (0.3 if condition.name.startswith("CARD") else 0.1)


@pytest.mark.parametrize("condition", [Condition.SHEET_CUT, Condition.CARD_MADE, Condition.COIN])
def test_what_a_reference_may_be_off_by_is_in_the_uncertainty(condition: Condition) -> None:
    """A sheet cut within ISO 216, a card made within ISO/IEC 7810, a coin: errors lie within what was stated."""
    outcome = outcome_of(condition, 2)
    assert outcome.right
    assert not outcome.read or all(outcome.covered)


@pytest.mark.parametrize("kind", [Spoilt.CHESS_ALONE, Spoilt.GLARE, Spoilt.BLURRED, Spoilt.WRONG_CARD])
def test_a_spoilt_photo_is_refused_or_right(kind: Spoilt) -> None:
    """Never a number that looks fine."""
    case = spoilt(kind, 1, WIDTH)
    outcome = judged(kind.name, 1, case.shot, case.reference)
    assert outcome.right, outcome


def test_a_wrong_truth_would_be_noticed() -> None:
    """The judge itself: an error of 0.4 % is unflagged when 0.1 % was stated, and flagged when 0.5 % was."""
    wrong = Outcome("", 1, errors=(0.004, 0.0), doubts=(0.001, 0.001))
    assert wrong.unflagged
    assert not wrong.right
    assert wrong.covered == (False, True)
    assert replace(wrong, doubts=(0.005, 0.005)).right
    assert replace(wrong, refused="glare").right


def test_the_table_counts_what_it_says() -> None:
    """Median, 95th percentile, coverage and read over both directions, checked by hand."""
    outcomes = [
        Outcome("", 1, errors=(0.001, -0.002), doubts=(0.0015, 0.0015)),
        Outcome("", 2, errors=(0.003, 0.004), doubts=(0.01, 0.01)),
        Outcome("", 3, refused="glare"),
    ]
    row = tally("row", outcomes)
    assert (row.photos, row.read, row.unflagged) == (3, 2, 0)
    assert row.median == pytest.approx(0.0025)
    assert row.largest == pytest.approx(0.004)
    assert row.covered == pytest.approx(0.75)
