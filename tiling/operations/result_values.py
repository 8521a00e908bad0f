"""Results as plain values, as `--json` prints them and the workroom's page is told them; the manual has every key.

Where a result says what to do, `words` makes one text of a cause and its remedy; without it the advice is plain.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from math import isinf
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from tiling.failures import advised

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibrate.failures import Refusal, Remedy
    from calibrate.printers import PrinterRecord
    from calibrate.result import Measurement
    from calibrate.taped.reading import SpanSeen
    from tiling.altering.alter import AlterOutcome
    from tiling.altering.seams import SeamChange
    from tiling.cloth.seams import SeamRow
    from tiling.drawing.checklines import CheckLine
    from tiling.files.inputs import Artifact
    from tiling.operations.alter import AlterResult
    from tiling.operations.look import LookResult
    from tiling.operations.make_pages import MakePagesResult
    from tiling.operations.read_taped import ReadTapedResult
    from tiling.operations.reprint import ReprintResult
    from tiling.pattern import Finding
    from tiling.planning.printed import Cross
    from tiling.shapes import Box

__all__ = [
    "Words",
    "altered_values",
    "artifact_name",
    "explanation_in_words",
    "finding_values",
    "look_values",
    "measurement_notes",
    "measurement_values",
    "pages_values",
    "printer_values",
    "refusal_values",
    "reprint_values",
    "seam_change_values",
    "seam_values",
    "taped_values",
]

_MEASUREMENT_KEYS = (
    "across", "down", "uncertainty_across", "uncertainty_down", "skew_degrees", "verdict", "cause", "consequence",
    "next_step", "reference", "corrected_for", "printer_scale", "paper", "border", "residual_px", "budget",
    "coverage", "rests_on", "otherwise", "notes", "refusal",
)  # fmt: skip


class Words(Protocol):
    """How a cause and what to do about it are told, in the words of whoever shows them."""

    def __call__(self, what: str, remedy: Remedy | None, /) -> str:
        """One text, on one line."""
        ...


def finding_values(findings: Sequence[Finding], words: Words = advised) -> list[dict[str, Any]]:
    """The findings, with what to do."""
    return [
        {
            "number": f.number,
            "kind": f.kind.name.lower().replace("_", "-"),
            "text": words(f.text, f.remedy),
            "where": f.where,
        }
        for f in findings
    ]


def measurement_values(found: Measurement, words: Words = advised) -> dict[str, Any]:
    """A measurement; it and a refusal have the same keys, those without a value None."""
    filled: dict[str, Any] = dict.fromkeys(_MEASUREMENT_KEYS)
    return filled | {
        **asdict(found.scale),
        "skew_degrees": found.skew_degrees,
        "verdict": found.verdict.value,
        "cause": found.cause,
        "consequence": found.consequence,
        "next_step": words("", found.next_step),
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
        "notes": list(measurement_notes(found, words)),
    }


def refusal_values(refusal: Refusal, words: Words = advised) -> dict[str, Any]:
    """A refusal, with the same keys as a measurement."""
    why = {
        "reason": refusal.reason.value,
        "detail": words(refusal.detail, refusal.remedy),
        "advice": refusal.advice,
    }
    return dict.fromkeys(_MEASUREMENT_KEYS) | {"refusal": why}


def measurement_notes(found: Measurement, words: Words = advised) -> tuple[str, ...]:
    """What else is to be said of a measurement: of the paper, and why photos were left out."""
    return (
        *found.notes,
        *(f"left out: {replace(r, detail=words(r.detail, r.remedy), remedy=None)}" for r in found.left_out),
    )


def printer_values(record: PrinterRecord) -> dict[str, Any]:
    """A printer as kept, and the factors its pages are scaled by."""
    kept, factors = record.values(), record.correction()
    scaled = {"across": factors.across, "down": factors.down}
    return {"name": record.name, "latest": kept["latest"], "content_scaled_by": scaled, **kept}


def altered_values(result: AlterResult, notes: Path | None, words: Words = advised) -> dict[str, Any]:
    """What was altered, and where its notes were written."""
    done = result.outcome
    return {
        "output": artifact_name(result.drawing),
        "notes": None if notes is None else str(notes),
        "picture": artifact_name(result.picture),
        "title": done.pattern.title,
        "size_mm": [done.pattern.size.width, done.pattern.size.height],
        "scale": done.pattern.scale,
        "altered": list(done.altered),
        "sums": explanation_in_words(done, words),
        "seams": [seam_change_values(change) for change in done.seams],
        "findings": finding_values(result.findings, words),
    }


def explanation_in_words(done: AlterOutcome, words: Words = advised) -> list[str]:
    """How the amounts were shared."""
    return [words(sentence.text, sentence.remedy) for sentence in done.explanation]


def seam_change_values(change: SeamChange) -> dict[str, Any]:
    """A seam before and after an alteration."""
    return {
        "name": change.note.name,
        "first": change.after.first,
        "second": change.after.second,
        "ease_mm": change.note.ease,
        "before_mm": [change.before.first_length, change.before.second_length],
        "after_mm": [change.after.first_length, change.after.second_length],
        "grew_mm": change.grew,
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


def look_values(found: LookResult, words: Words = advised) -> dict[str, Any]:
    """The content of a drawing."""
    return {
        "title": found.title,
        "size_mm": [found.size.width, found.size.height],
        "size_basis": found.size_basis.value,
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
        "findings": finding_values(found.findings, words),
        "picture": artifact_name(found.picture),
        "seams": [seam_values(row) for row in found.seams],
    }


def pages_values(made: MakePagesResult, words: Words = advised) -> dict[str, Any]:
    """The pages that were made."""
    plan, on_page = made.plan, _box(made.plan.window_on_page)
    return {
        "output": artifact_name(made.pages),
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
        "findings": finding_values(made.findings, words),
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


def reprint_values(made: ReprintResult, words: Words = advised) -> dict[str, Any]:
    """What becomes of every tile of the taped sheet."""
    return {
        "output": artifact_name(made.pages),
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
        "findings": finding_values(made.findings, words),
    }


def artifact_name(artifact: Artifact | None) -> str | None:
    """What was made is called, None where nothing was."""
    return None if artifact is None else artifact.name


def _box(box: Box) -> list[float]:
    return [box.x0, box.y0, box.x1, box.y1]


def taped_values(result: ReadTapedResult) -> dict[str, Any]:
    """What photos of a taped sheet say, an entry for each end of each join, the worst first."""
    reading = result.reading
    return {
        "tolerance_mm": result.tolerance,
        "joins": [
            {
                "between": [end.first, end.second],
                "end": end.where,
                "at_mm": list(end.at),
                "slip_mm": list(end.slip),
                "along_mm": end.along,
                "across_mm": end.across,
                "sd_mm": end.doubt,
                "verdict": end.verdict.value,
            }
            for end in reading.ends
        ],
        "unseen": [list(pair) for pair in result.unseen],
        "pages": [
            {
                "name": one.place,
                "found_as": one.found_as,
                "upside_down": one.upside_down,
                "missing": one.missing,
                "turn_deg": reading.turns.get(one.place),
            }
            for one in reading.identities
        ],
        "seams": [
            {
                "piece": one.seam.piece,
                "name": one.seam.name,
                "between": list(one.between),
                "longer_mm": one.longer,
                "sd_mm": one.doubt,
            }
            for one in reading.seams
        ],
        "diagonals_mm": [_span_values(result, seen) for seen in result.diagonals],
        "check_lines": [_span_values(result, seen) for seen in result.check_lines],
        "lifts": [
            {
                "pages": list(lift.pages),
                "joins": [list(pair) for pair in lift.joins],
                "move_mm": list(lift.move),
                "turn_deg": lift.turn,
            }
            for lift in reading.lifts
        ],
        "photos": [{"name": one.name, "px_per_mm": one.px_per_mm, "marks": one.marks} for one in reading.photos],
    }


def _span_values(result: ReadTapedResult, seen: SpanSeen) -> dict[str, Any]:
    """A distance between two crosses; its true length only where the printer's scale is known."""
    return {
        "what": seen.span.what,
        "between": list(seen.span.pages),
        "drawn_mm": seen.span.length,
        "longer_mm": seen.longer,
        "sd_mm": seen.doubt,
        "length_mm": result.length(seen),
    }
