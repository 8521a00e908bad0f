"""What signals that end the process do: one line at once while it loads, later the run's own ends."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from types import FrameType

__all__ = ["end_at_once", "end_through_the_run"]

_ENDING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))


def end_at_once() -> None:
    """From here on end the process without more ado: nothing has been begun that could be left behind."""
    _set(_exit)


def end_through_the_run() -> None:
    """From here on end as Ctrl-C does, so that nothing is left behind."""
    _set(_interrupt)


def _set(handler: Callable[[int, FrameType | None], None]) -> None:
    for number in _ENDING:
        # What whoever started us chose to ignore, as `nohup` does, stays ignored.
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, handler)


def _exit(_number: int, _frame: FrameType | None) -> None:
    os.write(2, b"Interrupted; nothing was left behind.\n")
    os._exit(130)


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt
