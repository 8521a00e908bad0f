"""`pageseam guide`: one booklet with the map, taping, cutting, cloth, notions, seams, sizes and cautions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from calibrate.papers import BOOKLET_PAPERS
from tiling.commands import options as shared
from tiling.commands.cloth import (
    before_option,
    cloth_options,
    lay_wishes,
    measure_option,
    refuse_idle_cloth,
    wearing,
)
from tiling.commands.console import Console, Outcome
from tiling.commands.json_values import guide_values

if TYPE_CHECKING:
    from tiling.files.inputs import InputFile
    from tiling.planning.plan import Margins

__all__ = ["command"]


@click.command("guide", short_help="Write the sewing guide: taping, cutting, cloth and notions in one booklet.")
@shared.drawings_argument
@shared.output_options
@shared.paper_options
@shared.printer_option
@click.option("--printed", type=shared.FILE, metavar="PAGES.pdf",
              help="What pages or reprint wrote for this drawing: map and check lines as printed.")  # fmt: skip
@click.option(
    "--sheet", type=click.Choice(BOOKLET_PAPERS), metavar="|".join(BOOKLET_PAPERS),
    help=f"Paper of the booklet itself. Default: as --paper if that is one, else {BOOKLET_PAPERS[0]}.",
)  # fmt: skip
@click.option("--font", type=shared.FILE, metavar="FILE.ttf",
              help="A TrueType font for texts in scripts that the usual fonts lack.")  # fmt: skip
@measure_option
@before_option
@cloth_options
@shared.reading_options
@shared.strict_option
@shared.json_option
@shared.quiet_option
def command(
    drawings: tuple[Path, ...],
    output: Path | None,
    force: bool,
    paper: str,
    orientation: str,
    margins: Margins | None,
    overlap: float | None,
    printer: str | None,
    printed: Path | None,
    sheet: str | None,
    font: Path | None,
    measures: tuple[tuple[str, float], ...],
    before: Path | None,
    widths: tuple[tuple[str, float], ...],
    fold: str,
    nap: bool,
    shrinkage: float,
    gap: float,
    seconds: int,
    seed: int,
    units: str,
    layers: tuple[str, ...],
    page_numbers: tuple[int, ...],
    px_per_inch: float | None,
    notes: Path | None,
    strict: bool,
    as_json: bool,
    quiet: bool,
) -> Outcome:
    """Write a booklet to print and keep beside the sewing machine, or to share with the pattern.

    Give the paper, margins and overlap that the pattern's pages were printed with, or with --printed the file itself,
    so that map and check lines agree. With --width the booklet has the lay plans and the cloth to buy.
    """
    from calibrate.papers import PAPERS
    from tiling.cloth.units import Units
    from tiling.files.destination import check_destination
    from tiling.files.inputs import InputKind, read_input, read_inputs, read_notes_for
    from tiling.files.publish import publish
    from tiling.operations.page_choice import PageChoice
    from tiling.operations.strictness import Strictness
    from tiling.operations.write_guide import WriteGuideRequest, write_guide
    from tiling.planning.plan import Orientation
    from tiling.reading.options import ReadOptions

    console = Console(quiet)
    refuse_idle_cloth(widths)
    if printed is not None:
        why = "is what the file after --printed says itself; leave one of them out."
        shared.refuse_idle(why, "paper", "orientation", "margins", "overlap", "printer")
    target = output or Path(f"{drawings[0].stem}-guide.pdf")
    inputs = [*drawings, *(path for path in (notes, before, font, printed) if path)]
    check_destination(target, force=force, inputs=inputs, endings=[".pdf"])
    if printed is not None:
        printed_on: InputFile | PageChoice = read_input(printed, InputKind.PRINTED)
    else:
        printed_on = PageChoice(paper, Orientation(orientation), margins, overlap, shared.printer_record(printer))
    request = WriteGuideRequest(
        read_inputs(drawings),
        printed_on,
        ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes)),
        wearing(measures, before, None),
        lay_wishes(widths, fold, nap, shrinkage, gap, seconds, seed),
        Units(units),
        PAPERS[sheet] if sheet else None,
        read_input(font, InputKind.FONT) if font else None,
        str(target),
        Strictness.STRICT if strict else Strictness.LENIENT,
    )
    result = write_guide(request, console.run())
    outcome = Outcome(result.findings, request.strictness)
    console.findings(result.findings)
    if result.booklet is None:
        console.refuse(result.findings)
    else:
        publish(target, result.booklet.content, force=force)
        if not as_json:
            console.answer(f"{target}: written.")
    if as_json:
        console.values(guide_values(result, target))
    return outcome
