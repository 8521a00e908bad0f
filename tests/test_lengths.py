"""Lengths as people write them, and back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tiling.lengths import (
    LengthUnclear,
    decimal_number,
    in_cm,
    in_inches,
    in_mm,
    in_percent,
    parse_length,
    parse_percent,
    with_fraction_signs,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        # CSS Values and Units Level 4, section 6.2: 1in = 2.54cm = 72pt, 1cm = 10mm.
        ("1in", 25.4),
        ("2.54cm", 25.4),
        ("72pt", 25.4),
        ("10 mm", 10.0),
        ("1m", 1000.0),
        # The yard is 0.9144 m (international yard and pound agreement, 1959).
        ("1yd", 914.4),
        ("3ft", 914.4),
        ("3/8in", 9.525),
        ("3/8 IN", 9.525),
        ('1 1/2"', 38.1),
        ("1½in", 38.1),
        ("½″", 12.7),
        ("-4mm", -4.0),
        ("−4 mm", -4.0),
        ("+ 1 1/4in", 31.75),
        (".5cm", 5.0),
        ("5.cm", 50.0),
    ],
)
def test_a_length_is_read_in_mm(text, mm):
    """Every unit, and decimals, fractions and mixed numbers with a sign."""
    assert parse_length(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("10", "10mm"),
        ("1/2", "no unit"),
        ("", "10mm"),
        ("mm", "number with its unit"),
        ("10px", "no unit of length"),
        ("1,5cm", "point"),
        ("1 2 3mm", "one number"),
        ("1/0in", "nought"),
        ("1.2.3mm", "one number"),
        ("nan mm", "number"),
        ("inf in", "number"),
        ("1e9mm", "no unit of length"),
        ("9" * 59 + "m", "1 km"),
        ("9" * 500 + "m", "too long"),
        ("10mm\x1b[2J", "no unit of length"),
    ],
)
def test_what_is_no_length_is_refused_with_a_hint(text, hint):
    """The hint says what to write instead."""
    with pytest.raises(LengthUnclear, match=hint):
        parse_length(text)


def test_a_refusal_never_repeats_control_characters():
    """A terminal can't be driven through an error message."""
    with pytest.raises(LengthUnclear) as refused:
        parse_length("\x1b[2J10mm")
    assert "\x1b" not in str(refused.value)


def test_a_share_needs_its_per_cent_sign():
    """50 alone could mean a half or fifty."""
    assert parse_percent("50%") == 0.5
    assert parse_percent("-12.5 %") == -0.125
    with pytest.raises(LengthUnclear, match="50%"):
        parse_percent("50")


def test_people_read_fractions_of_an_inch_and_no_minus_nought():
    """Texts for people: reduced fractions, a sign only where there is something."""
    assert in_inches(38.1) == '1 1/2"'
    assert in_inches(-9.525) == '-3/8"'
    assert in_inches(9.525, signed=True) == '+3/8"'
    assert in_inches(0.1) == '0"'
    assert in_inches(25.3) == '1"'
    assert in_mm(-0.01) == "0.0 mm"
    assert in_mm(4.0, signed=True) == "+4.0 mm"
    assert in_cm(725.4) == "72.5 cm"
    assert in_percent(0.25) == "25 %"


@settings(deadline=None, max_examples=200)
@given(st.integers(-16000, 16000), st.sampled_from([2, 4, 8, 16]))
def test_what_in_inches_writes_is_read_back(steps, parts):
    """Every multiple of 1/parts in comes back from its own text."""
    mm = float(Fraction(steps, parts) * Fraction(254, 10))
    assert parse_length(in_inches(mm, parts)) == pytest.approx(mm, abs=1e-9)


@settings(deadline=None, max_examples=300)
@given(st.text(max_size=80))
def test_any_text_is_a_length_or_refused(text):
    """No text raises anything but the named refusal."""
    try:
        assert abs(parse_length(text)) <= 1e6
    except LengthUnclear as refused:
        assert str(refused)


@pytest.mark.parametrize(
    ("value", "places", "text"),
    [
        (0.0, 4, "0"),
        (-1e-9, 4, "0"),
        (1e-7, 9, "0.0000001"),
        (1e16, 2, "10000000000000000"),
        (100.0, 4, "100"),
        (-2.5, 4, "-2.5"),
        (0.79375 + 1e-13, 4, "0.7937"),
        (0.79375 - 1e-13, 4, "0.7937"),
    ],
)
def test_numbers_in_files_have_no_exponent_and_nothing_idle(value: float, places: int, text: str) -> None:
    """Halves of the last decimal (1/32 in is 0.79375 mm) go the same way whatever the last bits say."""
    assert decimal_number(value, places) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ('1 1/2"', '1½"'),
        ('22 13/16" wide', '22¹³⁄₁₆" wide'),
        ('3/32"', '³⁄₃₂"'),
        ("2 1/4 yd of cloth", "2¼ yd of cloth"),
        ('to the next 1/8 yd, 7/8" apart', 'to the next ⅛ yd, ⅞" apart'),
        ("waist / 2 and 3/4 of 1/2", "waist / 2 and 3/4 of 1/2"),
    ],
)
def test_printed_fractions_look_like_fractions(text: str, shown: str) -> None:
    """Only those that are lengths in inches and yards."""
    assert with_fraction_signs(text) == shown
