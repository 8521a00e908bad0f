"""What a printer does to a length, how well that is known, and by what a page is scaled to undo it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from calibrate.failures import CorrectionError

__all__ = ["LEAST_SCALE", "MOST_SCALE", "MeasuredScale", "PageCorrection", "PrinterScale", "correctable"]

LEAST_SCALE, MOST_SCALE = 0.80, 1.25
"""The scales in which a printer is believed and corrected."""
_PAGE_TO_PAGE = (0.0004, 0.0006)
_PLACE_ON_PAGE = (0.0003, 0.0008)
"""Standard uncertainties, across and down, of what one page says about others and its square about the rest of it: how
well a home printer repeats itself, and how unevenly it feeds along the sheet (both from memory)."""
_DECIMALS = 4  # a target states its scale in steps of 0.0001


def correctable(across: float, down: float) -> bool:
    """Whether a printer's scale is near enough to 1 to be believed and corrected."""
    return all(LEAST_SCALE <= value <= MOST_SCALE for value in (across, down))


@dataclass(frozen=True, slots=True)
class PrinterScale:
    """What a printer does to a length: printed over drawn, across and down the page.

    Raises:
        CorrectionError: a scale outside 0.80 to 1.25.
    """

    across: float = 1.0
    down: float = 1.0

    def __post_init__(self) -> None:
        for name, value in (("across", self.across), ("down", self.down)):
            if not LEAST_SCALE <= value <= MOST_SCALE:
                message = (
                    f"a correction of {value:.4f} {name} is outside {LEAST_SCALE:.2f} to "
                    f"{MOST_SCALE:.2f}: set the printer to 100 %, print the test page and check again"
                )
                raise CorrectionError(message)

    def rounded(self) -> PrinterScale:
        """The nearest scale that a target can state (steps of 0.0001)."""
        return PrinterScale(round(self.across, _DECIMALS), round(self.down, _DECIMALS))

    def correction(self, printer: str = "", uncertainty: float = 0.0) -> PageCorrection:
        """The inverse: by what a page is scaled for this printer; arguments as `PageCorrection` has them."""
        return PageCorrection(1.0 / self.across, 1.0 / self.down, printer, uncertainty)


@dataclass(frozen=True, slots=True)
class PageCorrection:
    """By what a page's content is scaled for a printer so that it comes out true: the inverse of its scale.

    Attributes:
        across: factor for lengths across the page.
        down: factor for lengths down the page.
        printer: the name of the printer it was made for; empty where none was named.
        uncertainty: expanded uncertainty (k = 2) of that printer's scale on any page of it; 0 where unknown.
    """

    across: float = 1.0
    down: float = 1.0
    printer: str = ""
    uncertainty: float = 0.0

    @property
    def is_none(self) -> bool:
        """Whether nothing is corrected."""
        return self.across == 1.0 and self.down == 1.0

    def printer_scale(self) -> PrinterScale:
        """The inverse: the printer's scale that this makes up for.

        Raises:
            CorrectionError: it is outside 0.80 to 1.25.
        """
        return PrinterScale(1.0 / self.across, 1.0 / self.down)


@dataclass(frozen=True, slots=True)
class MeasuredScale:
    """A scale as measured: printed length over intended length, with the expanded uncertainty (k = 2) of each."""

    across: float
    down: float
    uncertainty_across: float
    uncertainty_down: float

    @property
    def uncertainty(self) -> float:
        """The larger of the two uncertainties."""
        return max(self.uncertainty_across, self.uncertainty_down)

    def on_other_pages(self) -> MeasuredScale:
        """The same scale for other pages of the printer and other places on them, less sure than for what was measured.

        The terms are independent of those of the measurement and of each other (GUM, JCGM 100:2008, 5.1.2).
        """
        across, down = (
            2.0 * math.hypot(page, place) for page, place in zip(_PAGE_TO_PAGE, _PLACE_ON_PAGE, strict=True)
        )
        return MeasuredScale(
            self.across,
            self.down,
            math.hypot(self.uncertainty_across, across * self.across),
            math.hypot(self.uncertainty_down, down * self.down),
        )

    def without(self, corrected: PrinterScale) -> MeasuredScale:
        """What the printer does to a page without a correction, from a page that was corrected for `corrected`."""
        return MeasuredScale(
            self.across * corrected.across,
            self.down * corrected.down,
            self.uncertainty_across * corrected.across,
            self.uncertainty_down * corrected.down,
        )

    def turned(self) -> MeasuredScale:
        """The same for a page turned by a quarter: across and down change places."""
        return MeasuredScale(self.down, self.across, self.uncertainty_down, self.uncertainty_across)
