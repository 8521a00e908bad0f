"""`pageseam testpage`: print the test square alone, to measure a printer."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands.outcome import Voice

if TYPE_CHECKING:
    from tiling.planning.plan import Correction

__all__ = ["command"]


@click.command("testpage", short_help="Print the test square alone, to measure a printer.")
@click.option("--paper", default="a4", show_default=True, metavar="NAME", help="Paper: a4, letter, a3, 200x280mm …")
@click.option("--printer", metavar="NAME", help="Correct the page for a printer measured before.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    default=Path("testpage.pdf"),
    show_default=True,
    metavar="FILE",
    help="Where to write the PDF.",
)
@click.option("--force", is_flag=True, help="Replace the file if it is there already.")
@click.option("-q", "--quiet", is_flag=True, help="Say nothing but errors.")
def command(paper: str, printer: str | None, output: Path, force: bool, quiet: bool) -> None:
    """Write a page with the 100 mm test square and the marks a photo is measured by.

    Print it at actual size (100 %), lay an expired, loyalty or library card in its outline, blank side up, and
    photograph it from above; then run pageseam check on the photo. With --printer the page is corrected for that
    printer: it shall come out true, and a photo of it shows whether it does.
    """
    from tiling.drawing.testpage import prove_test_page, test_page
    from tiling.planning.papers import paper_named
    from tiling.writing.publish import check_destination, publish

    voice = Voice(quiet)
    check_destination(output, force=force)
    sheet = paper_named(paper)
    correction = _correction_of(printer, sheet.name, voice)
    content = test_page(sheet.size, sheet.name, correction)
    publish(output, content, prove=partial(prove_test_page, page=sheet.size, correction=correction))
    voice.note(f"{output}: written. Print it at actual size (100 %), not fit to the page.")


def _correction_of(printer: str | None, paper: str, voice: Voice) -> Correction:
    """The correction kept for a printer, none without a name; says so when it was measured on another paper."""
    from calibrate.printers import Printers
    from tiling.planning.plan import Correction

    if printer is None:
        return Correction()
    record = Printers().get(printer)
    caution = record.caution(paper)
    if caution:
        voice.note(f"Caution: {caution}")
    factors, latest = record.correction(), record.latest
    uncertainty = max(latest.uncertainty_across, latest.uncertainty_down)
    return Correction(factors.across, factors.down, record.name, uncertainty)
