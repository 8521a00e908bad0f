"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import groupby
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.core import ParameterSource

from calibrate.papers import PRINTED_PAPERS
from tiling.commands.kinds import FILE, LENGTH, MARGINS, RATE, SCALE, TRUE
from tiling.failures import UsageWrong

if TYPE_CHECKING:
    from calibrate.printers import PrinterRecord

__all__ = [
    "PAPERS_IN_SERIES",
    "drawings_argument",
    "json_option",
    "output_options",
    "paper_options",
    "printer_option",
    "printer_record",
    "quiet_option",
    "reading_options",
    "refuse_idle",
    "strict_option",
]

F = TypeVar("F", bound=Callable[..., Any])


def _all(*decorators: Callable[[F], F]) -> Callable[[F], F]:
    """Several options as one decorator, listed in help in the order given."""

    def decorate(command: F) -> F:
        for decorator in reversed(decorators):
            command = decorator(command)
        return command

    return decorate


def _in_series(names: Iterable[str]) -> str:
    """The names in a row, those that differ in their last letter alone as from ... to."""
    series = (list(alike) for _, alike in groupby(names, key=lambda name: name[:-1]))
    return ", ".join(" … ".join(dict.fromkeys((alike[0], alike[-1]))) for alike in series)


PAPERS_IN_SERIES = _in_series(PRINTED_PAPERS)
"""Every paper a drawing can be printed on, the last one being the part that A4 and letter share."""

drawings_argument = click.argument("drawings", metavar="DRAWING...", nargs=-1, required=True, type=FILE)

reading_options = _all(
    click.option("--layer", "layers", multiple=True, metavar="NAME", help="Draw this layer only (repeatable)."),
    click.option(
        "--page", "page_numbers", multiple=True, type=click.IntRange(min=1), metavar="N",
        help="Take this page of a PDF (repeatable). Default: all.",
    ),
    click.option(
        "--px-per-inch", type=RATE, metavar="N",
        help="How many px the program that wrote an SVG counted to the inch (72, 90, 96; 25.4 for 1 px = 1 mm).",
    ),
    click.option(
        "--scale", type=SCALE, metavar="N",
        help="Scale the drawing to its true size: 1.0214, or 102.14%. Said on page 1 and kept for reprint.",
    ),
    click.option(
        "--true", type=TRUE, metavar="'X,Y X,Y = LENGTH'",
        help="Scale it so that this distance, from the top left corner, is really so long, such as "
        "'2cm,3cm 22cm,3cm = 20.4cm'.",
    ),
    click.option(
        "--notes", type=FILE, metavar="FILE.toml",
        help="The pattern's notes. Default: the .toml beside the drawing.",
    ),
)  # fmt: skip

paper_options = _all(
    click.option(
        "--paper", default="a4", show_default=True, metavar="PAPER",
        help=f"{PAPERS_IN_SERIES} (A4 and letter alike), 200x280mm, or roll:914mm.",
    ),
    click.option(
        "--orientation", type=click.Choice(["auto", "portrait", "landscape"]), default="auto", show_default=True,
        help="auto takes the one with fewer printed pages.",
    ),
    click.option(
        "--margin", "margins", type=MARGINS, metavar="LENGTH",
        help="Kept free along the edges; four lengths with commas for left,top,right,bottom. Default: 10mm, or the "
             "printer's measured border.",
    ),
    click.option("--overlap", type=LENGTH, metavar="LENGTH", help="Shared by neighbouring pages. Default: 10mm."),
)  # fmt: skip

printer_option = click.option(
    "--printer", metavar="NAME", help="Correct for this printer, as measured by `pageseam check --printer NAME`."
)


def printer_record(name: str | None) -> PrinterRecord | None:
    """What is kept of the printer that ``--printer`` names; None where none was named.

    Raises:
        PrinterUnknownError: none is kept under that name, or the file that keeps them can't be read.
    """
    if name is None:
        return None
    from calibrate.printers import Printers

    return Printers().get(name)


output_options = _all(
    click.option("-o", "--output", type=FILE, metavar="OUT.pdf", help="The file to write."),
    click.option("--force", is_flag=True, help="Replace the output if it exists."),
)


def refuse_idle(why: str, *parameters: str) -> None:
    """Refuse options that were typed and would change nothing in this run.

    Args:
        why: what they say or need, and what to do; the end of the message.
        parameters: the options, by their parameters' names.

    Raises:
        UsageWrong: one of them was given on the command line.
    """
    context = click.get_current_context()
    for option in context.command.params:
        if option.name in parameters and context.get_parameter_source(option.name) is ParameterSource.COMMANDLINE:
            raise UsageWrong(f"{option.opts[0]} {why}")


strict_option = click.option("--strict", is_flag=True, help="Findings are failures: write nothing and end with 7.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print the result as JSON on stdout.")
quiet_option = click.option("-q", "--quiet", is_flag=True, help="Say nothing but errors.")
