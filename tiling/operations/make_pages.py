"""The job of making pages: a full-size drawing becomes a stack of pages for a home printer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from calibrate.run import Run
from tiling.drawing.print_job import FrontPage, PrintDetails, build_print_job
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.finished_file import Proof, finished
from tiling.operations.page_choice import PageChoice, plan_options
from tiling.operations.piece_layout import AsPrinted, LayoutGain, PaperUse, lay_out
from tiling.operations.strictness import Strictness, refused
from tiling.operations.turn_taking import one_at_a_time
from tiling.pattern import Finding
from tiling.planning.arrange import ArrangeOptions
from tiling.planning.plan import EmptyPages
from tiling.planning.planner import GridMode
from tiling.reading.findings import names_in_boxes
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions
from tiling.record.printed_file import read_printed

if TYPE_CHECKING:
    from tiling.drawing.checklines import CheckLine
    from tiling.drawing.print_facts import PrintFacts
    from tiling.planning.plan import PrintPlan
    from tiling.proof.expectation import Original
    from tiling.shapes import Size

__all__ = ["MakePagesRequest", "MakePagesResult", "make_pages"]


@dataclass(frozen=True, slots=True)
class MakePagesRequest:
    """What to print, and how.

    Attributes:
        drawings: laid out as one.
        reading: how to read them, with their notes.
        page: paper, margins, overlap, printer.
        grid: where the grid lies.
        pieces: how pieces are to be arranged anew, or the printed file whose layout they take; None: as drawn.
        empty: which pages are printed on which nothing is drawn.
        paper_use: whether pieces of like shape may be printed over one another.
        title: printed on every page; empty for the drawing's own.
        date: printed on the first page; empty for none.
        proof: whether the file is proved.
        name: of the PDF.
        strictness: whether findings stop the job.
    """

    drawings: tuple[InputFile, ...]
    reading: ReadOptions = ReadOptions()
    page: PageChoice = PageChoice()
    grid: GridMode = GridMode.FEWEST
    pieces: ArrangeOptions | AsPrinted | None = None
    empty: EmptyPages = EmptyPages.BRIDGE
    paper_use: PaperUse = PaperUse.OWN
    title: str = ""
    date: str = ""
    proof: Proof = Proof.COMPARED
    name: str = "pages.pdf"
    strictness: Strictness = Strictness.LENIENT


@dataclass(frozen=True, slots=True)
class MakePagesResult:
    """The pages, and what is on them.

    Attributes:
        plan: paper, grid, tiles, where pieces were laid, the printer's correction.
        size: of the drawing as read, mm.
        front: the pages before the tiles.
        page_numbers: from 1, of every tile by its name.
        square_page: the number of the page with the test square.
        check_lines: long distances to measure on the taped sheet.
        facts: what is said of the print.
        gain: what came of laying pieces anew.
        findings: of reading, and about the printer.
        pages: the PDF; None where findings stopped the job.
    """

    plan: PrintPlan
    size: Size
    front: tuple[FrontPage, ...]
    page_numbers: Mapping[str, int]
    square_page: int
    check_lines: tuple[CheckLine, ...]
    facts: PrintFacts
    gain: LayoutGain
    findings: tuple[Finding, ...]
    pages: Artifact | None = None

    @property
    def sheets(self) -> int:
        """How many sheets the printer takes."""
        return len(self.front) + len(self.page_numbers)


@one_at_a_time
def make_pages(request: MakePagesRequest, run: Run = Run()) -> MakePagesResult:
    """Cut drawings into pages and prove the file.

    Raises:
        UsageWrong: there is no such paper, or it leaves no room.
        CorrectionError: the printer's scale is out of bounds.
        InputUnfit: a drawing can't be read or printed, its notes don't fit it, pieces can't share paper, or the file
            whose layout is taken is of another drawing.
        ProofFailed: the file differs from the plan or the source.
        Cancelled: by `run`.
    """
    options, about_printer = plan_options(request.page)
    reading = request.reading
    if isinstance(request.pieces, AsPrinted):
        reading = reading.at_scale(read_printed(request.pieces.printed).plan.scale)
    pattern = read_drawings(request.drawings, reading, run)
    options = replace(options, grid=request.grid, title=request.title, empty=request.empty)
    found = lay_out(pattern, options, request.pieces, request.paper_use, run)
    job = build_print_job(found.plan, pattern, PrintDetails(request.date), found.ink, found.laid, run)
    findings = (*pattern.findings, *names_in_boxes(pattern, request.title, request.date), *about_printer)
    pages = None
    if not refused(findings, request.strictness):
        pages = finished(request.name, job, request.proof, _originals(request), run)
    return MakePagesResult(
        job.plan,
        pattern.size,
        job.front,
        dict(job.pages),
        job.square_page,
        job.check_lines,
        job.facts,
        found.gain,
        findings,
        pages,
    )


def _originals(request: MakePagesRequest) -> tuple[Original, ...]:
    if request.proof is Proof.SKIPPED:
        return ()
    from tiling.proof.original import originals_of  # noqa: PLC0415 - the proof is heavy and can be skipped

    return originals_of(request.drawings, request.reading.pages, request.reading.layers)
