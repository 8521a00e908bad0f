"""How a run that failed ends: one message on stderr and one exit code."""

from __future__ import annotations

import errno
import os
import sys
import traceback
from io import StringIO

import click

from calibrate.run import Cancelled
from tiling.commands.console import tell
from tiling.commands.remedies import told
from tiling.failures import ExitCode, PageseamError

__all__ = ["ended_by"]

_TRACE = "PAGESEAM_TRACE"
_HOW_TO_TRACE = f"For details, run again with {_TRACE}=1."


def ended_by(failure: BaseException) -> int:
    """Tell of whatever was raised; the exit code, see `tiling.failures.ExitCode`."""
    if isinstance(failure, KeyboardInterrupt | click.Abort):
        tell(str(Cancelled()))
        return int(Cancelled.exit_code)
    if isinstance(failure, click.ClickException):
        shown = StringIO()
        failure.show(shown)
        tell(shown.getvalue().rstrip("\n"))
        return int(ExitCode.USAGE)
    if isinstance(failure, BrokenPipeError):
        # The reader of our output went away, as `head` does: nobody is left to tell.
        _close_stdout()
        return int(ExitCode.FAULT)
    if isinstance(failure, OSError) and failure.errno in {errno.ENOSPC, errno.EDQUOT, errno.EIO}:
        # Files say so themselves: this is what stdout leads to.
        _close_stdout()
        tell(f"Error: the answer can't be written to where the output leads ({failure.strerror}).")
        return int(ExitCode.OUTPUT)
    return _refused(failure)


def _refused(failure: BaseException) -> int:
    if os.environ.get(_TRACE):
        traceback.print_exception(failure, file=sys.stderr)
    if isinstance(failure, PageseamError):
        tell(f"Error: {told(failure)}")
        return int(failure.exit_code)
    if isinstance(failure, MemoryError):
        tell("Error: there is not enough memory for this drawing; close other programs, or print it layer by layer.")
    elif isinstance(failure, RecursionError):
        tell(f"Error: the file is nested too deeply to be read. {_HOW_TO_TRACE}")
    else:
        text = str(failure).splitlines()
        tell(f"Error: a fault of ours ({type(failure).__name__}{': ' + text[0] if text else ''}). {_HOW_TO_TRACE}")
    return int(ExitCode.FAULT)


def _close_stdout() -> None:
    """Point stdout at nothing, so that the interpreter's own last flush does not complain."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, sys.stdout.fileno())
