"""What can go wrong between a photo and a number, and what a person can do about it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, IntEnum, StrEnum
from typing import TYPE_CHECKING, ClassVar, Literal

from calibrate.printable import one_line

if TYPE_CHECKING:
    from calibrate.evidence import Evidence

__all__ = [
    "Action",
    "CorrectionError",
    "ExitCode",
    "NoMeasurementError",
    "PageseamError",
    "PhotoUnreadableError",
    "PrinterUnknownError",
    "PrintersUnwritableError",
    "Reason",
    "ReferenceUnknownError",
    "Refusal",
    "Remedy",
    "advised",
]


class ExitCode(IntEnum):
    """Exit codes of the process; stable, and documented in the manual."""

    DONE = 0
    FAULT = 1
    USAGE = 2
    INPUT = 3
    OUTPUT = 4
    NO_MEASUREMENT = 5
    PROOF = 6
    FINDINGS = 7
    INTERRUPTED = 130


class Action(StrEnum):
    """What a person can do about a printer or a photo; the value is plain advice, as `Remedy` fills it in."""

    MEASURE_PRINTER = "none is known yet: photograph a test page printed on it, and keep what is measured as {0}"
    LIST_PRINTERS = "choose one of those that are known"
    MEASURE_SIDES = "measure its sides in mm"
    CARD_OR_SIDES = "lay a card in the outline, or measure the sheet's sides and give them"
    PRINT_PATTERN = "print the pattern with the same printer settings"
    PRINT_AT_FULL_SIZE = (
        "set the print dialogue to 100 % (actual size) and print the test page again; what comes out so far from true "
        "can't be corrected (only {0} to {1} can)"
    )
    PRINT_AT_FULL_SIZE_OR_KEEP = (
        "set the print dialogue to 100 % (actual size) and print the test page again; if that is set already, keep "
        "this result under a name for the printer and let the pattern be corrected for it"
    )
    PRINT_AT_FULL_SIZE_OR_AS_KEPT = (
        "set the print dialogue to 100 % (actual size) and print the test page again; if that is set already, let the "
        "pattern be corrected for the printer {0}, under which this result is kept"
    )
    LAY_CARD = "lay an expired, loyalty or library card in the outline, blank side up, and take the photo again"
    TAKE_MORE_PHOTOS = "take two or three more photos, from right above, and check them together"
    PHOTOGRAPH_INSTEAD = "a ruler can't tell closer: photograph the test page with a card in the outline"


@dataclass(frozen=True, slots=True)
class Remedy:
    """What a person can do about a failure or a finding.

    Attributes:
        action: which thing to do; its value is the advice in plain words, without the name of any option or button,
            with ``{0}``, ``{1}`` … where `values` go. A terminal and a web page each have a table from action to their
            own words.
        values: names or figures that the advice speaks of.
    """

    action: StrEnum
    values: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.action.value.format(*self.values)


class PageseamError(Exception):
    """The root of every failure of both packages: what, where and why in one line, and what to do about it.

    Attributes:
        what: the file, page or piece and the cause. With a remedy it is the beginning of a sentence, without a full
            stop; without one it is whole.
        remedy: what to do, where that is more than words can say once for every way of using the product.
        exit_code: what a process ends with because of it.

    ``str()`` is one line of printable characters, also where a file's name or content stands in it.
    """

    exit_code: ClassVar[ExitCode] = ExitCode.FAULT

    def __init__(self, what: str, remedy: Remedy | None = None) -> None:
        super().__init__(what)
        self.what = one_line(what)
        self.remedy = remedy

    def __str__(self) -> str:
        return advised(self.what, self.remedy)


def advised(what: str, remedy: Remedy | None) -> str:
    """`what` as it is, or with the remedy's plain advice as one sentence on one line."""
    if remedy is None:
        return what
    text = f"{what}; {remedy}"
    return one_line(text if text.endswith(("?", ".")) else f"{text}.")


class Reason(Enum):
    """Why a photo gives no measurement; the value is the name used in ``--json``."""

    NO_TARGET = "no target found"
    TARGET_CUT_OFF = "target cut off"
    TWO_TARGETS = "two test pages in one photo"
    TOO_BLURRED = "too blurred"
    TOO_SLANTED = "too slanted"
    GLARE = "glare"
    OVEREXPOSED = "overexposed"
    FAINT = "print too faint"
    MIRRORED = "mirrored"
    TOO_FEW_PIXELS = "too few pixels"
    NO_REFERENCE = "no reference found"
    CARD_OUT_OF_PLACE = "card out of its place"
    OTHER_SIZE = "card or coin of another size"
    SHEET_LARGER = "sheet larger than the test page"
    TABLE_LIKE_PAPER = "table too like the paper"
    SHEET_DOUBTFUL = "sheet in doubt"
    NOT_FLAT = "sheet not flat"
    PHOTOS_DISAGREE = "photos disagree"
    REFERENCES_DISAGREE = "references disagree"
    NO_TAPED_SHEET = "taped sheet not found"
    OTHER_PRINT = "another print of the drawing"


_ADVICE: dict[Reason, str] = {
    Reason.NO_TAPED_SHEET: (
        "photograph the taped sheet that this file printed, all of it, from a long side and above, in even light"
    ),
    Reason.OTHER_PRINT: "name the file whose pages were printed and taped, with the same paper, margins and overlap",
    Reason.NO_TARGET: "photograph the whole test page, printed on paper, from above and in even light",
    Reason.TARGET_CUT_OFF: "step back until the whole sheet, edges and all, is in the picture",
    Reason.TWO_TARGETS: "leave one test page on the table and take the photo again",
    Reason.TOO_BLURRED: "fill the picture with the sheet, hold still, tap the page to focus, and use better light",
    Reason.TOO_SLANTED: "hold the phone level above the middle of the sheet",
    Reason.GLARE: "move the lamp or turn off the flash so that nothing on the sheet shines",
    Reason.OVEREXPOSED: "tap the white of the sheet so that the phone lowers the light, and take it again",
    Reason.FAINT: "print the test page again with fresh toner or ink, or without saving it",
    Reason.MIRRORED: "send the photo as it was taken, not turned over like a mirror's picture",
    Reason.TOO_FEW_PIXELS: "go nearer until the sheet fills the picture, or send the photo in full size",
    Reason.NO_REFERENCE: "show all four edges of the sheet, or lay a card in its outline, and take it again",
    Reason.CARD_OUT_OF_PLACE: "lay the card flat within its outline, the long side as it is drawn, and take it again",
    Reason.OTHER_SIZE: (
        "lay a card of bank-card size (85.60 x 53.98 mm) in the outline, or name the coin that lies there, and take it "
        "again"
    ),
    Reason.SHEET_LARGER: "print one page on each sheet, or lay a card in the outline, blank side up, and take it again",
    Reason.TABLE_LIKE_PAPER: "put the sheet on a table of another tone, or lay a card in its outline",
    Reason.SHEET_DOUBTFUL: "lay one whole, untrimmed sheet alone on a plain table, or lay a card in its outline",
    Reason.NOT_FLAT: "flatten the sheet, with a weight on its corners if need be, and take it again",
    Reason.PHOTOS_DISAGREE: "check that all photos show the same sheet, flat, and take them again",
    Reason.REFERENCES_DISAGREE: (
        "check that the card or coin is of the kind named and lies flat in its place, and that the sheet was not "
        "trimmed (a trimmed sheet: leave one of its edges out of the picture)"
    ),
}


@dataclass(frozen=True, slots=True)
class Refusal:
    """One named reason why there is no measurement, and what to do; false in a condition.

    ``detail`` adds the facts of the case (a figure, the photo's name) in plain words, ``remedy`` what to do in this
    case where that is more than the reason's own advice; ``seen`` is what was found in the photo all the same.
    """

    reason: Reason
    detail: str = ""
    remedy: Remedy | None = None
    seen: Evidence | None = field(default=None, compare=False, repr=False)

    def __bool__(self) -> Literal[False]:
        return False

    @property
    def advice(self) -> str:
        """What a person can do about it, as the end of a sentence."""
        return _ADVICE[self.reason]

    def __str__(self) -> str:
        facts = [self.detail] if self.detail else []
        facts += [str(self.remedy)] if self.remedy else []
        return f"{': '.join([self.reason.value, *facts])}; {self.advice}"


class PhotoUnreadableError(PageseamError):
    """The photo's file is missing, damaged, too large or of no known kind."""

    exit_code: ClassVar[ExitCode] = ExitCode.INPUT


class ReferenceUnknownError(PageseamError):
    """The reference asked for is none that is known (a coin left out, a misspelt name)."""

    exit_code: ClassVar[ExitCode] = ExitCode.USAGE


class CorrectionError(PageseamError):
    """A correction lies outside the range in which a printer is believed (0.80 to 1.25)."""

    exit_code: ClassVar[ExitCode] = ExitCode.INPUT


class PrinterUnknownError(PageseamError):
    """No printer is kept under the name given, or the file that keeps them can't be read."""

    exit_code: ClassVar[ExitCode] = ExitCode.INPUT


class PrintersUnwritableError(PageseamError):
    """What is known of the printers can't be written down."""

    exit_code: ClassVar[ExitCode] = ExitCode.OUTPUT


class NoMeasurementError(PageseamError):
    """A refusal, raised by a command so that it ends with its exit code; with a picture's file if one was drawn."""

    exit_code: ClassVar[ExitCode] = ExitCode.NO_MEASUREMENT

    def __init__(self, refusal: Refusal, picture: bytes | None = None) -> None:
        super().__init__(str(refusal))
        self.refusal = refusal
        self.picture = picture
