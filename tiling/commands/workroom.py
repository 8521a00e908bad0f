"""`pageseam workroom`: the whole job on a page in the person's own browser."""

from __future__ import annotations

from pathlib import Path

import click

from tiling.commands.console import Console, tell
from tiling.commands.options import quiet_option

__all__ = ["command"]


@click.command("workroom", short_help="Do the whole job on a page in your own browser.")
@click.argument("where", required=False, type=click.Path(exists=True, path_type=Path), metavar="[FOLDER|DRAWING]")
@click.option("--no-browser", is_flag=True, help="Only print the link that opens it.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, metavar="N",
              help="Listen on this port. Default: any that is free.")  # fmt: skip
@click.option("--phone-address", metavar="ADDRESS", default="",
              help="This computer's own address that the phone reaches, where it has several. Default: the usual one.",
              )  # fmt: skip
@click.option("--shortcut", is_flag=True, help="Put a shortcut on the desktop that opens the workroom, and end.")
@quiet_option
def command(where: Path | None, no_browser: bool, port: int, phone_address: str, shortcut: bool, quiet: bool) -> None:
    """Open a page in your browser on which the whole job is done: open, print, check by phone, alter, reprint, cut.

    It works in the folder given, or the one it is started in; what is made is written there. Nothing leaves this
    computer. It runs until it is ended with Ctrl-C, or its window is closed.
    """
    import asyncio

    from tiling.workroom.serve import Opening, open_workroom
    from tiling.workroom.shortcut import put_shortcut

    place = (where or Path()).resolve()
    folder, drawing = (place, "") if place.is_dir() else (place.parent, place.name)
    if shortcut:
        Console(quiet).answer(f"{put_shortcut(folder)}: written. Double-click it to open the workroom.")
        return

    def opened(link: str) -> None:
        Console().answer(link)
        if not quiet:
            tell(f"The workroom is open in {folder}. End it with Ctrl-C.")

    opening = Opening(folder, drawing, port, not no_browser, phone_address)
    try:
        asyncio.run(open_workroom(opening, opened))
    except asyncio.CancelledError:  # by a signal
        raise KeyboardInterrupt from None
