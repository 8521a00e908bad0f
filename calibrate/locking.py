"""One run at a time on a file, by another file's being there: any disk will do, network disks too."""

from __future__ import annotations

import os
import re
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from calibrate.processes import is_running

__all__ = ["PATIENCE", "UNSIGNED", "held"]

PATIENCE = 30.0
"""Seconds to wait for another run, which holds a lock for far less than one."""

UNSIGNED = 5.0
"""Seconds after which a lock in which nobody's name stands is that of a run killed between making and signing it."""

_TAKING = 1.0
"""Seconds after which whoever put a lock aside to take it over did so or was killed; it takes far less than one."""

_ASIDE = ".break"
"""What the library's names of locks put aside go on with, then the process and a number by chance."""


@contextmanager
def held(lock: Path, patience: float | None = None) -> Iterator[None]:
    """Keep others out, waiting for them at most `patience` seconds; the lock is gone afterwards.

    That of a run that was killed is taken over.

    Raises:
        TimeoutError: another run doesn't let go.
        OSError: the lock can't be written.
    """
    from filelock import SoftFileLock, Timeout  # noqa: PLC0415 - only who writes needs it

    _clear_unsigned(lock)
    _clear_aside(lock)
    own = SoftFileLock(lock, timeout=PATIENCE if patience is None else patience)
    try:
        own.acquire()
    except Timeout:
        raise TimeoutError(f"{lock}: another run holds it") from None
    try:
        yield
    finally:
        own.release()


def _clear_unsigned(lock: Path) -> None:
    """Remove a lock that was never signed, which the library leaves for ever."""
    with suppress(OSError):
        found = lock.stat(follow_symlinks=False)
        if found.st_size or time.time() - found.st_mtime < UNSIGNED:
            return
        aside = lock.with_name(f"{lock.name}{_ASIDE}.{os.getpid()}.{secrets.token_hex(16)}")
        lock.rename(aside)
        taken = aside.stat(follow_symlinks=False)
        if (taken.st_ino, taken.st_mtime_ns, taken.st_size) != (found.st_ino, found.st_mtime_ns, 0):
            # Somebody else cleared it first, and this is the lock of who came next.
            os.link(aside, lock)
        aside.unlink()


def _clear_aside(lock: Path) -> None:
    """Remove what runs left that were killed while they took over the lock of another killed one."""
    name = re.compile(rf"{re.escape(lock.name + _ASIDE)}\.(\d{{1,10}})\.[0-9a-f]{{32}}")
    with suppress(OSError):
        for file in lock.parent.iterdir():
            if (found := name.fullmatch(file.name)) and not is_running(int(found[1])):
                with suppress(OSError):
                    if time.time() - file.stat(follow_symlinks=False).st_mtime > _TAKING:
                        file.unlink()
