"""The job of reprinting: after an alteration, only the pages that differ from those already printed and taped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

from calibrate.run import Run
from tiling.drawing.print_job import PrintDetails, build_print_job
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.finished_file import Proof, finished
from tiling.operations.printer_setting import printer_setting
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding
from tiling.planning.reprint import Depth, ReprintOptions, plan_reprint
from tiling.reading.findings import names_in_boxes
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.record.printed_file import read_printed
from tiling.shapes import Point

if TYPE_CHECKING:
    from calibrate.printers import PrinterRecord
    from tiling.planning.changes import ChangeReason

__all__ = ["Extent", "ReprintRequest", "ReprintResult", "reprint"]


class Extent(Enum):
    """What the new file holds: the changed pages and a map of them, or the whole sheet."""

    CHANGED = "changed"
    WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class ReprintRequest:
    """What was printed, and what is drawn now.

    Attributes:
        drawings: laid out as one.
        printed: the file that was printed and taped.
        reading: how to read the drawings, with their notes.
        printer: the printer to correct for from now on; None: as printed.
        slack: how far a line may have moved without being printed again, mm.
        depth: whether texts and styles count as changes.
        extent: what the new file holds.
        proof: whether it is proved.
        name: of the PDF; empty: none is made.
        strictness: whether findings stop the job.
    """

    drawings: tuple[InputFile, ...]
    printed: InputFile
    reading: ReadOptions = ReadOptions()
    printer: PrinterRecord | None = None
    slack: float = 0.1
    depth: Depth = Depth.LINES
    extent: Extent = Extent.CHANGED
    proof: Proof = Proof.COMPARED
    name: str = "changed.pdf"
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class ReprintResult:
    """What becomes of every tile of the taped sheet.

    Attributes:
        replace: names of tiles to print and tape over old ones.
        add: names of tiles to print where there was none.
        remove: names of tiles to take away.
        keep: names of tiles that stay.
        lesser: kept tiles on which only a text or a style differs.
        tiles: how many the whole new sheet has.
        page_numbers: of the tiles in the new file, by name, from 1.
        shifts: by how much each piece was shifted from where it was printed, mm.
        why: for every tile to replace, add or remove, the pieces and their largest movement, mm.
        scale: by what the drawing was scaled: as asked, else as it was when it was printed.
        every_page_because: one reason, where all pages are printed for another one than the drawing.
        findings: of reading, and about the printer.
        pages: the PDF; None where nothing has to be printed, none was asked for, or findings stopped the job.
    """

    replace: tuple[str, ...]
    add: tuple[str, ...]
    remove: tuple[str, ...]
    keep: tuple[str, ...]
    lesser: tuple[str, ...]
    tiles: int
    page_numbers: Mapping[str, int]
    shifts: Mapping[str, Point]
    why: Mapping[str, tuple[ChangeReason, ...]]
    scale: float
    every_page_because: str
    findings: tuple[Finding, ...]
    pages: Artifact | None = None

    @property
    def to_print(self) -> tuple[str, ...]:
        """Names of the tiles that have to be printed."""
        return (*self.replace, *self.add)


@one_at_a_time
def reprint(request: ReprintRequest, run: Run = Run()) -> ReprintResult:
    """Compare a drawing with what was printed, and make the pages that differ.

    Raises:
        InputUnfit: a drawing can't be read or printed, or the printed file can't, is of another pattern, or its pages
            would not meet the new ones.
        UsageWrong: the printer's correction leaves no room on the page for the printed windows.
        CorrectionError: the printer's scale is out of bounds.
        ProofFailed: the file differs from the plan or the source.
        Cancelled: by `run`.
    """
    record = read_printed(request.printed)
    pattern = read_drawings(request.drawings, request.reading.at_scale(record.plan.scale), run)
    setting = printer_setting(request.printer, record.plan.paper.name, record.plan.orientation)
    run.check()
    found = plan_reprint(record, pattern, ReprintOptions(request.slack, request.depth, setting.correction))
    findings = (*pattern.findings, *names_in_boxes(pattern), *setting.findings)
    whole = request.extent is Extent.WHOLE
    if whole:
        plan = replace(found.plan, kept=frozenset())
        job = build_print_job(plan, pattern, PrintDetails(before=record), laid=found.laid, run=run)
    else:
        job = build_print_job(found.plan, pattern, PrintDetails(reprint=found), laid=found.laid, run=run)
    pages = None
    if request.name and (whole or not found.nothing_to_print) and not refused(findings, request.strictness):
        pages = finished(request.name, job, request.proof, (), run)
    return ReprintResult(
        found.replace,
        found.add,
        found.remove,
        found.keep,
        found.lesser,
        len(found.plan.tiles),
        dict(job.pages),
        dict(found.shifts),
        dict(found.why),
        pattern.scale,
        found.every_page_because,
        findings,
        pages,
    )
