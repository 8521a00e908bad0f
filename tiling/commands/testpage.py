"""`pageseam testpage`: print the test square alone, to measure a printer."""

from __future__ import annotations

from pathlib import Path

import click

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.commands.kinds import FILE

__all__ = ["command"]


@click.command("testpage", short_help="Print the test square alone, to measure a printer.")
@click.option(
    "--paper", default="a4", show_default=True, metavar="NAME", help=f"Paper: {shared.PAPERS_IN_SERIES}, or 200x280mm."
)
@click.option("--printer", metavar="NAME", help="Correct the page for a printer measured before.")
@click.option(
    "-o",
    "--output",
    type=FILE,
    default=Path("testpage.pdf"),
    show_default=True,
    metavar="FILE",
    help="Where to write the PDF.",
)
@click.option("--force", is_flag=True, help="Replace the file if it is there already.")
@shared.quiet_option
def command(paper: str, printer: str | None, output: Path, force: bool, quiet: bool) -> None:
    """Write a page with the 100 mm test square and the marks a photo is measured by.

    Print it at actual size (100 %), lay an expired, loyalty or library card in its outline, blank side up, and
    photograph it from above; then run pageseam check on the photo. With --printer the page is corrected for that
    printer: it shall come out true, and a photo of it shows whether it does.
    """
    from tiling.files.destination import check_destination
    from tiling.files.publish import publish
    from tiling.operations.make_test_page import MakeTestPageRequest, make_test_page

    voice = Console(quiet)
    # The page is made first: paper or printer mistyped is the more likely mistake than a file that is there already.
    made = make_test_page(MakeTestPageRequest(paper, shared.printer_record(printer), str(output)))
    check_destination(output, force=force, endings=[".pdf"])
    voice.findings(made.findings)
    publish(output, made.page.content, force=force)
    voice.answer(f"{output}: written. Print it at actual size (100 %), not fit to the page.")
