"""A drawing kept open between questions: read once, then counted, altered and compared again and again.

What a job makes of the same wishes is the same; this only makes nothing that could be published.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from calibrate.run import Run
from tiling.altering.alter import Alteration, AlterOutcome
from tiling.altering.alter import alter as altered
from tiling.files.inputs import InputFile
from tiling.operations.alter import as_lines, with_pieces_meant
from tiling.operations.page_choice import PageChoice, plan_options
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Pattern, Picture
from tiling.planning.planner import GridMode, PageCounter
from tiling.planning.reprint import Reprint, ReprintOptions, plan_reprint
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.recognition.understand import understood, with_gaps

if TYPE_CHECKING:
    from tiling.operations.look import LookResult
    from tiling.planning.plan import PrintPlan
    from tiling.planning.printed import PrintedRecord
    from tiling.recognition.understanding import Understanding

__all__ = ["OpenDrawing", "OpenRequest", "open_drawing"]


_UNDER = 3000
"""Pixels along the longer side of a picture under the lines."""


@dataclass(frozen=True, slots=True)
class OpenRequest:
    """The drawings, laid out as one, and how to read them."""

    drawings: tuple[InputFile, ...]
    reading: ReadOptions = ReadOptions()


@dataclass(frozen=True, eq=False)
class OpenDrawing:
    """A drawing as read, and what it was worth working out once. Not for several threads."""

    pattern: Pattern
    request: OpenRequest

    @cached_property
    def counter(self) -> PageCounter:
        """Plans its pages again and again.

        Raises:
            InputUnfit: nothing is drawn that could be printed.
        """
        return PageCounter.of(self.pattern)

    @cached_property
    def look(self) -> LookResult:
        """What is in it."""
        from tiling.operations.look import looked_into  # noqa: PLC0415 - not for every question

        return looked_into(self.pattern)

    @cached_property
    def understanding(self) -> Understanding:
        """What its lines are."""
        return with_gaps(self.pattern, understood(self.pattern))

    @cached_property
    def shown(self) -> Pattern:
        """The drawing to be looked at, with a PDF's letters as its own fonts draw them."""
        files, pages = self.request.drawings, self.request.reading.pages
        if len(files) > 1 or all(sheet.artwork is None for sheet in self.pattern.sheets):
            return self.pattern
        from tiling.reading.pdf_glyphs import with_outlined_words  # noqa: PLC0415 - only a PDF needs it

        return with_outlined_words(self.pattern, files[0], pages)[0]

    @cached_property
    def under(self) -> bytes:
        """A picture of the whole layout to lie under its lines, where it holds what lines can't show; else empty."""
        if not any(isinstance(mark, Picture) and not mark.data for mark in self.pattern.marks):
            return b""
        from tiling.drawing.picture import picture_of  # noqa: PLC0415 - only for pictures in a PDF

        return picture_of(self.pattern, _UNDER)

    @cached_property
    def as_lines(self) -> Pattern:
        """The drawing as lines that can be altered; for several drawings the first alone."""
        return as_lines(self.pattern, self.request.drawings[0], self.request.reading)

    def pages(self, choice: PageChoice, grid: GridMode = GridMode.FEWEST, run: Run = Run()) -> PrintPlan:
        """The pages as drawn, for some paper.

        Raises:
            UsageWrong: there is no such paper, or margins and overlap leave no room on it.
            CorrectionError: the printer's scale is out of bounds.
            InputUnfit: nothing is drawn that could be printed.
            Cancelled: by `run`.
        """
        options, _ = plan_options(choice)
        return self.counter.plan(replace(options, grid=grid), run)

    def altered(self, alteration: Alteration, run: Run = Run()) -> AlterOutcome:
        """The altered pattern, as `tiling.operations.alter` makes it.

        Raises:
            UsageWrong, InputUnfit, Cancelled: as there.
        """
        return altered(self.as_lines, with_pieces_meant(alteration, self.as_lines), run)

    def changed_pages(self, record: PrintedRecord, changed: Pattern) -> Reprint:
        """Which pages of a printed file the changed pattern asks for again.

        Raises:
            InputUnfit: the file shows another pattern.
        """
        return plan_reprint(record, changed, ReprintOptions())


@one_at_a_time
def open_drawing(request: OpenRequest, run: Run = Run()) -> OpenDrawing:
    """Read a drawing and keep it.

    Raises:
        InputUnfit: it can't be read, or its notes don't fit it.
        Cancelled: by `run`.
    """
    return OpenDrawing(read_drawings(request.drawings, request.reading, run), request)
