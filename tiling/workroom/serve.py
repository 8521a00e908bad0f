"""The workroom opened: on this machine alone, at a link with a key, until it is ended."""

from __future__ import annotations

import asyncio
import signal
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from tiling.failures import OutputRefused
from tiling.workroom.app import site
from tiling.workroom.house import House
from tiling.workroom.keys import fresh
from tiling.workroom.listening import Listening, listen_on

__all__ = ["Opening", "open_workroom"]

_AT_ONCE = 96
"""Connections."""


@dataclass(frozen=True, slots=True)
class Opening:
    """How a workroom is opened.

    Attributes:
        folder: where it works.
        drawing: the one that is shown first, by its name in the folder; empty for none.
        port: to listen on; 0 for any that is free.
        browser: whether the person's browser is opened.
        phone_address: this machine's own, at which a phone is invited; empty for the usual one.
    """

    folder: Path
    drawing: str = ""
    port: int = 0
    browser: bool = True
    phone_address: str = ""


async def open_workroom(opening: Opening, tell: Callable[[str], None]) -> None:
    """Serve until cancelled, or until a signal ends it, which cancels it too.

    Args:
        opening: how.
        tell: told the link once it answers.

    Raises:
        OutputRefused: the port can't be had.
    """
    try:
        sock = listen_on("127.0.0.1", opening.port)
    except OSError as fault:
        raise OutputRefused(f"port {opening.port} can't be had ({fault.strerror}); choose another one.") from None
    _end_on_signals()
    port = int(sock.getsockname()[1])
    house, key = House(opening.folder, phone_address=opening.phone_address), fresh()
    listening = Listening(site(house, key, port), sock, _AT_ONCE)
    try:
        await listening.start()
        asked = {"key": key} | ({"file": opening.drawing} if opening.drawing else {})
        link = f"http://127.0.0.1:{port}/?{urlencode(asked)}"
        tell(link)
        if opening.browser:
            await asyncio.to_thread(webbrowser.open, link)
        await house.start()
        await listening.ended()
    finally:
        await house.close()
        await listening.close()


def _end_on_signals() -> None:
    """Let a signal that ends the process end this task, not whatever the loop is just about.

    What whoever started us chose to ignore stays ignored; where loops know no signals, Ctrl-C does what it always does.
    """
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    assert task is not None
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            with suppress(NotImplementedError, RuntimeError):
                loop.add_signal_handler(number, task.cancel)
