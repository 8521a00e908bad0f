"""One operation at a time in a process.

The libraries an operation stands on keep state for the whole process and are not made for threads: PDFium, the logger
that is silenced while a damaged PDF is read, the fonts that were registered, caches of what was drawn. A second
operation called from another thread therefore waits until the first has ended; its results are the same as if it ran
alone. Whoever wants two at the same time gives each a process of its own.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import wraps
from threading import RLock
from typing import Protocol, TypeVar

from calibrate.run import Run

__all__ = ["Operation", "one_at_a_time"]

Request_contra = TypeVar("Request_contra", contravariant=True)
Result_co = TypeVar("Result_co", covariant=True)

_LOOK_AGAIN = 0.1
"""How often a waiting operation asks whether it was called off, s."""


class Operation(Protocol[Request_contra, Result_co]):
    """A job as others call it."""

    def __call__(self, request: Request_contra, run: Run = ...) -> Result_co:
        """Do the job."""
        ...


class _Turns:
    """Whose turn it is; an operation may call another in its own thread."""

    def __init__(self) -> None:
        self.lock = RLock()


_TURNS = _Turns()


def one_at_a_time(operation: Callable[[Request_contra, Run], Result_co]) -> Operation[Request_contra, Result_co]:
    """The operation, which waits while another one runs in this process; also the wait can be called off.

    Raises:
        Cancelled: the run was ended while it waited.
    """

    @wraps(operation)
    def in_turn(request: Request_contra, run: Run = Run()) -> Result_co:
        lock = _TURNS.lock
        while not lock.acquire(timeout=_LOOK_AGAIN):
            run.check()
        try:
            return operation(request, run)
        finally:
            lock.release()

    return in_turn


def _forked() -> None:
    """In a forked process nobody but this thread runs: a lock that another one held would never be released."""
    _TURNS.lock = RLock()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forked)
