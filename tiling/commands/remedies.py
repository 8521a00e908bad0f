"""How a remedy reads at a terminal: the one place that knows which option does what."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING

from calibrate.failures import Action as Measuring
from calibrate.printable import one_line
from tiling.failures import Action, PageseamError, Remedy

if TYPE_CHECKING:
    from calibrate.failures import Refusal

__all__ = ["REMEDIES", "in_options", "refusal_in_options", "told"]

_AT_FULL_SIZE = "set the print dialogue to 100 % (actual size) and print the test page again"
_SAID_AS_IT_IS = (
    Measuring.PRINT_PATTERN,
    Measuring.PRINT_AT_FULL_SIZE,
    Measuring.LAY_CARD,
    Measuring.TAKE_MORE_PHOTOS,
    Measuring.PHOTOGRAPH_INSTEAD,
)
"""Next steps that are no option's business."""

REMEDIES: dict[StrEnum, str] = {
    Measuring.MEASURE_PRINTER: "{what}; none is known yet: pageseam check PHOTO --printer {0} measures and keeps one",
    Measuring.LIST_PRINTERS: "{what}; pageseam printers lists those that are known",
    Measuring.MEASURE_SIDES: "--measured: {what}: measure its sides in mm.",
    Measuring.CARD_OR_SIDES: (
        "{what}: lay a card in the outline, or measure the sheet's sides and give them (--sheet ACROSS DOWN)"
    ),
    Measuring.PRINT_AT_FULL_SIZE_OR_KEEP: (
        f"{_AT_FULL_SIZE}; if that is set already, keep this result with --printer NAME and print with the same "
        "--printer"
    ),
    Measuring.PRINT_AT_FULL_SIZE_OR_AS_KEPT: (
        f"{_AT_FULL_SIZE}; if that is set already, print with --printer {{0}}, under which this result is kept"
    ),
    **{action: action.value for action in _SAID_AS_IT_IS},
    Action.REPLACE_OR_RENAME: "{what}; add --force to replace it or choose another name with -o.",
    Action.CHOOSE_PAPER: "{what}; choose another with --paper.",
    Action.CHOOSE_CUT_SHEET: "{what}; name one with --paper.",
    Action.CHOOSE_NAME: "{what}; choose another name with -o.",
    Action.SHORTEN_NAME: "{what}; choose a shorter one with -o. Nothing was changed.",
    Action.CHOOSE_FOLDER: "{what}; choose another with -o.",
    Action.CHOOSE_LAYER: "{what}. Choose with --layer.",
    Action.CHOOSE_OTHER_LAYERS: "{what}; choose others with --layer.",
    Action.SHOW_LAYER: "{what}; show them with --layer '{0}'.",
    Action.DRAW_LAYERS: "{what}. Draw them with --layer.",
    Action.PICK_LAYERS: "{what}; pick them with --layer.",
    Action.CHOOSE_PAGE: "{what}; choose one of them with --page.",
    Action.CHOOSE_OTHER_PAGES: "{what}; choose others with --page.",
    Action.CHOOSE_OWN_PAGES: "{what}; choose the pattern's own with --page.",
    Action.CHOOSE_PAGE_ALONE: "{what}, or, where one page alone is the drawing, name it with --page.",
    Action.LEAVE_PAGES_OUT: "{what}; leave --page out.",
    Action.ONE_NOTES: "{what}; name one file for all drawings with --notes.",
    Action.GIVE_RATE: "{what}; {0}, say --px-per-inch.",
    Action.TRY_RATES: "{what}. If a known length comes out wrong, it was drawn at another rate: "
    "say --px-per-inch {0}, {1} or, where 1 unit = 1 mm, {2}.",
    Action.LEAVE_RATE_OUT: "{what}, so --px-per-inch did not change it.",
    Action.LEAVE_SCALE_OUT: "{what}; leave --scale (or --true) out.",
    Action.MEASURE_ON_DRAWING: "--true: {what}; measure both points on one drawing, from its top left corner.",
    Action.GIVE_TRUE_LENGTH: (
        "{what}. Measure a length on it that is known, and give its ends and how long it really is: "
        "--true '2cm,3cm 22cm,3cm = 20.4cm'."
    ),
    Action.SCALE_IF: "{what}; if that is right, add --scale {0}.",
    Action.NAME_PRINTED: "{what}; name the PDF that pages or reprint wrote.",
    Action.CHOOSE_PLACE: "{what}; choose another place with -o. Nothing was changed.",
    Action.MAKE_OR_CHOOSE_FOLDER: "{what}; make it first or choose another with -o.",
    Action.NAME_PRINTED_UNCHANGED: (
        "{what}. Name the PDF that pages or reprint wrote, as written: programs that save a PDF again may drop what is "
        "attached."
    ),
    Action.USE_PRINTED_AS_WRITTEN: "{what}. Use the PDF as pageseam wrote it, or print the whole pattern again.",
    Action.PRINT_ALL_ANEW: "{what}; print the whole pattern anew with pages.",
    Action.GIVE_ALTERATION: "{what}; give --around, --longer or --to.",
    Action.AROUND_OR_MEASURES: "--around and --to can't be given together; --to works the amount out itself.",
    Action.ALTER_ONCE_FOR_EACH: "--cut-line serves --around or --longer; run once for each.",
    Action.GIVE_TWO_POINTS: "--cut-line: has no length; give two points, from edge to edge of the piece.",
    Action.CHOOSE_TAPER: "--taper: {what}.",
    Action.CHOOSE_FAIRING: "--fairing: {what}; give 0mm for none.",
    Action.GIVE_AMOUNTS: "{what}; use --around and --longer.",
    Action.FIT_ONE_OR_TWO: "--to: {what}; a straight cut can follow one or two of them.",
    Action.MEASURE_MEANT: "--to: {what}; did you mean {0}?",
    Action.MEASURES_KNOWN: "--to: {what}; there are {0}.",
    Action.PIECE_MEANT: "--piece: {what}; did you mean {0}?",
    Action.PIECES_KNOWN: "--piece: {what}; there are {0}.",
    Action.DRAW_LEVEL: "{what}; draw one, or use --around.",
    Action.LARGER_TAPER: "{what}; choose a larger --taper.",
    Action.DRAW_CUT_LINE: "{what}; draw one, or give it with --cut-line or --at.",
    Action.DRAW_CUT_LINE_AS: '{what}; draw one with class="{0}", or give it with --cut-line or --at.',
    Action.ALTER_ALONE_OR_FOLLOW: "{what} (alter with --piece, or let follow with --match).",
    Action.ALTER_PARTNER: "{what}; alter {0} too (--match)",
    Action.OPEN_OUT: "{what}; use --fold none.",
    Action.WIDER_OR_OPEN_OUT: "{what}; take wider cloth, or --fold none.",
    Action.ANOTHER_SEED: "{what}; try another --seed.",
    Action.ANOTHER_SEED_AND_REPORT: "{what}; try another --seed, and tell us.",
    Action.GIVE_MEASURE: "{what}; {1} A measure is given with --measure {0}=… or under drawn-for in the notes.",
    Action.OTHER_MEASURE: "--measure {0}=…: {what}; {1}",
    Action.OTHER_CLOTH: "--width {0}=…: {what}; {1}",
    Action.GIVE_WIDTH: "{what}; add --width 140cm, for example.",
    Action.GIVE_FONT: "{what}; give a font that has them with --font FILE.ttf.",
    Action.NAME_REPRINTED: (
        "{what}; name the file that reprint wrote for the changed drawing, or leave --printed out."
    ),
    Action.ARRANGE_ANEW: "{what}. Arrange it anew with --arrange.",
    Action.PRINT_OR_NAME_FILE: (
        "{what}: is it another pattern? Print it with pages, or name the file that this drawing was printed to."
    ),
    Action.PRINT_FOR_PRINTER: "{what}; print everything anew with pages --printer.",
    Action.SEARCH_A_SECOND: "{what} (--seconds 1).",
    Action.REMOVE_FAR_OR_STATE_SIZE: "{what}; remove what lies far off, or state its real size (--px-per-inch).",
    Action.REMOVE_OR_PRINT_PART: ("{what}; remove what is not the pattern, or print a part of it (--layer, --page)."),
    Action.REPORT_OR_SKIP_PROOF: (
        "{what}; please report it, or run again with --no-proof and check every page by eye."
    ),
}
"""For each action the whole message: ``{what}`` is what is said of the cause, ``{0}`` … are the remedy's values."""


def in_options(what: str, remedy: Remedy | None) -> str:
    """The message with its remedy in the words of the command line, on one line."""
    if remedy is None:
        return what
    return one_line(REMEDIES[remedy.action].format(*remedy.values, what=what))


def refusal_in_options(refusal: Refusal) -> Refusal:
    """The refusal with its remedy, if it has one, said in the words of the command line as part of the detail."""
    return replace(refusal, detail=in_options(refusal.detail, refusal.remedy), remedy=None)


def told(failure: PageseamError) -> str:
    """What the terminal says of a failure."""
    return in_options(failure.what, failure.remedy)
