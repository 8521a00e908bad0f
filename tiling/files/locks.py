"""One run at a time on a file that is published."""

from __future__ import annotations

import errno
from contextlib import ExitStack
from pathlib import Path

from calibrate.locking import held
from tiling.files.parts import lock_name

__all__ = ["hold"]


def hold(locks: ExitStack, target: Path) -> None:
    """Keep other runs from a file until the stack is closed; see `calibrate.locking`.

    Raises:
        OSError: another run doesn't let go, or the lock can't be written.
    """
    try:
        locks.enter_context(held(target.with_name(lock_name(target.name))))
    except TimeoutError:
        raise OSError(errno.EBUSY, "another run is writing it") from None
