"""`pageseam check`: measure the printer from photos of the printed test square, or from a ruler."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.failures import InputUnfit, UsageWrong
from tiling.lengths import LengthUnclear, in_mm, parse_percent

if TYPE_CHECKING:
    from calibrate.failures import Refusal
    from calibrate.photo import Photo
    from calibrate.printer_scale import MeasuredScale
    from calibrate.printers import Border
    from calibrate.result import Measurement

__all__ = ["command"]

_LARGEST_TOLERANCE = 0.05
_SIDES = ("left", "top", "right", "bottom")


class _Tolerance(click.ParamType[float]):
    """A share in per cent, above 0 and up to 5 %."""

    name = "share"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        try:
            share = parse_percent(str(value))
        except LengthUnclear as wrong:
            self.fail(str(wrong), param, ctx)
        if not 0 < share <= _LARGEST_TOLERANCE:
            self.fail(f"'{value}' is not between 0 % and 5 %.", param, ctx)
        return share


class _Day(click.ParamType[str]):
    """A day in ISO 8601, such as 2026-05-01."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        try:
            return date.fromisoformat(str(value)).isoformat()
        except ValueError:
            self.fail(f"'{value}' is no day; write it as 2026-05-01.", param, ctx)


@dataclass(frozen=True, slots=True)
class _Keep:
    """What is to be written down, and for which printer."""

    printer: str
    paper: str
    date: str
    typed_border: tuple[float, float, float, float] | None


@click.command("check", short_help="Measure the printer from a photo of the printed test square, or from a ruler.")
@click.argument("photos", nargs=-1, type=shared.FILE, metavar="[PHOTO]...")
@click.option(
    "--reference",
    metavar="KIND",
    help="What of known size is in the photo: sheet, card or coin:NAME. Left out: the card if one lies in its "
    "outline, else the sheet.",
)
@click.option(
    "--sheet",
    nargs=2,
    type=shared.LENGTH,
    metavar="ACROSS DOWN",
    help="The sheet's own sides, if you measured them; makes the sheet a better reference.",
)
@click.option(
    "--measured",
    nargs=2,
    type=shared.LENGTH,
    metavar="ACROSS DOWN",
    help="No photo: the sides of the square as a ruler shows them, such as 97.5mm 98mm; a page that lies down is "
    "turned upright first.",
)
@click.option("--corrected", is_flag=True, help="With --measured: the page was printed with --printer NAME already.")
@click.option("--tolerance", type=_Tolerance(), default="0.5%", show_default=True, help="What still counts as true.")
@click.option("--printer", metavar="NAME", help="Keep the result under this name, for pages and testpage --printer.")
@click.option("--paper", metavar="NAME", help="The paper it was printed on, where no photo tells. [default: a4]")
@click.option("--date", type=_Day(), metavar="DAY", default=None, help="When it was measured, kept with --printer.")
@click.option(
    "--border",
    nargs=4,
    type=shared.LENGTH,
    metavar="LEFT TOP RIGHT BOTTOM",
    help="The first tick to be seen at each edge, for --printer; a photo shows it by itself.",
)
@click.option("--picture", type=shared.FILE, metavar="FILE", help="Draw what was found on the photo.")
@click.option("--force", is_flag=True, help="Replace the picture if it is there already.")
@shared.json_option
@shared.quiet_option
def command(
    photos: tuple[Path, ...],
    reference: str | None,
    sheet: tuple[float, float] | None,
    measured: tuple[float, float] | None,
    corrected: bool,
    tolerance: float,
    printer: str | None,
    paper: str | None,
    date: str | None,
    border: tuple[float, float, float, float] | None,
    picture: Path | None,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Measure what a printer did to the test page, from photos of it or with a ruler.

    Print the test page (pageseam testpage, or the first page of pages), lay it flat on a table of another tone,
    photograph it from above with all four edges in view. Better: lay an expired, loyalty or library card in the
    outline, blank side up; never a bank card face up, the photo would show its number. Several photos of the same
    page are combined.
    """
    from calibrate.verdict import KEEP_IT

    voice = Console(quiet)
    _check_usage(photos, measured, {"--reference": reference, "--sheet": sheet, "--picture": picture})
    if (corrected or border or date or paper) and printer is None:
        raise UsageWrong(
            "--corrected, --border, --date and --paper say something about a printer: name it with --printer."
        )
    if measured:
        result = _by_ruler(measured, tolerance, printer if corrected else None)
    else:
        if corrected:
            raise UsageWrong(
                "--corrected goes with --measured; a photo shows by itself which correction is on the page."
            )
        result = _by_photos(photos, _Wish(reference, sheet, tolerance, picture, force), voice, as_json)
    if printer is not None:
        kept = f"print with --printer {printer}, under which this result is kept"
        result = replace(result, next_step=result.next_step.replace(KEEP_IT, kept))
    if as_json:
        _say_json(result, voice)
    else:
        _say(result, voice)
    if printer is not None:
        known = result.paper.name if result.paper else "a4"
        _keep(result, _Keep(printer, paper or known, date or "", border), voice)


def _check_usage(photos: tuple[Path, ...], measured: object, only_photos: dict[str, object]) -> None:
    """Photos or a ruler, not both, not neither."""
    if photos and measured:
        raise UsageWrong("--measured is what a ruler shows where there is no photo; give the photo or the figures.")
    if not photos and not measured:
        raise UsageWrong("name the photo to read, or give the ruler's figures: --measured 97.5mm 98mm.")
    if measured:
        for option, value in only_photos.items():
            if value:
                raise UsageWrong(f"{option} needs a photo; with --measured there is none.")


@dataclass(frozen=True, slots=True)
class _Wish:
    """How the photos are to be read, and where the picture goes."""

    reference: str | None
    sheet: tuple[float, float] | None
    tolerance: float
    picture: Path | None
    force: bool


def _by_photos(paths: tuple[Path, ...], wish: _Wish, voice: Console, as_json: bool) -> Measurement:
    """Read the photos; a refusal ends the run with exit code 5, in JSON too where that was asked for."""
    from calibrate.failures import NoMeasurementError, Refusal
    from calibrate.photo import load_photo
    from calibrate.references import measured_sheet
    from calibrate.scale import Options, measure, wanted_reference
    from tiling.files.destination import check_destination

    wanted_reference(wish.reference)
    if wish.picture is not None:
        check_destination(wish.picture, force=wish.force, inputs=paths)
    try:
        loaded = []
        for number, path in enumerate(paths, 1):
            loaded.append(load_photo(path))
            voice.progress(number, len(paths), "Photo")
        own_sheet = measured_sheet(*wish.sheet) if wish.sheet else None
        result = measure(loaded, Options(wish.reference, wish.tolerance, own_sheet))
        if isinstance(result, Refusal):
            raise NoMeasurementError(_with_name(result, paths))
    except NoMeasurementError as refused:
        if as_json:
            _say_json(refused.refusal, voice)
        raise
    if wish.picture is not None:
        _draw(loaded, result, wish.picture, voice, force=wish.force)
    return result


def _with_name(refusal: Refusal, paths: tuple[Path, ...]) -> Refusal:
    """A refusal that names the photo; of several, the measuring room named the one meant."""
    if len(paths) > 1 or str(paths[0]) in refusal.detail:
        return refusal
    return replace(refusal, detail=f"{refusal.detail} ({paths[0]})" if refusal.detail else str(paths[0]))


def _draw(photos: list[Photo], result: Measurement, path: Path, voice: Console, *, force: bool) -> None:
    from calibrate.picture import annotated, encoded
    from tiling.files.publish import publish

    publish(path, encoded(annotated(photos, result), path.suffix), force=force)
    voice.note(f"{path}: written, the photo with what was found.")


def _by_ruler(sides: tuple[float, float], tolerance: float, printer: str | None) -> Measurement:
    """The ruler's answer; on a page corrected for a printer, what the printer itself does follows from both."""
    from calibrate.printer_scale import PrinterScale
    from calibrate.printers import Printers
    from calibrate.scale import measured_by_ruler

    corrected = PrinterScale() if printer is None else Printers().get(printer).stated()
    try:
        return measured_by_ruler(*sides, tolerance, corrected)
    except ValueError as wrong:
        raise InputUnfit(f"--measured: {wrong}.") from None


def _say_json(result: Measurement | Refusal, voice: Console) -> None:
    from calibrate.result import as_json

    voice.values(as_json(result))


def _say(result: Measurement, voice: Console) -> None:
    """The answer in words, on stdout."""
    across, down = result.square_mm
    skew = "" if result.skew_degrees is None else f", skewed by {result.skew_degrees:.2f}°"
    voice.answer(f"Verdict: {result.verdict.value} (tolerance {result.tolerance * 100:g} %).")
    voice.answer(f"Printed: {_in_words(result.scale)}, by {result.reference_label}{skew}.")
    voice.answer(f"The 100 mm square is {in_mm(across, 2)} across and {in_mm(down, 2)} down.")
    if result.corrected_for.across != 1.0 or result.corrected_for.down != 1.0:
        voice.answer(f"The page was corrected; without that the printer does {_in_words(result.printer)}.")
    if result.verdict.value != "true":
        voice.answer(f"That means: {result.consequence}.")
    if result.cause:
        voice.answer(f"Likely cause: {result.cause}.")
    sides = asdict(result.border)
    if any(value is not None for value in sides.values()):
        seen = ", ".join(f"{in_mm(sides[side])} {side}" for side in _SIDES if sides[side] is not None)
        voice.answer(f"Not printed at the edges: {seen}.")
    for note in result.notes:
        voice.note(f"Note: {note}")
    voice.answer(f"Next: {result.next_step}.")


def _in_words(scale: MeasuredScale) -> str:
    return (
        f"{scale.across * 100:.2f} % across (± {scale.uncertainty_across * 100:.2f}), "
        f"{scale.down * 100:.2f} % down (± {scale.uncertainty_down * 100:.2f})"
    )


def _keep(result: Measurement, keep: _Keep, voice: Console) -> None:
    """Write the reading down, with the border where all four sides are known."""
    from calibrate.printers import PrinterReading, Printers

    reading = PrinterReading(keep.paper, result.upright_printer, result.reference, keep.date)
    border, missing = _border_of(result, keep.typed_border)
    printers = Printers()
    record = printers.keep(keep.printer, reading, border)
    voice.note(f"{record.name}: kept in {printers.path}.")
    if missing and record.border is None:
        voice.note(
            f"The border is not kept: {', '.join(missing)} can't be read off the photo; "
            "read the ticks yourself and give --border LEFT TOP RIGHT BOTTOM."
        )
    if reading.scale.uncertainty > result.tolerance:
        voice.note(
            "Caution: the reading is less sure than the tolerance, and so is a correction made from it; lay a card "
            "in the outline and check again before printing a whole pattern."
        )


def _border_of(
    result: Measurement, typed: tuple[float, float, float, float] | None
) -> tuple[Border | None, tuple[str, ...]]:
    """The border as typed, else as seen in the photo; and the sides that are not to be seen."""
    from calibrate.printers import Border

    if typed is None and result.reference == "ruler":
        return None, ()
    seen = asdict(result.border) if typed is None else dict(zip(_SIDES, typed, strict=True))
    missing = tuple(side for side in _SIDES if seen[side] is None)
    if missing:
        return None, missing
    if result.lying:
        # Printers differ in which way they turn a page that lies down: the widest side is safe at all four.
        return Border(*(max(seen.values()),) * 4), ()
    return Border(**seen), ()
