"""`pageseam printers`: list, show and forget what is known of each printer."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from tiling.commands import options as shared
from tiling.commands.console import Console
from tiling.lengths import in_mm, in_percent
from tiling.operations.result_values import printer_values

if TYPE_CHECKING:
    from calibrate.printers import PrinterReading

__all__ = ["command"]


@click.group("printers", invoke_without_command=True, short_help="List, show and forget what is known of each printer.")
@click.pass_context
def command(context: click.Context) -> None:
    """What earlier checks found out about each printer; without a further word, a list.

    It is kept in a file of your own, printers.json in the folder that PAGESEAM_HOME names, or else in your
    configuration folder. pageseam check --printer NAME adds to it.
    """
    if context.invoked_subcommand is None:
        context.invoke(list_printers)


@command.command("list")
@shared.json_option
def list_printers(as_json: bool = False) -> None:
    """List every printer with its last reading."""
    from calibrate.printers import Printers

    printers = Printers()
    records = printers.all()
    voice = Console()
    if as_json:
        voice.values({"file": str(printers.path), "printers": [printer_values(record) for record in records]})
        return
    if not records:
        voice.note("No printer is known yet: pageseam check PHOTO --printer NAME measures and keeps one.")
    for record in records:
        voice.answer(f"{record.name}: {_reading_in_words(record.latest)}")


@command.command("show")
@click.argument("name")
@shared.json_option
def show(name: str, as_json: bool) -> None:
    """Show one printer: last reading, correction, border, history."""
    from calibrate.printers import Printers

    record = Printers().get(name)
    voice = Console()
    if as_json:
        voice.values(printer_values(record))
        return
    factors = record.correction()
    voice.answer(f"{record.name}: {_reading_in_words(record.latest)}")
    voice.answer(f"Pages are drawn at {in_percent(factors.across, 2)} across and {in_percent(factors.down, 2)} down.")
    if record.border:
        left, top, right, bottom = (in_mm(side) for side in asdict(record.border).values())
        voice.answer(f"Not printed: {left} left, {top} top, {right} right, {bottom} bottom.")
    for reading in record.history:
        voice.answer(f"Earlier: {_reading_in_words(reading)}")


@command.command("forget")
@click.argument("name")
@shared.quiet_option
def forget(name: str, quiet: bool) -> None:
    """Forget a printer, readings and border."""
    from calibrate.printers import Printers

    Printers().forget(name)
    Console(quiet).note(f"{name}: forgotten.")


def _reading_in_words(reading: PrinterReading) -> str:
    scale = reading.scale
    dated = f", {reading.date}" if reading.date else ""
    return (
        f"prints at {in_percent(scale.across, 2)} across (± {scale.uncertainty_across * 100:.2f}) and "
        f"{in_percent(scale.down, 2)} down (± {scale.uncertainty_down * 100:.2f}), measured on {reading.paper} "
        f"with {reading.reference}{dated}"
    )
