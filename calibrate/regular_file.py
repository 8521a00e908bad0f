"""Opening files that are files: a pipe or a device may never end, or wait for ever for somebody to write to it."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

__all__ = ["open_regular"]


def open_regular(path: Path) -> BinaryIO:
    """The file to read from, never waited for.

    Raises:
        OSError: it can't be opened, or is a folder, a pipe or a device.
    """
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    try:
        kind = os.fstat(handle).st_mode
        if stat.S_ISDIR(kind):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        if not stat.S_ISREG(kind):
            raise OSError(errno.EINVAL, "a pipe or a device", str(path))
        return open(handle, "rb")  # noqa: PTH123 - of a file that is open
    except BaseException:
        os.close(handle)
        raise
