"""How a remedy reads at a terminal: the one place that knows which option does what."""

from __future__ import annotations

from enum import StrEnum

from calibrate.failures import Action as AboutPrinters
from tiling.failures import Action, PageseamError, Remedy, one_line

__all__ = ["REMEDIES", "in_options", "told"]

REMEDIES: dict[StrEnum, str] = {
    AboutPrinters.MEASURE_PRINTER: (
        "{what}; none is known yet: pageseam check PHOTO --printer {0} measures and keeps one"
    ),
    AboutPrinters.LIST_PRINTERS: "{what}; pageseam printers lists those that are known",
    Action.REPLACE_OR_RENAME: "{what}; add --force to replace it or choose another name with -o.",
    Action.CHOOSE_NAME: "{what}; choose another name with -o.",
    Action.SHORTEN_NAME: "{what}; choose a shorter one with -o. Nothing was changed.",
    Action.CHOOSE_FOLDER: "{what}; choose another with -o.",
    Action.NAME_PRINTED: "{what}; name the PDF that pages or reprint wrote.",
    Action.CHOOSE_PLACE: "{what}; choose another place with -o. Nothing was changed.",
    Action.MAKE_OR_CHOOSE_FOLDER: "{what}; make it first or choose another with -o.",
    Action.NAME_PRINTED_UNCHANGED: (
        "{what}. Name the PDF that pages or reprint wrote, as written: programs that save a PDF again may drop what is "
        "attached."
    ),
    Action.USE_PRINTED_AS_WRITTEN: "{what}. Use the PDF as pageseam wrote it, or print the whole pattern again.",
    Action.PRINT_ALL_ANEW: "{what}; print the whole pattern anew with pages.",
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


def told(failure: PageseamError) -> str:
    """What the terminal says of a failure."""
    return in_options(failure.what, failure.remedy)
