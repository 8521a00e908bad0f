"""The job of planning the cloth: what to cut, from how much cloth, and what else to buy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from calibrate.run import Run
from tiling.cloth.sewing_report import SewingReport, sewing_report
from tiling.cloth.units import Units
from tiling.cloth.wishes import LayWishes, checked_measures, lay_findings, with_lays
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding, Pattern
from tiling.reading.gather import read_drawing, read_drawings
from tiling.reading.options import ReadOptions

if TYPE_CHECKING:
    from calibrate.papers import Paper

__all__ = ["PlanClothRequest", "PlanClothResult", "Wearing", "plan_cloth", "report_on"]


@dataclass(frozen=True, slots=True)
class Wearing:
    """The wearer, and what the garment was before.

    Attributes:
        measures: body measures in mm by name, in place of those the pattern was drawn for.
        before: the drawing before it was altered; its finished measures are set beside the new ones.
        before_notes: the notes of that drawing.
    """

    measures: Mapping[str, float] = field(default_factory=dict)
    before: InputFile | None = None
    before_notes: tuple[InputFile, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanClothRequest:
    """What to plan.

    Attributes:
        drawings: laid out as one.
        reading: how to read them, with their notes.
        wearing: for whom.
        lays: how lay plans are to be made.
        units: of what is written, and of what cloth is sold by.
        name: of the lay plan to draw: a picture where it ends in ``.png``, else a PDF; empty for none.
        paper: of the lay plan's pages.
        strictness: whether findings stop the job.
    """

    drawings: tuple[InputFile, ...]
    reading: ReadOptions = ReadOptions()
    wearing: Wearing = Wearing()
    lays: LayWishes = LayWishes()
    units: Units = Units.CM
    name: str = ""
    paper: Paper | None = None
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class PlanClothResult:
    """The tables, the findings, and the lay plan as drawn where one was asked for and nothing stopped the job."""

    report: SewingReport
    findings: tuple[Finding, ...]
    drawing: Artifact | None = None


@one_at_a_time
def plan_cloth(request: PlanClothRequest, run: Run = Run()) -> PlanClothResult:
    """Plan the cloth.

    Raises:
        UsageWrong: a measure or a cloth that the pattern doesn't know, or a lay plan to draw without a width.
        InputUnfit: a drawing can't be read, has no piece, or its notes don't fit it; a piece has no place on the cloth.
        Cancelled: by `run`.
    """
    if request.name and not request.lays.widths:
        raise UsageWrong(f"{request.name}: a lay plan needs the cloth's width", Remedy(Action.GIVE_WIDTH))
    pattern = read_drawings(request.drawings, request.reading, run)
    report = report_on(pattern, request.wearing, request.reading, request.units, run)
    if not report.cutting:
        raise InputUnfit(
            f"{', '.join(drawing.name for drawing in request.drawings)}: no piece is marked in the drawing; put each "
            "piece's lines in a group of class piece with an id, as the manual shows."
        )
    findings = (*pattern.findings, *report.findings(), *lay_findings(report, request.lays, request.units))
    if refused(findings, request.strictness):
        return PlanClothResult(report, findings)
    report = with_lays(report, request.lays, request.units, run)
    return PlanClothResult(report, findings, _drawn(request, report))


def report_on(pattern: Pattern, wearing: Wearing, reading: ReadOptions, units: Units, run: Run = Run()) -> SewingReport:
    """All tables but the lay plans, for a wearer, with buying steps of these units.

    Raises:
        UsageWrong: a measure that the pattern's notes have no use for.
        InputUnfit: notes and drawing don't fit each other, a rule can't be worked out, or the drawing before the
            alteration can't be read.
        Cancelled: by `run`.
    """
    earlier = None
    if wearing.before is not None:
        own = replace(reading, pages=(), notes=wearing.before_notes)
        earlier = read_drawing(wearing.before, own.at_scale(pattern.scale), run)
    return sewing_report(pattern, checked_measures(wearing.measures, pattern.notes), earlier, units, run)


def _drawn(request: PlanClothRequest, report: SewingReport) -> Artifact | None:
    if not request.name:
        return None
    from tiling.cloth.lay_picture import lay_pdf, lay_png  # noqa: PLC0415 - only where asked for
    from tiling.planning.papers import paper_named  # noqa: PLC0415
    from tiling.planning.plan import sheet_size  # noqa: PLC0415

    draw = lay_png if request.name.lower().endswith(".png") else lay_pdf
    size = sheet_size(request.paper or paper_named("a4"))
    return Artifact(request.name, draw(report.lays, report.title, request.units, size))
