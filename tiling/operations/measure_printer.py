"""Measure a printer: photos of the printed test square, or a ruler's figures, become a scale with its uncertainty."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING

from calibrate.failures import Action, NoMeasurementError, Refusal
from calibrate.printer_scale import PrinterScale
from calibrate.printers import Border, PrinterReading
from calibrate.run import Run
from calibrate.scale import TOLERANCE, Options, measure, measured_by_ruler
from calibrate.verdict import kept_under
from tiling.failures import InputUnfit, Remedy, UsageWrong
from tiling.files.inputs import Artifact, InputFile
from tiling.operations.turn_taking import one_at_a_time

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibrate.photo import Photo
    from calibrate.result import Measurement
    from tiling.shapes import Size

__all__ = ["PHOTOS_READ", "KeepAs", "MeasureRequest", "MeasureResult", "RulerFigures", "ToKeep", "measure_printer"]

PHOTOS_READ = "Photo"
"""What a run is told of for every photo that was decoded; the stages of reading it have names of their own."""


@dataclass(frozen=True, slots=True)
class RulerFigures:
    """The printed sides of the test square as a ruler shows them, mm, on a page corrected for a printer's scale."""

    across: float
    down: float
    corrected: PrinterScale = field(default_factory=PrinterScale)


@dataclass(frozen=True, slots=True)
class KeepAs:
    """How the result is to be kept.

    Attributes:
        printer: the printer's name.
        paper: the name of the paper it printed on; empty: the one that a photo shows, else A4.
        date: when it was measured, ISO 8601, or empty.
        border: the unprintable border as it was read off the ticks; None: as a photo shows it.
    """

    printer: str
    paper: str = ""
    date: str = ""
    border: Border | None = None


@dataclass(frozen=True, slots=True)
class MeasureRequest:
    """What to measure: photos of one printed test page, or a ruler's figures.

    Attributes:
        photos: at least one where there is no ruler.
        ruler: instead of photos.
        reference: ``sheet``, ``card`` or ``coin:NAME``; None for the best that a photo shows.
        sheet: the sheet's own sides where somebody measured them, mm.
        tolerance: the largest error that still counts as true, as a part of the scale.
        picture: a name for the photo with what was found drawn on it, ``.jpg`` or ``.png``; empty: none is drawn.
        keep: how the result is to be kept; None: not at all.
    """

    photos: tuple[InputFile, ...] = ()
    ruler: RulerFigures | None = None
    reference: str | None = None
    sheet: Size | None = None
    tolerance: float = TOLERANCE
    picture: str = ""
    keep: KeepAs | None = None


@dataclass(frozen=True, slots=True)
class ToKeep:
    """What `calibrate.printers` is to keep; the border is kept whole, so none where there are `unread` sides."""

    printer: str
    reading: PrinterReading
    border: Border | None
    unread: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureResult:
    """The measurement, the picture if one was asked for, and what is to be kept if a printer was named."""

    measurement: Measurement
    picture: Artifact | None = None
    keep: ToKeep | None = None

    @property
    def unsure(self) -> bool:
        """Whether the printer's scale is less sure than the tolerance, and so is a correction made from it."""
        return self.measurement.printer.on_other_pages().uncertainty > self.measurement.tolerance


@one_at_a_time
def measure_printer(request: MeasureRequest, run: Run = Run()) -> MeasureResult:
    """Measure what a printer did to the test page.

    Raises:
        NoMeasurementError: the photos give no measurement; it carries the refusal and, if asked for, the picture.
        PhotoUnreadableError: a photo is damaged, too large, or none.
        ReferenceUnknownError: there is no such reference.
        InputUnfit: the ruler's figures are none of a 100 mm square.
        UsageWrong: there are neither photos nor figures, or both.
        Cancelled: the run is to end.
    """
    if (request.ruler is None) is not bool(request.photos):
        raise UsageWrong("a printer is measured from photos or from a ruler's figures: give the one or the other.")
    photos: list[Photo] = []
    if request.ruler is not None:
        found = _by_ruler(request.ruler, request.tolerance)
    else:
        photos = _loaded(request.photos, run)
        found = _by_photos(photos, request, run)
    if request.keep is not None:
        found = replace(found, next_step=kept_under(found.next_step, request.keep.printer))
    picture = None
    if request.picture and photos:
        picture = Artifact(request.picture, _drawn(photos, found, request.picture, run))
    return MeasureResult(found, picture, _to_keep(found, request.keep) if request.keep else None)


def _by_ruler(ruler: RulerFigures, tolerance: float) -> Measurement:
    try:
        return measured_by_ruler(ruler.across, ruler.down, tolerance, ruler.corrected)
    except ValueError as wrong:
        raise InputUnfit(str(wrong), Remedy(Action.MEASURE_SIDES)) from None


def _loaded(files: Sequence[InputFile], run: Run) -> list[Photo]:
    from calibrate.photo import load_photo  # noqa: PLC0415 - a ruler needs none of it

    photos = []
    for number, file in enumerate(files, 1):
        photos.append(load_photo(file.name, file.content, run))
        run.step(PHOTOS_READ, number, len(files))
    return photos


def _by_photos(photos: Sequence[Photo], request: MeasureRequest, run: Run) -> Measurement:
    from calibrate.references import measured_sheet  # noqa: PLC0415 - a ruler needs none of it

    sheet = measured_sheet(request.sheet.width, request.sheet.height) if request.sheet else None
    found = measure(photos, Options(request.reference, request.tolerance, sheet), run)
    if isinstance(found, Refusal):
        raise NoMeasurementError(found, _drawn(photos, found, request.picture, run) if request.picture else None)
    return found


def _drawn(photos: Sequence[Photo], found: Measurement | Refusal, name: str, run: Run) -> bytes:
    """The picture's file."""
    from calibrate.picture import annotated, refused  # noqa: PLC0415 - heavy, and only for a picture
    from calibrate.sketch import encoded  # noqa: PLC0415 - as above

    def draw() -> bytes:
        ending = name[name.rfind(".") :] if "." in name else ""
        return encoded(refused(photos, found) if isinstance(found, Refusal) else annotated(photos, found), ending)

    return run.watched(draw)


def _to_keep(found: Measurement, keep: KeepAs) -> ToKeep:
    paper = keep.paper or (found.paper.name if found.paper else "a4")
    reading = PrinterReading(paper, found.upright_printer, found.reference, keep.date)
    if keep.border is None and found.reference == "ruler":
        return ToKeep(keep.printer, reading, None)
    sides = asdict(found.border if keep.border is None else keep.border)
    unread = tuple(side for side, width in sides.items() if width is None)
    if unread:
        return ToKeep(keep.printer, reading, None, unread)
    # Printers differ in which way they turn a page that lies down: the widest side is safe at all four.
    border = Border.even(max(sides.values())) if found.lying else Border(**sides)
    return ToKeep(keep.printer, reading, border)
