"""`pageseam check`: measure the printer from photos of the printed test square, or from a ruler."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.commands.kinds import DAY, FILE, LENGTH, RULER_SIDE, TOLERANCE, RulerSide
from tiling.commands.measurement_words import say_measurement, say_what_is_missing, with_name
from tiling.commands.remedies import in_options, refusal_in_options
from tiling.failures import UsageWrong
from tiling.operations.result_values import measurement_values, refusal_values

if TYPE_CHECKING:
    from tiling.operations.measure_printer import MeasureRequest, MeasureResult

__all__ = ["command"]


@click.command("check", short_help="Measure the printer from a photo of the printed test square, or from a ruler.")
@click.argument("photos", nargs=-1, type=FILE, metavar="[PHOTO]...")
@click.option(
    "--reference",
    metavar="KIND",
    help="What of known size is in the photo: sheet, card or coin:NAME. Left out: the card if one lies in "
    "its outline, else the sheet.",
)
@click.option(
    "--sheet",
    nargs=2,
    type=LENGTH,
    metavar="ACROSS DOWN",
    help="The sheet's own sides, if you measured them; makes the sheet a better reference.",
)
@click.option(
    "--measured",
    nargs=2,
    type=RULER_SIDE,
    metavar="ACROSS DOWN",
    help="No photo: the sides of the square as a ruler shows them, such as 97.5mm 98mm; in inches, those of the "
    "dashed square. A page that lies down is turned upright first.",
)
@click.option("--corrected", is_flag=True, help="With --measured: the page was printed with --printer NAME already.")
@click.option("--tolerance", type=TOLERANCE, default="0.5%", show_default=True, help="What still counts as true.")
@click.option("--printer", metavar="NAME", help="Keep the result under this name, for pages and testpage --printer.")
@click.option("--paper", metavar="NAME", help="The paper it was printed on, where no photo tells. [default: a4]")
@click.option("--date", type=DAY, metavar="DAY", help="When it was measured, kept with --printer.")
@click.option(
    "--border",
    nargs=4,
    type=LENGTH,
    metavar="LEFT TOP RIGHT BOTTOM",
    help="The first tick to be seen at each edge, for --printer; a photo shows it by itself.",
)
@click.option("--picture", type=FILE, metavar="FILE", help="Draw what was found on the photo.")
@click.option("--force", is_flag=True, help="Replace the picture if it is there already.")
@shared.json_option
@shared.quiet_option  # fmt: skip
def command(
    photos: tuple[Path, ...],
    reference: str | None,
    sheet: tuple[float, float] | None,
    measured: tuple[RulerSide, RulerSide] | None,
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
    from calibrate.failures import NoMeasurementError
    from calibrate.printer_scale import PrinterScale
    from calibrate.printers import Border, Printers
    from calibrate.scale import wanted_reference
    from tiling.files.destination import check_destination
    from tiling.files.inputs import InputKind, read_input
    from tiling.files.publish import publish
    from tiling.operations.measure_printer import KeepAs, MeasureRequest, RulerFigures
    from tiling.shapes import Size

    voice = Console(quiet)
    _check_usage(photos, measured, {"--reference": reference, "--sheet": sheet, "--picture": picture})
    if (corrected or border or date or paper) and printer is None:
        raise UsageWrong(
            "--corrected, --border, --date and --paper say something about a printer: name it with --printer."
        )
    if corrected and not measured:
        raise UsageWrong("--corrected goes with --measured; a photo shows by itself which correction is on the page.")
    wanted_reference(reference)
    if picture is not None:
        check_destination(picture, force=force, inputs=photos)
    known = Printers().get(printer).stated() if corrected and printer else PrinterScale()
    request = MeasureRequest(
        tuple(read_input(path, InputKind.PHOTO) for path in photos),
        RulerFigures(measured[0].mm, measured[1].mm, known) if measured else None,
        reference,
        Size(*sheet) if sheet else None,
        tolerance,
        str(picture) if picture else "",
        KeepAs(printer, paper or "", date or "", Border(*border) if border else None) if printer is not None else None,
    )
    if measured and any(side.dashed for side in measured):
        voice.note("Inches are taken as those of the dashed square, 4 in; for the square within it give millimetres.")

    def draw(content: bytes | None) -> None:
        if picture is not None and content is not None:
            publish(picture, content, force=force)
            voice.note(f"{picture}: written, the photo with what was found.")

    try:
        result = _measured(request, voice, as_json)
    except NoMeasurementError as refused:
        draw(refused.picture)
        raise
    draw(result.picture.content if result.picture is not None else None)
    if as_json:
        voice.values(measurement_values(result.measurement, in_options))
    else:
        say_measurement(result.measurement, voice)
    _keep(result, voice)


def _measured(request: MeasureRequest, voice: Console, as_json: bool) -> MeasureResult:
    """The result; a refusal ends the run with exit code 5, in JSON too where that was asked for."""
    from calibrate.failures import NoMeasurementError
    from calibrate.run import Run
    from tiling.operations.measure_printer import PHOTOS_READ, measure_printer

    shown = voice.run()

    def tell(what: str, done: int, total: int) -> None:
        if what == PHOTOS_READ:
            shown.tell(what, done, total)

    try:
        return measure_printer(request, Run(tell))
    except NoMeasurementError as refused:
        refusal = with_name(refusal_in_options(refused.refusal), [photo.name for photo in request.photos])
        if as_json:
            voice.values(refusal_values(refusal, in_options))
        raise NoMeasurementError(refusal, refused.picture) from None


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


def _keep(result: MeasureResult, voice: Console) -> None:
    """Write the reading down, with the border where all four sides are known."""
    from calibrate.printers import Printers

    if (keep := result.keep) is not None:
        printers = Printers()
        record = printers.keep(keep.printer, keep.reading, keep.border)
        voice.note(f"{record.name}: kept in {printers.path}.")
        say_what_is_missing(result, record, voice)
