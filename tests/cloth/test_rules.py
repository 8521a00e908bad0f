"""The rules of the notes: what they may say, what they give, and how each mistake is named."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tiling.cloth.grammar import as_written
from tiling.cloth.rules import Quantity, RuleSource, RuleUnclear, Scope, work_out

SCOPE = Scope(
    measures={"waist": 760.0, "upper-arm": 290.0, "wrist": 160.0},
    rules={"overlap": "25mm", "tape": "length(neck.neckline) + overlap", "half": "1 / 2"},
    lengths={"neck.neckline": 412.5, "front-yoke.armhole": 230.0},
)
HERE = RuleSource("smock.toml", "notions 'elastic' rule")


def value(text: str) -> float:
    """The rule worked out in the common scope."""
    return work_out(text, SCOPE, HERE).amount


def complaint(text: str, scope: Scope = SCOPE) -> str:
    """The message of a rule that must fail."""
    with pytest.raises(RuleUnclear) as caught:
        work_out(text, scope, HERE)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("25mm", 25.0),
        ("1/2in", 12.7),
        ("1 1/2in", 38.1),
        ('1½"', 38.1),
        ("0.5 m + 2cm", 520.0),
        ("waist + 25mm", 785.0),
        ("waist − 4 × 1cm", 720.0),
        ("waist ÷ 2", 380.0),
        ("waist-2cm", 740.0),
        ("-waist + 2 * waist", 760.0),
        ("--waist", 760.0),
        ("(waist + 40mm) / 4 * 2", 400.0),
        ("waist - 10mm - 10mm", 740.0),
        ("upper-arm + overlap", 315.0),
        ("length(neck.neckline) + overlap", 437.5),
        ("2 * length(front-yoke.armhole)", 460.0),
        ('length("neck.neckline")', 412.5),
        ("tape", 437.5),
        ("min(waist, 70cm, 1m)", 700.0),
        ("max(wrist, upper-arm)", 290.0),
        ("up(waist + 25mm, 10cm)", 800.0),
        ("up(800mm, 10cm)", 800.0),
        ("waist * half", 380.0),
        ("waist * (waist / 2m)", 288.8),
    ],
)
def test_a_rule_gives_its_length(text: str, mm: float) -> None:
    """Sums, signs, units, functions, lines and other rules."""
    result = work_out(text, SCOPE, HERE)
    assert result.is_length
    assert result.amount == pytest.approx(mm, abs=1e-9)


def test_lengths_divided_by_each_other_give_a_number() -> None:
    """Buttons every 8 cm along a line of 41.25 cm: six spaces."""
    assert work_out("up(length(neck.neckline) / 8cm, 1)", SCOPE, HERE) == Quantity(6.0, is_length=False)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["is empty"]),
        ("waisst + 25mm", ["'waisst'", "did you mean 'waist'?", "wearer's waisst is given as a measure"]),
        ("chest", ["'chest'", "wearer's chest is given as a measure"]),
        ("waist + 25", ["adds a length and a number", "unit"]),
        ("25 - waist", ["takes away a length from a number"]),
        ("waist * waist", ["an area"]),
        ("waist / (25mm - 25mm)", ["divides by nought"]),
        ("length(neck.neckine)", ["'neck.neckine'", "did you mean 'neck.neckline'"]),
        ("neck.neckline + 1cm", ["write length(neck.neckline)"]),
        ("waist-wrist", ["'waist - wrist' with spaces"]),
        ("up(waist)", ["without a step"]),
        ("up(waist, 0mm)", ["step that is nought"]),
        ("up(waist, 5)", ["a length and a number"]),
        ("min(waist, 3)", ["a length and a number"]),
        ("open('x')", ["calls 'open'", "length, min, max and up"]),
        ("__import__('os').system('true')", ["has '.' where"]),
        ("waist.real", ["write length(waist.real)"]),
        ("(waist", ["')' is expected", "character 7"]),
        ("waist waist", ["'waist' where a sign"]),
        ("waist ** 2", ["'*' where"]),
        ("waist; waist", ["';'"]),
        ("length(waist)", ["written piece.line"]),
        ("max", ["without brackets"]),
        ("9" * 900, ["too large"]),
        ("(" * 100 + "waist" + ")" * 100, ["deep"]),
        ("1/0in", ["divides by nought"]),
    ],
)
def test_a_mistake_is_named_with_file_key_and_the_nearest_right_word(text: str, words: list[str]) -> None:
    """One line, beginning with file and key."""
    message = complaint(text)
    assert message.startswith("smock.toml, notions 'elastic' rule: ")
    assert "\n" not in message
    for word in words:
        assert word in message


def test_a_rule_of_ten_thousand_characters_is_refused_without_being_read() -> None:
    """The limit is named, the text is not repeated."""
    message = complaint("waist + " * 1250 + "waist")
    assert "10005 characters" in message
    assert len(message) < 250


def test_a_circle_of_rules_is_named_all_round() -> None:
    """Every rule of the circle, in order."""
    scope = Scope(rules={"cord": "ends + channel", "ends": "cord / 4", "channel": "1m"})
    assert "cord needs ends needs cord" in complaint("cord", scope)


def test_a_rule_that_names_itself_is_a_circle() -> None:
    """The smallest circle."""
    assert "a needs a" in complaint("a + 1mm", Scope(rules={"a": "a"}))


def test_rules_that_double_each_other_are_worked_out_once_each() -> None:
    """Thirty rules, each naming the next twice: 2**30 steps if nothing were remembered."""
    rules = {f"r{i}": f"r{i + 1} + r{i + 1}" for i in range(30)} | {"r30": "1mm"}
    assert work_out("r0", Scope(rules=rules), HERE).amount == 2.0**30


def test_a_long_chain_of_rules_is_refused_and_does_not_overflow() -> None:
    """Five hundred rules, five brackets each."""
    rules = {f"r{i}": f"(((((r{i + 1})))))" for i in range(500)} | {"r500": "1mm"}
    assert "deep" in complaint("r0", Scope(rules=rules))


def test_a_long_sum_is_not_a_deep_one() -> None:
    """250 terms."""
    assert work_out("+".join(["1mm"] * 250), SCOPE, HERE).amount == pytest.approx(250.0)


def test_a_mistake_in_a_rule_that_is_used_names_that_rule() -> None:
    """The notion is right, the rule it uses is not."""
    assert "uses the rule 'b', which has" in complaint("b", Scope(rules={"b": "(1mm"}))


def test_the_line_in_the_notes_is_named_when_their_text_is_known() -> None:
    """The text of the rule stands on line 5."""
    notes = 'title = "Smock"\n\n[[notions]]\nname = "elastic"\nrule = "waisst + 25mm"\n'
    with pytest.raises(RuleUnclear, match="line 5, notions 'elastic'"):
        work_out("waisst + 25mm", SCOPE, RuleSource("smock.toml", "notions 'elastic'", notes))


WORDS = st.sampled_from(
    [*"+-*/()×÷−,. \n'\"", "waist", "length(", "neck.neckline", "min(", "up(", "25mm", "1/2in", "3", "half", "½", "e9"]
)


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.lists(WORDS, max_size=30).map("".join), st.text(max_size=60)))
@example("(" * 999)
@example("-" * 1000)
@example("1e999 * waist")
@example("\ud800")
@example("٣mm")
def test_any_text_gives_a_finite_value_or_our_own_error(text: str) -> None:
    """The law of the grammar: a value or a `RuleUnclear`, and nothing else, whatever is written."""
    try:
        result = work_out(text, SCOPE, HERE)
    except RuleUnclear as unclear:
        assert str(unclear)
    else:
        assert abs(result.amount) < float("inf")
        assert type(result.is_length) is bool


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(st.sampled_from("abcd"), st.lists(st.sampled_from("abcd+*(1) "), max_size=8).map("".join)))
def test_any_set_of_rules_ends(rules: dict[str, str]) -> None:
    """Whatever rules name each other."""
    for name in rules:
        try:
            work_out(name, Scope(rules=rules), HERE)
        except RuleUnclear:
            continue


def joined(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    """A sum of two."""
    return st.tuples(inner, st.sampled_from("+-*"), inner).map(lambda t: f"({t[0]} {t[1]} {t[2]})")


@settings(max_examples=100, deadline=None)
@given(st.recursive(st.integers(1, 99).map(str), joined, max_leaves=10))
def test_sums_agree_with_pythons_own_arithmetic(text: str) -> None:
    """Against CPython's evaluation of the same integers (reference implementation of + - * and brackets)."""
    assert value(text) == pytest.approx(float(eval(text)), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("waist – 10mm", 750.0),
        ("waist–10mm", 750.0),
        ("waist — 10mm", 750.0),
        ("upper‑arm + 10mm", 310.0),
        ("2 · waist", 1520.0),
        ("2·waist", 1520.0),
        ("2 ⋅ 5mm", 10.0),
        ("２．５ｃｍ ＋ ５ｍｍ", 30.0),
        ("٢٥mm", 25.0),
        ("२५ mm", 25.0),
        ("½ * waist", 380.0),
        ("1 ½ * 10mm", 15.0),
        ("⅓ × 30mm", 10.0),
        ("1⅓in", 1.0 / 0.75 * 25.4),
        ("waist ∕ 2", 380.0),
    ],
)
def test_dashes_dots_and_the_digits_of_other_scripts_are_read(text: str, mm: float) -> None:
    """As people type them on a phone, and on other keyboards."""
    scope = Scope({"waist": 760.0, "upper-arm": 300.0})
    assert work_out(text, scope, RuleSource("n.toml", "k")).amount == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2,5cm + waist", "has '2,5cm' with a comma; write 2.5cm with a point"),
        ("２，５ｃｍ", "has '２，５ｃｍ' with a comma; write 2.5cm with a point"),
        ("max(2,5cm)", "or set a space after a comma"),
        ("2,5 * waist", "the end is expected; use a point for decimals"),
        ("2·5 * waist", "has '2·5', which may be 2.5 or 2 × 5; write the one that is meant"),
        ("2 x waist", "write × or * between numbers"),
        ("10% * waist", "write 0.1 for 10 %"),
    ],
)
def test_what_may_be_read_in_two_ways_is_named(text: str, words: str) -> None:
    """With what to write."""
    with pytest.raises(RuleUnclear) as caught:
        work_out(text, Scope({"waist": 760.0}), RuleSource("n.toml", "k"))
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("rule", "shown"),
    [
        ("3/8in + 2*waist/4", "3/8in + 2×waist÷4"),
        ("1/2 * waist", "1/2 × waist"),
        ("waist / 2", "waist ÷ 2"),
        ("1 1/2 in", "1 1/2 in"),
        ("1½in * 2", "1½in × 2"),
        ("length(front/1.side) * 2", "length(front/1.side) × 2"),
    ],
)
def test_fractions_are_shown_as_they_are_written(rule: str, shown: str) -> None:
    """Only the sums get the printed signs."""
    assert as_written(rule) == shown
