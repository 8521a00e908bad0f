"""What a target says about itself, in the numbers of its markers.

A marker's number holds its place on the page (``number // RADIX``) and one digit of the message
(``number % RADIX``). The ring's 24 markers carry the twelve digits twice, each digit and its copy on opposite
sides of the ring, so a hand, a glare or a card over one side leaves the message readable. The last ten bits
are a checksum.
"""

from __future__ import annotations

import zlib
from collections import Counter
from dataclasses import dataclass
from itertools import islice, product
from typing import TYPE_CHECKING

from calibrate.printer_scale import LEAST_SCALE, PrinterScale

if TYPE_CHECKING:
    from collections.abc import Iterable

RADIX = 32
"""Digits a marker can carry; 31 places of 32 digits fit into 1000 marker numbers."""
DIGITS = 12
RING = 2 * DIGITS
PLACES = RING + 4
VERSION = 1

_VERSIONS = 4
_STEPS = 4500  # 0.01 % of the uncorrected page
_TENTHS_ACROSS = 2048
_TENTHS_DOWN = 3072
_LEAST_SIDE = 100.0
_CHECKS = 1024
_TRIES = 64


@dataclass(frozen=True, slots=True)
class Message:
    """What the markers say: the target's field in mm, whether that is the whole sheet, the scale corrected."""

    width: float
    height: float
    whole_sheet: bool
    correction: PrinterScale
    version: int = VERSION


def _step(value: float) -> int:
    return round((value - LEAST_SCALE) * 1e4)


def _value(step: int) -> float:
    return round(LEAST_SCALE + step / 1e4, 4)


def _fields(message: Message) -> tuple[tuple[int, int], ...]:
    """Each field as (value, radix), first field first."""
    return (
        (message.version - 1, _VERSIONS),
        (int(message.whole_sheet), 2),
        (round((message.width - _LEAST_SIDE) * 10), _TENTHS_ACROSS),
        (round((message.height - _LEAST_SIDE) * 10), _TENTHS_DOWN),
        (_step(message.correction.across), _STEPS + 1),
        (_step(message.correction.down), _STEPS + 1),
    )


def _checksum(packed: int) -> int:
    return zlib.crc32(packed.to_bytes(8, "big")) % _CHECKS


def digits_of(message: Message) -> tuple[int, ...]:
    """The twelve digits, each 0 to 31, that spell a message.

    Raises:
        ValueError: a side of the field is outside 100 to 304.7 mm across or 407.1 mm down.
    """
    packed = 0
    for value, radix in _fields(message):
        if not 0 <= value < radix:
            text = f"a target field of {message.width:g} x {message.height:g} mm can't be coded"
            raise ValueError(text)
        packed = packed * radix + value
    packed = packed * _CHECKS + _checksum(packed)
    return tuple((packed // RADIX**place) % RADIX for place in range(DIGITS))


def message_of(digits: tuple[int, ...]) -> Message | None:
    """The message that twelve digits spell, or None when its checksum says they are not a message."""
    packed = sum(digit * RADIX**place for place, digit in enumerate(digits))
    packed, check = divmod(packed, _CHECKS)
    if _checksum(packed) != check:
        return None
    values: list[int] = []
    for radix in (_STEPS + 1, _STEPS + 1, _TENTHS_DOWN, _TENTHS_ACROSS, 2, _VERSIONS):
        packed, value = divmod(packed, radix)
        values.append(value)
    if packed:
        return None
    down, across, tall, wide, whole, version = values
    return Message(
        width=_LEAST_SIDE + wide / 10,
        height=_LEAST_SIDE + tall / 10,
        whole_sheet=bool(whole),
        correction=PrinterScale(_value(across), _value(down)),
        version=version + 1,
    )


def number_at(place: int, digits: tuple[int, ...]) -> int:
    """The number of the marker at a place: 0 to 23 around the ring, 24 to 27 at the page's corners."""
    digit = digits[place % DIGITS] if place < RING else 0
    return place * RADIX + digit


def read_numbers(numbers: Iterable[int]) -> Message | None:
    """The message in the marker numbers seen; None when too few are seen or the checksum disagrees.

    Where the two copies of a digit differ, both are tried against the checksum.
    """
    seen: dict[int, Counter[int]] = {}
    for number in numbers:
        place, digit = divmod(number, RADIX)
        if place < RING:
            seen.setdefault(place % DIGITS, Counter())[digit] += 1
    if len(seen) < DIGITS:
        return None
    choices = [[digit for digit, _ in seen[place].most_common()] for place in range(DIGITS)]
    for digits in islice(product(*choices), _TRIES):
        message = message_of(digits)
        if message is not None:
            return message
    return None
