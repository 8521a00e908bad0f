"""Noticing that a file was changed by somebody else while it was in use."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tiling.failures import InputUnfit, PageseamError

__all__ = ["unchanged"]


@contextmanager
def unchanged(paths: Sequence[Path]) -> Iterator[None]:
    """Let a failure inside say what caused it, where one of the files was changed meanwhile.

    Raises:
        InputUnfit: something failed inside, and a file is no longer the one it was before.
    """
    before = [_stamp(path) for path in paths]
    try:
        yield
    except PageseamError as failure:
        for path, stamp in zip(paths, before, strict=True):
            if _stamp(path) != stamp:
                raise InputUnfit(
                    f"{path}: was changed while it was read; wait until it is saved, then run again. "
                    "Nothing was published."
                ) from failure
        raise


def _stamp(path: Path) -> tuple[int, int, int] | None:
    """What tells one content of a file from another; None where it is not there."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_size, found.st_mtime_ns
