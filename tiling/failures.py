"""The ways a run can fail, each with the exit code it ends in.

One cause has one code through every command. `tiling.commands.main` is the only place that turns these
exceptions into messages and codes; every other room just raises.
"""

from __future__ import annotations

from enum import IntEnum
from typing import ClassVar

__all__ = [
    "ExitCode",
    "InputUnfit",
    "OutputRefused",
    "PageseamError",
    "ProofFailed",
    "UsageWrong",
]


class ExitCode(IntEnum):
    """What the process returns; stable, and documented in the README."""

    DONE = 0
    FAULT = 1
    USAGE = 2
    INPUT = 3
    OUTPUT = 4
    NO_MEASUREMENT = 5
    PROOF = 6
    FINDINGS = 7
    INTERRUPTED = 130


class PageseamError(Exception):
    """A failure with one line for the person: what, where, why and what to do next.

    Whatever a file's name or content brings into the message, it stays one line of printable characters.
    """

    exit_code: ClassVar[ExitCode] = ExitCode.FAULT

    def __str__(self) -> str:
        return "".join(c if c.isprintable() else "?" for c in " ".join(super().__str__().split("\n")))


class UsageWrong(PageseamError):
    """The options contradict each other or leave no room (found after click has parsed them)."""

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
