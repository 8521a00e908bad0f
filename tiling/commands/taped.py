"""`pageseam taped`: tell from photos of the taped sheet which join slipped, before cloth is cut."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.commands.kinds import FILE, LENGTH
from tiling.operations.result_values import refusal_values, taped_values

if TYPE_CHECKING:
    from tiling.operations.read_taped import ReadTapedRequest, ReadTapedResult

__all__ = ["command"]


@click.command("taped", short_help="Tell from photos of the taped sheet which join slipped.")
@click.argument("photos", nargs=-1, required=True, type=FILE, metavar="PHOTO...")
@click.option(
    "--printed", type=FILE, required=True, multiple=True, metavar="PAGES.pdf",
    help="The file whose pages were taped; once for each file, where some were printed again.",
)
@click.option(
    "--tolerance", type=LENGTH, default="1mm", show_default=True, metavar="LENGTH", help="What a page may have slipped."
)
@click.option("--printer", metavar="NAME", help="The printer they came from, to know lengths as well as slips.")
@click.option("--picture", type=FILE, metavar="FILE", help="Draw what was found on the first photo.")
@click.option("--force", is_flag=True, help="Replace the picture if it is there already.")
@shared.json_option
@shared.quiet_option  # fmt: skip
def command(
    photos: tuple[Path, ...],
    printed: tuple[Path, ...],
    tolerance: float,
    printer: str | None,
    picture: Path | None,
    force: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """Tell how far each page of a taped sheet lies from where it should, at both ends of every join.

    Lay the sheet flat and photograph all of it twice, from above each of its long sides: one photo can't tell a page
    that slipped from a cut edge that stands up, and says so by a larger doubt. Do it before cutting paper or cloth.
    """
    from tiling.files.destination import check_destination
    from tiling.files.inputs import InputKind, read_input
    from tiling.files.publish import publish
    from tiling.operations.read_taped import ReadTapedRequest

    voice = Console(quiet)
    if picture is not None:
        check_destination(picture, force=force, inputs=(*photos, *printed))
    record = shared.printer_record(printer)
    files = tuple(read_input(path, InputKind.PHOTO) for path in photos)
    pages, *more = (read_input(path, InputKind.PRINTED) for path in printed)
    request = ReadTapedRequest(
        files,
        pages,
        tolerance,
        record.latest.scale.on_other_pages() if record is not None else None,
        str(picture) if picture is not None else "",
        tuple(more),
    )
    result = _read(request, voice, as_json)
    if picture is not None and result.picture is not None:
        publish(picture, result.picture.content, force=force)
        voice.note(f"{picture}: written, the first photo with what was found.")
    if as_json:
        voice.values(taped_values(result))
    else:
        _say(result, voice)


def _read(request: ReadTapedRequest, voice: Console, as_json: bool) -> ReadTapedResult:
    """The result; a refusal ends the run with exit code 5, in JSON too where that was asked for."""
    from calibrate.failures import NoMeasurementError
    from tiling.operations.read_taped import read_taped_sheet

    try:
        return read_taped_sheet(request, voice.run())
    except NoMeasurementError as refused:
        if as_json:
            voice.values({"refusal": refusal_values(refused.refusal)["refusal"]})
        raise


def _say(result: ReadTapedResult, voice: Console) -> None:
    """Say all of it, what matters most first."""
    from tiling.operations.taped_words import taped_words

    words = taped_words(result)
    voice.answer(words.summary)
    for line in (*words.pages, *words.lifts, *words.seams, *words.distances):
        voice.answer(f"  {line}")
    if words.size_unknown:
        voice.answer("  How large the sheet is no photo tells: name a measured printer with --printer")
    for line in words.next_step:
        voice.answer(f"  {line}")
