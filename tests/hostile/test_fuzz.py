"""Strange input is read or refused in our own words: one line, printable, never another exception."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.hostile.trials import TRIALS, seeds


def spoilt(seed: bytes, chance: random.Random) -> bytes:
    """The seed with a few bytes cut, doubled, swapped or overwritten."""
    data = bytearray(seed)
    for _ in range(chance.randint(1, 6)):
        if not data:
            break
        at = chance.randrange(len(data))
        length = chance.choice([1, 1, 2, 4, 16, 64])
        kind = chance.randrange(5)
        if kind == 0:
            del data[at : at + length]
        elif kind == 1:
            data[at:at] = data[at : at + length] * chance.choice([1, 2, 50])
        elif kind == 2:
            data[at : at + 1] = bytes([chance.randrange(256)])
        elif kind == 3:
            data[at:at] = chance.choice(
                [b"-1e308", b"NaN", b"999999999999", b"\x00", b"\xe2\x80\xae", b'"', b"]]>", b"("]
            )
        else:
            other = chance.randrange(len(data))
            data[at : at + length], data[other : other + length] = data[other : other + length], data[at : at + length]
    return bytes(data)


@pytest.mark.parametrize("name", sorted(TRIALS))
def test_a_sensible_input_is_read(name: str) -> None:
    """The seeds themselves go through."""
    for seed in seeds(name):
        TRIALS[name](seed)


@pytest.mark.parametrize("name", sorted(TRIALS))
@given(number=st.integers(0, 2**32))
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
def test_spoilt_input_is_read_or_refused(name: str, number: int) -> None:
    """Mutations of sensible input."""
    chance = random.Random(number)
    TRIALS[name](spoilt(chance.choice(seeds(name)), chance))


@pytest.mark.parametrize("name", sorted(TRIALS))
@given(data=st.binary(max_size=200))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_noise_is_refused(name: str, data: bytes) -> None:
    """Any bytes at all."""
    TRIALS[name](data)


@given(text=st.text(max_size=60))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_any_words_are_a_length_or_refused(text: str) -> None:
    """Any text at all, any script."""
    TRIALS["length"](text.encode("utf-8", "replace"))
    TRIALS["rule"](text.encode("utf-8", "replace"))


@pytest.mark.parametrize("text", ["-\t3/8", "3\x1b", "1\u202e2", "\u2028", "9" * 61])
def test_what_is_shown_of_a_length_never_steers_the_terminal(text: str) -> None:
    """Found by fuzzing: the advice repeated the control characters that the complaint had replaced."""
    TRIALS["length"](text.encode())


@pytest.mark.parametrize("content", [b"x = " + b"9" * 5000, b"[" + b"a." * 60 + b"a]", b"a\t. a" * 60 + b" = 1"])
def test_notes_of_endless_numbers_and_keys_are_refused(content: bytes) -> None:
    """The library's own errors for them are none of ours."""
    TRIALS["notes"](content)


@pytest.mark.parametrize("corner", ["0 " + "3" * 60, "1e300 0", "1e12 1e12"])
def test_a_view_box_that_loses_its_size_far_off_is_refused(corner: str) -> None:
    """Found by fuzzing: so far from nought its width came out as nought, and was divided by."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="CORNER 1 1"><path d="M0 0h9"/></svg>'
    )
    TRIALS["svg"](text.replace("CORNER", corner).encode())
