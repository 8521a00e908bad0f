"""The few shapes a printed target is made of, in mm (x right, y down from the page's top left).

The shapes are painted in order; later ones lie on top of earlier ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class InkTone(Enum):
    """How dark a shape is; the value is the grey level to paint with, 0 black to 1 paper."""

    BLACK = 0.0
    TONE = 0.42
    PAPER = 1.0


class TextEnd(Enum):
    """Which end of a label's base line its point is."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Rect:
    """A filled rectangle without an outline; (x, y) is its top left corner."""

    x: float
    y: float
    width: float
    height: float
    ink: InkTone = InkTone.BLACK


@dataclass(frozen=True, slots=True)
class InkLine:
    """An open or closed line through ``points`` with butt ends and mitred joins.

    ``dashes`` is the lengths of dash and gap in turn, empty for a full line.
    """

    points: tuple[tuple[float, float], ...]
    width: float
    ink: InkTone = InkTone.BLACK
    dashes: tuple[float, ...] = ()
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """The outline of a circle."""

    x: float
    y: float
    radius: float
    width: float
    ink: InkTone = InkTone.BLACK
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class InkText:
    """A line of text; (x, y) is on its base line, ``height`` the font size in mm.

    ``turn`` is in degrees clockwise as seen on the page; 0 reads from left to right.
    """

    x: float
    y: float
    text: str
    height: float
    anchor: TextEnd = TextEnd.MIDDLE
    turn: float = 0.0
    ink: InkTone = InkTone.BLACK


Shape = Rect | InkLine | Circle | InkText
