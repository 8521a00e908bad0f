"""A photo of a taped sheet with what was found drawn on it: joins in the colour of what is said of them, and arrows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from calibrate.sketch import Tint, captioned, plate, reduced
from calibrate.taped.reading import JoinVerdict

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from calibrate.photo import Photo
    from calibrate.taped.printed import PrintedSheet
    from calibrate.taped.reading import JoinEnd, TapedReading

__all__ = ["drawn_on"]

_LONGEST = 2400
_LONGER = 25.0
"""Times as long as it is that a slip is drawn."""
_TINTS: dict[JoinVerdict, Tint] = {
    JoinVerdict.TRUE: (0, 150, 70),
    JoinVerdict.SLIPPED: (215, 30, 40),
    JoinVerdict.UNSURE: (225, 140, 0),
}
_WRONG = (110, 50, 160)


def drawn_on(photo: Photo, reading: TapedReading, sheet: PrintedSheet, words: Sequence[str]) -> NDArray[np.uint8]:
    """One of the photos that were read, with its joins, where to move pages, and words below.

    Returns (h, w, 3) RGB, at most 2400 pixels long without the words.
    """
    ground = next(one.ground for one in reading.photos if one.name == photo.name)
    sketch = reduced(photo, _LONGEST)
    for ends in _of_joins(reading):
        places = ground.seen(np.array([end.at for end in ends]))
        worst = max(
            ends, key=lambda end: list(_TINTS).index(end.verdict) % 3 + (end.verdict is JoinVerdict.SLIPPED) * 3
        )
        sketch.line(places, _TINTS[worst.verdict])
        for end, place in zip(ends, places, strict=True):
            sketch.dot(place, _TINTS[end.verdict])
    slipped = [end for end in reading.ends if end.verdict is JoinVerdict.SLIPPED]
    for end in slipped:
        there = np.array(end.at) - _LONGER * np.array(end.slip)
        sketch.arrow(ground.seen(np.array(end.at)), ground.seen(there), _TINTS[JoinVerdict.SLIPPED])
    image = Image.fromarray(sketch.pixels)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=max(12.0, max(image.size) / 90))
    for page in sheet.pages:
        text, tint = _label(page.name, reading)
        x, y = sketch.at(ground.seen(page.middle))
        plate(draw, (float(x), float(y)), text, font, tint)
    keys = [
        (_TINTS[JoinVerdict.TRUE], "true"),
        (_TINTS[JoinVerdict.SLIPPED], f"slipped; arrows show where the page laid over goes, {_LONGER:g} times as long"),
        (_TINTS[JoinVerdict.UNSURE], "can't be told"),
    ]
    wrong = any(not one.right for one in reading.identities)
    tone = _TINTS[JoinVerdict.SLIPPED if slipped or wrong else JoinVerdict.TRUE]
    return captioned(np.asarray(image), tone, words, keys)


def _of_joins(reading: TapedReading) -> Iterator[list[JoinEnd]]:
    """The ends of each join together, from left to right or downwards."""
    joins: dict[tuple[str, str], list[JoinEnd]] = {}
    for end in reading.ends:
        joins.setdefault((end.first, end.second), []).append(end)
    for ends in joins.values():
        yield sorted(ends, key=lambda end: end.at)


def _label(name: str, reading: TapedReading) -> tuple[str, Tint]:
    """A page's name, or what lies in its place."""
    found = next((one for one in reading.identities if one.place == name), None)
    if found is None or found.right:
        return name, (90, 90, 96)
    if found.missing:
        return f"{name}: none", _WRONG
    other = "" if found.found_as in {None, name} else f": {found.found_as}"
    return f"{name}{other}{' upside down' if found.upside_down else ''}", _WRONG
