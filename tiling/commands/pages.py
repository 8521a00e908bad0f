"""`pageseam pages`: a full-size drawing becomes a stack of pages for a home printer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tiling.commands import given as shared
from tiling.commands.arranging import GivenPieces, gain_in_words, pieces
from tiling.commands.console import Console, Outcome
from tiling.commands.options import printer_option
from tiling.commands.remedies import in_options
from tiling.operations.result_values import pages_values

if TYPE_CHECKING:
    from tiling.operations.make_pages import MakePagesResult

__all__ = ["command"]


@click.command("pages")
@shared.output
@shared.page
@shared.drawings
@printer_option
@click.option("--grid", type=click.Choice(["fewest", "as-drawn"]), default="fewest", show_default=True,
              help="Where the grid lies: where it needs fewest pages, or from the drawing's own corner.")  # fmt: skip
@click.option("--empty-pages", type=click.Choice(["bridge", "inside", "all"]), default="bridge", show_default=True,
              help="Pages without a line to print all the same: those that others hang on, all inside pieces, or all.",
              )  # fmt: skip
@pieces
@click.option("--title", metavar="TEXT", default="", help="Printed on every page. Default: the drawing's own.")
@click.option("--date", metavar="TEXT", default="", help="A date to print on the first page. Default: none.")
@click.option("--no-proof", is_flag=True, help="Publish without reading back and comparing (for very large work).")
@shared.ending
def command(
    given: shared.GivenDrawings,
    output: shared.GivenOutput,
    page: shared.GivenPage,
    printer: str | None,
    grid: str,
    empty_pages: str,
    pieces: GivenPieces,
    title: str,
    date: str,
    no_proof: bool,
    console: Console,
) -> Outcome:
    """Cut full-size drawings (SVG or PDF) into pages for a home printer.

    Writes NAME-pages.pdf in the current folder: a first page with the test square, a page map, and the tiles with
    join marks. Print it at 100 % ("Actual size"), never "fit".
    """
    from tiling.operations.finished_file import Proof
    from tiling.operations.make_pages import MakePagesRequest, make_pages
    from tiling.planning.plan import EmptyPages
    from tiling.planning.planner import GridMode

    pieces.check()
    drawings, reading, choice = given.files(), given.reading(), page.choice(printer)
    inputs = (*given.named, *([pieces.placed_as] if pieces.placed_as else []))
    target = output.checked(f"{given.stem}-pages.pdf", inputs, [".pdf"])
    request = MakePagesRequest(
        page=choice,
        drawings=drawings,
        reading=reading,
        grid=GridMode(grid),
        empty=EmptyPages(empty_pages),
        pieces=pieces.layout(),
        paper_use=pieces.paper_use(),
        title=title,
        date=date,
        proof=Proof.SKIPPED if no_proof else Proof.COMPARED,
        name=str(target),
        strictness=console.strictness,
    )
    made = make_pages(request, console.run())
    output.publish(made.pages)
    return console.conclude(made.findings, lambda: pages_values(made, in_options), _summary(made))


def _summary(made: MakePagesResult) -> str | None:
    """What was written, in a few lines; None where nothing was."""
    from tiling.lengths import in_mm

    if made.pages is None:
        return None
    plan, size, tiles = made.plan, made.size, len(made.plan.tiles)
    bridges = sorted(plan.bridges)
    skipped = f", {_number(len(plan.skipped), 'empty one')} left out" if plan.skipped else ""
    extra = {0: "", 1: " and a first page"}.get(len(made.front), ", a first page and a page map")
    lines = [
        f"{made.pages.name}: {_number(made.sheets, 'sheet')}{',' if plan.paper.roll else ' of'} {made.facts.paper}",
        f"  {plan.title}, {in_mm(size.width)} x {in_mm(size.height)}: {_number(tiles, 'tile')}{extra}; "
        f"{_number(plan.grid.rows, 'row')} of {plan.grid.columns}{skipped}",
    ]
    if bridges:
        lines.append(f"  {_number(len(bridges), 'empty page')} printed too, to hold the others: {' '.join(bridges)}")
    lines += [f"  {words}" for words in gain_in_words(made.gain)]
    if plan.pages_as_drawn > tiles and not plan.placements:
        lines.append(f"  {_number(plan.pages_as_drawn - tiles, 'page')} saved by shifting the grid")
    lines += [f"  {words}" for words in (made.facts.scale,) if words]
    if not plan.correction.is_none:
        lines.append(f"  {made.facts.correction}")
    square = f"page {made.square_page}, measure its square"
    order = "measure its square before you cut" if made.sheets == 1 else f"first {square}, then the rest"
    lines.append(f'  Print at 100 % ("Actual size"), one side: {order}.')
    return "\n".join(lines)


def _number(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
