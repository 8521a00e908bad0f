"""The job of altering: a drawing wider, narrower, longer or shorter, with its notes and a picture of the change."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePath

from calibrate.run import Run
from tiling.altering.alter import Alteration, AlterOutcome
from tiling.altering.alter import alter as altered
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding, Pattern
from tiling.reading.gather import read_drawing
from tiling.reading.options import ReadOptions
from tiling.reading.roles import with_roles

__all__ = ["AlterRequest", "AlterResult", "alter", "as_lines", "with_pieces_meant"]


@dataclass(frozen=True, slots=True)
class AlterRequest:
    """What to alter, and how.

    Attributes:
        drawing: SVG or PDF.
        alteration: what is asked for; pieces are meant by their id, or by a title that only one has.
        reading: how to read the drawing, with its notes.
        name: of the drawing to make; the notes' copy takes its name with another ending.
        picture: the name of a picture of before and after, empty for none.
        strictness: whether findings stop the job.
    """

    drawing: InputFile
    alteration: Alteration
    reading: ReadOptions = ReadOptions()
    name: str = "altered.svg"
    picture: str = ""
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class AlterResult:
    """What was done.

    Attributes:
        outcome: the altered pattern, how amounts were shared, the seams before and after.
        findings: of reading and of altering.
        drawing: the altered drawing as SVG, read back and compared; None where findings stopped the job.
        notes: the drawing's notes with the measures it now fits, where it has notes.
        picture: before and after, as PNG, where one was asked for.
    """

    outcome: AlterOutcome
    findings: tuple[Finding, ...]
    drawing: Artifact | None = None
    notes: Artifact | None = None
    picture: Artifact | None = None


@one_at_a_time
def alter(request: AlterRequest, run: Run = Run()) -> AlterResult:
    """Alter a drawing.

    Raises:
        UsageWrong: nothing or contradictory things are asked for, or an amount is too large for the piece.
        InputUnfit: the drawing can't be read, has no lines to cut along, or lines that can't be cut along.
        ProofFailed: the altered drawing reads back as another one.
        Cancelled: by `run`.
    """
    from tiling.drawing.altered_svg import svg_bytes  # noqa: PLC0415 - only what is drawn needs it
    from tiling.proof.altered_svg import prove_altered  # noqa: PLC0415

    before = as_lines(read_drawing(request.drawing, request.reading, run), request.drawing, request.reading)
    outcome = altered(before, with_pieces_meant(request.alteration, before), run)
    findings = (*before.findings, *outcome.findings)
    if refused(findings, request.strictness):
        return AlterResult(outcome, findings)
    content = svg_bytes(outcome.pattern)
    run.step("Proof", 0, 1)
    prove_altered(content, outcome.pattern)
    picture = _picture(request, before, outcome.pattern)
    return AlterResult(outcome, findings, Artifact(request.name, content), _notes(request, before, outcome), picture)


def as_lines(pattern: Pattern, drawing: InputFile, reading: ReadOptions) -> Pattern:
    """The pattern as lines that can be changed, also where it comes from a PDF."""
    if all(sheet.artwork is None for sheet in pattern.sheets):
        return pattern
    from tiling.reading.pdf_glyphs import as_drawing  # noqa: PLC0415 - only a PDF needs it

    return as_drawing(pattern, drawing, reading.pages)


def with_pieces_meant(alteration: Alteration, pattern: Pattern) -> Alteration:
    """The alteration with its pieces by their ids."""
    return replace(alteration, pieces=tuple(_piece_meant(name, pattern) for name in alteration.pieces))


def _piece_meant(name: str, pattern: Pattern) -> str:
    """The id of the piece that is meant: by the id itself, else by a title that only one piece has."""
    if any(piece.ident == name for piece in pattern.pieces):
        return name
    titled = [piece.ident for piece in pattern.pieces if piece.title.casefold() == name.casefold()]
    return titled[0] if len(titled) == 1 else name


def _notes(request: AlterRequest, before: Pattern, outcome: AlterOutcome) -> Artifact | None:
    """The notes' copy, its places moved with their lines; notes of several files stay where they are."""
    if len(request.reading.notes) != 1:
        return None
    from tiling.altering.moved_places import moved_places  # noqa: PLC0415 - only with notes
    from tiling.files.notes_copy import notes_for_altered  # noqa: PLC0415

    (notes,) = request.reading.notes
    fits = outcome.pattern.notes
    assert fits is not None
    pointed = [place for line in fits.pointed if (place := line.laid) is not None]
    moved = moved_places(with_roles(before), outcome.pattern, pointed) if pointed else []
    places = [(place.x, place.y) for place in moved]
    text = notes_for_altered(notes.content.decode("utf-8-sig"), fits.drawn_for, fits.gained, places)
    return Artifact(str(PurePath(request.name).with_suffix(".toml")), text.encode("utf-8"))


def _picture(request: AlterRequest, before: Pattern, after: Pattern) -> Artifact | None:
    if not request.picture:
        return None
    from tiling.drawing.before_after import before_and_after  # noqa: PLC0415 - only where asked for

    return Artifact(request.picture, before_and_after(before, after))
