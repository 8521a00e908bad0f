"""Refusing early, before any work, what could not be published later."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from tiling.failures import Action, OutputRefused, Remedy

__all__ = ["check_destination", "exists_already", "same_file"]


def same_file(one: Path, other: Path) -> bool:
    """Whether both names lead to one existing file (links followed)."""
    try:
        return one.exists() and other.exists() and one.samefile(other)
    except OSError:
        return False


def exists_already(path: Path) -> OutputRefused:
    """The failure to raise where a file is in the way."""
    return OutputRefused(f"{path}: exists already", Remedy(Action.REPLACE_OR_RENAME))


def check_destination(path: Path, *, force: bool, inputs: Iterable[Path] = (), endings: Sequence[str] = ()) -> None:
    """Refuse early, before any work, what could not be published later.

    Args:
        path: where the file shall go.
        force: whether a file that is there may be replaced.
        inputs: files of this run that are never overwritten.
        endings: what the name may end in, such as ``.pdf``, if it has an ending; none given: anything.

    Raises:
        OutputRefused: the folder is missing or not writable, the name is a folder, one of the inputs or ends as another
            kind of file does, or a file (or a link) is there already and `force` is not given.
    """
    folder = path.parent if str(path.parent) else Path()
    if not folder.is_dir():
        raise OutputRefused(f"{path}: the folder {folder} does not exist", Remedy(Action.MAKE_OR_CHOOSE_FOLDER))
    if path.is_dir():
        raise OutputRefused(f"{path}: is a folder; give the name of a file.")
    _check_resolves(path)
    for source in inputs:
        if same_file(path, source):
            raise OutputRefused(f"{path}: is an input of this run and is never overwritten", Remedy(Action.CHOOSE_NAME))
    if endings and path.suffix and path.suffix.lower() not in endings:
        kinds = " or ".join(ending[1:].upper() for ending in endings)
        raise OutputRefused(f"{path}: what is written here is {kinds}; let the name end in {' or '.join(endings)}.")
    if path.exists() and not path.is_file():
        raise OutputRefused(f"{path}: is not a regular file and can't be replaced", Remedy(Action.CHOOSE_NAME))
    if (path.exists() or path.is_symlink()) and not force:
        raise exists_already(path)
    if not os.access(folder, os.W_OK):
        raise OutputRefused(f"{path}: the folder {folder} can't be written to", Remedy(Action.CHOOSE_FOLDER))


def _check_resolves(path: Path) -> None:
    try:
        path.resolve()
    except FileNotFoundError:
        raise OutputRefused(f"{path}: the folder you are in is gone; go to another and run again.") from None
    except (RuntimeError, OSError):
        raise OutputRefused(f"{path}: is a link that leads back to itself", Remedy(Action.CHOOSE_NAME)) from None
