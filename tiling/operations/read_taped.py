"""Read a taped sheet: photos of it, and the file it was printed from, tell which join slipped."""

from __future__ import annotations

from collections import Counter
from contextlib import closing
from dataclasses import dataclass, replace
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from calibrate.printer_scale import MeasuredScale
from calibrate.run import Run
from calibrate.taped.printed import PrintedJoin, PrintedPage, PrintedSheet, PrintedSpan
from calibrate.taped.reading import TOLERANCE, JoinVerdict, read_taped
from tiling.drawing.checklines import DIAGONALS
from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.photo_marks import checkers_of, codes_of
from tiling.failures import InputUnfit, UsageWrong
from tiling.files.inputs import Artifact, InputFile
from tiling.lengths import in_mm
from tiling.operations.taped_seams import seams_of
from tiling.operations.turn_taking import one_at_a_time
from tiling.proof.raster import PixelGrid, page_to_mm, render
from tiling.record.printed_file import read_printed
from tiling.shapes import Box

if TYPE_CHECKING:
    import pypdfium2
    from numpy.typing import NDArray

    from calibrate.photo import Photo
    from calibrate.taped.reading import SpanSeen, TapedReading
    from tiling.planning.plan import PrintPlan, Tile
    from tiling.planning.printed import PrintedCheck

__all__ = ["ReadTapedRequest", "ReadTapedResult", "read_taped_sheet", "summary"]

_PITCH, _FINER = 1 / 6, 3
"""mm to the pixel of a page's picture, and how many pixels each of those is the mean of: PDFium lays areas on whole
pixels, which would move a checker's squares by half of one."""
_ASIDE = 2.0
"""Pixels to the point of pages that are not taped."""
_MOST_PIXELS = 40_000_000
"""That a page is drawn in; larger ones, which are photographed from farther away, are drawn in larger pixels."""


@dataclass(frozen=True, slots=True)
class ReadTapedRequest:
    """What to read.

    Attributes:
        photos: of one taped sheet.
        printed: the file whose pages it is.
        tolerance: how far a page may have slipped, mm.
        printer: what the printer that they came from does to any page; None where that isn't known.
        picture: a name for the first photo with what was found drawn on it, ``.jpg`` or ``.png``; empty: none is drawn.
    """

    photos: tuple[InputFile, ...]
    printed: InputFile
    tolerance: float = TOLERANCE
    printer: MeasuredScale | None = None
    picture: str = ""


@dataclass(frozen=True, slots=True)
class ReadTapedResult:
    """What came of it.

    Attributes:
        reading: what the photos say.
        tolerance: against which that was judged, mm.
        unseen: the joins of the sheet that they say nothing of.
        size: printed length over the drawing's on these pages; None where no printer is known.
        picture: a photo with what was found, where one was asked for.
    """

    reading: TapedReading
    tolerance: float
    unseen: tuple[tuple[str, str], ...]
    size: MeasuredScale | None = None
    picture: Artifact | None = None

    @property
    def diagonals(self) -> tuple[SpanSeen, ...]:
        """From corner to corner of the sheet: both are off alike where it is square."""
        return tuple(seen for seen in self.reading.spans if seen.span.what in DIAGONALS)

    @property
    def check_lines(self) -> tuple[SpanSeen, ...]:
        """The other distances that have crosses on the sheet."""
        return tuple(seen for seen in self.reading.spans if seen.span.what not in DIAGONALS)

    def length(self, seen: SpanSeen) -> float | None:
        """How long a distance on the sheet is, mm; None where the size of its pages isn't known."""
        if self.size is None:
            return None
        across, down = seen.span.ends[1] - seen.span.ends[0]
        printed = hypot(across * self.size.across, down * self.size.down)
        return printed + seen.longer * printed / seen.span.length


@one_at_a_time
def read_taped_sheet(request: ReadTapedRequest, run: Run = Run()) -> ReadTapedResult:
    """Tell how far every page lies from where it should.

    Raises:
        InputUnfit: the file is none that was printed here, or damaged, or none of its pages are taped to each other.
        PhotoUnreadableError: a photo is damaged, too large, or none.
        NoMeasurementError: a photo doesn't show the sheet, or too coarsely.
        UsageWrong: there is no photo.
        Cancelled: by `run`.
    """
    from calibrate.photo import load_photo  # noqa: PLC0415 - heavy

    if not request.photos:
        raise UsageWrong("a taped sheet is read from photos of it: give at least one.")
    sheet = printed_sheet(request.printed, run)
    if not sheet.joins:
        raise InputUnfit(f"{request.printed.name}: holds no two pages that are taped to each other.")
    photos = [load_photo(file.name, file.content, run) for file in request.photos[:1]]
    # Marks are read in grey: a large photo's colours take three times as much memory.
    photos += [replace(load_photo(file.name, file.content, run), colour=None) for file in request.photos[1:]]
    reading = read_taped(photos, sheet, request.tolerance, run)
    told = {(end.first, end.second) for end in reading.ends}
    unseen = tuple((join.first, join.second) for join in sheet.joins if (join.first, join.second) not in told)
    result = ReadTapedResult(reading, request.tolerance, unseen, _size(request))
    if not request.picture:
        return result
    content = _drawn(photos[0], sheet, result, request.picture)
    return replace(result, picture=Artifact(request.picture, content))


def _size(request: ReadTapedRequest) -> MeasuredScale | None:
    """What became of a length on these pages, which may have been corrected for the printer."""
    if request.printer is None:
        return None
    scale, made = request.printer, read_printed(request.printed).plan.correction
    return MeasuredScale(
        scale.across * made.across, scale.down * made.down,
        scale.uncertainty_across * made.across, scale.uncertainty_down * made.down,
    )  # fmt: skip


def _drawn(photo: Photo, sheet: PrintedSheet, result: ReadTapedResult, name: str) -> bytes:
    from calibrate.sketch import encoded  # noqa: PLC0415 - heavy, and only for a picture
    from calibrate.taped.picture import drawn_on  # noqa: PLC0415 - as above

    return encoded(drawn_on(photo, result.reading, sheet, [summary(result)]), Path(name).suffix)


def summary(result: ReadTapedResult) -> str:
    """How many ends of joins are true, slipped, or can't be told, in one line."""
    counts = Counter(end.verdict for end in result.reading.ends)
    return (
        f"{counts[JoinVerdict.TRUE]} of {len(result.reading.ends)} join ends are true to {in_mm(result.tolerance)}, "
        f"{counts[JoinVerdict.SLIPPED]} slipped, {counts[JoinVerdict.UNSURE]} can't be told"
    )


def printed_sheet(printed: InputFile, run: Run = Run()) -> PrintedSheet:
    """The pages that a file prints, with their marks and joins, as the reader of photos takes them.

    Raises:
        InputUnfit: the file is none that was printed here, or damaged.
        Cancelled: by `run`.
    """
    import pypdfium2  # noqa: PLC0415 - heavy

    record = read_printed(printed)
    plan = record.plan
    with closing(pypdfium2.PdfDocument(printed.content)) as document:
        numbers = {document.get_page_label(number): number for number in range(len(document))}
        tiles = {tile.name for tile in plan.tiles}
        aside = [_aside(document[number], label) for label, number in numbers.items() if label not in tiles]
        pages = []
        for done, tile in enumerate(plan.to_print):
            run.step("Reading the printed pages", done, len(plan.to_print))
            if tile.name in numbers:
                pages.append(_page(document[numbers[tile.name]], plan, tile))
    there = {page.name for page in pages}
    spans = tuple(_span(check) for check in record.checks or () if {check.from_tile, check.to_tile} <= there)
    return PrintedSheet(tuple(pages), tuple(_joins(plan, there)), spans, tuple(seams_of(record, pages)), tuple(aside))


def _aside(page: pypdfium2.PdfPage, label: str) -> PrintedPage:
    """A page that is not taped: of such only the picture matters."""
    picture = page.render(scale=_ASIDE, grayscale=True).to_numpy().squeeze()
    pitch = 25.4 / 72 / _ASIDE
    page.close()
    seen = (0.0, 0.0, picture.shape[1] * pitch, picture.shape[0] * pitch)
    return PrintedPage(label, picture, pitch, (0.0, 0.0), seen, np.zeros((0, 2)))


def _span(check: PrintedCheck) -> PrintedSpan:
    ends = np.array([(cross.at.x, cross.at.y) for cross in (check.start, check.end)])
    return PrintedSpan(check.what, (check.from_tile, check.to_tile), ends)


def _page(page: pypdfium2.PdfPage, plan: PrintPlan, tile: Tile) -> PrintedPage:
    back, size = plan.to_page(tile).inverse(), plan.page_size
    paper = back.box(Box(0.0, 0.0, size.width, size.height))
    pitch = max(_PITCH, _FINER * (paper.width * paper.height / _MOST_PIXELS) ** 0.5)
    columns, rows = int(paper.width / pitch), int(paper.height / pitch)
    whole = Box(paper.x0, paper.y0, paper.x0 + columns * pitch, paper.y0 + rows * pitch)
    fine = render(page, back @ page_to_mm(page, size.width, size.height), PixelGrid(_inner(whole), pitch / _FINER))
    page.close()
    joins = joins_of(plan, tile)
    seen, sides = kept_part(tile, joins), {join.side.name for join in joins}
    middles = [checker.middle for checker in checkers_of(plan, tile)]
    middles += [code.box.centre for code in codes_of(plan, tile)]
    marks = np.array([(middle.x, middle.y) for middle in middles]).reshape(-1, 2)
    return PrintedPage(
        tile.name, _coarser(fine, rows, columns), pitch, (whole.x0, whole.y0),
        (
            seen.x0 if "LEFT" in sides else whole.x0, seen.y0 if "TOP" in sides else whole.y0,
            seen.x1 if "RIGHT" in sides else whole.x1, seen.y1 if "BOTTOM" in sides else whole.y1,
        ),
        marks,
    )  # fmt: skip


def _inner(box: Box) -> Box:
    """The box without the last bits of a float, which would ask for one more pixel."""
    return Box(box.x0, box.y0, box.x1 - 1e-9, box.y1 - 1e-9)


def _coarser(dark: NDArray[np.uint8], rows: int, columns: int) -> NDArray[np.uint8]:
    """Paper white, each pixel the mean of those it is made of."""
    parts = dark.reshape(rows, _FINER, columns, _FINER).mean(axis=(1, 3))
    return np.asarray(np.round(255.0 - parts), np.uint8)


def _joins(plan: PrintPlan, there: set[str]) -> list[PrintedJoin]:
    """Every join of two pages that are there, told at its checkers' places on the line."""
    found = []
    for tile in plan.to_print:
        for join in joins_of(plan, tile):
            if join.side.lies_over or not {tile.name, join.neighbour} <= there:
                continue
            middles = [one.middle for one in checkers_of(plan, tile) if one.neighbour == join.neighbour]
            upright = join.side.upright
            ends = [(join.start.x, at.y) if upright else (at.x, join.start.y) for at in middles]
            if ends:
                found.append(PrintedJoin(tile.name, join.neighbour, np.array(ends)))
    return found
