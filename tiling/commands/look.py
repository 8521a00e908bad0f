"""`pageseam look`: what is inside a drawing, before anything is printed."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tiling.commands import options as shared
from tiling.commands.console import Console, Outcome, Strictness, finding_values
from tiling.commands.json_values import seam_values

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tiling.cloth.seams import SeamRow
    from tiling.pattern import Pattern
    from tiling.planning.planner import PaperCount

__all__ = ["command"]


@click.command("look")
@shared.drawings_argument
@shared.reading_options
@click.option("--picture", type=shared.FILE, metavar="OUT.png", help="Draw the whole layout in small.")
@click.option("--force", is_flag=True, help="Replace the picture if it exists.")
@shared.strict_option
@shared.json_option
@shared.quiet_option
def command(
    drawings: tuple[Path, ...],
    layers: tuple[str, ...],
    page_numbers: tuple[int, ...],
    px_per_inch: float | None,
    notes: Path | None,
    picture: Path | None,
    force: bool,
    strict: bool,
    as_json: bool,
    quiet: bool,
) -> Outcome:
    """Tell what is in a drawing.

    Its real size, pieces or pages, layers, the lines' roles, what could not be read as drawn, and how many pages
    each common paper needs.
    """
    from tiling.files.destination import check_destination
    from tiling.files.inputs import read_inputs, read_notes_for
    from tiling.files.publish import publish
    from tiling.planning.occupancy import occupancy
    from tiling.planning.planner import counts_by_paper
    from tiling.reading.gather import read_drawings
    from tiling.reading.options import ReadOptions

    voice = Console(quiet)
    if picture is not None:
        check_destination(picture, force=force, inputs=drawings, endings=[".png"])
    pattern = read_drawings(
        read_inputs(drawings), ReadOptions(layers, page_numbers, px_per_inch, read_notes_for(drawings, notes))
    )
    counts = counts_by_paper(pattern, ink=occupancy(pattern))
    outcome = Outcome(pattern.findings, Strictness.STRICT if strict else Strictness.LENIENT)
    if picture is not None and not outcome.refused:
        from tiling.drawing.picture import picture_of

        publish(picture, picture_of(pattern), force=force)
    seams = _seams(pattern)
    if as_json:
        drawn = None if outcome.refused else picture
        voice.values({**_values(pattern, counts, drawn), "seams": [seam_values(row) for row in seams]})
    else:
        voice.answer("\n".join([*_lines(pattern, counts), *(_seam_lines(seams) if seams else [])]))
    voice.findings(pattern.findings)
    if outcome.refused:
        voice.refuse(pattern.findings)
    return outcome


def _values(pattern: Pattern, counts: Sequence[PaperCount], picture: Path | None) -> dict[str, Any]:
    """What `--json` prints; every key is described in the README."""
    return {
        "title": pattern.title,
        "size_mm": [pattern.size.width, pattern.size.height],
        "size_basis": pattern.size_basis.value,
        "px_per_inch": pattern.px_per_inch,
        "sheets": [
            {"name": s.name, "place_mm": [s.place.x0, s.place.y0, s.place.x1, s.place.y1]} for s in pattern.sheets
        ],
        "pieces": [{"id": piece.ident, "title": piece.title, "marks": len(piece.marks)} for piece in pattern.pieces],
        "layers": [{"name": layer.name, "shown": layer.shown} for layer in pattern.layers],
        "roles": _roles(pattern),
        "marks": len(pattern.marks),
        "pages_needed": [
            {
                "paper": count.paper.name,
                "orientation": count.orientation.value,
                "pages": count.tiles,
                "pages_as_drawn": count.tiles_as_drawn,
            }
            for count in counts
        ],
        "findings": finding_values(pattern.findings),
        "picture": None if picture is None else str(picture),
    }


def _seams(pattern: Pattern) -> tuple[SeamRow, ...]:
    """The seams of the notes, measured where they are sewn."""
    if pattern.notes is None or not pattern.notes.seams:
        return ()
    from tiling.cloth.seam_lines import SeamLines
    from tiling.cloth.seams import seam_rows

    return seam_rows(SeamLines(pattern))


def _seam_lines(seams: Sequence[SeamRow]) -> list[str]:
    """The seam table and the notches that should meet."""
    from tiling.cloth.tables import as_text, notch_table, seam_table
    from tiling.cloth.units import Units

    tables = [seam_table(seams, Units.CM), notch_table(seams, Units.CM)]
    return [as_text(table) for table in tables if table.rows]


def _roles(pattern: Pattern) -> dict[str, int]:
    """How many lines have each role; plain lines are not counted."""
    return dict(Counter(line.tag.role.value for line in pattern.lines() if line.tag.role.value))


def _lines(pattern: Pattern, counts: Sequence[PaperCount]) -> list[str]:
    """The same for people."""
    from tiling.lengths import in_cm, in_inches, in_mm

    width, height = pattern.size.width, pattern.size.height
    pixels = "" if pattern.px_per_inch is None else f", at {pattern.px_per_inch:g} px to the inch"
    lines = [
        pattern.title,
        f"  Size    {in_mm(width)} x {in_mm(height)} ({in_cm(width)} x {in_cm(height)}, "
        f"{in_inches(width)} x {in_inches(height)}); {pattern.size_basis.value}{pixels}",
    ]
    if len(pattern.sheets) > 1:
        lines.append(f"  Sheets  {len(pattern.sheets)}: {_listed([sheet.name for sheet in pattern.sheets])}")
    if pattern.pieces:
        titles = [p.title if p.title == p.ident else f"{p.title} ({p.ident})" for p in pattern.pieces]
        lines.append(f"  Pieces  {len(titles)}: {_listed(titles)}")
    if pattern.layers:
        names = [layer.name if layer.shown else f"{layer.name} (hidden)" for layer in pattern.layers]
        lines.append(f"  Layers  {len(names)}: {_listed(names)}")
    named = {role.replace("-", " "): count for role, count in _roles(pattern).items()}
    roles = [f"{count} {_plural(role) if count > 1 else role}" for role, count in named.items()]
    lines.append(f"  Lines   {len(pattern.lines())}: {_listed(roles) if roles else 'none has a role'}")
    lines.append("  Pages   " + ", ".join(_count_in_words(count) for count in counts))
    return lines


def _plural(role: str) -> str:
    return f"{role}es" if role.endswith("ch") else f"{role}s"


def _listed(names: Sequence[str], most: int = 12) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _count_in_words(count: PaperCount) -> str:
    return f"{count.paper.name} {count.tiles}"
