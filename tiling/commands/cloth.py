"""`pageseam cloth`: cutting list, seams, sizes, notions, and how much cloth to buy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from calibrate.papers import LAY_PLAN_PAPERS, PAPERS
from tiling.commands import given as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.kinds import FILE
from tiling.commands.options import refuse_idle
from tiling.commands.remedies import in_options
from tiling.commands.sewing import GivenSewing, sewing
from tiling.failures import Action, Remedy, UsageWrong
from tiling.operations.sewing_values import cloth_values

if TYPE_CHECKING:
    from tiling.cloth.sewing_report import SewingReport
    from tiling.cloth.units import Units

__all__ = ["command"]


@click.command("cloth", short_help="Cutting list, lay plan and notions for a pattern.")
@sewing
@click.option("--paper", type=click.Choice(LAY_PLAN_PAPERS), default=LAY_PLAN_PAPERS[0], show_default=True,
              help="Paper of the lay plan's pages.")  # fmt: skip
@shared.as_one(
    "output", shared.GivenOutput,
    click.option("-o", "--output", type=FILE, metavar="LAY.pdf",
                 help="Write the lay plan here, as PDF or (named .png) as a picture."),
    click.option("--force", is_flag=True, help="Replace the output if it exists."),
)  # fmt: skip
@shared.drawings
@shared.ending
def command(
    given: shared.GivenDrawings, sewing: GivenSewing, paper: str, output: shared.GivenOutput, console: Console
) -> Outcome:
    """Tell what to cut, from how much cloth, and what else to buy.

    The cutting list, the seams with their ease, finished sizes and the notions come from the drawing and its notes.
    With --width there is a lay plan for every cloth and width, and the length to buy; -o draws it.
    """
    from tiling.cloth.units import Units
    from tiling.operations.plan_cloth import PlanClothRequest, plan_cloth

    if output.output is not None and not sewing.widths:
        raise UsageWrong(f"{output.output}: a lay plan needs the cloth's width", Remedy(Action.GIVE_WIDTH))
    sewing.check()
    drawings, reading = given.files(), given.reading()
    if output.output is None:
        refuse_idle("is the paper that the lay plan is drawn on; add -o LAY.pdf, or leave it out.", "paper")
    else:
        output.checked("", (*given.named, *([sewing.before] if sewing.before else [])), [".pdf", ".png"])
    request = PlanClothRequest(
        drawings=drawings,
        reading=reading,
        wearing=sewing.wearing(given.notes),
        lays=sewing.lays(),
        units=Units(sewing.units),
        name=str(output.output or ""),
        paper=PAPERS[paper],
        strictness=console.strictness,
    )
    made = plan_cloth(request, console.run())
    if (written := output.publish(made.drawing)) is not None:
        console.note(f"{written}: written.")
    return console.conclude(
        made.findings, lambda: cloth_values(made, in_options), _in_words(made.report, request.units)
    )


def _in_words(report: SewingReport, units: Units) -> str:
    """All tables that have rows, and the cautions."""
    from tiling.cloth import tables
    from tiling.lengths import in_scale

    made = [tables.cutting_table(report), tables.lay_table(report, units), tables.notion_table(report, units)]
    made += [tables.seam_table(report.seams, units), tables.notch_table(report.seams, units)]
    made += [tables.size_table(report, units), tables.counted_table(report, units)]
    scaled = in_scale(report.scale) if report.scale != 1.0 else ""
    parts = [report.title, scaled, *(tables.as_text(table) for table in made if table.rows)]
    parts += [f"Caution. {caution.heading}: {caution.text}" for caution in report.cautions]
    return "\n\n".join(part for part in parts if part)
