"""Read a taped sheet: photos of it, and the file it was printed from, tell which join slipped."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

from calibrate.printer_scale import MeasuredScale
from calibrate.run import Run
from calibrate.taped.reading import TOLERANCE, JoinVerdict, read_taped
from tiling.drawing.checklines import DIAGONALS
from tiling.failures import InputUnfit, UsageWrong
from tiling.files.inputs import Artifact, InputFile
from tiling.lengths import in_mm
from tiling.operations.printed_sheet import printed_sheet
from tiling.operations.turn_taking import one_at_a_time
from tiling.record.printed_file import read_printed

if TYPE_CHECKING:
    from calibrate.photo import Photo
    from calibrate.taped.printed import PrintedSheet
    from calibrate.taped.reading import SpanSeen, TapedReading

__all__ = ["ReadTapedRequest", "ReadTapedResult", "read_taped_sheet", "summary"]


@dataclass(frozen=True, slots=True)
class ReadTapedRequest:
    """What to read.

    Attributes:
        photos: of one taped sheet.
        printed: the file whose pages it is.
        tolerance: how far a page may have slipped, mm.
        printer: what the printer that they came from does to any page; None where that isn't known.
        picture: a name for the first photo with what was found drawn on it, ``.jpg`` or ``.png``; empty: none is drawn.
        more_printed: the sheet's other files, where pages of it were printed again.
    """

    photos: tuple[InputFile, ...]
    printed: InputFile
    tolerance: float = TOLERANCE
    printer: MeasuredScale | None = None
    picture: str = ""
    more_printed: tuple[InputFile, ...] = ()


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
    sheet = printed_sheet((request.printed, *request.more_printed), run)
    if not sheet.joins:
        raise InputUnfit(f"{request.printed.name}: holds no two pages that are taped to each other.")
    # The same photo given twice tells no more than once.
    first, *others = {file.content: file for file in request.photos}.values()
    photos = [load_photo(first.name, first.content, run)]
    # Marks are read in grey: a large photo's colours take three times as much memory.
    photos += [replace(load_photo(file.name, file.content, run), colour=None) for file in others]
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
