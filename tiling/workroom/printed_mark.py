"""Whether a PDF is one of ours: told from the name of its attached record, without reading the whole of it as a PDF."""

from __future__ import annotations

import mmap
from functools import lru_cache
from pathlib import Path

from calibrate.regular_file import open_regular
from tiling.record.printed_file import RECORD_NAME

__all__ = ["is_printed"]

_NAMES = (
    RECORD_NAME.encode(),
    # As a PDF's writer may put it, with signs as octal codes (ISO 32000-1, 7.3.4.2).
    "".join(one if one.isalnum() else f"\\{ord(one):03o}" for one in RECORD_NAME).encode(),
)


@lru_cache(maxsize=4096)
def is_printed(path: Path, size: int, changed: int) -> bool:  # noqa: ARG001 - what it is known by while it stays so
    """Whether the file names the record; its size and time of change are part of the question."""
    if not size:
        return False
    try:
        with open_regular(path) as stream, mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as content:
            return any(content.find(name) >= 0 for name in _NAMES)
    except (OSError, ValueError):
        return False
