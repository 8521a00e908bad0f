"""The cautions and the limits they name, against the rules themselves.

Limits: 16 CFR 1120 as published in 76 FR 42502 (ASTM F1816-97): no hood or neck drawstring in 2T to 12, waist and
bottom at most 3 in (75 mm) outside the channel in 2T to 16, no toggles or knots, bar-tacked. EN 14682:2014: no neck or
hood cords to 7 years / 134 cm; scope to 14 years. 16 CFR 1615 and 1616: sleepwear, sizes 0 to 6X and 7 to 14.
"""

from __future__ import annotations

import pytest

from tests.cloth.drafts import NOTES, child, smock
from tiling.cloth.cautions import DEFER, WAIST_CORD_OUTSIDE, Caution, cautions_for
from tiling.cloth.notions import notion_rows
from tiling.cloth.seam_lines import SeamLines
from tiling.notes import Notes


def cautions(notes: Notes) -> tuple[Caution, ...]:
    """The cautions of a smock with these notes."""
    return cautions_for(notes, notion_rows(SeamLines(smock(notes)), {}))


def test_an_adults_garment_gets_the_caution_about_tools_only() -> None:
    """Cords or not."""
    assert [caution.heading for caution in cautions(NOTES)] == ["Tools"]


def test_a_cord_at_a_childs_neck_is_named_with_the_rules_that_forbid_it() -> None:
    """Both rules, with their ages and sizes."""
    cord, _ = cautions(child(place="hood"))
    for words in ("EN 14682", "7 years (134 cm", "16 CFR 1120 (ASTM F1816)", "2T to 12"):
        assert words in cord.text
    assert "75 mm" not in cord.text
    assert cord.rules == ("EN 14682", "16 CFR 1120", "ASTM F1816")


def test_a_cord_at_a_childs_waist_is_named_with_its_limit() -> None:
    """3 in as the rule writes it, 75 mm; sizes, toggles, knots, bar tack."""
    cord, _ = cautions(child(place="waist"))
    for words in ("3 in (75 mm)", "2T to 16", "toggles or knots", "bar-tacked", "at full width"):
        assert words in cord.text
    assert WAIST_CORD_OUTSIDE == 75.0


@pytest.mark.parametrize(("channel", "words"), [("800mm", "100 mm hang out"), ("900mm", "50 mm hang out")])
def test_the_length_that_hangs_out_is_held_against_the_limit(channel: str, words: str) -> None:
    """A cord of 1 m."""
    cord, _ = cautions(child(place="waist", channel=channel))
    assert words in cord.text
    assert ("shorten the cord" in cord.text) == (channel == "800mm")


def test_a_cord_whose_place_is_not_noted_gets_both_texts() -> None:
    """Better one too many."""
    cord, _ = cautions(child())
    assert "hood" in cord.text
    assert "75 mm" in cord.text


@pytest.mark.parametrize("garment", ["nightdress", "pyjamas", "sleepsuit", "dressing gown", "bathrobe"])
def test_childrens_nightwear_is_named_with_the_rules_on_burning(garment: str) -> None:
    """Robes count as sleepwear there."""
    found = cautions(child(garment, kind="elastic", name="Elastic"))
    assert found[0].rules == ("16 CFR 1615", "16 CFR 1616")
    assert "flammability" in found[0].text


def test_a_childs_jacket_without_cords_gets_no_such_caution() -> None:
    """Elastic is no cord, and a pullover no pyjama."""
    assert [c.heading for c in cautions(child("pullover", kind="elastic", name="Elastic"))] == ["Tools"]


def test_every_caution_about_rules_defers_to_local_ones_and_claims_nothing() -> None:
    """A notice, not a certificate."""
    for garment in ("nightdress", "jacket"):
        for caution in cautions(child(garment)):
            if caution.rules:
                assert caution.text.endswith(DEFER)
                assert "complies" not in caution.text


def test_tools_that_cut_and_burn_come_last() -> None:
    """On every list."""
    assert "cut and burn" in cautions(child())[-1].text
