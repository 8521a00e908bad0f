"""Make a test page: the test square alone on a sheet, by which a printer is measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from calibrate.printer_scale import PageCorrection
from calibrate.run import Run
from tiling.drawing.testpage import test_page
from tiling.failures import Action, Remedy, UsageWrong
from tiling.files.inputs import Artifact
from tiling.operations.printer_setting import printer_setting
from tiling.operations.turn_taking import one_at_a_time
from tiling.planning.papers import paper_named
from tiling.planning.plan import Orientation, sheet_size
from tiling.proof.testpage import prove_test_page

if TYPE_CHECKING:
    from calibrate.printers import PrinterRecord
    from tiling.pattern import Finding

__all__ = ["MakeTestPageRequest", "MakeTestPageResult", "make_test_page"]


@dataclass(frozen=True, slots=True)
class MakeTestPageRequest:
    """The paper by name, the printer to correct for if it was measured before, and what to call the file."""

    paper: str = "a4"
    printer: PrinterRecord | None = None
    name: str = "testpage.pdf"


@dataclass(frozen=True, slots=True)
class MakeTestPageResult:
    """The page as a PDF, reopened and proved, and what the person should know about it."""

    page: Artifact
    correction: PageCorrection
    findings: tuple[Finding, ...] = ()


@one_at_a_time
def make_test_page(request: MakeTestPageRequest, run: Run = Run()) -> MakeTestPageResult:
    """Draw a page with the test square and the marks a photo is measured by, and prove its size.

    Raises:
        UsageWrong: there is no such paper, or it is a roll or too small for the square.
        CorrectionError: the printer's scale is out of bounds.
        ProofFailed: the page as written would not print at its size.
        Cancelled: the run is to end.
    """
    sheet = paper_named(request.paper)
    if sheet.roll:
        raise UsageWrong(
            f"{request.paper}: the test page goes on a cut sheet, such as a4", Remedy(Action.CHOOSE_CUT_SHEET)
        )
    setting = printer_setting(request.printer, sheet.name, Orientation.PORTRAIT)
    correction = setting.correction or PageCorrection()
    page = sheet_size(sheet)
    run.check()
    content = test_page(sheet, correction)
    run.check()
    prove_test_page(content, page, correction)
    return MakeTestPageResult(Artifact(request.name, content), correction, setting.findings)
