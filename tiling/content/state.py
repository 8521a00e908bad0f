"""The graphics state as a tuple of operators, and the tree of q … Q frames (ISO 32000-2, 8.4).

A parameter's value is the operator that sets it, as written in the source: comparing two states is comparing bytes,
and going from one to another is writing the operators that differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final

__all__ = ["ALL", "FILLED", "INITIAL", "PAINTS", "STROKED", "Frame", "Param", "State", "TextClip", "text_needs"]

State = tuple[bytes, ...]


class Param(IntEnum):
    """Places in a `State`."""

    WIDTH = 0
    CAP = 1
    JOIN = 2
    MITER = 3
    DASH = 4
    FLATNESS = 5
    INTENT = 6
    STROKE = 7
    FILL = 8
    EXTENDED = 9
    CHAR_SPACE = 10
    WORD_SPACE = 11
    SCALE = 12
    FONT = 13
    RENDER = 14
    RISE = 15
    LEADING = 16
    STROKE_SPACE = 17
    FILL_SPACE = 18


INITIAL: Final[State] = (
    b"1 w",
    b"0 J",
    b"0 j",
    b"10 M",
    b"[] 0 d",
    b"0 i",
    b"/RelativeColorimetric ri",
    b"0 G",
    b"0 g",
    b"",
    b"0 Tc",
    b"0 Tw",
    b"100 Tz",
    b"",
    b"0 Tr",
    b"0 Ts",
    b"0 TL",
    b"/DeviceGray CS",
    b"/DeviceGray cs",
)
"""What holds at the start of a page (ISO 32000-2, tables 51, 52 and 103). An empty value is never written."""

_COMMON = (Param.EXTENDED, Param.FLATNESS, Param.INTENT)
STROKED: Final = (Param.WIDTH, Param.CAP, Param.JOIN, Param.MITER, Param.DASH, Param.STROKE, *_COMMON)
FILLED: Final = (Param.FILL, *_COMMON)
_BOTH: Final = (*STROKED, Param.FILL)
_TEXT: Final = (Param.FONT, Param.CHAR_SPACE, Param.WORD_SPACE, Param.SCALE, Param.RENDER, Param.RISE)
ALL: Final = (*_BOTH, *_TEXT)

PAINTS: Final[dict[bytes, tuple[Param, ...]]] = {
    b"S": STROKED,
    b"f": FILLED,
    b"f*": FILLED,
    b"B": _BOTH,
    b"B*": _BOTH,
}
"""Which parameters each painting operator looks at (closing variants are rewritten as h and these)."""


def text_needs(mode: int) -> tuple[Param, ...]:
    """Which parameters showing text looks at in a rendering mode (ISO 32000-2, table 104)."""
    mode %= 4
    if mode == 0:
        return (*_TEXT, *FILLED)
    if mode == 1:
        return (*_TEXT, *STROKED)
    return (*_TEXT, *_BOTH) if mode == 2 else _TEXT


class Frame:
    """What lies between a q and its Q (or a form's content).

    `steps` are the operators that can only be undone by Q (cm, clips), in order; an object drawn in the frame
    remembers how many of them held.
    """

    __slots__ = ("parent", "parent_steps", "steps")

    def __init__(self, parent: Frame | None) -> None:
        held = len(parent.steps) if parent else 0
        if parent is not None and not held:
            # An ancestor without steps has nothing to write: skipping it keeps the tree shallow.
            held, parent = parent.parent_steps, parent.parent
        self.parent: Frame | None = parent
        self.parent_steps: int = held
        self.steps: list[bytes | TextClip] = []


@dataclass(slots=True)
class TextClip:
    """Text whose outlines become the clip at its ET; `parts` are the state and operators of each show."""

    parts: list[tuple[State, bytes]]
