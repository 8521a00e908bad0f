"""`pageseam lines`: what a drawing's lines are, as notes to begin with."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands import given as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.kinds import FILE
from tiling.commands.remedies import in_options
from tiling.files.destination import check_destination
from tiling.files.publish import Publication, publish_all
from tiling.operations.lines_values import lines_values

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tiling.operations.read_lines import ReadLinesResult
    from tiling.recognition.understanding import PieceSeen

__all__ = ["command"]


@click.command("lines")
@click.option("-o", "--output", type=FILE, metavar="NOTES.toml",
              help="Write notes to begin with: all that was understood, to be confirmed or changed.")  # fmt: skip
@click.option("--picture", type=FILE, metavar="NUMBERED.png",
              help="Draw the pattern with its pieces and edges numbered, and rulers to read places off.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace notes and picture if they exist.")
@shared.drawings
@shared.ending
def command(
    given: shared.GivenDrawings, output: Path | None, picture: Path | None, force: bool, console: Console
) -> Outcome:
    """Tell what the lines of a drawing are.

    Its pieces, how they are cut, their grainlines, folds, notches, seams and lines to alter at, as far as the drawing
    shows; and what it leaves open.
    """
    from tiling.operations.read_lines import ReadLinesRequest, read_lines

    for path, ending in ((output, ".toml"), (picture, ".png")):
        if path is not None:
            check_destination(path, force=force, inputs=given.named, endings=[ending])
    request = ReadLinesRequest(
        given.files(), given.reading(), str(output or ""), str(picture or ""), console.strictness
    )
    found = read_lines(request, console.run())
    files = [(output, found.notes), (picture, found.picture)]
    publish_all([Publication(path, file.content, force) for path, file in files if path and file])
    if not console.as_json:
        console.answer("\n".join(_told(found)))
    return console.conclude(found.findings, lambda: lines_values(found, in_options), None)


def _told(found: ReadLinesResult) -> Iterator[str]:
    """The same for people."""
    yield f"{found.title}: {found.summary}"
    for number, piece in enumerate(found.understanding.pieces, 1):
        yield from _piece(number, piece)
    for aside in found.understanding.asides:
        at = aside.place
        yield f"  no piece: a {aside.kind.value.value} at {at.x0 / 10:.1f} cm, {at.y0 / 10:.1f} cm ({aside.kind.why})"
    for seam in found.understanding.seams:
        words = "sewn together" if seam.sure >= 0.7 else "perhaps sewn together"
        yield f"  {words}: {'.'.join(seam.first)} and {'.'.join(seam.second)} ({seam.why})"
    if found.questions:
        yield "Left open:"
        yield from (f"  {question.text}" for question in found.questions)


def _piece(number: int, piece: PieceSeen) -> Iterator[str]:
    from tiling.recognition.told import role_words

    cut = "" if piece.cut is None else {"fold": ", on the fold", "pair": ", a pair"}.get(piece.cut.value.value, "")
    copies = "" if piece.copies is None else f", cut {piece.copies.value}"
    yield f"  {number}  {piece.title.value}{copies}{cut}"
    edges = [f"{k} {edge.name.value}" for k, edge in enumerate(piece.edges, 1)]
    yield f"     edges: {', '.join(edges)}"
    roles = [line.role.value for line in piece.lines if line.role.stands and line.role.value]
    if roles:
        yield "     " + ", ".join(
            f"{roles.count(role)} {role_words(role, roles.count(role))}" for role in dict.fromkeys(roles)
        )
