"""What a printer, as it was measured, asks of the pages printed on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tiling.pattern import Finding, FindingKind
from tiling.planning.plan import Margins, Orientation

if TYPE_CHECKING:
    from calibrate.printer_scale import PageCorrection
    from calibrate.printers import PrinterRecord

__all__ = ["PrinterSetting", "printer_setting"]


@dataclass(frozen=True, slots=True)
class PrinterSetting:
    """A printer's effect on a print: its correction, the margins its border asks for, findings."""

    correction: PageCorrection | None = None
    margins: Margins | None = None
    findings: tuple[Finding, ...] = ()

    def choices(self, margins: Margins | None, overlap: float | None) -> dict[str, Any]:
        """Arguments for `PlanOptions`; what the person gave comes before what the printer asks for."""
        values = {
            "margins": margins or self.margins,
            "overlap": overlap,
            "correction": self.correction,
        }
        return {name: value for name, value in values.items() if value is not None}


def printer_setting(record: PrinterRecord | None, paper: str, orientation: Orientation) -> PrinterSetting:
    """The setting for a measured printer; nothing for None.

    The measured border becomes the margin: side by side on a portrait page, the widest of the four on any other,
    since printers differ in which way they turn a landscape page.

    Args:
        record: the printer, as `calibrate.printers` keeps it.
        paper: the name of the paper that will be printed on; another one than was measured is a finding.
        orientation: how that paper will be turned.

    Raises:
        CorrectionError: the printer's scale is out of bounds.
    """
    if record is None:
        return PrinterSetting()
    margins = None
    if (border := record.border) is not None:
        sides = (border.left, border.top, border.right, border.bottom)
        margins = Margins(*sides) if orientation is Orientation.PORTRAIT else Margins.even(max(sides))
    caution = record.caution(paper)
    findings = (Finding(FindingKind.PRINTER_OTHER_PAPER, caution, record.name),) if caution else ()
    return PrinterSetting(record.correction(), margins, findings)
