"""The ways a run can fail, each with the exit code it ends in, and what a person can do about them.

One cause has one code through every command. The root and what photos and printers add to it are the ground floor's,
`calibrate.failures`. Whoever shows a failure (the terminal, a web page) turns its remedy into its own words.
"""

from __future__ import annotations

from enum import StrEnum

from calibrate.failures import ExitCode, PageseamError, Remedy, one_line

__all__ = [
    "Action",
    "ExitCode",
    "InputUnfit",
    "OutputRefused",
    "PageseamError",
    "ProofFailed",
    "Remedy",
    "UsageWrong",
    "one_line",
]


class Action(StrEnum):
    """What a person can do; the value is the advice in plain words, as `Remedy` fills it in."""

    REPLACE_OR_RENAME = "allow it to be replaced, or choose another name"
    CHOOSE_PAPER = "choose another paper"
    CHOOSE_CUT_SHEET = "choose one"
    CHOOSE_NAME = "choose another name"
    NAME_PRINTED = "choose the PDF that was made for printing"
    SHORTEN_NAME = "choose a shorter one. Nothing was changed"
    CHOOSE_FOLDER = "choose another"
    CHOOSE_PLACE = "choose another place. Nothing was changed"
    MAKE_OR_CHOOSE_FOLDER = "make it first or choose another"
    NAME_PRINTED_UNCHANGED = (
        "choose the PDF that was made for printing, as it was written: programs that save a PDF again may drop what is "
        "attached"
    )
    USE_PRINTED_AS_WRITTEN = "use the PDF as it was written, or print the whole pattern again"
    PRINT_ALL_ANEW = "print the whole pattern anew"
    REPORT_OR_SKIP_PROOF = "please report it, or go without the proof and check every page by eye"


class UsageWrong(PageseamError):
    """What is asked for contradicts itself or leaves no room."""

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
