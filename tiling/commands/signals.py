"""What signals that end the process do: one line at once while it loads, then the run's own ends, at last nothing."""

from __future__ import annotations

import os
import signal

# Not from `typing`: see `tiling`.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType

__all__ = ["end_at_once", "end_is_near", "end_through_the_run"]

_ENDING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))

_came: list[int] = []


def end_at_once() -> None:
    """From here on end the process without more ado: nothing has been begun that could be left behind."""
    _set(_exit)


def end_through_the_run() -> None:
    """From here on end as Ctrl-C does, so that nothing is left behind."""
    _set(_interrupt)


def end_is_near() -> None:
    """From here on they change nothing: all is done and said, and the exit code tells of that."""
    _set(signal.SIG_IGN)


def was_interrupted() -> bool:
    """Whether a signal came during the run: a library that is being loaded may make some other failure of it."""
    return bool(_came)


def _set(handler: Callable[[int, FrameType | None], None] | signal.Handlers) -> None:
    for number in _ENDING:
        # What whoever started us chose to ignore, as `nohup` does, stays ignored.
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, handler)


def _exit(_number: int, _frame: FrameType | None) -> None:
    os.write(2, b"Interrupted; nothing was left behind.\n")
    os._exit(130)


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    _came.append(_number)
    raise KeyboardInterrupt
