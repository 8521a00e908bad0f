"""`pageseam cloth`: cutting list, seams, sizes, notions, and how much cloth to buy."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from calibrate.papers import LAY_PLAN_PAPERS
from tiling.commands import options as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.json_values import cloth_values

if TYPE_CHECKING:
    from tiling.cloth.sewing_report import SewingReport
    from tiling.cloth.units import Units
    from tiling.cloth.wishes import LayWishes
    from tiling.operations.plan_cloth import Wearing

__all__ = [
    "before_option",
    "cloth_options",
    "command",
    "lay_wishes",
    "measure_option",
    "refuse_idle_cloth",
    "wearing",
]

F = TypeVar("F", bound=Callable[..., Any])


class NamedLengthType(click.ParamType["tuple[str, float]"]):
    """``NAME=LENGTH``; where `bare` is set, a length alone is taken with an empty name."""

    name = "name=length"

    def __init__(self, *, bare: bool) -> None:
        self._bare = bare

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, float]:
        """See `tiling.lengths.parse_length`."""
        if isinstance(value, tuple):
            return value
        name, sign, length = str(value).rpartition("=")
        if not sign and not self._bare:
            self.fail(f"'{value}' names no measure; write it as waist=78cm.", param, ctx)
        if sign and not name.strip():
            self.fail(f"'{value}' has no name before the equals sign.", param, ctx)
        mm = shared.LENGTH.convert(length.strip(), param, ctx)
        if mm <= 0:
            self.fail(f"'{value}' must be more than nought.", param, ctx)
        return name.strip(), mm


class ShareType(click.ParamType[float]):
    """A share in per cent, from 0 up to but not including 50 %."""

    name = "percent"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """See `tiling.lengths.parse_percent`."""
        from tiling.lengths import LengthUnclear, parse_percent

        if isinstance(value, float):
            return value
        try:
            share = parse_percent(str(value))
        except LengthUnclear as unclear:
            self.fail(str(unclear), param, ctx)
        if not 0 <= share < 0.5:
            self.fail(f"'{value}': cloth loses from 0% to under 50% in the wash.", param, ctx)
        return share


measure_option = click.option(
    "--measure", "measures", multiple=True, type=NamedLengthType(bare=False), metavar="NAME=LENGTH",
    help="A body measure of the wearer, such as waist=78cm (repeatable). Default: as the pattern was drawn for.",
)  # fmt: skip

before_option = click.option(
    "--before", type=shared.FILE, metavar="DRAWING",
    help="The drawing before it was altered; its finished measures are shown beside the new ones.",
)  # fmt: skip


def cloth_options(command: F) -> F:
    """What the cloth is like, and how to look for its lay plan."""
    for option in reversed(
        (
            click.option("--width", "widths", multiple=True, type=NamedLengthType(bare=True), metavar="[CLOTH=]LENGTH",
                         help="Width, selvedge to selvedge (repeatable; lining=110cm for one cloth only)."),
            click.option("--fold", type=click.Choice(["lengthwise", "none"]), default="none", show_default=True,
                         help="Lay the cloth double, selvedge on selvedge, or opened out."),
            click.option("--nap", is_flag=True, help="One-way pile or print: no piece upside down."),
            click.option("--shrinkage", type=ShareType(), default="0%", show_default=True, metavar="PERCENT",
                         help="What the cloth loses in the wash along its length."),
            click.option("--gap", type=shared.LENGTH, default="3mm", show_default=True, metavar="LENGTH",
                         help="Kept free between pieces."),
            click.option("--seconds", type=click.IntRange(1, 3600), default=10, show_default=True, metavar="N",
                         help="How long to look for each lay plan."),
            click.option("--seed", type=click.IntRange(0, 2**31 - 1), default=1, show_default=True, metavar="N",
                         help="Another number may find another lay plan."),
            click.option("--units", type=click.Choice(["cm", "in"]), default="cm", show_default=True,
                         help="Centimetres and metres, or inches and yards."),
        )
    ):  # fmt: skip
        command = option(command)
    return command


def refuse_idle_cloth(widths: Sequence[object]) -> None:
    """Without a width there is no lay plan, and options about it would be ignored.

    Raises:
        UsageWrong: one of them was given.
    """
    if not widths:
        why = "says how the lay plan is made, which needs the cloth's width; add --width 140cm, for example."
        shared.refuse_idle(why, "fold", "nap", "shrinkage", "gap", "seconds", "seed")


@click.command("cloth", short_help="Cutting list, lay plan and notions for a pattern.")
@shared.drawings_argument
@measure_option
@before_option
@cloth_options
@click.option("--paper", type=click.Choice(LAY_PLAN_PAPERS), default=LAY_PLAN_PAPERS[0], show_default=True,
              help="Paper of the lay plan's pages.")  # fmt: skip
@click.option("-o", "--output", type=shared.FILE, metavar="LAY.pdf",
              help="Write the lay plan here, as PDF or (named .png) as a picture.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace the output if it exists.")
@shared.reading_options
@shared.strict_option
@shared.json_option
@shared.quiet_option
def command(
    drawings: tuple[Path, ...],
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
    paper: str,
    output: Path | None,
    force: bool,
    layers: tuple[str, ...],
    page_numbers: tuple[int, ...],
    px_per_inch: float | None,
    notes: Path | None,
    strict: bool,
    as_json: bool,
    quiet: bool,
) -> Outcome:
    """Tell what to cut, from how much cloth, and what else to buy.

    The cutting list, the seams with their ease, finished sizes and the notions come from the drawing and its notes.
    With --width there is a lay plan for every cloth and width, and the length to buy; -o draws it.
    """
    from calibrate.papers import PAPERS
    from tiling.cloth.units import Units
    from tiling.failures import Action, Remedy, UsageWrong
    from tiling.files.destination import check_destination
    from tiling.files.inputs import read_inputs, read_notes_for
    from tiling.files.publish import publish
    from tiling.operations.plan_cloth import PlanClothRequest, plan_cloth
    from tiling.operations.strictness import Strictness
    from tiling.reading.options import ReadOptions

    console = Console(quiet)
    if output is not None and not widths:
        raise UsageWrong(f"{output}: a lay plan needs the cloth's width", Remedy(Action.GIVE_WIDTH))
    refuse_idle_cloth(widths)
    if output is None:
        shared.refuse_idle("is the paper that the lay plan is drawn on; add -o LAY.pdf, or leave it out.", "paper")
    else:
        inputs = [*drawings, *(path for path in (notes, before) if path)]
        check_destination(output, force=force, inputs=inputs, endings=[".pdf", ".png"])
    request = PlanClothRequest(
        read_inputs(drawings),
        ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes)),
        wearing(measures, before, notes),
        lay_wishes(widths, fold, nap, shrinkage, gap, seconds, seed),
        Units(units),
        str(output or ""),
        PAPERS[paper],
        Strictness.STRICT if strict else Strictness.LENIENT,
    )
    result = plan_cloth(request, console.run())
    outcome = Outcome(result.findings, request.strictness)
    console.findings(result.findings)
    if outcome.refused:
        console.refuse(result.findings)
    if output is not None and result.drawing is not None:
        publish(output, result.drawing.content, force=force)
        console.note(f"{output}: written.")
    if as_json:
        console.values(cloth_values(result, output))
    else:
        console.answer(_in_words(result.report, request.units))
    return outcome


def wearing(measures: Sequence[tuple[str, float]], before: Path | None, notes: Path | None) -> Wearing:
    """The wearer's measures, the last one given for a name, and the drawing before it was altered."""
    from tiling.files.inputs import read_input, read_notes_for
    from tiling.operations.plan_cloth import Wearing

    if before is None:
        return Wearing(dict(measures))
    return Wearing(dict(measures), read_input(before), read_notes_for([before], notes))


def lay_wishes(
    widths: Sequence[tuple[str, float]], fold: str, nap: bool, shrinkage: float, gap: float, seconds: int, seed: int
) -> LayWishes:
    """The options about cloth as values."""
    from tiling.cloth.lay_pieces import ClothFold
    from tiling.cloth.lay_plan import Effort, Nap
    from tiling.cloth.wishes import ClothWidth, LayWishes

    wide = tuple(ClothWidth(mm, cloth) for cloth, mm in widths)
    direction = Nap.ONE_WAY if nap else Nap.NONE
    return LayWishes(wide, ClothFold(fold), direction, shrinkage, gap, Effort(seconds, seed))


def _in_words(report: SewingReport, units: Units) -> str:
    """All tables that have rows, and the cautions."""
    from tiling.cloth import tables

    made = [tables.cutting_table(report), tables.lay_table(report, units), tables.notion_table(report, units)]
    made += [tables.seam_table(report.seams, units), tables.notch_table(report.seams, units)]
    made.append(tables.size_table(report, units))
    parts = [report.title, *(tables.as_text(table) for table in made if table.rows)]
    parts += [f"Caution. {caution.heading}: {caution.text}" for caution in report.cautions]
    return "\n\n".join(part for part in parts if part)
