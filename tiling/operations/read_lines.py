"""The job of reading a drawing's lines as a pattern: its pieces, what each line is, notes to begin with."""

from __future__ import annotations

from dataclasses import dataclass

from calibrate.run import Run
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.recognition.told import Question, in_one_line, questions_on
from tiling.recognition.understand import understood, with_gaps
from tiling.recognition.understanding import Understanding

__all__ = ["ReadLinesRequest", "ReadLinesResult", "read_lines"]


@dataclass(frozen=True, slots=True)
class ReadLinesRequest:
    """What to read.

    Attributes:
        drawings: laid out as one.
        reading: how to read them, with their notes.
        notes: the name of the notes to begin with; empty for none.
        picture: the name of a picture with pieces and edges numbered, a PNG; empty for none.
        strictness: whether findings keep notes and picture from being made.
    """

    drawings: tuple[InputFile, ...]
    reading: ReadOptions = ReadOptions()
    notes: str = ""
    picture: str = ""
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class ReadLinesResult:
    """What was understood.

    Attributes:
        summary: in one line.
        questions: what the drawing leaves open.
        notes, picture: where they were asked for and findings didn't stop the job.
    """

    title: str
    understanding: Understanding
    summary: str
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]
    notes: Artifact | None = None
    picture: Artifact | None = None


@one_at_a_time
def read_lines(request: ReadLinesRequest, run: Run = Run()) -> ReadLinesResult:
    """Tell what a drawing's lines are.

    Raises:
        InputUnfit: a drawing can't be read, or its notes don't fit it.
        Cancelled: by `run`.
    """
    pattern = read_drawings(request.drawings, request.reading, run)
    found = with_gaps(pattern, understood(pattern, run))
    notes = picture = None
    if not refused(pattern.findings, request.strictness):
        if request.notes:
            from tiling.recognition.starter_notes import starter_notes  # noqa: PLC0415 - only where asked for

            notes = Artifact(request.notes, starter_notes(pattern, found).encode())
        if request.picture:
            from tiling.drawing.numbered import numbered_picture  # noqa: PLC0415 - heavy, and only where asked for

            picture = Artifact(request.picture, numbered_picture(pattern, found))
    asked = questions_on(found)
    return ReadLinesResult(pattern.title, found, in_one_line(found), asked, pattern.findings, notes, picture)
