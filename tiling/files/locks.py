"""One run at a time on a file."""

from __future__ import annotations

import errno
from contextlib import ExitStack
from pathlib import Path

from tiling.files.parts import lock_name

__all__ = ["hold"]

_PATIENCE = 30.0
"""Seconds to wait for another run to put its file in place, which takes it far less than one."""


def hold(locks: ExitStack, target: Path) -> None:
    """Keep other runs from a file until the stack is closed; the lock's file goes with it.

    A lock that holds by its file's being there works on network disks too; one whose owner was killed is taken over.

    Raises:
        OSError: another run doesn't let go, or the lock can't be written.
    """
    from filelock import SoftFileLock, Timeout  # noqa: PLC0415 - only who publishes needs it

    try:
        locks.enter_context(SoftFileLock(target.with_name(lock_name(target.name)), timeout=_PATIENCE))
    except Timeout:
        raise OSError(errno.EBUSY, "another run is writing it") from None
