"""`pageseam pages`: a full-size drawing becomes a stack of pages for a home printer."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tiling.commands import options as shared
from tiling.commands.arranging import HOW_TO_ARRANGE, Wish, arrange_options, lay_out
from tiling.commands.console import Console, Outcome, Strictness, finding_values

if TYPE_CHECKING:
    from tiling.drawing.checklines import CheckLine, Cross
    from tiling.drawing.print_job import PrintJob
    from tiling.pattern import Finding
    from tiling.planning.plan import Margins
    from tiling.proof.expectation import Original

__all__ = ["command", "result_values"]


@click.command("pages")
@shared.drawings_argument
@shared.output_options
@shared.paper_options
@shared.reading_options
@shared.printer_option
@click.option("--grid", type=click.Choice(["fewest", "as-drawn"]), default="fewest", show_default=True,
              help="Where the grid lies: where it needs fewest pages, or from the drawing's own corner.")  # fmt: skip
@arrange_options
@click.option("--title", metavar="TEXT", help="Printed on every page. Default: the drawing's own.")
@click.option("--date", metavar="TEXT", default="", help="A date to print on the first page. Default: none.")
@click.option("--no-proof", is_flag=True, help="Publish without reading back and comparing (for very large work).")
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
    layers: tuple[str, ...],
    page_numbers: tuple[int, ...],
    px_per_inch: float | None,
    notes: Path | None,
    printer: str | None,
    grid: str,
    arrange: bool,
    turn: str,
    gap: float,
    seconds: int,
    share: bool,
    placed_as: Path | None,
    title: str | None,
    date: str,
    no_proof: bool,
    strict: bool,
    as_json: bool,
    quiet: bool,
) -> Outcome:
    """Cut full-size drawings (SVG or PDF) into pages for a home printer.

    Writes NAME-pages.pdf in the current folder: a first page with the test square, a page map, and the tiles with
    join marks. Print it at 100 % ("Actual size"), never "fit".
    """
    from tiling.drawing.print_job import PrintDetails, build_print_job
    from tiling.files.destination import check_destination
    from tiling.files.inputs import read_inputs, read_notes_for
    from tiling.operations.printer_setting import printer_setting
    from tiling.planning.papers import paper_named
    from tiling.planning.plan import Orientation
    from tiling.planning.planner import GridMode, PlanOptions
    from tiling.proof.original import originals_of
    from tiling.reading.gather import read_drawings
    from tiling.reading.options import ReadOptions

    voice = Console(quiet)
    if not arrange:
        shared.refuse_idle("says how --arrange lays the pieces; add --arrange, or leave it out.", *HOW_TO_ARRANGE)
    target = output or Path(f"{drawings[0].stem}-pages.pdf")
    inputs = [path for path in (*drawings, notes, placed_as) if path is not None]
    check_destination(target, force=force, inputs=inputs, endings=[".pdf"])
    sheet = paper_named(paper)
    turned = Orientation(orientation)
    setting = printer_setting(shared.printer_record(printer), sheet.name, turned)
    files = read_inputs(drawings)
    pattern = read_drawings(files, ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes)))
    chosen = PlanOptions(sheet, turned, grid=GridMode(grid), title=title or "", **setting.choices(margins, overlap))
    found = lay_out(pattern, chosen, Wish(arrange, turn, gap, seconds, share, placed_as), voice)
    job = build_print_job(found.plan, pattern, PrintDetails(date), found.ink, found.laid)
    findings = (*pattern.findings, *setting.findings)
    outcome = Outcome(findings, Strictness.STRICT if strict else Strictness.LENIENT)
    voice.findings(findings)
    if outcome.refused:
        voice.refuse(findings)
        if as_json:
            voice.values(result_values(job, None, findings))
        return outcome
    originals = () if no_proof else originals_of(files, page_numbers, layers)
    _write(target, job, originals, voice, proof=not no_proof, force=force)
    if as_json:
        voice.values(result_values(job, target, findings))
    else:
        voice.answer(_summary(job, target, found.notes))
    return outcome


def _write(
    target: Path, job: PrintJob, originals: Sequence[Original], voice: Console, *, proof: bool, force: bool
) -> None:
    """Assemble, prove, publish."""
    from tiling.drawing.expected import expectation_of
    from tiling.drawing.pdf import write_pages
    from tiling.files.publish import publish
    from tiling.proof.prove import prove

    content = write_pages(job, voice.run())
    if proof:
        prove(content, expectation_of(job, originals), voice.run())
    publish(target, content, force=force)


def result_values(job: PrintJob, output: Path | None, findings: Sequence[Finding]) -> dict[str, Any]:
    """What `--json` prints; every key is described in the README. `output` is None where nothing was written."""
    plan = job.plan
    spot = plan.window_on_page
    on_page = [spot.x0, spot.y0, spot.x1, spot.y1]
    return {
        "output": None if output is None else str(output),
        "title": plan.title,
        "paper": plan.paper.name,
        "paper_mm": [plan.page_size.width, plan.page_size.height],
        "size_mm": [job.pattern.size.width, job.pattern.size.height],
        "orientation": plan.orientation.value,
        "rows": plan.grid.rows,
        "columns": plan.grid.columns,
        "pages": job.sheets,
        "pages_as_drawn": plan.pages_as_drawn,
        "overlap_mm": plan.grid.overlap,
        "grid_shift_mm": [plan.grid_shift.x, plan.grid_shift.y],
        "tiles": [
            {
                "name": tile.name,
                "page": job.pages[tile.name],
                "window_mm": [tile.window.x0, tile.window.y0, tile.window.x1, tile.window.y1],
                "on_page_mm": on_page,
            }
            for tile in plan.to_print
        ],
        "skipped": list(plan.skipped),
        "placements": [
            {"piece": p.piece, "matrix": [p.move.a, p.move.b, p.move.c, p.move.d, p.move.e, p.move.f]}
            for p in plan.placements
        ],
        "check_lines": [_check_values(line) for line in job.check_lines],
        "findings": finding_values(findings),
        "correction": {
            "across": plan.correction.across,
            "down": plan.correction.down,
            "printer": plan.correction.printer or None,
            "uncertainty": plan.correction.uncertainty,
        },
    }


def _check_values(line: CheckLine) -> dict[str, Any]:
    return {
        "what": line.what,
        "from": _end_values(line.start, line.from_tile),
        "to": _end_values(line.end, line.to_tile),
        "length_mm": line.length,
        "allowance_mm": line.allowance,
    }


def _end_values(cross: Cross, tile: str) -> dict[str, Any]:
    return {"cross": cross.number, "tile": tile, "at_mm": [cross.at.x, cross.at.y]}


def _summary(job: PrintJob, target: Path, notes: Sequence[str]) -> str:
    """What was written, in a few lines."""
    from tiling.lengths import in_mm

    plan = job.plan
    tiles = len(plan.tiles)
    skipped = f", {_number(len(plan.skipped), 'empty one')} left out" if plan.skipped else ""
    size = job.pattern.size
    extra = {0: "", 1: " and a first page"}.get(len(job.front), ", a first page and a page map")
    lines = [
        f"{target}: {job.sheets} sheets of {job.facts.paper}",
        f"  {plan.title}, {in_mm(size.width)} x {in_mm(size.height)}: {_number(tiles, 'tile')}{extra}; "
        f"{_number(plan.grid.rows, 'row')} of {plan.grid.columns}{skipped}",
    ]
    lines += [f"  {note[:1].upper()}{note[1:]}" for note in notes]
    if plan.pages_as_drawn > tiles and not plan.placements:
        lines.append(f"  {_number(plan.pages_as_drawn - tiles, 'page')} saved by shifting the grid")
    if not plan.correction.is_none:
        lines.append(f"  {job.facts.correction}")
    first = f"page {job.square_page}, measure its square"
    lines.append(f'  Print at 100 % ("Actual size"), one side: first {first}, then the rest.')
    return "\n".join(lines)


def _number(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
