"""Putting a finished file in its place without ever damaging what was there.

The content goes to a named temporary file beside the destination, is proved by the caller, and is then moved into
place with one `os.replace`. On any failure the destination stays as it was and the temporary is removed; one left by
a killed run is removed by the next run that writes the same file.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tiling.failures import Action, OutputRefused, Remedy

__all__ = ["Publication", "check_destination", "publish", "publish_all", "same_file"]

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


def same_file(one: Path, other: Path) -> bool:
    """Whether both names lead to one existing file (links followed)."""
    try:
        return one.exists() and other.exists() and one.samefile(other)
    except OSError:
        return False


def check_destination(path: Path, *, force: bool, inputs: Iterable[Path] = (), endings: Sequence[str] = ()) -> None:
    """Refuse early, before any work, what could not be published later.

    Args:
        path: where the file shall go.
        force: whether a file that is there may be replaced.
        inputs: files of this run that are never overwritten.
        endings: what the name may end in, such as ``.pdf``, if it has an ending; none given: anything.

    Raises:
        OutputRefused: the folder is missing or not writable, the name is a folder, one of the inputs or ends as another
            kind of file does, or a file is there already and `force` is not given.
    """
    folder = path.parent if str(path.parent) else Path()
    if not folder.is_dir():
        raise OutputRefused(f"{path}: the folder {folder} does not exist; make it first or choose another with -o.")
    if path.is_dir():
        raise OutputRefused(f"{path}: is a folder; give the name of a file.")
    try:
        path.resolve()
    except (RuntimeError, OSError):
        raise OutputRefused(f"{path}: is a link that leads back to itself; choose another name with -o.") from None
    for source in inputs:
        if same_file(path, source):
            raise OutputRefused(
                f"{path}: is an input of this run and is never overwritten; choose another name with -o."
            )
    if endings and path.suffix and path.suffix.lower() not in endings:
        kinds = " or ".join(ending[1:].upper() for ending in endings)
        raise OutputRefused(f"{path}: what is written here is {kinds}; let the name end in {' or '.join(endings)}.")
    if path.exists() and not path.is_file():
        raise OutputRefused(f"{path}: is not a regular file and can't be replaced; choose another name with -o.")
    if path.exists() and not force:
        raise OutputRefused(f"{path}: exists already", Remedy(Action.REPLACE_OR_RENAME))
    if not os.access(folder, os.W_OK):
        raise OutputRefused(f"{path}: the folder {folder} can't be written to; choose another with -o.")


@dataclass(frozen=True, slots=True)
class Publication:
    """One file to be published.

    Attributes:
        path: the destination; a symbolic link is followed, so that the link stays and its target is replaced.
        content: the whole file.
        prove: called with the temporary file; raises to stop the publication.
    """

    path: Path
    content: bytes
    prove: Callable[[Path], None] | None = None


def publish(path: Path, content: bytes, *, prove: Callable[[Path], None] | None = None) -> None:
    """Write `content` beside `path`, let `prove` look at the written file, then put it in place.

    Arguments as for `Publication`.

    Raises:
        OutputRefused: the file can't be written (its reason, in words).
    """
    publish_all([Publication(path, content, prove)])


def publish_all(publications: Sequence[Publication]) -> None:
    """Publish files that belong together: all are written and proved before the first is put in place.

    Raises:
        OutputRefused: one of them can't be written (its reason, in words).
    """
    targets = [publication.path.resolve() for publication in publications]
    temporaries = [target.with_name(f".{target.name}.pageseam-part") for target in targets]
    placed: list[str] = []
    path = Path()
    try:
        for publication, temporary in zip(publications, temporaries, strict=True):
            path = publication.path
            _write(temporary, publication.content)
            if publication.prove is not None:
                publication.prove(temporary)
        for publication, temporary, target in zip(publications, temporaries, targets, strict=True):
            path = publication.path
            temporary.replace(target)
            placed.append(str(path))
    except OSError as failure:
        changed = f"Only {', '.join(placed)} was written." if placed else "Nothing was changed."
        raise OutputRefused(f"{path}: {_reason(failure)} {changed}") from failure
    finally:
        for temporary in temporaries:
            with suppress(OSError):
                temporary.unlink(missing_ok=True)
    for folder in {target.parent for target in targets}:
        _settle(folder)


def _write(temporary: Path, content: bytes) -> None:
    temporary.unlink(missing_ok=True)
    # O_EXCL: never write through a link that somebody laid in our way.
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _settle(folder: Path) -> None:
    """Ask the file system to keep the new name through a power cut; not every system can."""
    if os.name != "posix":
        return
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _reason(failure: OSError) -> str:
    if failure.errno in _NO_ROOM:
        return "the disk is full; free some room and run again."
    if failure.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return "may not be written here; choose another place with -o."
    if failure.errno == errno.ENAMETOOLONG:
        return "the file name is too long; choose a shorter one with -o."
    return f"can't be written ({failure.strerror or failure})."
