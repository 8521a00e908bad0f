"""The one writer of what `--json` prints: results as plain values, every key described in the manual."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tiling.commands.console import finding_values
from tiling.commands.remedies import in_options, refusal_in_options

if TYPE_CHECKING:
    from calibrate.failures import Refusal
    from calibrate.printers import PrinterRecord
    from calibrate.result import Measurement
    from tiling.altering.alter import AlterOutcome
    from tiling.altering.seams import SeamChange
    from tiling.cloth.cutting_list import CuttingRow
    from tiling.cloth.lay_plan import LayPlan
    from tiling.cloth.notions import Notion
    from tiling.cloth.seams import SeamRow
    from tiling.cloth.sizes import SizeRow
    from tiling.operations.alter import AlterResult
    from tiling.operations.plan_cloth import PlanClothResult
    from tiling.operations.write_guide import WriteGuideResult

__all__ = [
    "altered_values",
    "cloth_values",
    "explanation_in_words",
    "guide_values",
    "measurement_notes",
    "measurement_values",
    "printer_values",
    "refusal_values",
    "seam_values",
]

_MEASUREMENT_KEYS = (
    "across", "down", "uncertainty_across", "uncertainty_down", "skew_degrees", "verdict", "cause", "consequence",
    "next_step", "reference", "corrected_for", "printer_scale", "paper", "border", "residual_px", "budget",
    "notes", "refusal",
)  # fmt: skip


def measurement_values(found: Measurement) -> dict[str, Any]:
    """A measurement; it and a refusal have the same keys, those without a value None."""
    filled: dict[str, Any] = dict.fromkeys(_MEASUREMENT_KEYS)
    return filled | {
        **asdict(found.scale),
        "skew_degrees": found.skew_degrees,
        "verdict": found.verdict.value,
        "cause": found.cause,
        "consequence": found.consequence,
        "next_step": in_options("", found.next_step),
        "reference": found.reference,
        "corrected_for": asdict(found.corrected_for),
        "printer_scale": {"across": found.printer.across, "down": found.printer.down},
        "paper": None if found.paper is None else found.paper.label,
        "border": asdict(found.border),
        "residual_px": found.residual_px,
        "budget": [asdict(contribution) for contribution in found.budget],
        "notes": list(measurement_notes(found)),
    }


def refusal_values(refusal: Refusal) -> dict[str, Any]:
    """A refusal, with the same keys as a measurement."""
    said = refusal_in_options(refusal)
    why = {"reason": said.reason.value, "detail": said.detail, "advice": said.advice}
    return dict.fromkeys(_MEASUREMENT_KEYS) | {"refusal": why}


def measurement_notes(found: Measurement) -> tuple[str, ...]:
    """What else is to be said of a measurement: of the paper, and why photos were left out."""
    return (*found.notes, *(f"left out: {refusal_in_options(refusal)}" for refusal in found.left_out))


def printer_values(record: PrinterRecord) -> dict[str, Any]:
    """What is kept of a printer, and what its pages are scaled by."""
    kept, factors = record.values(), record.correction()
    scaled = {"across": factors.across, "down": factors.down}
    return {"name": record.name, "latest": kept["latest"], "content_scaled_by": scaled, **kept}


def altered_values(result: AlterResult, output: Path, notes: Path | None, picture: Path | None) -> dict[str, Any]:
    """What was altered; the paths are None in the values where nothing was written."""
    done, written = result.outcome, result.drawing is not None
    return {
        "output": str(output) if written else None,
        "notes": str(notes) if written and notes is not None else None,
        "picture": str(picture) if written and picture is not None else None,
        "title": done.pattern.title,
        "size_mm": [done.pattern.size.width, done.pattern.size.height],
        "altered": list(done.altered),
        "sums": explanation_in_words(done),
        "seams": [_seam_change(change) for change in done.seams],
        "findings": finding_values(result.findings),
    }


def explanation_in_words(done: AlterOutcome) -> list[str]:
    """How the amounts were shared."""
    return [in_options(sentence.text, sentence.remedy) for sentence in done.explanation]


def _seam_change(change: SeamChange) -> dict[str, Any]:
    return {
        "name": change.note.name,
        "first": change.after.first,
        "second": change.after.second,
        "ease_mm": change.note.ease,
        "before_mm": [change.before.first_length, change.before.second_length],
        "after_mm": [change.after.first_length, change.after.second_length],
        "grew_mm": change.grew,
    }


def cloth_values(result: PlanClothResult, output: Path | None) -> dict[str, Any]:
    """What to cut, from how much cloth, and what to buy; lengths in mm, nothing rounded."""
    report = result.report
    return {
        "output": str(output) if result.drawing is not None else None,
        "title": report.title,
        "cutting": [_cutting(row) for row in report.cutting],
        "seams": [seam_values(row) for row in report.seams],
        "sizes": [_size(row) for row in report.sizes],
        "notions": [_notion(notion) for notion in report.notions],
        "cautions": [
            {"heading": caution.heading, "text": caution.text, "rules": list(caution.rules)}
            for caution in report.cautions
        ],
        "lay_plans": [_lay(plan) for plan in report.lays],
        "findings": finding_values(result.findings),
    }


def _cutting(row: CuttingRow) -> dict[str, Any]:
    return {
        "piece": row.piece,
        "title": row.title,
        "cut": [{"cloth": share.cloth, "copies": share.copies, "as": share.cut.value} for share in row.shares],
    }


def seam_values(row: SeamRow) -> dict[str, Any]:
    """One seam, as `look` and `cloth` list it."""
    return {
        "name": row.name,
        "first": [str(ref) for ref in row.first],
        "second": [str(ref) for ref in row.second],
        "first_mm": row.first_length,
        "second_mm": row.second_length,
        "ease_asked_mm": row.ease_asked,
        "ease_found_mm": row.ease_found,
        "agrees": row.agrees,
        "measured_on": [basis.value for basis in row.bases],
        "notches_mm": [[pair.first, pair.second] for pair in row.notches],
    }


def _size(row: SizeRow) -> dict[str, Any]:
    return {
        "measure": row.measure,
        "body_mm": row.body,
        "ease_asked_mm": row.ease_noted,
        "finished_before_mm": row.before,
        "finished_mm": row.finished,
        "ease_found_mm": row.ease_found,
    }


def _notion(notion: Notion) -> dict[str, Any]:
    return {
        "name": notion.name,
        "kind": notion.kind,
        "place": notion.place,
        "rule": notion.rule,
        "count": notion.count,
        "each_mm" if notion.each.is_length else "each": notion.each.amount,
        "buy_mm" if notion.buy.is_length else "buy": notion.buy.amount,
        "outside_mm": notion.outside,
    }


def _lay(plan: LayPlan) -> dict[str, Any]:
    return {
        "cloth": plan.cloth,
        "width_mm": plan.choice.width,
        "fold": plan.choice.fold.value,
        "nap": plan.choice.nap.value,
        "gap_mm": plan.choice.gap,
        "shrinkage": plan.choice.shrinkage,
        "length_mm": plan.length,
        "buy_mm": plan.buy,
        "use": plan.use,
        "pieces": [
            {
                "piece": laid.piece.piece,
                "copy": laid.piece.copy,
                "mirrored": laid.piece.mirrored,
                "layers": laid.piece.layers.name.lower().replace("_", "-"),
                "box_mm": [*(float(v) for v in laid.ring.min(axis=0)), *(float(v) for v in laid.ring.max(axis=0))],
            }
            for laid in plan.laid
        ],
    }


def guide_values(result: WriteGuideResult, output: Path) -> dict[str, Any]:
    """The booklet's place."""
    written = None if result.booklet is None else str(output)
    return {"output": written, "findings": finding_values(result.findings)}
