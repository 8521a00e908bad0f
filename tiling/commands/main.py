"""The command `pageseam`: finds the command asked for, and turns every failure into one message and one exit code.

Commands are imported by name when they are run, so that help and `--version` start as fast as click itself.
"""

from __future__ import annotations

import errno
import gc
import os
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module
from io import StringIO, TextIOWrapper

import click

from calibrate.run import Cancelled
from tiling.commands.console import tell
from tiling.commands.remedies import told
from tiling.commands.signals import end_through_the_run
from tiling.failures import ExitCode, PageseamError

__all__ = ["main", "pageseam", "run"]

_COMMANDS = {
    "pages": "Cut a full-size drawing into pages for a home printer.",
    "look": "Tell what is in a drawing: size, pieces, layers, lines, pages needed.",
    "testpage": "Print the test square alone, to measure a printer.",
    "check": "Measure the printer from a photo of the printed test square, or from a ruler.",
    "printers": "List, show and forget what is known about each printer.",
    "alter": "Widen, narrow, lengthen or shorten the pieces of a pattern.",
    "reprint": "Print again only the pages that an alteration changed.",
    "cloth": "Cutting list, lay plan and notions for a pattern.",
    "guide": "Write the sewing guide: taping, cutting, cloth and notions in one booklet.",
    "help": "Show a chapter of the manual; without a topic, list them.",
}
"""Kept here so that the list of commands needs none of them."""

_TRACE = "PAGESEAM_TRACE"


class _LateGroup(click.Group):
    """A group whose commands live in modules of their own, imported when they are run."""

    # The signatures are click's.
    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        command = import_module(f"tiling.commands.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))


@click.group(cls=_LateGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="pageseam", prog_name="pageseam")
def pageseam() -> None:
    """Full-size sewing patterns on home paper, at their true size.

    Prints a drawing as pages to tape together, checks the printer from a photo, and after an alteration prints
    only the pages that changed. Lengths carry their unit: 10mm, 1.5cm, 3/8in.
    """


def run(args: Sequence[str]) -> int:
    """Run one command line; messages go to stderr.

    Returns:
        The exit code, see `tiling.failures.ExitCode`.
    """
    try:
        with pageseam.make_context("pageseam", list(args)) as context:
            code = _code_of(pageseam.invoke(context))
            sys.stdout.flush()
            return code
    except click.exceptions.Exit as end:
        return end.exit_code
    except click.ClickException as wrong:
        shown = StringIO()
        wrong.show(shown)
        tell(shown.getvalue().rstrip("\n"))
        return int(ExitCode.USAGE)
    except (KeyboardInterrupt, click.Abort):
        tell(str(Cancelled()))
        return int(Cancelled.exit_code)
    except BrokenPipeError:
        # The reader of our output went away, as `head` does: nobody is left to tell.
        _close_stdout()
        return int(ExitCode.FAULT)
    except OSError as failure:
        if failure.errno not in {errno.ENOSPC, errno.EDQUOT, errno.EIO}:
            return _refused(failure)
        # Files say so themselves: this is what stdout leads to.
        _close_stdout()
        tell(f"Error: the answer can't be written to where the output leads ({failure.strerror}).")
        return int(ExitCode.OUTPUT)
    except Exception as failure:  # noqa: BLE001 - the one place where every failure ends
        return _refused(failure)


def main() -> None:
    """What the console script calls: runs the process's own command line and ends it with the exit code."""
    # A drawing is a million values without cycles: looking for some after every 700 costs a tenth of the run.
    gc.set_threshold(200_000, 20, 20)
    for name in ("stdout", "stderr"):
        # Closed by whoever started us (`>&-`): nobody wants to be told.
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8"))
    for stream in (sys.stdout, sys.stderr):
        # A name that the terminal's encoding lacks is shown with a question mark; it is no reason to fail.
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    end_through_the_run()
    sys.exit(run(sys.argv[1:]))


def _code_of(result: object) -> int:
    """A command returns an outcome with an `exit_code`, a number, or None for all well."""
    code = getattr(result, "exit_code", result)
    return int(code) if isinstance(code, int) else int(ExitCode.DONE)


def _refused(failure: Exception) -> int:
    """The message and the code of anything that was raised."""
    if os.environ.get(_TRACE):
        traceback.print_exception(failure, file=sys.stderr)
    if isinstance(failure, PageseamError):
        tell(f"Error: {told(failure)}")
        return int(failure.exit_code)
    if isinstance(failure, MemoryError):
        tell("Error: there is not enough memory for this drawing; close other programs, or print it layer by layer.")
    elif isinstance(failure, RecursionError):
        tell("Error: the file is nested too deeply to be read. " + _how_to_trace())
    else:
        text = str(failure).splitlines()
        tell(f"Error: a fault of ours ({type(failure).__name__}{': ' + text[0] if text else ''}). {_how_to_trace()}")
    return int(ExitCode.FAULT)


def _how_to_trace() -> str:
    return f"For details, run again with {_TRACE}=1."


def _close_stdout() -> None:
    """Point stdout at nothing, so that the interpreter's own last flush does not complain."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, sys.stdout.fileno())


if __name__ == "__main__":
    main()
