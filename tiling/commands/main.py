"""The command `pageseam`: finds the command asked for and runs it; `endings` says what is told of every failure.

Commands are imported by name when they are run, so that help and `--version` start as fast as click itself.
"""

from __future__ import annotations

import gc
import os
import sys
import warnings
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from io import TextIOWrapper

import click

from calibrate.failures import ExitCode
from tiling.commands.signals import end_is_near, end_through_the_run, was_interrupted

__all__ = ["main", "pageseam", "run"]

_COMMANDS = {
    "workroom": "Do the whole job on a page in your own browser.",
    "pages": "Cut a full-size drawing into pages for a home printer.",
    "look": "Tell what is in a drawing: size, pieces, layers, lines, pages needed.",
    "lines": "Tell what a drawing's lines are; write notes to begin with.",
    "testpage": "Print the test square alone, to measure a printer.",
    "check": "Measure the printer from a photo of the printed test square, or from a ruler.",
    "taped": "Tell from photos of the taped sheet which join slipped.",
    "printers": "List, show and forget what is known about each printer.",
    "alter": "Widen, narrow, lengthen or shorten the pieces of a pattern.",
    "reprint": "Print again only the pages that an alteration changed.",
    "cloth": "Cutting list, lay plan and notions for a pattern.",
    "guide": "Write the sewing guide: taping, cutting, cloth and notions in one booklet.",
    "help": "Show a chapter of the manual; without a topic, list them.",
}
"""Kept here so that the list of commands needs none of them."""


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
            # A command returns an outcome with an `exit_code`, a number, or None for all well.
            result = pageseam.invoke(context)
            code = getattr(result, "exit_code", result)
            sys.stdout.flush()
            return int(code) if isinstance(code, int) else 0
    except click.exceptions.Exit as end:
        return end.exit_code
    except (Exception, KeyboardInterrupt) as failure:  # noqa: BLE001 - the one place where every failure ends
        from tiling.commands.endings import ended_by

        return ended_by(KeyboardInterrupt() if was_interrupted() else failure)


def main() -> None:
    """What the console script calls: runs the process's own command line and ends it with the exit code."""
    # A drawing is a million values without cycles: looking for some after every 700 costs a tenth of the run.
    gc.set_threshold(200_000, 20, 20)
    if not sys.warnoptions:
        # What a library has to say to programmers is no message of ours.
        warnings.simplefilter("ignore")
    for name in ("stdout", "stderr"):
        # Closed by whoever started us (`>&-`): nobody wants to be told.
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8"))
    for stream in (sys.stdout, sys.stderr):
        # A name that the terminal's encoding lacks is shown with a question mark; it is no reason to fail.
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    code: int = ExitCode.INTERRUPTED
    end_through_the_run()
    # Here, a signal may still come when the run is over; while the interpreter ends it would take the default way.
    with suppress(KeyboardInterrupt):
        code = run(sys.argv[1:])
    end_is_near()
    sys.exit(code)


if __name__ == "__main__":
    main()
