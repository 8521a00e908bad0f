"""`pageseam cloth`: cutting list, seams, sizes, notions, and how much cloth to buy."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from calibrate.papers import LAY_PLAN_PAPERS
from tiling.commands import options as shared
from tiling.commands.console import Console, Outcome, Strictness, finding_values

if TYPE_CHECKING:
    from tiling.cloth.lay_plan import ClothChoice, LayPlan
    from tiling.cloth.sewing_report import SewingReport
    from tiling.cloth.units import Units
    from tiling.pattern import Finding, Pattern
    from tiling.reading.options import ReadOptions

__all__ = [
    "ClothWishes",
    "before_option",
    "cloth_options",
    "command",
    "measure_option",
    "measures_of",
    "read_before",
    "refuse_idle_cloth",
    "with_lays",
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
    from tiling.cloth.sewing_report import sewing_report
    from tiling.cloth.units import Units
    from tiling.failures import InputUnfit, UsageWrong
    from tiling.files.destination import check_destination
    from tiling.files.inputs import read_inputs, read_notes_for
    from tiling.planning.papers import paper_named
    from tiling.planning.plan import sheet_size
    from tiling.reading.gather import read_drawings
    from tiling.reading.options import ReadOptions

    voice = Console(quiet)
    if output is not None and not widths:
        raise UsageWrong(f"{output}: a lay plan needs the cloth's width; add --width 140cm, for example.")
    refuse_idle_cloth(widths)
    if output is None:
        shared.refuse_idle("is the paper that the lay plan is drawn on; add -o LAY.pdf, or leave it out.", "paper")
    else:
        inputs = [*drawings, *(path for path in (notes, before) if path)]
        check_destination(output, force=force, inputs=inputs, endings=[".pdf", ".png"])
    sheet = paper_named(paper)
    reading = ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes))
    pattern = read_drawings(read_inputs(drawings), reading)
    earlier = read_before(before, reading, notes)
    report = sewing_report(pattern, measures_of(measures, pattern), earlier)
    if not report.cutting:
        raise InputUnfit(
            f"{', '.join(map(str, drawings))}: no piece is marked in the drawing; put each piece's lines in a group "
            "of class piece with an id, as the README shows."
        )
    findings = (*pattern.findings, *report.findings())
    outcome = Outcome(findings, Strictness.STRICT if strict else Strictness.LENIENT)
    voice.findings(findings)
    chosen = Units(units)
    if outcome.refused:
        voice.refuse(findings)
    else:
        wishes = ClothWishes(widths, fold, nap, shrinkage, gap, seconds, seed, chosen)
        report = with_lays(report, wishes, voice)
        if output is not None:
            _write(output, report, chosen, sheet_size(sheet), force=force)
            voice.note(f"{output}: written.")
    written = None if outcome.refused else output
    if as_json:
        voice.values(_values(report, written, findings))
    else:
        voice.answer(_in_words(report, chosen))
    return outcome


class ClothWishes:
    """The options about cloth, until it is known which cloths the pattern needs."""

    def __init__(
        self,
        widths: Sequence[tuple[str, float]],
        fold: str,
        nap: bool,
        shrinkage: float,
        gap: float,
        seconds: int,
        seed: int,
        units: Units,
    ) -> None:
        from tiling.cloth.lay_pieces import ClothFold
        from tiling.cloth.lay_plan import BuyingStep, ClothChoice, Effort, Nap
        from tiling.cloth.units import Units

        self.widths = widths
        self.effort = Effort(seconds, seed)
        self.choice: ClothChoice = ClothChoice(
            0.0,
            ClothFold(fold),
            Nap.ONE_WAY if nap else Nap.NONE,
            shrinkage,
            gap,
            BuyingStep.FIVE_CM if units is Units.CM else BuyingStep.EIGHTH_YARD,
        )


def with_lays(report: SewingReport, wishes: ClothWishes, voice: Console) -> SewingReport:
    """The tables with a lay plan for each cloth and each width given for it.

    Raises:
        UsageWrong: a width is given for a cloth that no piece is cut from.
    """
    from dataclasses import replace

    from tiling.cloth.lay_pieces import lay_pieces
    from tiling.cloth.lay_plan import lay
    from tiling.cloth.outlines import drawing_name
    from tiling.cloth.rules import nearest
    from tiling.failures import InputUnfit, UsageWrong

    for name, _ in wishes.widths:
        if name and name not in report.cloths:
            raise UsageWrong(f"--width {name}=…: no piece is cut from '{name}'{nearest(name, report.cloths)}")
    named = {name for name, _ in wishes.widths}
    wanted = [
        (cloth, width)
        for cloth in report.cloths
        for name, width in wishes.widths
        if name == (cloth if cloth in named else "")
    ]
    plans: list[LayPlan] = []
    for number, (cloth, width) in enumerate(wanted):
        choice = replace(wishes.choice, width=width)
        pieces = lay_pieces(report.seam_lines, report.cutting, cloth, choice.fold)
        part = voice.run().part("Lay plan", number, len(wanted))
        try:
            plans.append(lay(cloth, pieces, choice, wishes.effort, part))
        except InputUnfit as unfit:
            raise InputUnfit(f"{drawing_name(report.seam_lines.pattern)}: {unfit.what}", unfit.remedy) from unfit
    if wanted:
        voice.run().step("Lay plan", 100, 100)
    return replace(report, lays=tuple(plans))


def measures_of(given: Sequence[tuple[str, float]], pattern: Pattern) -> Mapping[str, float]:
    """The measures by name; the last one given for a name holds.

    Raises:
        UsageWrong: a name that neither the body measures nor the rules of the pattern's notes know.
    """
    from tiling.cloth.rules import nearest
    from tiling.failures import UsageWrong

    notes = pattern.notes
    rules = " ".join((*notes.rules.values(), *(n.rule for n in notes.notions))) if notes else ""
    drawn_for = tuple(notes.drawn_for) if notes else ()
    for name, _ in given:
        if name not in drawn_for and name not in rules:
            raise UsageWrong(f"--measure {name}=…: the pattern's notes have no such measure{nearest(name, drawn_for)}")
    return dict(given)


def read_before(path: Path | None, reading: ReadOptions, notes: Path | None) -> Pattern | None:
    """The drawing before an alteration, with the notes named or its own."""
    from dataclasses import replace

    from tiling.files.inputs import read_input, read_notes_for
    from tiling.reading.gather import read_drawing

    if path is None:
        return None
    return read_drawing(read_input(path), replace(reading, pages=(), notes=read_notes_for([path], notes)))


def _write(output: Path, report: SewingReport, units: Units, paper: Any, *, force: bool) -> None:
    from tiling.cloth.lay_picture import lay_pdf, lay_png
    from tiling.files.publish import publish

    draw = lay_png if output.suffix.lower() == ".png" else lay_pdf
    publish(output, draw(report.lays, report.title, units, paper), force=force)


def _in_words(report: SewingReport, units: Units) -> str:
    """All tables that have rows, and the cautions."""
    from tiling.cloth import tables

    made = [tables.cutting_table(report), tables.lay_table(report, units), tables.notion_table(report, units)]
    made += [tables.seam_table(report.seams, units), tables.notch_table(report.seams, units)]
    made.append(tables.size_table(report, units))
    parts = [report.title, *(tables.as_text(table) for table in made if table.rows)]
    parts += [f"Caution. {caution.heading}: {caution.text}" for caution in report.cautions]
    return "\n\n".join(part for part in parts if part)


def _values(report: SewingReport, output: Path | None, findings: Sequence[Finding]) -> dict[str, Any]:
    """What `--json` prints; every key is described in the README. `output` is None where nothing was written."""
    from tiling.cloth.values import values_of

    written = None if output is None else str(output)
    return {"output": written, **values_of(report), "findings": finding_values(findings)}
