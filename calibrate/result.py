"""The answer: a measurement with its uncertainty, as values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from calibrate.border import BareBorder
from calibrate.budget import coverage

if TYPE_CHECKING:
    from calibrate.budget import Contribution
    from calibrate.evidence import Evidence
    from calibrate.failures import Refusal, Remedy
    from calibrate.grounds import OtherPaper
    from calibrate.papers import Paper
    from calibrate.printer_scale import MeasuredScale, PrinterScale
    from calibrate.verdict import Verdict


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """What a printer did to a page.

    ``scale`` is printed length over intended length, across and down, with expanded uncertainties (k=2).
    ``printer`` is the same for a page without a correction: the scale times ``corrected_for``, the correction
    already on the page. ``skew_degrees`` is how far printed verticals lean clockwise from square to the
    horizontals; None where a ruler measured. ``reference`` is the reference's short name (``sheet``, ``card``,
    ``coin:1eur``, ``ruler``), ``reference_label`` its words. ``paper`` is the sheet that lay there, None where
    unknown; ``rests_on`` what was taken for granted, in one line; ``otherwise`` what the scale would be if the sheet
    were another paper of its shape; ``left_out`` why other photos gave nothing.
    """

    scale: MeasuredScale
    printer: MeasuredScale
    skew_degrees: float | None
    verdict: Verdict
    tolerance: float
    cause: str | None
    consequence: str
    next_step: Remedy
    reference: str
    reference_label: str
    corrected_for: PrinterScale
    residual_px: float | None
    budget: tuple[Contribution, ...]
    paper: Paper | None = None
    border: BareBorder = field(default_factory=BareBorder)
    notes: tuple[str, ...] = ()
    rests_on: str = ""
    otherwise: tuple[OtherPaper, ...] = ()
    left_out: tuple[Refusal, ...] = ()
    evidence: tuple[Evidence, ...] = ()

    @property
    def coverage(self) -> str:
        """What the expanded uncertainty covers, in one line."""
        return coverage(self.budget)

    @property
    def square_mm(self) -> tuple[float, float]:
        """The printed sides of the test square: across and down, mm."""
        return 100.0 * self.scale.across, 100.0 * self.scale.down

    @property
    def lying(self) -> bool:
        """Whether a page was measured that is wider than high."""
        return any(one.lying for one in self.evidence)

    @property
    def upright_printer(self) -> MeasuredScale:
        """What the printer does to an uncorrected page that stands upright, as a printer is kept.

        A page drawn lying down goes through the printer the same way as any, so its directions change places.
        """
        return self.printer.turned() if self.lying else self.printer
