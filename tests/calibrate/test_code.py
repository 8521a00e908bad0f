"""What a target says about itself in its marker numbers."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.code import PLACES, RING, Message, digits_of, message_of, number_at, read_numbers
from calibrate.failures import CorrectionError
from calibrate.printer_scale import PrinterScale

steps = st.integers(8000, 12500).map(lambda n: n / 10_000)
messages = st.builds(
    Message,
    width=st.integers(1000, 3000).map(lambda n: n / 10),
    height=st.integers(1000, 3600).map(lambda n: n / 10),
    whole_sheet=st.booleans(),
    correction=st.builds(PrinterScale, steps, steps),
    version=st.integers(1, 4),
)


@settings(max_examples=200, deadline=None)
@given(messages)
def test_what_is_said_is_read(message: Message) -> None:
    """Any message comes back from the numbers of all markers, to the last ten thousandth."""
    digits = digits_of(message)
    assert message_of(digits) == message
    assert read_numbers(number_at(place, digits) for place in range(PLACES)) == message


@settings(max_examples=100, deadline=None)
@given(messages, st.integers(0, RING - 1))
def test_half_the_ring_is_enough(message: Message, first: int) -> None:
    """Any half of the ring's markers in a row says everything; half less one does not."""
    digits = digits_of(message)
    half = [number_at((first + n) % RING, digits) for n in range(RING // 2)]
    assert read_numbers(half) == message
    assert read_numbers(half[1:]) is None


@settings(max_examples=100, deadline=None)
@given(messages, st.integers(0, RING - 1), st.integers(1, 31))
def test_one_wrong_digit_is_outvoted_by_its_copy(message: Message, place: int, by: int) -> None:
    """A misread marker is tried against its copy across the ring, and the checksum decides."""
    digits = digits_of(message)
    numbers = [number_at(n, digits) for n in range(RING)]
    numbers[place] = place * 32 + (numbers[place] + by) % 32
    assert read_numbers(numbers) in {message, None}
    assert read_numbers(numbers) is not None


@settings(max_examples=300, deadline=None)
@given(messages, st.integers(0, 11), st.integers(1, 31))
def test_a_wrong_digit_on_its_own_is_noticed(message: Message, place: int, by: int) -> None:
    """With no copy to compare, the checksum still refuses a message with one digit changed."""
    digits = list(digits_of(message))
    digits[place] = (digits[place] + by) % 32
    found = message_of(tuple(digits))
    assert found is None or found != message


def test_checksum_refuses_almost_all_wrong_messages() -> None:
    """Of all messages one digit away, none passes a ten bit checksum but one in a thousand or so."""
    digits = digits_of(Message(210.0, 297.0, True, PrinterScale()))
    passed = 0
    for place in range(12):
        for by in range(1, 32):
            changed = [*digits[:place], (digits[place] + by) % 32, *digits[place + 1 :]]
            passed += message_of(tuple(changed)) is not None
    assert passed <= 3


@pytest.mark.parametrize("factor", [0.7999, 1.2501])
def test_corrections_outside_their_range_are_refused(factor: float) -> None:
    """0.80 to 1.25 is believed of a printer; beyond, the message says what to do."""
    with pytest.raises(CorrectionError, match="100 %"):
        PrinterScale(1.0, factor)


def test_the_scale_is_kept_to_a_hundredth_of_a_per_cent() -> None:
    """Rounding a correction to what the markers can say moves it by 0.005 % at most."""
    assert abs(PrinterScale(0.97123456, 1.0).rounded().across - 0.97123456) <= 5.001e-5
