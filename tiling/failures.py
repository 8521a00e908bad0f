"""The ways a run can fail, each with the exit code it ends in, and what a person can do about them.

One cause has one code through every command. The root and what photos and printers add to it are the ground floor's,
`calibrate.failures`. Whoever shows a failure (the terminal, a web page) turns its remedy into its own words.
"""

from __future__ import annotations

from enum import StrEnum, unique

from calibrate.failures import ExitCode, PageseamError, Remedy, advised

__all__ = [
    "Action",
    "ExitCode",
    "InputUnfit",
    "OutputRefused",
    "PageseamError",
    "ProofFailed",
    "Remedy",
    "UsageWrong",
    "advised",
]


@unique
class Action(StrEnum):
    """What a person can do; the value is the advice in plain words, as `Remedy` fills it in."""

    REPLACE_OR_RENAME = "allow it to be replaced, or choose another name"
    CHOOSE_PAPER = "choose another paper"
    CHOOSE_CUT_SHEET = "choose one"
    CHOOSE_NAME = "choose another name"
    CHOOSE_FOLDER = "choose another folder"
    CHOOSE_LAYER = "choose one of its layers"
    CHOOSE_OTHER_LAYERS = "choose other layers"
    SHOW_LAYER = "show them by choosing the layer '{0}'"
    DRAW_LAYERS = "choose them if they are to be drawn"
    PICK_LAYERS = "pick them if they are to be drawn"
    CHOOSE_PAGE = "choose one of its pages"
    CHOOSE_OTHER_PAGES = "choose other pages"
    CHOOSE_OWN_PAGES = "choose the pattern's own"
    CHOOSE_PAGE_ALONE = "choose one of its pages, if that alone is the drawing"
    LEAVE_PAGES_OUT = "ask for no other page"
    ONE_NOTES = "name one file of notes for all drawings"
    GIVE_RATE = "{0}, say how many px go to the inch"
    TRY_RATES = (
        "if a known length comes out wrong, it was drawn at another rate: try {0}, {1} or, where 1 unit = 1 mm, {2} px "
        "to the inch"
    )
    LEAVE_RATE_OUT = "the px to the inch that were given did not change it"
    LEAVE_SCALE_OUT = "leave the scale out"
    MEASURE_ON_DRAWING = "measure both points on one drawing, from its top left corner"
    GIVE_TRUE_LENGTH = "measure a length on it that is known, and say how long it really is"
    SCALE_IF = "if that is right, scale it by {0}"
    NAME_PRINTED = "choose the PDF that was made for printing"
    SHORTEN_NAME = "choose a shorter one. Nothing was changed"
    CHOOSE_PLACE = "choose another place. Nothing was changed"
    MAKE_OR_CHOOSE_FOLDER = "make it first or choose another"
    NAME_PRINTED_UNCHANGED = (
        "choose the PDF that was made for printing, as it was written: programs that save a PDF again may drop what is "
        "attached"
    )
    USE_PRINTED_AS_WRITTEN = "use the PDF as it was written, or print the whole pattern again"
    PRINT_ALL_ANEW = "print the whole pattern anew"
    GIVE_ALTERATION = "say by how much it is to change around or in length, or which measures it is to fit"
    AROUND_OR_MEASURES = "the measures say themselves by how much it changes"
    ALTER_ONCE_FOR_EACH = "alter once for each"
    GIVE_TWO_POINTS = "give two points, from edge to edge of the piece"
    CHOOSE_TAPER = "choose another share for the other end of the opening"
    CHOOSE_FAIRING = "true the edges over 0 mm for none"
    GIVE_AMOUNTS = "say by how much it is to change around and in length"
    FIT_ONE_OR_TWO = "a straight cut can follow one or two of them"
    MEASURE_MEANT = "did you mean {0}?"
    MEASURES_KNOWN = "there are {0}"
    PIECE_MEANT = "did you mean the piece {0}?"
    PIECES_KNOWN = "there are the pieces {0}"
    DRAW_LEVEL = "draw one, or say by how much it is to change around"
    LARGER_TAPER = "leave a larger share of the opening at the other end"
    DRAW_CUT_LINE = "draw one, or give it by hand"
    DRAW_CUT_LINE_AS = 'draw one with class="{0}", or give it by hand'
    ALTER_ALONE_OR_FOLLOW = "alter that by itself, or let it follow"
    ALTER_PARTNER = "alter {0} too"
    OPEN_OUT = "lay the cloth opened out"
    WIDER_OR_OPEN_OUT = "take wider cloth, or lay it opened out"
    ANOTHER_SEED = "search again from another seed"
    ANOTHER_SEED_AND_REPORT = "search again from another seed, and please report it"
    GIVE_MEASURE = "{1} The wearer's {0} is given as a measure, or under drawn-for in the notes"
    OTHER_MEASURE = "give another measure than {0}; {1}"
    OTHER_CLOTH = "give the width of another cloth than {0}; {1}"
    GIVE_WIDTH = "give the width of the cloth"
    GIVE_FONT = "choose a font that has them"
    NAME_REPRINTED = "choose the file that was printed for the changed drawing"
    ARRANGE_ANEW = "arrange it anew"
    PRINT_OR_NAME_FILE = "is it another pattern? Print all of it, or choose the file that this drawing was printed to"
    PRINT_FOR_PRINTER = "print everything anew for this printer"
    SEARCH_A_SECOND = "allow it one"
    REMOVE_FAR_OR_STATE_SIZE = "remove what lies far off, or state its real size"
    REMOVE_OR_PRINT_PART = "remove what is not the pattern, or print a part of it"
    REPORT_OR_SKIP_PROOF = "please report it, or go without the proof and check every page by eye"


class UsageWrong(PageseamError):
    """A request that contradicts itself or leaves no room."""

    exit_code = ExitCode.USAGE


class InputUnfit(PageseamError):
    """An input file can't be read, or isn't fit for the job."""

    exit_code = ExitCode.INPUT


class OutputRefused(PageseamError):
    """The output can't, or may not, be written."""

    exit_code = ExitCode.OUTPUT


class ProofFailed(PageseamError):
    """What was written differs from the plan; nothing was published."""

    exit_code = ExitCode.PROOF
