"""`pageseam guide`: one booklet with the map, taping, cutting, cloth, notions, seams, sizes and cautions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from calibrate.papers import BOOKLET_PAPERS
from tiling.commands import options as shared
from tiling.commands.cloth import (
    ClothWishes,
    before_option,
    cloth_options,
    measure_option,
    measures_of,
    read_before,
    refuse_idle_cloth,
    with_lays,
)
from tiling.commands.console import Console, Outcome, Strictness, finding_values

if TYPE_CHECKING:
    from tiling.pattern import Finding, Pattern
    from tiling.planning.plan import Margins, PrintPlan

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
    from tiling.cloth.booklet import booklet
    from tiling.cloth.sewing_report import sewing_report
    from tiling.cloth.units import Units
    from tiling.drawing.print_job import build_print_job
    from tiling.files.destination import check_destination
    from tiling.files.inputs import read_inputs, read_notes_for
    from tiling.files.publish import publish
    from tiling.operations.printer_setting import printer_setting
    from tiling.planning.papers import paper_named
    from tiling.planning.plan import Orientation, sheet_size
    from tiling.planning.planner import PlanOptions, plan_pages
    from tiling.reading.gather import read_drawings
    from tiling.reading.options import ReadOptions

    voice = Console(quiet)
    refuse_idle_cloth(widths)
    if printed is not None:
        why = "is what the file after --printed says itself; leave one of them out."
        shared.refuse_idle(why, "paper", "orientation", "margins", "overlap", "printer")
    target = output or Path(f"{drawings[0].stem}-guide.pdf")
    check_destination(
        target, force=force, inputs=[*drawings, *filter(None, (notes, before, font, printed))], endings=[".pdf"]
    )
    sheet_printed, turn = paper_named(paper), Orientation(orientation)
    setting = printer_setting(shared.printer_record(printer), sheet_printed.name, turn)
    reading = ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes))
    pattern = read_drawings(read_inputs(drawings), reading)
    report = sewing_report(pattern, measures_of(measures, pattern), read_before(before, reading, None))
    findings = (*pattern.findings, *setting.findings, *report.findings())
    if not strict or not findings:
        wishes = ClothWishes(widths, fold, nap, shrinkage, gap, seconds, seed, Units(units))
        chosen = PlanOptions(sheet_printed, turn, **setting.choices(margins, overlap))
        plan = plan_pages(pattern, chosen) if printed is None else _as_printed(printed, pattern)
        job = build_print_job(plan, pattern)
        alike = plan.paper.name if plan.paper.name in BOOKLET_PAPERS else BOOKLET_PAPERS[0]
        own = sheet_size(paper_named(sheet or alike))
        made = booklet(with_lays(report, wishes, voice), job, Units(units), own, font)
        findings = (*findings, *_missing(made.missing, font))
    outcome = Outcome(findings, Strictness.STRICT if strict else Strictness.LENIENT)
    voice.findings(findings)
    if outcome.refused:
        voice.refuse(findings)
    else:
        publish(target, made.content, force=force)
        if not as_json:
            voice.answer(f"{target}: written.")
    if as_json:
        voice.values({"output": None if outcome.refused else str(target), "findings": finding_values(findings)})
    return outcome


def _as_printed(printed: Path, pattern: Pattern) -> PrintPlan:
    """The plan of a printed file; refused where its pages show another drawing, or this one before an alteration."""
    from tiling.failures import InputUnfit
    from tiling.files.inputs import InputKind, read_input
    from tiling.planning.reprint import ReprintOptions, plan_reprint
    from tiling.record.printed_file import read_printed

    record = read_printed(read_input(printed, InputKind.PRINTED))
    reprint = plan_reprint(record, pattern, ReprintOptions())
    changed = (*reprint.replace, *reprint.add, *reprint.remove)
    if changed:
        names = ", ".join(changed[:5]) + (" …" if len(changed) > 5 else "")
        raise InputUnfit(
            f"{printed}: its pages do not show {pattern.title} as it is now ({names}); name the file that reprint "
            "wrote for the changed drawing, or leave --printed out."
        )
    return record.plan


def _missing(characters: str, font: Path | None) -> tuple[Finding, ...]:
    """What no font could write, as a finding that names the characters."""
    from tiling.pattern import Finding, FindingKind

    if not characters:
        return ()
    shown = " ".join(f"{c} (U+{ord(c):04X})" for c in characters[:10])
    more = f" and {len(characters) - 10} more" if len(characters) > 10 else ""
    advice = f"{font} has no glyph for them either" if font else "give a font that has them with --font FILE.ttf"
    return (Finding(FindingKind.GLYPH_MISSING, f"no glyph for {shown}{more}; {advice}.", "booklet"),)
