"""Where the process begins: signals end it in one line from the first moment, while the rest is still to load."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from types import FrameType

__all__ = ["heed_signals", "main"]

_ENDING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))


def main() -> None:
    """What the console script calls."""
    _set(_end_at_once)
    from tiling.commands.main import main as run_to_its_end

    run_to_its_end()


def heed_signals() -> None:
    """From here on let signals that end the process do so as Ctrl-C does, so that nothing is left behind."""
    _set(_interrupt)


def _set(handler: Callable[[int, FrameType | None], None]) -> None:
    for number in _ENDING:
        # What whoever started us chose to ignore, as `nohup` does, stays ignored.
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, handler)


def _end_at_once(_number: int, _frame: FrameType | None) -> None:
    """Nothing has been begun yet that could be left behind."""
    os.write(2, b"Interrupted; nothing was left behind.\n")
    os._exit(130)


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt
