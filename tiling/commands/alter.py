"""`pageseam alter`: widen, narrow, lengthen or shorten the pieces of a pattern."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tiling.commands import options as shared
from tiling.commands.console import Console, Outcome
from tiling.commands.json_values import altered_values, explanation_in_words

if TYPE_CHECKING:
    from tiling.altering.alter import AlterOutcome
    from tiling.files.inputs import Artifact, InputFile
    from tiling.shapes.straights import Straight

__all__ = ["command"]


class _Signed(click.ParamType[float]):
    """A length with its unit and its sign, as mm."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        from tiling.lengths import LengthUnclear, parse_length

        try:
            return value if isinstance(value, float) else parse_length(value)
        except LengthUnclear as unclear:
            self.fail(str(unclear), param, ctx)


class _Share(click.ParamType[float]):
    """A share in per cent, as a number."""

    name = "share"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        from tiling.lengths import LengthUnclear, parse_percent

        try:
            return value if isinstance(value, float) else parse_percent(value)
        except LengthUnclear as unclear:
            self.fail(str(unclear), param, ctx)


class _Measures(click.ParamType[dict[str, float]]):
    """``waist=900mm,hip=1040mm`` as mm by name."""

    name = "measures"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> dict[str, float]:
        if isinstance(value, dict):
            return value
        measures = {}
        for part in value.split(","):
            name, equals, length = part.partition("=")
            if not equals or not name.strip():
                self.fail(f"'{part.strip()}' is no measure; write it as waist=90cm,hip=104cm.", param, ctx)
            measures[name.strip()] = _Signed().convert(length.strip(), param, ctx)
            if measures[name.strip()] <= 0:
                self.fail(f"'{part.strip()}': a body measure is more than nought.", param, ctx)
        return measures


class _CutLine(click.ParamType["Straight"]):
    """``x1,y1 x2,y2``, every number with its unit, from the drawing's top left corner."""

    name = "line"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Straight:
        from tiling.shapes import Point
        from tiling.shapes.straights import Straight

        if isinstance(value, Straight):
            return value
        points = [part.split(",") for part in value.split()]
        if len(points) != 2 or any(len(point) != 2 for point in points):
            self.fail(f"'{value}' is no line; write two points, such as '25cm,5cm 25cm,70cm'.", param, ctx)
        ends = [Point(*(_Signed().convert(number, param, ctx) for number in point)) for point in points]
        return Straight(ends[0], ends[1])


@click.command("alter")
@click.argument("drawing", type=shared.FILE)
@click.option("-o", "--output", type=shared.FILE, metavar="NEW.svg",
              help="The drawing to write. Default: NAME-altered.svg in the current folder.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace the output if it exists.")
@click.option("--around", type=_Signed(), metavar="±LENGTH",
              help="Change of the finished circumference, shared over all layers with a grading line.")  # fmt: skip
@click.option("--longer", type=_Signed(), metavar="±LENGTH", help="Longer (or shorter) at the lengthen/shorten lines.")
@click.option("--to", type=_Measures(), metavar="MEASURES",
              help="Body measures to fit: waist=90cm,hip=104cm. Its notes say for which it was drawn.")  # fmt: skip
@click.option("--taper", type=_Share(), metavar="P%",
              help="Share of the opening at the grading line's other end: 0% is a V. Default: the notes', else 100%.",
              )  # fmt: skip
@click.option("--piece", "pieces", multiple=True, metavar="NAME",
              help="Alter this piece only, by its id or title (repeatable).")  # fmt: skip
@click.option("--match", is_flag=True, help="Let pieces sewn to the altered ones follow by the same amount.")
@click.option("--cut-line", "cut_lines", type=_CutLine(), multiple=True, metavar="'X,Y X,Y'",
              help="Cut along this line instead of the drawing's own; the first point is the wide end.")  # fmt: skip
@click.option("--fairing", type=shared.LENGTH, metavar="LENGTH",
              help="Edges are trued over this length on either side of a cut. Default: 50mm, more for a large step.",
              )  # fmt: skip
@click.option("--picture", type=shared.FILE, metavar="OUT.png", help="Draw before and after overlaid.")
@shared.reading_options
@shared.strict_option
@shared.json_option
@shared.quiet_option
def command(
    drawing: Path,
    output: Path | None,
    force: bool,
    around: float | None,
    longer: float | None,
    to: dict[str, float] | None,
    taper: float | None,
    pieces: tuple[str, ...],
    match: bool,
    cut_lines: tuple[Straight, ...],
    fairing: float | None,
    picture: Path | None,
    layers: tuple[str, ...],
    page_numbers: tuple[int, ...],
    px_per_inch: float | None,
    notes: Path | None,
    strict: bool,
    as_json: bool,
    quiet: bool,
) -> Outcome:
    """Widen, narrow, lengthen or shorten the pieces of a pattern.

    As with scissors on paper: the pieces are cut on their grading lines and spread or overlapped, cut on their
    lengthen/shorten lines and moved apart or together, and the edges trued. Writes a new drawing (SVG) with the
    pattern's notes beside it; the old one stays as it is.
    """
    from tiling.altering.alter import Alteration, Matching
    from tiling.files.destination import check_destination
    from tiling.files.inputs import read_input, read_notes_for
    from tiling.files.publish import Publication, publish_all
    from tiling.operations.alter import AlterRequest, alter
    from tiling.operations.strictness import Strictness
    from tiling.reading.options import ReadOptions

    console = Console(quiet)
    target = output or Path(f"{drawing.stem}-altered.svg")
    inputs = [drawing, *([notes] if notes else [])]
    check_destination(target, force=force, inputs=inputs, endings=[".svg"])
    if around is None and not to:
        shared.refuse_idle("says how a grading line opens, with --around or --to; leave it out.", "taper")
    if picture is not None:
        check_destination(picture, force=force, inputs=inputs, endings=[".png"])
    reading = ReadOptions(layers, page_numbers, px_per_inch, read_notes_for([drawing], notes))
    asked = Alteration(
        around, longer, to or {}, taper, pieces, cut_lines, fairing, Matching.FOLLOW if match else Matching.LEAVE
    )
    strictness = Strictness.STRICT if strict else Strictness.LENIENT
    request = AlterRequest(read_input(drawing), asked, reading, str(target), str(picture or ""), strictness)
    result = alter(request)  # too short to tell how far it is
    outcome = Outcome(result.findings, strictness)
    console.findings(result.findings)
    noted = None
    if result.drawing is None:
        console.refuse(result.findings)
    else:
        noted = _notes_place(target, result.notes, reading.notes, console, force=force)
        made = [(target, result.drawing), (noted, result.notes), (picture, result.picture)]
        publish_all([Publication(path, file.content, force) for path, file in made if path and file])
    if as_json:
        console.values(altered_values(result, target, noted, picture))
    elif result.drawing is not None:
        console.answer("\n".join(_summary(target, noted, result.outcome)))
    return outcome


def _notes_place(
    target: Path, copy: Artifact | None, own: Sequence[InputFile], console: Console, *, force: bool
) -> Path | None:
    """Where the notes' copy goes: beside the drawing, unless its own notes, or others that may not go, lie there."""
    from tiling.files.destination import same_file

    beside = target.with_suffix(".toml")
    if copy is None or any(same_file(beside, Path(notes.name)) for notes in own):
        return None
    if beside.exists() and not force:
        console.note(f"{beside}: was there already and is left as it is; see whether it fits, or add --force.")
        return None
    return beside


def _summary(target: Path, noted: Path | None, done: AlterOutcome) -> list[str]:
    """What was done, for people."""
    from tiling.lengths import in_mm

    lines = [f"{target}: {done.pattern.title}, altered: {', '.join(done.altered)}"]
    lines += [f"  {words}" for words in explanation_in_words(done)]
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
