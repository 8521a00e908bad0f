"""The job of writing the sewing guide: taping, cutting, cloth, notions and cautions in one booklet."""

from __future__ import annotations

from dataclasses import dataclass, replace

from calibrate.papers import BOOKLET_PAPERS, Paper
from calibrate.run import Run
from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.steps import steps_of
from tiling.cloth.units import Units
from tiling.cloth.wishes import LayWishes, lay_findings, with_lays
from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.page_choice import PageChoice, plan_options
from tiling.operations.plan_cloth import Wearing, report_on
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding, FindingKind, Pattern
from tiling.planning.papers import paper_named
from tiling.planning.plan import PrintPlan, sheet_size
from tiling.planning.planner import plan_pages
from tiling.planning.printed import PrintedRecord
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.record.printed_file import read_printed
from tiling.shapes import Size

__all__ = ["WriteGuideRequest", "WriteGuideResult", "write_guide"]

_SHOWN = 10


@dataclass(frozen=True, slots=True)
class WriteGuideRequest:
    """What the guide is about.

    Attributes:
        drawings: laid out as one.
        printed_on: how the pattern's pages were, or will be, printed: paper and margins, or the printed file itself.
        reading: how to read the drawings, with their notes.
        wearing: for whom.
        lays: how lay plans are to be made.
        units: of what is written, and of what cloth is sold by.
        sheet: paper of the booklet; None takes the pattern's, where a booklet may be printed on it, else A4.
        font: a TrueType file for texts in scripts that the usual fonts lack.
        name: of the booklet.
        strictness: whether findings stop the job.
    """

    drawings: tuple[InputFile, ...]
    printed_on: PageChoice | InputFile = PageChoice()
    reading: ReadOptions = ReadOptions()
    wearing: Wearing = Wearing()
    lays: LayWishes = LayWishes()
    units: Units = Units.CM
    sheet: Paper | None = None
    font: InputFile | None = None
    name: str = "guide.pdf"
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class WriteGuideResult:
    """The tables, the findings, and the booklet where nothing stopped the job."""

    report: SewingReport
    findings: tuple[Finding, ...]
    booklet: Artifact | None = None


@one_at_a_time
def write_guide(request: WriteGuideRequest, run: Run = Run()) -> WriteGuideResult:
    """Write the sewing guide.

    Raises:
        UsageWrong: a measure or a cloth that the pattern doesn't know.
        InputUnfit: a drawing, the printed file or the font can't be used, or they don't fit each other.
        Cancelled: by `run`.
    """
    printed_on = request.printed_on
    options, about_printer = plan_options(printed_on if isinstance(printed_on, PageChoice) else PageChoice())
    record = read_printed(printed_on) if isinstance(printed_on, InputFile) else None
    reading = request.reading if record is None else request.reading.at_scale(record.plan.scale)
    pattern = read_drawings(request.drawings, reading, run)
    report = report_on(pattern, request.wearing, request.reading, request.units, run)
    about_lays = lay_findings(report, request.lays, request.units)
    findings = (*pattern.findings, *about_printer, *report.findings(), *about_lays)
    if refused(findings, request.strictness):
        return WriteGuideResult(report, findings)
    from tiling.cloth.booklet import booklet  # noqa: PLC0415 - a strict job may end before it is needed
    from tiling.drawing.print_job import PrintDetails, build_print_job  # noqa: PLC0415

    if isinstance(printed_on, InputFile) and record is not None:
        plan = _as_printed(printed_on.name, record, pattern)
    else:
        plan = plan_pages(pattern, options, run=run)
    steps, unread = steps_of(pattern.notes, request.drawings)
    findings = (*findings, *unread)
    if refused(findings, request.strictness):
        return WriteGuideResult(report, findings)
    report = replace(with_lays(report, request.lays, request.units, run), steps=steps)
    job = build_print_job(plan, pattern, PrintDetails(before=record))
    made = booklet(report, job, request.units, _sheet(request, plan), request.font, run)
    findings = (*findings, *_missing(made.missing, request.font))
    if refused(findings, request.strictness):
        return WriteGuideResult(report, findings)
    return WriteGuideResult(report, findings, Artifact(request.name, made.content))


def _sheet(request: WriteGuideRequest, plan: PrintPlan) -> Size:
    alike = plan.paper.name if plan.paper.name in BOOKLET_PAPERS else BOOKLET_PAPERS[0]
    return sheet_size(request.sheet or paper_named(alike))


def _as_printed(printed: str, record: PrintedRecord, pattern: Pattern) -> PrintPlan:
    """The plan of a printed file; refused where its pages show another drawing, or this one before an alteration."""
    from tiling.planning.reprint import ReprintOptions, plan_reprint  # noqa: PLC0415 - only with a printed file

    reprint = plan_reprint(record, pattern, ReprintOptions())
    changed = (*reprint.replace, *reprint.add, *reprint.remove)
    if changed:
        names = ", ".join(changed[:5]) + (" …" if len(changed) > 5 else "")
        raise InputUnfit(
            f"{printed}: its pages do not show {pattern.title} as it is now ({names})",
            Remedy(Action.NAME_REPRINTED),
        )
    return record.plan


def _missing(characters: str, font: InputFile | None) -> tuple[Finding, ...]:
    """What no font could write, as a finding that names the characters."""
    if not characters:
        return ()
    shown = " ".join(f"{c} (U+{ord(c):04X})" for c in characters[:_SHOWN])
    more = f" and {len(characters) - _SHOWN} more" if len(characters) > _SHOWN else ""
    what = f"no glyph for {shown}{more}"
    if font is not None:
        return (Finding(FindingKind.GLYPH_MISSING, f"{what}; {font.name} has no glyph for them either.", "booklet"),)
    return (Finding(FindingKind.GLYPH_MISSING, what, "booklet", Remedy(Action.GIVE_FONT)),)
