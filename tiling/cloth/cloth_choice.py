"""The cloth as it lies on the table: its width, fold, nap, edges and what it is sold by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum

__all__ = ["Band", "BuyingStep", "ClothChoice", "ClothFold", "Nap"]


class ClothFold(StrEnum):
    """Whether the cloth lies double on the table, selvedge on selvedge, or opened out."""

    LENGTHWISE = "lengthwise"
    NONE = "none"


class Nap(Enum):
    """Whether the cloth has a direction: a pile or a one-way print."""

    NONE = "none"
    ONE_WAY = "one-way"


class BuyingStep(Enum):
    """The step that lengths of cloth are sold in, mm."""

    FIVE_CM = 50.0
    EIGHTH_YARD = 914.4 / 8


@dataclass(frozen=True, slots=True)
class Band:
    """The part of the cloth's width that pieces may lie on, mm."""

    low: float
    high: float

    @property
    def width(self) -> float:
        """From edge to edge, mm; less than nothing where there is no room."""
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class ClothChoice:
    """The cloth.

    Attributes:
        width: from selvedge to selvedge, mm.
        fold: how it lies.
        nap: whether it has a direction.
        shrinkage: the share of its length that it loses in the wash.
        gap: least distance between two pieces, mm.
        step: what it is sold by.
        selvedge: what is kept free along each selvedge, mm.
    """

    width: float
    fold: ClothFold = ClothFold.NONE
    nap: Nap = Nap.NONE
    shrinkage: float = 0.0
    gap: float = 3.0
    step: BuyingStep = BuyingStep.FIVE_CM
    selvedge: float = 0.0

    @property
    def table_width(self) -> float:
        """The width of the cloth as it lies: half of it where it is folded."""
        return self.width / 2 if self.fold is ClothFold.LENGTHWISE else self.width

    @property
    def band(self) -> Band:
        """Where pieces may lie across the cloth; y = 0 is its fold, or one of its selvedges."""
        folded = self.fold is ClothFold.LENGTHWISE
        return Band(0.0 if folded else self.selvedge, self.table_width - self.selvedge)

    @property
    def opened_band(self) -> Band:
        """The same where folded cloth is opened out: y = 0 stays its middle."""
        return Band(self.selvedge - self.width / 2, self.width / 2 - self.selvedge)
