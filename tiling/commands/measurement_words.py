"""A measurement in words, as the terminal says it."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import TYPE_CHECKING

from tiling.commands.remedies import in_options
from tiling.lengths import in_mm
from tiling.operations.result_values import measurement_notes

if TYPE_CHECKING:
    from calibrate.failures import Refusal
    from calibrate.printer_scale import MeasuredScale
    from calibrate.printers import PrinterRecord
    from calibrate.result import Measurement
    from tiling.commands.console import Console
    from tiling.operations.measure_printer import MeasureResult

__all__ = ["say_measurement", "say_what_is_missing", "with_name"]


def say_measurement(found: Measurement, voice: Console) -> None:
    """The answer in words, on stdout."""
    across, down = found.square_mm
    skew = "" if found.skew_degrees is None else f", its corners {abs(found.skew_degrees):.2f}° off square"
    voice.answer(f"Verdict: {found.verdict.value} (tolerance {found.tolerance * 100:g} %).")
    voice.answer(f"Printed: {_in_words(found.scale)}, by {found.reference_label}{skew}.")
    voice.answer(f"The ± {found.coverage}.")
    voice.answer(f"That rests on this: {found.rests_on}.")
    voice.answer(f"The 100 mm square is {in_mm(across, 2)} across and {in_mm(down, 2)} down.")
    if found.corrected_for.across != 1.0 or found.corrected_for.down != 1.0:
        voice.answer(f"The page was corrected; without that the printer does {_in_words(found.printer)}.")
    if found.verdict.value != "true":
        voice.answer(f"That means: {found.consequence}.")
    if found.cause:
        voice.answer(f"Likely cause: {found.cause}.")
    if seen := ", ".join(f"{in_mm(mm)} {side}" for side, mm in asdict(found.border).items() if mm is not None):
        voice.answer(f"Not printed at the edges: {seen}.")
    for note in measurement_notes(found, in_options):
        voice.note(f"Note: {note}")
    voice.answer(f"Next: {in_options('', found.next_step)}.")


def _in_words(scale: MeasuredScale) -> str:
    return (
        f"{scale.across * 100:.2f} % across (± {scale.uncertainty_across * 100:.2f}), "
        f"{scale.down * 100:.2f} % down (± {scale.uncertainty_down * 100:.2f})"
    )


def say_what_is_missing(result: MeasureResult, record: PrinterRecord, voice: Console) -> None:
    """What a reading that was kept lacks: sides of the border, or certainty."""
    unread = result.keep.unread if result.keep else ()
    if result.keep and record.latest != result.keep.reading:
        voice.note(
            f"{record.name}: the reading of a photo stays in use, since a ruler's is rougher; to use the ruler's, "
            f"forget the printer first (pageseam printers forget) and check again."
        )
        if result.keep.reading.contradicts(record.latest):
            voice.note("Caution: the two contradict each other, so the printer may print otherwise now: photograph it.")
    if unread and record.border is None:
        voice.note(
            f"The border is not kept: {', '.join(unread)} can't be read off the photo; "
            "read the ticks yourself and give --border LEFT TOP RIGHT BOTTOM."
        )
    if result.unsure:
        voice.note(
            "Caution: the reading is less sure than the tolerance, and so is a correction made from it; lay a card "
            "in the outline and check again before printing a whole pattern."
        )


def with_name(refusal: Refusal, photos: list[str]) -> Refusal:
    """A refusal that names the photo; of several, the measuring room named the one meant."""
    if len(photos) > 1 or photos[0] in refusal.detail:
        return refusal
    return replace(refusal, detail=f"{refusal.detail} ({photos[0]})" if refusal.detail else photos[0])
