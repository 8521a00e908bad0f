"""`pageseam reprint`: after an alteration, print only the pages that changed."""

from __future__ import annotations

from dataclasses import replace
from math import isinf
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tiling.commands import options as shared
from tiling.commands.console import Console, Outcome, Strictness, finding_values

if TYPE_CHECKING:
    from calibrate.printer_scale import PageCorrection
    from tiling.drawing.print_job import PrintJob
    from tiling.pattern import Finding, Pattern
    from tiling.planning.printed import PrintedRecord
    from tiling.planning.reprint import Reprint

__all__ = ["command"]


@click.command("reprint")
@shared.drawings_argument
@click.option(
    "--printed",
    type=shared.FILE,
    required=True,
    metavar="OLD.pdf",
    help="The file that was printed and taped, as pages or reprint wrote it.",
)
@shared.output_options
@shared.reading_options
@shared.printer_option
@click.option(
    "--slack",
    type=shared.LENGTH,
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
@shared.strict_option
@shared.json_option
@shared.quiet_option
def command(
    drawings: tuple[Path, ...],
    printed: Path,
    output: Path | None,
    force: bool,
    layers: tuple[str, ...],
    page_numbers: tuple[int, ...],
    px_per_inch: float | None,
    notes: Path | None,
    printer: str | None,
    slack: float,
    all_changes: bool,
    as_list: bool,
    no_proof: bool,
    strict: bool,
    as_json: bool,
    quiet: bool,
) -> Outcome:
    """Compare a changed drawing with the file that was printed, and print only the pages that differ.

    Writes NAME-changed.pdf in the current folder: a map that says which pages to replace, add, take away and keep,
    and the changed pages, which fit the sheet already taped. OLD.pdf alone tells what was printed.
    """
    from tiling.files.destination import check_destination
    from tiling.files.inputs import InputKind, read_input, read_inputs, read_notes_for
    from tiling.planning.reprint import Depth, ReprintOptions, plan_reprint
    from tiling.reading.gather import read_drawings
    from tiling.reading.options import ReadOptions
    from tiling.record.printed_file import read_printed

    voice = Console(quiet)
    target = output or (None if as_list else Path(f"{drawings[0].stem}-changed.pdf"))
    if target is not None:
        inputs = [*drawings, printed, *([notes] if notes else [])]
        check_destination(target, force=force, inputs=inputs, endings=[".pdf"])
    record = read_printed(read_input(printed, InputKind.PRINTED))
    pattern = read_drawings(
        read_inputs(drawings), ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes))
    )
    correction, findings = _correction(printer, record)
    wanted = ReprintOptions(slack, Depth.ALL if all_changes else Depth.LINES, correction)
    reprint = plan_reprint(record, pattern, wanted)
    findings = (*pattern.findings, *findings)
    outcome = Outcome(findings, Strictness.STRICT if strict else Strictness.LENIENT)
    voice.findings(findings)
    if outcome.refused:
        voice.refuse(findings)
        if as_json:
            voice.values(_values(reprint, _job(reprint, pattern, full=as_list), None, findings))
        return outcome
    job = _job(reprint, pattern, full=as_list)
    written = target if target is not None and (as_list or not reprint.nothing_to_print) else None
    if written is not None:
        _write(written, job, voice, proof=not no_proof, force=force)
    if as_json:
        voice.values(_values(reprint, job, written, findings))
    elif as_list:
        numbers = [page for name, page in job.pages.items() if name in {*reprint.replace, *reprint.add}]
        voice.answer(",".join(map(str, numbers)))
    else:
        voice.answer(_summary(reprint, written, printed))
    return outcome


def _correction(printer: str | None, record: PrintedRecord) -> tuple[PageCorrection | None, tuple[Finding, ...]]:
    """The printer's correction where one was named; None leaves it as printed."""
    if printer is None:
        return None, ()
    from tiling.operations.printer_setting import printer_setting

    setting = printer_setting(shared.printer_record(printer), record.plan.paper.name, record.plan.orientation)
    return setting.correction, setting.findings


def _job(reprint: Reprint, pattern: Pattern, *, full: bool) -> PrintJob:
    """What to draw: the changed tiles and their map, or (`full`) the whole new sheet on the printed grid."""
    from tiling.drawing.print_job import PrintDetails, build_print_job

    if full:
        return build_print_job(replace(reprint.plan, kept=frozenset()), pattern, laid=reprint.laid)
    return build_print_job(reprint.plan, pattern, PrintDetails(reprint=reprint), laid=reprint.laid)


def _write(target: Path, job: PrintJob, voice: Console, *, proof: bool, force: bool) -> None:
    from tiling.drawing.expected import expectation_of
    from tiling.drawing.pdf import write_pages
    from tiling.files.publish import publish
    from tiling.proof.prove import prove

    content = write_pages(job, voice.run())
    if proof:
        prove(content, expectation_of(job), voice.run())
    publish(target, content, force=force)


def _summary(reprint: Reprint, target: Path | None, printed: Path) -> str:
    if reprint.nothing_to_print:
        lines = [f"Nothing to print: the sheet printed from {printed} shows this drawing already."]
    else:
        count = len(reprint.replace) + len(reprint.add)
        where = f"{target}: " if target else ""
        lines = [f"{where}{count} of {len(reprint.plan.tiles)} pages to print, and a map of what to change"]
    if reprint.every_page_because:
        lines.append(f"  Every page, because {reprint.every_page_because}.")
    for heading, names in (
        ("replace", reprint.replace),
        ("add", reprint.add),
        ("take away", reprint.remove),
        ("keep", reprint.keep),
    ):
        if names:
            lines.append(f"  {heading}: {' '.join(names)}")
    if reprint.lesser:
        listed = " ".join(reprint.lesser)
        lines.append(f"  only a text or a style differs on: {listed} (add --all-changes to print them too)")
    return "\n".join(lines)


def _values(reprint: Reprint, job: PrintJob, target: Path | None, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """What `--json` prints; every key is described in the README."""
    return {
        "output": None if target is None else str(target),
        "replace": list(reprint.replace),
        "add": list(reprint.add),
        "remove": list(reprint.remove),
        "keep": list(reprint.keep),
        "lesser": list(reprint.lesser),
        "pages_total": len(reprint.plan.tiles),
        "pages": dict(job.pages),
        "sheet_shift_mm": {piece: [shift.x, shift.y] for piece, shift in reprint.shifts.items()},
        "why": {
            name: [
                {"piece": reason.piece, "movement_mm": None if isinf(reason.movement) else round(reason.movement, 3)}
                for reason in reasons
            ]
            for name, reasons in reprint.why.items()
        },
        "every_page_because": reprint.every_page_because or None,
        "findings": finding_values(findings),
    }
