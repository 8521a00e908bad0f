"""The job of looking into a drawing: its size, pieces, layers and lines, what it holds, the pages it needs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from calibrate.run import Run
from tiling.failures import Action
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding, FindingKind, Layer, Line, Pattern, Role, SizeBasis
from tiling.planning.planner import PaperCount, counts_by_paper
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.recognition.told import in_one_line
from tiling.recognition.understand import understood, with_gaps
from tiling.shapes import Box, Size

if TYPE_CHECKING:
    from tiling.cloth.seams import SeamRow

__all__ = ["LookRequest", "LookResult", "PieceSeen", "SheetSeen", "look", "looked_into"]


@dataclass(frozen=True, slots=True)
class LookRequest:
    """What to look into.

    Attributes:
        drawings: laid out as one.
        reading: how to read them, with their notes.
        picture: the name of a picture of the whole layout, a PNG; empty for none.
        strictness: whether findings keep the picture from being drawn.
    """

    drawings: tuple[InputFile, ...]
    reading: ReadOptions = ReadOptions()
    picture: str = ""
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class SheetSeen:
    """A drawing or a PDF page, and where it lies on the layout, mm."""

    name: str
    place: Box


@dataclass(frozen=True, slots=True)
class PieceSeen:
    """A piece and how many marks belong to it."""

    ident: str
    title: str
    marks: int


@dataclass(frozen=True, slots=True)
class LookResult:
    """The content of the drawing.

    Attributes:
        size: of the whole layout, mm.
        size_basis: how the real size was known.
        px_per_inch: what a px was taken for, where the size hangs on it.
        scale: by what the drawing was scaled, as asked.
        roles: how many lines have each role; plain ones are not counted.
        lines: how many lines there are in all.
        marks: how many lines, words and pictures there are in all.
        pages_needed: by each common paper.
        seams: of the notes, measured where they are sewn.
        shown: what the drawing shows, in one line of words.
        picture: of the layout, where one was asked for and findings didn't stop it.
    """

    title: str
    size: Size
    size_basis: SizeBasis
    px_per_inch: float | None
    scale: float
    sheets: tuple[SheetSeen, ...]
    pieces: tuple[PieceSeen, ...]
    layers: tuple[Layer, ...]
    roles: Mapping[Role, int]
    lines: int
    marks: int
    pages_needed: tuple[PaperCount, ...]
    seams: tuple[SeamRow, ...]
    findings: tuple[Finding, ...]
    shown: str = ""
    picture: Artifact | None = None


@one_at_a_time
def look(request: LookRequest, run: Run = Run()) -> LookResult:
    """Look into a drawing.

    Raises:
        InputUnfit: a drawing can't be read, is too large, or its notes don't fit it.
        Cancelled: by `run`.
    """
    pattern = read_drawings(request.drawings, request.reading, run)
    run.check()
    found = looked_into(pattern, run)
    if refused(found.findings, request.strictness):
        return found
    return replace(found, picture=_picture(request, pattern))


def looked_into(pattern: Pattern, run: Run = Run()) -> LookResult:
    """The content of a drawing that was read.

    Raises:
        InputUnfit: it is too large, or its notes don't fit it.
        Cancelled: by `run`.
    """
    findings = (*pattern.findings, *_about_rules(pattern))
    counts = counts_by_paper(pattern, run=run)
    run.check()
    lines = pattern.lines()
    return LookResult(
        pattern.title,
        pattern.size,
        pattern.size_basis,
        pattern.px_per_inch,
        pattern.scale,
        tuple(SheetSeen(sheet.name, sheet.place) for sheet in pattern.sheets),
        tuple(PieceSeen(piece.ident, piece.title, len(piece.marks)) for piece in pattern.pieces),
        pattern.layers,
        dict(Counter(line.tag.role for line in lines if _counts(line))),
        len(lines),
        len(pattern.marks),
        counts,
        _seams(pattern),
        findings,
        _shown(pattern, run),
    )


def _shown(pattern: Pattern, run: Run) -> str:
    seen = understood(pattern, run)
    return in_one_line(seen if seen.pieces else with_gaps(pattern, seen), _noted(pattern))


def _noted(pattern: Pattern) -> frozenset[str]:
    """The pieces of which the notes say how many are cut."""
    return frozenset(piece.ident for piece in pattern.pieces if pattern.noted(piece.ident).copies)


def _counts(line: Line) -> bool:
    """Whether it is a line with a role; the edges of an outline that were only found are no lines of their own."""
    return line.tag.role is not Role.PLAIN and (line.style.leaves_ink or not line.tag.was_found)


def _seams(pattern: Pattern) -> tuple[SeamRow, ...]:
    if pattern.notes is None or not pattern.notes.seams:
        return ()
    from tiling.cloth.seam_lines import SeamLines  # noqa: PLC0415 - heavy, and only for patterns with seams
    from tiling.cloth.seams import seam_rows  # noqa: PLC0415

    return seam_rows(SeamLines(pattern))


def _about_rules(pattern: Pattern) -> tuple[Finding, ...]:
    """A finding where a rule of the notes needs a measure that they lack: it can be given when the cloth is planned.

    Raises:
        RuleUnclear: a rule can't be worked out whatever the measures.
    """
    if pattern.notes is None or not (pattern.notes.notions or pattern.notes.rules):
        return ()
    from tiling.cloth.notions import notion_rows  # noqa: PLC0415 - heavy, and only for patterns with rules
    from tiling.cloth.rules import RuleUnclear  # noqa: PLC0415
    from tiling.cloth.seam_lines import SeamLines  # noqa: PLC0415

    try:
        notion_rows(SeamLines(pattern), {})
    except RuleUnclear as unclear:
        if unclear.remedy is None or unclear.remedy.action is not Action.GIVE_MEASURE:
            raise
        return (Finding(FindingKind.MEASURE_MISSING, unclear.what, remedy=unclear.remedy),)
    return ()


def _picture(request: LookRequest, pattern: Pattern) -> Artifact | None:
    if not request.picture:
        return None
    from tiling.drawing.picture import picture_of  # noqa: PLC0415 - heavy, and only where asked for

    return Artifact(request.picture, picture_of(pattern))
