"""A measurement in words, as the terminal says it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from tiling.commands.json_values import measurement_notes
from tiling.commands.remedies import in_options
from tiling.lengths import in_mm

if TYPE_CHECKING:
    from calibrate.printer_scale import MeasuredScale
    from calibrate.result import Measurement
    from tiling.commands.console import Console

__all__ = ["say_measurement"]


def say_measurement(found: Measurement, voice: Console) -> None:
    """The answer in words, on stdout."""
    across, down = found.square_mm
    skew = "" if found.skew_degrees is None else f", skewed by {found.skew_degrees:.2f}°"
    voice.answer(f"Verdict: {found.verdict.value} (tolerance {found.tolerance * 100:g} %).")
    voice.answer(f"Printed: {_in_words(found.scale)}, by {found.reference_label}{skew}.")
    voice.answer(f"The 100 mm square is {in_mm(across, 2)} across and {in_mm(down, 2)} down.")
    if found.corrected_for.across != 1.0 or found.corrected_for.down != 1.0:
        voice.answer(f"The page was corrected; without that the printer does {_in_words(found.printer)}.")
    if found.verdict.value != "true":
        voice.answer(f"That means: {found.consequence}.")
    if found.cause:
        voice.answer(f"Likely cause: {found.cause}.")
    if seen := ", ".join(f"{in_mm(mm)} {side}" for side, mm in asdict(found.border).items() if mm is not None):
        voice.answer(f"Not printed at the edges: {seen}.")
    for note in measurement_notes(found):
        voice.note(f"Note: {note}")
    voice.answer(f"Next: {in_options('', found.next_step)}.")


def _in_words(scale: MeasuredScale) -> str:
    return (
        f"{scale.across * 100:.2f} % across (± {scale.uncertainty_across * 100:.2f}), "
        f"{scale.down * 100:.2f} % down (± {scale.uncertainty_down * 100:.2f})"
    )
