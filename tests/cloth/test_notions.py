"""Notions worked out for a person and an altered pattern."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cloth.drafts import NOTES, mark, pattern, smock
from tiling.cloth.notions import notion_rows
from tiling.cloth.rules import Quantity, RuleUnclear
from tiling.cloth.seam_lines import SeamLines
from tiling.cloth.sewing_report import sewing_report
from tiling.cloth.units import Units
from tiling.notes import Notes, NotionNote
from tiling.pattern import Role


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
    seam_lines = SeamLines(smock(replace(NOTES, notions=(NotionNote("Tape", "2 * length(front.hem)"),))))
    (tape,) = notion_rows(seam_lines, {})
    assert tape.each.amount == pytest.approx(2 * seam_lines.line(line_ref("front.hem")).length)


ODD_NAMES = [
    ("front.v2", "side"),
    ("front", "side.left"),
    ("front v2", "side seam"),
    ("Vorderteil-größe-2", "Seitennaht"),
    ("2-front", "2"),
    ("length", "min"),
    ("in", "up"),
    ("a.", ".b"),
]


@pytest.mark.parametrize(("piece", "line"), ODD_NAMES)
@pytest.mark.parametrize("quotes", ["", '"', "'"])
def test_a_line_is_found_whatever_its_piece_is_called(piece: str, line: str, quotes: str) -> None:
    """Names with dots, spaces, hyphens, umlauts, numbers first, and those of functions and units."""
    lines = [mark(piece, Role.CUTTING, line, (0, 0), (300, 0)), mark(piece, Role.CUTTING, "top", (300, 0), (0, 9))]
    rule = f"2 * length({quotes}{piece}.{line}{quotes}) + 1mm"
    drawn = pattern(lines, Notes(notions=(NotionNote("Tape", rule),)))
    (tape,) = notion_rows(SeamLines(drawn), {})
    assert tape.each == Quantity(pytest.approx(601.0), is_length=True)


def line_ref(text: str):  # type: ignore[no-untyped-def]
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
        (NotionNote("Cord", "-5cm"), r"the rule '-5cm' gives less than nothing \(-5.0 cm\)"),
        (NotionNote("Buttons", "2 - 5"), r"the rule '2 - 5' gives less than nothing \(-3\)"),
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


def test_a_rule_that_comes_to_nothing_is_remarked_on() -> None:
    """It can be right (no overlap wanted), and it can be a slip."""
    drawn = smock(replace(NOTES, notions=(NotionNote("Cord", "0 * wrist"), NotionNote("Tape", "1cm"))))
    found = [finding for finding in sewing_report(drawn, {}).findings() if finding.number == 26]
    assert [(one.where, one.text) for one in found] == [
        ("notion 'Cord'", "the rule '0 * wrist' comes to 0, so there is nothing to buy; check it.")
    ]


@pytest.mark.parametrize(
    ("step", "units", "bought"),
    [
        (100.0, Units.CM, "1.4 m"),
        (100.0, Units.INCH, "1 3/4 yd"),
        (10.0, Units.INCH, '55 1/8"'),
        (12.7, Units.INCH, '55 1/2"'),
        (228.6, Units.INCH, "1 3/4 yd"),
        (228.6, Units.CM, "1.4 m"),
        (12.7, Units.CM, "1.41 m"),
        (0.0, Units.INCH, '55 1/8"'),
    ],
)
def test_buying_steps_follow_the_units(step: float, units: Units, bought: str) -> None:
    """1.4 m is 55.12 in: an eighth of an inch or a quarter of a yard, never 10 cm written in inches."""
    length = 1400.0 if units is Units.INCH or step != 12.7 else 1401.0
    drawn = smock(replace(NOTES, notions=(NotionNote("Tape", f"{length}mm", step=step),)))
    (tape,) = notion_rows(SeamLines(drawn), {}, units)
    shown = f"{tape.buy.amount / 1000:g} m" if units is Units.CM else units.bought(tape.buy.amount)
    assert shown == bought
