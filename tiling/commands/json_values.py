"""The one writer of what `--json` prints: results as plain values, every key described in the manual."""

from __future__ import annotations

from dataclasses import asdict
from math import isinf
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tiling.commands.remedies import in_options, refusal_in_options

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    from tiling.drawing.checklines import CheckLine
    from tiling.files.inputs import Artifact
    from tiling.operations.alter import AlterResult
    from tiling.operations.look import LookResult
    from tiling.operations.make_pages import MakePagesResult
    from tiling.operations.plan_cloth import PlanClothResult
    from tiling.operations.reprint import ReprintResult
    from tiling.operations.write_guide import WriteGuideResult
    from tiling.pattern import Finding, SizeBasis
    from tiling.planning.printed import Cross
    from tiling.shapes import Box

__all__ = [
    "altered_values",
    "cloth_values",
    "explanation_in_words",
    "finding_values",
    "guide_values",
    "look_values",
    "measurement_notes",
    "measurement_values",
    "pages_values",
    "printer_values",
    "refusal_values",
    "reprint_values",
    "seam_values",
    "size_basis_words",
]

_MEASUREMENT_KEYS = (
    "across", "down", "uncertainty_across", "uncertainty_down", "skew_degrees", "verdict", "cause", "consequence",
    "next_step", "reference", "corrected_for", "printer_scale", "paper", "border", "residual_px", "budget",
    "coverage", "rests_on", "otherwise", "notes", "refusal",
)  # fmt: skip


def finding_values(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """The findings, with what to do in the words of the command line."""
    return [
        {
            "number": f.number,
            "kind": f.kind.name.lower().replace("_", "-"),
            "text": in_options(f.text, f.remedy),
            "where": f.where,
        }
        for f in findings
    ]


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
        "coverage": found.coverage,
        "rests_on": found.rests_on,
        "otherwise": [
            {"paper": other.paper.label, "across": other.across, "down": other.down} for other in found.otherwise
        ],
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
    """A printer as kept, and the factors its pages are scaled by."""
    kept, factors = record.values(), record.correction()
    scaled = {"across": factors.across, "down": factors.down}
    return {"name": record.name, "latest": kept["latest"], "content_scaled_by": scaled, **kept}


def altered_values(result: AlterResult, notes: Path | None) -> dict[str, Any]:
    """What was altered, and where its notes were written."""
    done = result.outcome
    return {
        "output": _name(result.drawing),
        "notes": None if notes is None else str(notes),
        "picture": _name(result.picture),
        "title": done.pattern.title,
        "size_mm": [done.pattern.size.width, done.pattern.size.height],
        "scale": done.pattern.scale,
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


def cloth_values(result: PlanClothResult) -> dict[str, Any]:
    """What to cut, from how much cloth, and what to buy; lengths in mm, nothing rounded."""
    report = result.report
    return {
        "output": _name(result.drawing),
        "title": report.title,
        "scale": report.scale,
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
        "notches_meet": not row.missed,
        "first_taken_off_mm": sum(one.width for one in row.first_closed),
        "second_taken_off_mm": sum(one.width for one in row.second_closed),
    }


def _size(row: SizeRow) -> dict[str, Any]:
    return {
        "measure": row.measure,
        "body_mm": row.body,
        "ease_asked_mm": row.ease_noted,
        "finished_before_mm": row.before,
        "finished_mm": row.finished,
        "ease_found_mm": row.ease_found,
        "counted": [
            {
                "piece": part.piece,
                "width_mm": part.width,
                "layers": part.layers,
                "taken_off_mm": [{"what": one.word, "width_mm": one.width} for one in part.closings],
            }
            for part in row.counted
        ],
        "not_counted": [{"piece": one.piece, "why": one.why} for one in row.left_out],
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
        "selvedge_mm": plan.choice.selvedge,
        "opened_at_mm": plan.opened_at,
        "shrinkage": plan.choice.shrinkage,
        "length_mm": plan.length,
        "buy_mm": plan.buy,
        "use": plan.use,
        "pieces": [
            {
                "piece": laid.piece.piece,
                "copy": laid.piece.copy,
                "mirrored": laid.face_down,
                "unfolded": laid.piece.unfolded,
                "layers": laid.piece.layers.name.lower().replace("_", "-"),
                "box_mm": [*(float(v) for v in laid.ring.min(axis=0)), *(float(v) for v in laid.ring.max(axis=0))],
            }
            for laid in plan.laid
        ],
    }


def guide_values(result: WriteGuideResult) -> dict[str, Any]:
    """The booklet's place."""
    return {"output": _name(result.booklet), "scale": result.report.scale, "findings": finding_values(result.findings)}


def size_basis_words(basis: SizeBasis) -> str:
    """How the drawing's real size was known, at a terminal."""
    return "given on the command line" if basis.name == "GIVEN" else basis.value


def look_values(found: LookResult) -> dict[str, Any]:
    """The content of a drawing."""
    return {
        "title": found.title,
        "size_mm": [found.size.width, found.size.height],
        "size_basis": size_basis_words(found.size_basis),
        "px_per_inch": found.px_per_inch,
        "scale": found.scale,
        "sheets": [{"name": sheet.name, "place_mm": _box(sheet.place)} for sheet in found.sheets],
        "shown": found.shown,
        "pieces": [{"id": piece.ident, "title": piece.title, "marks": piece.marks} for piece in found.pieces],
        "layers": [{"name": layer.name, "shown": layer.shown} for layer in found.layers],
        "roles": {role.value: count for role, count in found.roles.items()},
        "marks": found.marks,
        "pages_needed": [
            {
                "paper": count.paper.name,
                "orientation": count.orientation.value,
                "pages": count.tiles,
                "pages_as_drawn": count.tiles_as_drawn,
            }
            for count in found.pages_needed
        ],
        "findings": finding_values(found.findings),
        "picture": _name(found.picture),
        "seams": [seam_values(row) for row in found.seams],
    }


def pages_values(made: MakePagesResult) -> dict[str, Any]:
    """The pages that were made."""
    plan, on_page = made.plan, _box(made.plan.window_on_page)
    return {
        "output": _name(made.pages),
        "title": plan.title,
        "paper": plan.paper.name,
        "paper_mm": [plan.page_size.width, plan.page_size.height],
        "size_mm": [made.size.width, made.size.height],
        "scale": plan.scale,
        "orientation": plan.orientation.value,
        "rows": plan.grid.rows,
        "columns": plan.grid.columns,
        "pages": made.sheets,
        "pages_as_drawn": plan.pages_as_drawn,
        "overlap_mm": plan.grid.overlap,
        "grid_shift_mm": [plan.grid_shift.x, plan.grid_shift.y],
        "tiles": [
            {
                "name": tile.name,
                "page": made.page_numbers[tile.name],
                "window_mm": _box(tile.window),
                "on_page_mm": on_page,
            }
            for tile in plan.to_print
        ],
        "skipped": list(plan.skipped),
        "bridges": sorted(plan.bridges),
        "placements": [
            {"piece": p.piece, "matrix": [p.move.a, p.move.b, p.move.c, p.move.d, p.move.e, p.move.f]}
            for p in plan.placements
        ],
        "check_lines": [_check_values(line) for line in made.check_lines],
        "findings": finding_values(made.findings),
        "correction": {
            "across": plan.correction.across,
            "down": plan.correction.down,
            "printer": plan.correction.printer or None,
            "uncertainty": plan.correction.uncertainty,
        },
    }


def _check_values(line: CheckLine) -> dict[str, Any]:
    return {
        "what": line.what,
        "from": _end_values(line.start, line.from_tile),
        "to": _end_values(line.end, line.to_tile),
        "length_mm": line.length,
        "allowance_mm": line.allowance,
    }


def _end_values(cross: Cross, tile: str) -> dict[str, Any]:
    return {"cross": cross.number, "tile": tile, "at_mm": [cross.at.x, cross.at.y]}


def reprint_values(made: ReprintResult) -> dict[str, Any]:
    """What becomes of every tile of the taped sheet."""
    return {
        "output": _name(made.pages),
        "replace": list(made.replace),
        "add": list(made.add),
        "remove": list(made.remove),
        "keep": list(made.keep),
        "lesser": list(made.lesser),
        "pages_total": made.tiles,
        "pages": dict(made.page_numbers),
        "sheet_shift_mm": {piece: [shift.x, shift.y] for piece, shift in made.shifts.items()},
        "why": {
            name: [
                {"piece": reason.piece, "movement_mm": None if isinf(reason.movement) else round(reason.movement, 3)}
                for reason in reasons
            ]
            for name, reasons in made.why.items()
        },
        "scale": made.scale,
        "every_page_because": made.every_page_because or None,
        "findings": finding_values(made.findings),
    }


def _name(artifact: Artifact | None) -> str | None:
    return None if artifact is None else artifact.name


def _box(box: Box) -> list[float]:
    return [box.x0, box.y0, box.x1, box.y1]
