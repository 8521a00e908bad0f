"""Lengths in the person's own units, as the cloth room prints them."""

from __future__ import annotations

from enum import Enum
from fractions import Fraction
from math import ceil

from tiling.lengths import MM_PER_INCH, in_cm, in_inches, in_mm

__all__ = ["Units"]

_SHORT_STEP = 50.0
"""mm; tapes and elastic are bought by longer steps than what is cut from a card."""


class Units(Enum):
    """Centimetres and metres, or inches and yards."""

    CM = "cm"
    INCH = "in"

    def length(self, mm: float, *, signed: bool = False) -> str:
        """A seam or a measure: to 0.1 cm or 1/16 in."""
        return in_cm(mm, signed=signed) if self is Units.CM else in_inches(mm, signed=signed)

    def exact(self, mm: float) -> str:
        """A length to be found again with a tape measure: to 0.01 cm or 1/16 in."""
        return in_cm(mm, 2) if self is Units.CM else in_inches(mm)

    def small(self, mm: float, *, signed: bool = False) -> str:
        """A difference or a gap: to 0.1 mm or 1/32 in."""
        return in_mm(mm, signed=signed) if self is Units.CM else in_inches(mm, 32, signed=signed)

    def bought(self, mm: float) -> str:
        """A length to buy, never short: up to the next 0.1 cm or 1/8 in; whole quarters of a yard in yards."""
        quarters = mm / (9 * MM_PER_INCH)
        if self is Units.INCH and quarters > 0.5 and abs(quarters - round(quarters)) < 1e-6:
            return self.cloth(mm)
        if self is Units.CM:
            return in_cm(ceil(mm - 1e-6))
        return in_inches(ceil(mm / MM_PER_INCH * 8 - 1e-6) * MM_PER_INCH / 8, 8)

    def step(self, mm: float) -> float:
        """A buying step as shops have it in these units, mm: 0 stays 0, and one of the other units' gives way.

        In inches those up to 5 cm become 1/8 in and longer ones 1/4 yd; in cm those of inches become 1 and 10 cm.
        """
        own = 1.0 if self is Units.CM else MM_PER_INCH / 16
        if not mm or abs(mm / own - round(mm / own)) < 1e-6:
            return mm
        short, long = (10.0, 100.0) if self is Units.CM else (MM_PER_INCH / 8, 9 * MM_PER_INCH)
        return short if mm <= _SHORT_STEP else long

    def cloth(self, mm: float) -> str:
        """A length to buy: in m to the cm, or in yards to the eighth."""
        if self is Units.CM:
            return f"{mm / 1000:.2f} m"
        eighths = round(Fraction(mm) * 8 / Fraction(9144, 10))
        whole, rest = divmod(eighths, 8)
        part = f"{Fraction(rest, 8)}" if rest else ""
        return " ".join(word for word in (str(whole) if whole or not part else "", part) if word) + " yd"
