"""What a person says about the cloth and the wearer, held against what the pattern needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from calibrate.run import Run
from tiling.cloth.cloth_choice import BuyingStep, ClothChoice, ClothFold, Nap
from tiling.cloth.grain import grain_findings
from tiling.cloth.grammar import names_in
from tiling.cloth.lay_pieces import Layers, lay_pieces
from tiling.cloth.lay_plan import LayPlan, lay
from tiling.cloth.lay_search import Effort
from tiling.cloth.outlines import drawing_name
from tiling.cloth.rules import nearest
from tiling.cloth.sewing_report import SewingReport
from tiling.cloth.units import Units
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong
from tiling.notes import Notes
from tiling.pattern import Finding, FindingKind

__all__ = ["ClothWidth", "LayWishes", "checked_measures", "lay_findings", "with_lays"]

_STEPS = {Units.CM: BuyingStep.FIVE_CM, Units.INCH: BuyingStep.EIGHTH_YARD}


@dataclass(frozen=True, slots=True)
class ClothWidth:
    """A width from selvedge to selvedge, mm; `cloth` is the one it holds for, empty for all that have no other."""

    mm: float
    cloth: str = ""


@dataclass(frozen=True, slots=True)
class LayWishes:
    """How lay plans are to be made; without a width there is none.

    Attributes:
        widths: a lay plan is made for each.
        fold: how the cloth lies.
        nap: whether it has a direction.
        shrinkage: share of its length that it loses in the wash, 0 up to 0.5.
        gap: kept free between pieces, mm.
        selvedge: kept free along each selvedge, mm.
        effort: how long to look.
    """

    widths: tuple[ClothWidth, ...] = ()
    fold: ClothFold = ClothFold.NONE
    nap: Nap = Nap.NONE
    shrinkage: float = 0.0
    gap: float = 3.0
    selvedge: float = 10.0
    effort: Effort = Effort()


def checked_measures(measures: Mapping[str, float], notes: Notes | None) -> Mapping[str, float]:
    """The wearer's measures, where the notes have a use for each.

    Args:
        measures: mm by name.
        notes: the pattern's; a name counts that it was drawn for, or that a rule or a channel of them uses.

    Raises:
        UsageWrong: a name that they don't know.
    """
    drawn_for = tuple(notes.drawn_for) if notes else ()
    texts = [*notes.rules.values(), *(t for n in notes.notions for t in (n.rule, n.channel) if t)] if notes else []
    used = {name for text in texts for name in names_in(text)} - set(notes.rules if notes else ())
    for name in measures:
        if name not in drawn_for and name not in used:
            known = dict.fromkeys((*drawn_for, *sorted(used)))
            hint = nearest(name, known).removeprefix("; ")
            raise UsageWrong("the pattern's notes have no such measure", Remedy(Action.OTHER_MEASURE, (name, hint)))
    return measures


def with_lays(report: SewingReport, wishes: LayWishes, units: Units, run: Run = Run()) -> SewingReport:
    """The report with a lay plan for each cloth and each width given for it.

    Raises:
        UsageWrong: a width is given for a cloth that no piece is cut from.
        InputUnfit: a piece has no place on the cloth.
        Cancelled: by `run`.
    """
    plans = []
    wanted = _wanted(report, wishes)
    for number, (cloth, mm) in enumerate(wanted):
        choice = _choice(mm, wishes, units)
        plans.append(_lay_plan(report, cloth, choice, wishes.effort, run.part("Lay plan", number, len(wanted))))
    if wanted:
        run.step("Lay plan", 100, 100)
    return replace(report, lays=tuple(plans))


def lay_findings(report: SewingReport, wishes: LayWishes, units: Units) -> tuple[Finding, ...]:
    """What is to be known of the lay plans before they are made: grains taken from elsewhere, cloth opened out.

    Raises:
        UsageWrong: a width is given for a cloth that no piece is cut from.
        InputUnfit: a piece has no closed outline.
    """
    found: dict[str, Finding] = {}
    if wishes.widths:
        outlines = [report.seam_lines.outline(row.piece) for row in report.cutting]
        found.update((str(number), one) for number, one in enumerate(
            grain_findings(report.seam_lines.pattern, outlines)))  # fmt: skip
    for cloth, mm in _wanted(report, wishes):
        choice = _choice(mm, wishes, units)
        for piece in lay_pieces(report.seam_lines, report.cutting, cloth, choice.fold, choice.band.width):
            if piece.layers is Layers.OPENED:
                where = f"piece '{piece.piece}', {cloth} cloth of {units.length(mm)}"
                words = (
                    f"it is {units.length(piece.across)} wide across the grain and finds no place on the folded cloth; "
                    "the cloth is opened out for it."
                )
                found.setdefault(where, Finding(FindingKind.CLOTH_OPENED, words, where))
    return tuple(found.values())


def _choice(mm: float, wishes: LayWishes, units: Units) -> ClothChoice:
    return ClothChoice(mm, wishes.fold, wishes.nap, wishes.shrinkage, wishes.gap, _STEPS[units], wishes.selvedge)


def _wanted(report: SewingReport, wishes: LayWishes) -> list[tuple[str, float]]:
    """The cloth and the width of each lay plan."""
    for width in wishes.widths:
        if width.cloth and width.cloth not in report.cloths:
            hint = nearest(width.cloth, report.cloths).removeprefix("; ")
            raise UsageWrong(f"no piece is cut from '{width.cloth}'", Remedy(Action.OTHER_CLOTH, (width.cloth, hint)))
    named = {width.cloth for width in wishes.widths}
    return [
        (cloth, width.mm)
        for cloth in report.cloths
        for width in wishes.widths
        if width.cloth == (cloth if cloth in named else "")
    ]


def _lay_plan(report: SewingReport, cloth: str, choice: ClothChoice, effort: Effort, run: Run) -> LayPlan:
    pieces = lay_pieces(report.seam_lines, report.cutting, cloth, choice.fold, choice.band.width)
    try:
        return lay(cloth, pieces, choice, effort, run)
    except InputUnfit as unfit:
        raise InputUnfit(f"{drawing_name(report.seam_lines.pattern)}: {unfit.what}", unfit.remedy) from unfit
