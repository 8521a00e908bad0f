"""The cautions and the limits they name, against the rules themselves.

Limits: 16 CFR 1120 as published in 76 FR 42502 (ASTM F1816-97): no hood or neck drawstring in 2T to 12, waist and
bottom at most 3 in (75 mm) outside the channel in 2T to 16, no toggles or knots, bar-tacked. EN 14682:2014: no neck or
hood cords to 7 years / 134 cm, no free ends at the neck and nothing tied behind it to 14, scope to 14 years (public
summaries); its other lengths are from memory, and the texts say so. 16 CFR 1615 and 1616: sleepwear, sizes 0 to 6X and
7 to 14.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cloth.drafts import NOTES, child, smock
from tiling.cloth.cautions import DEFER, Caution, cautions_for
from tiling.cloth.cords import WAIST_CORD_OUTSIDE, Age, Place, places_in, rules_for
from tiling.cloth.notions import notion_rows
from tiling.cloth.rules import RuleUnclear
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.sewing_report import sewing_report
from tiling.cloth.tables import notion_table
from tiling.cloth.units import Units
from tiling.notes import Notes, NotionNote


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
    assert "3 in (75 mm)" not in cord.text
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


# Lengths of EN 14682:2014 by place and age, from memory, but for neck and halter (public summaries).
EN_LIMITS = {
    (Place.NECK, Age.YOUNG): 0.0,
    (Place.NECK, Age.OLDER): 0.0,
    (Place.HALTER, Age.YOUNG): 0.0,
    (Place.HALTER, Age.OLDER): 0.0,
    (Place.SHOULDER, Age.YOUNG): 140.0,
    (Place.SHOULDER, Age.OLDER): 140.0,
    (Place.WAIST, Age.YOUNG): 140.0,
    (Place.WAIST, Age.OLDER): 140.0,
    (Place.SASH, Age.YOUNG): 360.0,
    (Place.SASH, Age.OLDER): 360.0,
    (Place.BACK, Age.YOUNG): 0.0,
    (Place.BACK, Age.OLDER): 0.0,
    (Place.HEM_ABOVE, Age.YOUNG): 140.0,
    (Place.HEM_ABOVE, Age.OLDER): 140.0,
    (Place.HEM_BELOW, Age.YOUNG): 0.0,
    (Place.HEM_BELOW, Age.OLDER): 0.0,
    (Place.SLEEVE_LONG, Age.YOUNG): 0.0,
    (Place.SLEEVE_LONG, Age.OLDER): 0.0,
    (Place.SLEEVE_SHORT, Age.YOUNG): 75.0,
    (Place.SLEEVE_SHORT, Age.OLDER): 140.0,
}


@pytest.mark.parametrize("age", Age)
@pytest.mark.parametrize("place", Place)
def test_every_place_and_age_has_its_limit_and_says_what_is_recalled(place: Place, age: Age) -> None:
    """As in the table; a length in a text that is not from a public source is marked."""
    found = [rule for rule in rules_for(place, (age,)) if rule.rules == ("EN 14682",)]
    assert min(rule.limit for rule in found if rule.limit is not None) == EN_LIMITS[place, age]
    if place not in {Place.NECK, Place.HALTER}:
        assert all(rule.text.endswith("(from memory).") for rule in found)


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("waist", {Place.WAIST}),
        ("hood", {Place.NECK}),
        ("Kapuze", {Place.NECK}),
        ("encolure", {Place.NECK}),
        ("hem above the crotch", {Place.HEM_ABOVE}),
        ("hem", {Place.HEM_ABOVE, Place.HEM_BELOW}),
        ("Saum", {Place.HEM_ABOVE, Place.HEM_BELOW}),
        ("trouser legs", {Place.HEM_BELOW}),
        ("sleeve", {Place.SLEEVE_LONG, Place.SLEEVE_SHORT}),
        ("hem of the sleeve", {Place.SLEEVE_LONG, Place.SLEEVE_SHORT}),
        ("short sleeve", {Place.SLEEVE_SHORT}),
        ("cuffs", {Place.SLEEVE_LONG}),
        ("back", {Place.BACK}),
        ("halter", {Place.HALTER}),
        ("shoulder", {Place.SHOULDER}),
        ("tie belt", {Place.SASH}),
        ("pocket", set()),
    ],
)
def test_places_are_known_by_their_words(text: str, places: set[Place]) -> None:
    """In the languages of pieces and lines."""
    assert set(places_in(text)) == places


CORDS = [
    "cord", "Drawstring", "draw-cord", "Ties", "tie belt", "Sash", "halter ties", "Laces for the front",
    "Satin ribbon", "lace", "Kordel", "Baumwollkordel", "Bindeband", "Schnürsenkel", "cordon de serrage", "lacet",
    "Ruban satin", "cordón", "cinta", "laccio", "nastro", "koord", "veter", "cordão", "fita", "snöre", "sznurek",
    "wstążka",
]  # fmt: skip
NO_CORDS = [
    "Lace trim", "lace edging for the hem", "Cotton lace, 2 cm wide", "Ribbon to trim the pocket", "corduroy",
    "Cordsamt", "piping cord", "tie-dye kit", "Elastic", "bias tape", "zip", "button", "thread", "Spitze",
    "dentelle", "hair ribbon",
]  # fmt: skip


@pytest.mark.parametrize("name", CORDS)
def test_what_ties_is_known_in_the_languages_of_the_notes(name: str) -> None:
    """By name alone, without a kind."""
    assert len(cautions(child(kind="", name=name))) == 2


@pytest.mark.parametrize("name", NO_CORDS)
def test_trims_and_cloth_are_no_cords(name: str) -> None:
    """No alarm where nothing can hang."""
    assert [c.heading for c in cautions(child(kind="", name=name))] == ["Tools"]


def test_cords_of_which_the_same_is_said_are_told_together() -> None:
    """Two at the waist are one notice that names both; one at the neck has its own."""
    two = child(place="waist")
    notes = replace(
        two, notions=(*two.notions, replace(two.notions[0], name="Tie"), replace(two.notions[0], place="neck"))
    )
    assert [c.heading for c in cautions(notes)] == [
        "Cords on a child's garment: Cord; Tie", "A cord on a child's garment: Cord", "Tools",
    ]  # fmt: skip


def test_the_wearers_height_tells_the_age() -> None:
    """134 cm is young; the person's own height comes before the pattern's."""
    notes = replace(child(place="short sleeve"), drawn_for={"height": 1340.0})
    notions = notion_rows(SeamLines(smock(notes)), {})
    young, older = (cautions_for(notes, notions, own)[0].text for own in ({}, {"height": 1400.0}))
    assert "75 mm" in young and "140 mm" not in young
    assert "140 mm" in older and "75 mm" not in older


def test_a_cord_shorter_than_its_channel_is_refused_for_anybody() -> None:
    """It would slip in; elastic is meant to be shorter."""
    short = NotionNote("Cord", "80cm", kind="cord", channel="100cm")
    with pytest.raises(RuleUnclear, match=r"the cord comes to 80.0 cm and its channel to 100.0 cm; it would slip in"):
        notion_rows(SeamLines(smock(replace(NOTES, notions=(short,)))), {})
    elastic = replace(short, name="Elastic", kind="elastic")
    assert notion_rows(SeamLines(smock(replace(NOTES, notions=(elastic,)))), {})[0].outside == pytest.approx(-100.0)


def test_ends_that_hang_out_are_told_for_anybody() -> None:
    """In the list of what to buy: a cord of 1 m in a channel of 60 cm."""
    notes = replace(NOTES, notions=(NotionNote("Cord", "1m", kind="cord", channel="60cm", comment="Knot it."),))
    table = notion_table(sewing_report(smock(notes), {}), Units.CM)
    assert table.remarks == ("Cord: Knot it. 20.0 cm hang out at each end of the channel.",)


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
