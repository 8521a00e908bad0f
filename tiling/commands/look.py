"""`pageseam look`: what is in a drawing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tiling.commands import given as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.kinds import FILE
from tiling.commands.remedies import in_options
from tiling.operations.result_values import look_values

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tiling.cloth.seams import SeamRow
    from tiling.operations.look import LookResult
    from tiling.pattern import SizeBasis

__all__ = ["command"]


@click.command("look")
@shared.drawings
@click.option("--picture", "output", type=FILE, metavar="OUT.png", help="Draw the whole layout in small.")
@click.option("--force", is_flag=True, help="Replace the picture if it exists.")
@shared.ending
def command(given: shared.GivenDrawings, output: Path | None, force: bool, console: Console) -> Outcome:
    """Tell what is in a drawing.

    Its real size, pieces or pages, layers, the lines' roles, what could not be read as drawn, and how many pages
    each common paper needs.
    """
    from tiling.operations.look import LookRequest, look

    drawings, reading = given.files(), given.reading()
    picture = shared.GivenOutput(output, force)
    name = "" if output is None else str(picture.checked("", given.drawings, [".png"]))
    request = LookRequest(drawings, reading, name, console.strictness)
    found = look(request, console.run())
    picture.publish(found.picture)
    if not console.as_json:
        console.answer("\n".join([*_lines(found), *_seam_lines(found.seams), _next_step(given)]))
    return console.conclude(found.findings, lambda: _values(found), None)


def _values(found: LookResult) -> dict[str, Any]:
    """The content as `--json` prints it."""
    return look_values(found, in_options) | {"size_basis": _size_basis(found.size_basis)}


def _size_basis(basis: SizeBasis) -> str:
    """How the drawing's real size was known, at a terminal."""
    return "given on the command line" if basis.name == "GIVEN" else basis.value


def _next_step(given: shared.GivenDrawings) -> str:
    """What to do now: print, or say what the lines are where no notes do."""
    named = " ".join(map(str, given.drawings))
    if given.reading().notes:
        return f"Next: pageseam pages {named}"
    return f"Next: pageseam pages {named}, or pageseam lines {named} to see each line's meaning and write notes"


def _seam_lines(seams: Sequence[SeamRow]) -> list[str]:
    """The seam table and the notches that should meet."""
    if not seams:
        return []
    from tiling.cloth.tables import as_text, notch_table, seam_table
    from tiling.cloth.units import Units

    tables = [seam_table(seams, Units.CM), notch_table(seams, Units.CM)]
    return [as_text(table) for table in tables if table.rows]


def _lines(found: LookResult) -> list[str]:
    """The same for people."""
    from tiling.lengths import in_cm, in_inches, in_mm, in_scale

    width, height = found.size.width, found.size.height
    pixels = "" if found.px_per_inch is None else f", at {found.px_per_inch:g} px to the inch"
    lines = [
        found.title,
        f"  Size    {in_mm(width)} x {in_mm(height)} ({in_cm(width)} x {in_cm(height)}, "
        f"{in_inches(width)} x {in_inches(height)}); {_size_basis(found.size_basis)}{pixels}",
    ]
    if found.scale != 1.0:
        lines.append(f"          {in_scale(found.scale)}")
    if len(found.sheets) > 1:
        lines.append(f"  Sheets  {len(found.sheets)}: {_listed([sheet.name for sheet in found.sheets])}")
    if found.pieces:
        titles = [p.title if p.title == p.ident else f"{p.title} ({p.ident})" for p in found.pieces]
        lines.append(f"  Pieces  {len(titles)}: {_listed(titles)}")
    if found.layers:
        names = [layer.name if layer.shown else f"{layer.name} (hidden)" for layer in found.layers]
        lines.append(f"  Layers  {len(names)}: {_listed(names)}")
    named = {role.value.replace("-", " "): count for role, count in found.roles.items()}
    roles = [f"{count} {_plural(role) if count > 1 else role}" for role, count in named.items()]
    lines.append(f"  Lines   {found.lines}: {_listed(roles) if roles else 'none has a role'}")
    lines.append(f"  Shows   {found.shown}")
    lines.append("  Pages   " + ", ".join(f"{count.paper.name} {count.tiles}" for count in found.pages_needed))
    return lines


def _plural(role: str) -> str:
    return f"{role}es" if role.endswith("ch") else f"{role}s"


def _listed(names: Sequence[str], most: int = 12) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
