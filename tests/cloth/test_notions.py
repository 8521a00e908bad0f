"""Notions worked out for a person and an altered pattern."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cloth.drafts import NOTES, smock
from tiling.cloth.notions import notion_rows
from tiling.cloth.rules import Quantity, RuleUnclear
from tiling.cloth.seam_lines import SeamLines
from tiling.notes import NotionNote


def rows(*notions: NotionNote, **measures: float):  # type: ignore[no-untyped-def]
    """The worked out notions of the smock."""
    return notion_rows(SeamLines(smock(replace(NOTES, notions=notions))), measures)


def test_elastic_for_two_cuffs_is_bought_in_one_length() -> None:
    """Wrist 160 and an overlap of 25 each: 370 for two, to buy in steps of 50."""
    (elastic,) = rows(NotionNote("Elastic", "wrist + overlap", 2, 50.0))
    assert elastic.each == Quantity(185.0, is_length=True)
    assert elastic.buy == Quantity(400.0, is_length=True)


def test_the_persons_own_measure_comes_first() -> None:
    """A wrist of 180 instead of the pattern's 160."""
    (elastic,) = rows(NotionNote("Elastic", "wrist + overlap"), wrist=180.0)
    assert elastic.each.amount == pytest.approx(205.0)


def test_a_rule_follows_the_drawing() -> None:
    """Tape along the hem, both halves of the front."""
    stitching = SeamLines(smock(replace(NOTES, notions=(NotionNote("Tape", "2 * length(front.hem)"),))))
    (tape,) = notion_rows(stitching, {})
    assert tape.each.amount == pytest.approx(2 * stitching.line(stitching_ref("front.hem")).length)


def stitching_ref(text: str):  # type: ignore[no-untyped-def]
    """A reference from ``piece.line``."""
    from tiling.notes import LineRef

    return LineRef(*text.split("."))


def test_numbers_are_rounded_up_to_whole_things() -> None:
    """Two and a half buttons are three."""
    (buttons,) = rows(NotionNote("Buttons", "5 / 2"))
    assert buttons.buy == Quantity(3.0, is_length=False)


def test_what_is_longer_than_its_channel_hangs_out_at_both_ends() -> None:
    """A cord of 1 m in a channel of 70 cm."""
    (cord,) = rows(NotionNote("Cord", "1m", channel="70cm"))
    assert cord.outside == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("note", "words"),
    [
        (NotionNote("Cord", "wrsit"), "'Cord' rule: .*'wrsit'.* did you mean 'wrist'"),
        (NotionNote("Cord", "wrist - 1m"), "less than nothing"),
        (NotionNote("Cord", "1m", channel="wiast"), "'Cord' channel: .*did you mean"),
        (NotionNote("Cord", "1m", channel="3"), "both be lengths"),
    ],
)
def test_a_wrong_rule_is_refused_by_name(note: NotionNote, words: str) -> None:
    """File, notion and key."""
    with pytest.raises(RuleUnclear, match="^smock.toml, .*" + words):
        rows(note)


def test_a_rule_that_nothing_uses_is_checked_too() -> None:
    """It would come out when somebody first uses it."""
    notes = replace(NOTES, notions=(), rules={"spare": "1m / 0"})
    with pytest.raises(RuleUnclear, match=r"rules.spare.*divides by nought"):
        notion_rows(SeamLines(smock(notes)), {})


def test_no_notes_no_notions() -> None:
    """Nothing is known."""
    assert notion_rows(SeamLines(smock(None)), {}) == ()
