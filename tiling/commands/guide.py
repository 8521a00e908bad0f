"""`pageseam guide`: one booklet with the map, taping, cutting, cloth, notions, seams, sizes and cautions."""

from __future__ import annotations

from pathlib import Path

import click

from calibrate.papers import BOOKLET_PAPERS, PAPERS
from tiling.commands import given as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.kinds import FILE
from tiling.commands.options import printer_option, refuse_idle
from tiling.commands.remedies import in_options
from tiling.commands.sewing import GivenSewing, sewing
from tiling.files.inputs import InputKind, read_input
from tiling.operations.sewing_values import guide_values

__all__ = ["command"]


@click.command("guide", short_help="Write the sewing guide: taping, cutting, cloth and notions in one booklet.")
@shared.output
@shared.page
@printer_option
@click.option("--printed", type=FILE, metavar="PAGES.pdf",
              help="What pages or reprint wrote for this drawing: map and check lines as printed.")  # fmt: skip
@click.option(
    "--sheet", type=click.Choice(BOOKLET_PAPERS), metavar="|".join(BOOKLET_PAPERS),
    help=f"Paper of the booklet itself. Default: as --paper if that is one, else {BOOKLET_PAPERS[0]}.",
)  # fmt: skip
@click.option("--font", type=FILE, metavar="FILE.ttf",
              help="A TrueType font for texts in scripts that the usual fonts lack.")  # fmt: skip
@sewing
@shared.drawings
@shared.ending
def command(
    given: shared.GivenDrawings,
    output: shared.GivenOutput,
    page: shared.GivenPage,
    printer: str | None,
    printed: Path | None,
    sheet: str | None,
    font: Path | None,
    sewing: GivenSewing,
    console: Console,
) -> Outcome:
    """Write a booklet to print and keep beside the sewing machine, or to share with the pattern.

    Give the paper, margins and overlap that the pattern's pages were printed with, or with --printed the file itself,
    so that map and check lines agree. With --width the booklet has the lay plans and the cloth to buy.
    """
    from tiling.cloth.units import Units
    from tiling.lengths import in_scale
    from tiling.operations.write_guide import WriteGuideRequest, write_guide

    sewing.check()
    if printed is not None:
        why = "is what the file after --printed says itself; leave one of them out."
        refuse_idle(why, "paper", "orientation", "margins", "overlap", "printer")
    drawings, reading = given.files(), given.reading()
    printed_on = read_input(printed, InputKind.PRINTED) if printed else page.choice(printer)
    inputs = [*given.named, *(path for path in (sewing.before, font, printed) if path)]
    target = output.checked(f"{given.stem}-guide.pdf", inputs, [".pdf"])
    request = WriteGuideRequest(
        printed_on=printed_on,
        drawings=drawings,
        reading=reading,
        wearing=sewing.wearing(),
        lays=sewing.lays(),
        units=Units(sewing.units),
        sheet=PAPERS[sheet] if sheet else None,
        font=read_input(font, InputKind.FONT) if font else None,
        name=str(target),
        strictness=console.strictness,
    )
    made = write_guide(request, console.run())
    written = output.publish(made.booklet)
    scaled = f"\n  {in_scale(made.report.scale)}" if made.report.scale != 1.0 else ""
    words = f"{written}: written.{scaled}" if written else None
    return console.conclude(made.findings, lambda: guide_values(made, in_options), words)
