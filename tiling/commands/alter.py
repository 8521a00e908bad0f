"""`pageseam alter`: widen, narrow, lengthen or shorten the pieces of a pattern."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tiling.commands import given as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.kinds import CUT_LINE, FILE, LENGTH, MEASURES, NAMED_PLACE, SHARE, SIGNED_LENGTH
from tiling.commands.options import reading_options, refuse_idle
from tiling.commands.remedies import in_options
from tiling.files.destination import check_destination, same_file
from tiling.files.publish import Publication, publish_all
from tiling.operations.result_values import altered_values, explanation_in_words

if TYPE_CHECKING:
    from tiling.altering.alter import AlterOutcome
    from tiling.altering.named_places import NamedPlace
    from tiling.files.inputs import Artifact, InputFile
    from tiling.shapes.straights import Straight

__all__ = ["command"]


@click.command("alter")
@shared.as_one(
    "output", shared.GivenOutput,
    click.option("-o", "--output", type=FILE, metavar="NEW.svg",
                 help="The drawing to write. Default: NAME-altered.svg in the current folder."),
    click.option("--force", is_flag=True, help="Replace the output if it exists."),
)  # fmt: skip
@click.option("--around", type=SIGNED_LENGTH, metavar="±LENGTH",
              help="Change of the finished circumference, shared over all layers with a grading line.")  # fmt: skip
@click.option("--longer", type=SIGNED_LENGTH, metavar="±LENGTH",
              help="Longer (or shorter) at the lengthen/shorten lines.")  # fmt: skip
@click.option("--to", type=MEASURES, metavar="MEASURES",
              help="Body measures to fit: waist=90cm,hip=104cm. Its notes say for which it was drawn.")  # fmt: skip
@click.option("--taper", type=SHARE, metavar="P%",
              help="Share of the opening at the grading line's other end: 0% is a V. Default: the notes', else 100%.",
              )  # fmt: skip
@click.option("--piece", "pieces", multiple=True, metavar="NAME",
              help="Alter this piece only, by its id or title (repeatable).")  # fmt: skip
@click.option("--match", is_flag=True, help="Let pieces sewn to the altered ones follow by the same amount.")
@click.option("--cut-line", "cut_lines", type=CUT_LINE, multiple=True, metavar="'X,Y X,Y'",
              help="Cut along this line instead of the drawing's own; the first point is the wide end.")  # fmt: skip
@click.option("--at", "places", type=NAMED_PLACE, multiple=True, metavar="'PIECE LENGTH from the EDGE'",
              help="Cut across a piece at this place instead, along the grain with --around (repeatable).")  # fmt: skip
@click.option("--fairing", type=LENGTH, metavar="LENGTH",
              help="Edges are trued over this length on either side of a cut. Default: 50mm, more for a large step.",
              )  # fmt: skip
@click.option("--picture", type=FILE, metavar="OUT.png", help="Draw before and after overlaid.")
@shared.as_one(
    "given", shared.GivenDrawings,
    click.argument("drawings", metavar="DRAWING", type=FILE, callback=lambda _context, _parameter, file: (file,)),
    reading_options,
)  # fmt: skip
@shared.ending
def command(
    given: shared.GivenDrawings,
    output: shared.GivenOutput,
    around: float | None,
    longer: float | None,
    to: dict[str, float] | None,
    taper: float | None,
    pieces: tuple[str, ...],
    match: bool,
    cut_lines: tuple[Straight, ...],
    places: tuple[NamedPlace, ...],
    fairing: float | None,
    picture: Path | None,
    console: Console,
) -> Outcome:
    """Widen, narrow, lengthen or shorten the pieces of a pattern.

    As with scissors on paper: the pieces are cut on their grading lines and spread or overlapped, cut on their
    lengthen/shorten lines and moved apart or together, and the edges trued. Writes a new drawing (SVG) with the
    pattern's notes beside it; the old one stays as it is.
    """
    from tiling.altering.alter import Alteration, Matching
    from tiling.operations.alter import AlterRequest, alter

    drawings, reading = given.files(), given.reading()
    target = output.checked(f"{given.stem}-altered.svg", given.named, [".svg"])
    if around is None and not to:
        refuse_idle("says how a grading line opens, with --around or --to; leave it out.", "taper")
    if picture is not None:
        check_destination(picture, force=output.force, inputs=given.named, endings=[".png"])
    matching = Matching.FOLLOW if match else Matching.LEAVE
    request = AlterRequest(
        drawing=drawings[0],
        alteration=Alteration(around, longer, to or {}, taper, pieces, cut_lines, fairing, matching, places),
        reading=reading,
        name=str(target),
        picture=str(picture or ""),
        strictness=console.strictness,
    )
    made = alter(request)  # too short to tell how far it is
    noted = words = None
    if made.drawing is not None:
        noted = _notes_place(target, made.notes, request.reading.notes, console, force=output.force)
        files = [(target, made.drawing), (noted, made.notes), (picture, made.picture)]
        publish_all([Publication(path, file.content, output.force) for path, file in files if path and file])
        words = "\n".join(_summary(target, noted, made.outcome))
    return console.conclude(made.findings, lambda: altered_values(made, noted, in_options), words)


def _notes_place(
    target: Path, copy: Artifact | None, own: Sequence[InputFile], console: Console, *, force: bool
) -> Path | None:
    """Where the notes' copy goes: beside the drawing, unless its own notes, or others that may not go, lie there."""
    beside = target.with_suffix(".toml")
    if copy is None or any(same_file(beside, Path(notes.name)) for notes in own):
        return None
    if beside.exists() and not force:
        console.note(f"{beside}: was there already and is left as it is; see whether it fits, or add --force.")
        return None
    return beside


def _summary(target: Path, noted: Path | None, done: AlterOutcome) -> list[str]:
    """What was done, for people."""
    from tiling.lengths import in_mm, in_scale

    lines = [f"{target}: {done.pattern.title}, altered: {', '.join(done.altered)}"]
    if done.pattern.scale != 1.0:
        lines.append(f"  {in_scale(done.pattern.scale)}")
    lines += [f"  {words}" for words in explanation_in_words(done, in_options)]
    changed = [c for c in done.seams if abs(c.after.first_length - c.before.first_length) > 0.05
               or abs(c.after.second_length - c.before.second_length) > 0.05]  # fmt: skip
    if changed:
        lines.append("  Seams that changed, before and after:")
    for change in changed:
        first = f"{in_mm(change.before.first_length)} to {in_mm(change.after.first_length)}"
        second = f"{in_mm(change.before.second_length)} to {in_mm(change.after.second_length)}"
        lines.append(f"    {change.note.name}: {change.after.first} {first}; {change.after.second} {second}")
    if noted is not None:
        lines.append(f"  Its notes lie beside it: {noted}")
    return lines
