"""The one writer of what `--json` prints: results as plain values, every key described in the manual."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from tiling.commands.remedies import in_options, refusal_in_options

if TYPE_CHECKING:
    from calibrate.failures import Refusal
    from calibrate.printers import PrinterRecord
    from calibrate.result import Measurement

__all__ = ["measurement_notes", "measurement_values", "printer_values", "refusal_values"]

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
