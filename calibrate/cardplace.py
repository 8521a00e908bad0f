"""Where a card or a coin is laid on the target: the card's outline and the stripes that make its rim stand out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from calibrate.ink import Circle, InkLine, InkText, InkTone, Rect, Shape

if TYPE_CHECKING:
    from calibrate.area import Area

CARD_WIDTH, CARD_HEIGHT, CARD_RADIUS = 85.60, 53.98, 3.18
"""ISO/IEC 7810 ID-1, mm."""
FRAME_OUTSIDE, FRAME_INSIDE = 5.8, 3.4
"""How far the stripes under a card's rim reach beyond its outline and within it, mm.

On a page that came out at 0.93 of its size a card reaches 3 mm beyond the outline. Stripes of black and paper,
square to the rim, make every card stand out somewhere: a pale one on black, a dark one on paper.
"""
_CORNER = 8.0  # a card's corners lie on plain tone
_STRIPE = 1.5


def card_place(card: Area, coin: tuple[float, float], coin_radius: float) -> tuple[Shape, ...]:
    """The card's place, a striped frame with the card's corners in paper white, and the coin's place."""
    inner = card.grown(-FRAME_INSIDE)
    x, y = card.x + card.width / 2, card.y + card.height / 2
    cx, cy = coin
    return (
        *_card_surround(card),
        Rect(inner.x, inner.y, inner.width, inner.height, InkTone.PAPER),
        *_card_corners(card),
        InkText(x, y - 3.0, "Lay a card here: expired, loyalty or library card,", 2.8),
        InkText(x, y + 1.4, "blank side up. Never a bank card face up.", 2.8),
        Circle(cx, cy, coin_radius, 0.15, dashes=(0.8, 1.2)),
        InkText(cx, cy - 0.4, "or a coin", 2.6),
        InkText(cx, cy + 3.0, "here", 2.6),
    )


@dataclass(frozen=True, slots=True)
class Stripes:
    """The stripes along one side of a card's outline: their ``width`` and middles along the side, mm."""

    width: float
    black: tuple[float, ...]
    paper: tuple[float, ...]


def stripes_along(start: float, length: float) -> Stripes:
    """The stripes beside a side of a card that starts at ``start`` mm; the first and the last are black."""
    room = length - 2 * _CORNER
    count = 2 * int((room / _STRIPE - 1) / 2) + 1
    width = room / count
    middles = tuple(start + _CORNER + (n + 0.5) * width for n in range(count))
    return Stripes(width, middles[::2], middles[1::2])


def _card_surround(card: Area) -> tuple[Shape, ...]:
    """Stripes along the four sides and plain tone at the four corners."""
    outer, depth = card.grown(FRAME_OUTSIDE), FRAME_OUTSIDE + FRAME_INSIDE
    corner = FRAME_OUTSIDE + _CORNER
    shapes: list[Shape] = [
        Rect(x, y, corner, corner, InkTone.TONE)
        for x in (outer.x, outer.right - corner)
        for y in (outer.y, outer.bottom - corner)
    ]
    level = stripes_along(card.x, card.width)
    for middle in level.black:
        x = middle - level.width / 2
        shapes += [Rect(x, y, level.width, depth) for y in (outer.y, outer.bottom - depth)]
    upright = stripes_along(card.y, card.height)
    for middle in upright.black:
        y = middle - upright.width / 2
        shapes += [Rect(x, y, depth, upright.width) for x in (outer.x, outer.right - depth)]
    return tuple(shapes)


def _card_corners(card: Area) -> tuple[Shape, ...]:
    """The card outline's rounded corners; its sides stay free, for there the card's edge is measured."""
    shapes: list[Shape] = []
    radius, arm = CARD_RADIUS, 2.5
    for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
        x = card.x + card.width / 2 + sx * (card.width / 2 - radius)
        y = card.y + card.height / 2 + sy * (card.height / 2 - radius)
        arc = [
            (x + sx * radius * math.cos(math.radians(a)), y + sy * radius * math.sin(math.radians(a)))
            for a in range(0, 91, 15)
        ]
        ends = ((arc[0][0], y - sy * arm), (x - sx * arm, arc[-1][1]))
        shapes.append(InkLine((ends[0], *arc, ends[1]), 0.35, InkTone.PAPER))
    return tuple(shapes)
