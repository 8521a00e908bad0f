"""The paper that is printed on, and what the printer asks of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tiling.lengths import in_mm
from tiling.operations.printer_setting import printer_setting
from tiling.pattern import Finding, FindingKind
from tiling.planning.papers import paper_named
from tiling.planning.plan import Margins, Orientation
from tiling.planning.planner import PlanOptions

if TYPE_CHECKING:
    from calibrate.printers import PrinterRecord

__all__ = ["PageChoice", "plan_options"]

_USUAL_BORDER = 3.0
"""mm that nearly all home printers leave blank at the least (from memory)."""


@dataclass(frozen=True, slots=True)
class PageChoice:
    """How pages are to be printed.

    Attributes:
        paper: by name, as ``200x280mm`` or as ``roll:914mm``.
        orientation: how the paper is turned.
        margins: kept free along the edges; None for the printer's measured border, else 10 mm.
        overlap: shared by neighbouring pages, mm; None for 10 mm.
        printer: what is known of the printer to correct for; None for no correction.
    """

    paper: str = "a4"
    orientation: Orientation = Orientation.AUTO
    margins: Margins | None = None
    overlap: float | None = None
    printer: PrinterRecord | None = None


def plan_options(choice: PageChoice) -> tuple[PlanOptions, tuple[Finding, ...]]:
    """What the planner is asked for, and what the person should know about the printer.

    Raises:
        UsageWrong: there is no such paper.
        CorrectionError: the printer's scale is out of bounds.
    """
    paper = paper_named(choice.paper)
    setting = printer_setting(choice.printer, paper.name, choice.orientation)
    options = PlanOptions(paper, choice.orientation)
    findings = (*setting.findings, *_about_margins(choice.margins, choice.printer))
    if (margins := choice.margins or setting.margins) is not None:
        options = replace(options, margins=margins)
    if choice.overlap is not None:
        options = replace(options, overlap=choice.overlap)
    if setting.correction is not None:
        options = replace(options, correction=setting.correction)
    return options, findings


def _about_margins(margins: Margins | None, printer: PrinterRecord | None) -> tuple[Finding, ...]:
    """A finding where margins that were asked for lie within what the printer leaves blank."""
    if margins is None:
        return ()
    least = min(margins.left, margins.top, margins.right, margins.bottom)
    border = None if printer is None else printer.border
    if printer is not None and border is not None:
        blank, whose = max(border.left, border.top, border.right, border.bottom), "this printer leaves"
    else:
        blank, whose = _USUAL_BORDER, "hardly any home printer prints nearer to the edge than"
    if least >= blank:
        return ()
    text = (
        f"The margin of {in_mm(least)} is narrow: {whose} {in_mm(blank)}{' blank' if border else ''}, so lines and "
        "join marks at the edge may be missing on paper; look at page 1's edges before you print the rest."
    )
    return (Finding(FindingKind.MARGIN_NARROW, text, printer.name if printer else ""),)
