"""The paper that is printed on, and what the printer asks of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tiling.operations.printer_setting import printer_setting
from tiling.planning.papers import paper_named
from tiling.planning.plan import Margins, Orientation
from tiling.planning.planner import PlanOptions

if TYPE_CHECKING:
    from calibrate.printers import PrinterRecord
    from tiling.pattern import Finding

__all__ = ["PageChoice", "plan_options"]


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
    if (margins := choice.margins or setting.margins) is not None:
        options = replace(options, margins=margins)
    if choice.overlap is not None:
        options = replace(options, overlap=choice.overlap)
    if setting.correction is not None:
        options = replace(options, correction=setting.correction)
    return options, setting.findings
