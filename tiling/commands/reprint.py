"""`pageseam reprint`: after an alteration, print only the pages that changed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands import given as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.kinds import FILE, LENGTH
from tiling.commands.options import printer_option, printer_record
from tiling.commands.remedies import in_options
from tiling.files.inputs import InputKind, read_input
from tiling.operations.result_values import reprint_values

if TYPE_CHECKING:
    from tiling.operations.reprint import ReprintResult

__all__ = ["command"]


@click.command("reprint")
@click.option(
    "--printed",
    type=FILE,
    required=True,
    metavar="OLD.pdf",
    help="The file that was printed and taped, as pages or reprint wrote it.",
)
@shared.output
@shared.drawings
@printer_option
@click.option(
    "--slack",
    type=LENGTH,
    default="0.1mm",
    show_default=True,
    metavar="LENGTH",
    help="A line that moved by no more is not printed again.",
)
@click.option("--all-changes", is_flag=True, help="Also reprint pages on which only a text or a style differs.")
@click.option(
    "--list",
    "as_list",
    is_flag=True,
    help="Print page numbers on stdout, for printing from a full file of the new drawing; with -o that "
    "full file is written.",
)
@click.option("--no-proof", is_flag=True, help="Publish without reading back and comparing.")
@shared.ending
def command(
    given: shared.GivenDrawings,
    printed: Path,
    output: shared.GivenOutput,
    printer: str | None,
    slack: float,
    all_changes: bool,
    as_list: bool,
    no_proof: bool,
    console: Console,
) -> Outcome:
    """Compare a changed drawing with the file that was printed, and print only the pages that differ.

    Writes NAME-changed.pdf in the current folder: a map that says which pages to replace, add, take away and keep,
    and the changed pages, which fit the sheet already taped. OLD.pdf alone tells what was printed.
    """
    from tiling.operations.finished_file import Proof
    from tiling.operations.reprint import Extent, ReprintRequest, reprint
    from tiling.planning.reprint import Depth

    drawings, reading, record = given.files(), given.reading(), printer_record(printer)
    before = read_input(printed, InputKind.PRINTED)
    name = ""
    if output.output is not None or not as_list:
        name = str(output.checked(f"{given.stem}-changed.pdf", (*given.named, printed), [".pdf"]))
    request = ReprintRequest(
        printed=before,
        drawings=drawings,
        reading=reading,
        printer=record,
        slack=slack,
        depth=Depth.ALL if all_changes else Depth.LINES,
        extent=Extent.WHOLE if as_list else Extent.CHANGED,
        proof=Proof.SKIPPED if no_proof else Proof.COMPARED,
        name=name,
        strictness=console.strictness,
    )
    made = reprint(request, console.run())
    output.publish(made.pages)
    words = _page_list(made) if as_list else _summary(made, printed)
    refused = Outcome(made.findings, console.strictness).refused
    return console.conclude(made.findings, lambda: reprint_values(made, in_options), None if refused else words)


def _page_list(made: ReprintResult) -> str:
    return ",".join(str(page) for name, page in made.page_numbers.items() if name in made.to_print)


def _summary(made: ReprintResult, printed: Path) -> str:
    from tiling.lengths import in_scale

    if not made.to_print:
        lines = [f"Nothing to print: the sheet printed from {printed} shows this drawing already."]
    else:
        where = f"{made.pages.name}: " if made.pages else ""
        lines = [f"{where}{len(made.to_print)} of {made.tiles} pages to print, and a map of what to change"]
    if made.scale != 1.0:
        lines.append(f"  {in_scale(made.scale)}")
    if made.every_page_because:
        lines.append(f"  Every page, because {made.every_page_because}.")
    for heading, names in (
        ("replace", made.replace),
        ("add", made.add),
        ("take away", made.remove),
        ("keep", made.keep),
    ):
        if names:
            lines.append(f"  {heading}: {' '.join(names)}")
    if made.lesser:
        listed = " ".join(made.lesser)
        lines.append(f"  only a text or a style differs on: {listed} (add --all-changes to print them too)")
    return "\n".join(lines)
