"""`pageseam taped`: tell from photos of the taped sheet which join slipped, before cloth is cut."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.commands.kinds import FILE, LENGTH
from tiling.lengths import in_mm
from tiling.operations.result_values import refusal_values, taped_values

if TYPE_CHECKING:
    from calibrate.taped.reading import JoinEnd
    from tiling.operations.read_taped import ReadTapedRequest, ReadTapedResult

__all__ = ["command"]

_MOST_TOLD = 12
_LEAST_MOVE = 0.3
"""mm; nobody moves taped paper by less."""


@click.command("taped", short_help="Tell from photos of the taped sheet which join slipped.")
@click.argument("photos", nargs=-1, required=True, type=FILE, metavar="PHOTO...")
@click.option("--printed", type=FILE, required=True, metavar="PAGES.pdf", help="The file whose pages were taped.")
@click.option(
    "--tolerance", type=LENGTH, default="1mm", show_default=True, metavar="LENGTH", help="What a page may have slipped."
)
@shared.json_option
@shared.quiet_option  # fmt: skip
def command(photos: tuple[Path, ...], printed: Path, tolerance: float, as_json: bool, quiet: bool) -> None:
    """Tell how far each page of a taped sheet lies from where it should, at both ends of every join.

    Lay the sheet flat and photograph all of it twice, from above each of its long sides: one photo can't tell a page
    that slipped from a cut edge that stands up, and says so by a larger doubt. Do it before cutting paper or cloth.
    """
    from tiling.files.inputs import InputKind, read_input
    from tiling.operations.read_taped import ReadTapedRequest

    voice = Console(quiet)
    files = tuple(read_input(path, InputKind.PHOTO) for path in photos)
    result = _read(ReadTapedRequest(files, read_input(printed, InputKind.PRINTED), tolerance), voice, as_json)
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
    from calibrate.taped.reading import JoinVerdict

    ends = result.reading.ends
    slipped = [end for end in ends if end.verdict is JoinVerdict.SLIPPED]
    unsure = [end for end in ends if end.verdict is JoinVerdict.UNSURE]
    true = len(ends) - len(slipped) - len(unsure)
    voice.answer(
        f"{true} of {len(ends)} join ends are true to {in_mm(result.tolerance)}, {len(slipped)} slipped, "
        f"{len(unsure)} can't be told"
    )
    for end in slipped[:_MOST_TOLD]:
        voice.answer(f"  {_in_words(end)}")
    if len(slipped) > _MOST_TOLD:
        voice.answer(f"  and {len(slipped) - _MOST_TOLD} more; mend these first and photograph the sheet again")
    if result.unseen:
        pairs = ", ".join(f"{first} to {second}" for first, second in result.unseen[:_MOST_TOLD])
        voice.answer(f"  Not in view: {pairs}")
    if unsure and len(result.reading.photos) == 1:
        voice.answer("  A second photo, from above the opposite long side, tells more")
    if not slipped and not unsure:
        voice.answer("  Cut when you like")


def _in_words(end: JoinEnd) -> str:
    """Where to lift the tape, and which way to move the page."""
    x, y = (-part for part in end.slip)
    moves = [
        f"{way} by {in_mm(abs(much))}"
        for much, way in ((x, "right" if x > 0 else "left"), (y, "down" if y > 0 else "up"))
        if abs(much) >= _LEAST_MOVE
    ]
    where = "" if end.where == "only" else f" at its {end.where} end"
    return (
        f"Lift the join between {end.first} and {end.second}{where}, move {end.second} {' and '.join(moves)} "
        f"(give or take {in_mm(2 * end.doubt)})"
    )
