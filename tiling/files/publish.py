"""Putting finished files in their places without ever damaging what was there, a set of files as a set.

Every file goes to a part of its own beside its destination and is read back; then, under one lock a destination, all
are put in place. A file that is there already is replaced only where that was asked for, also one that came meanwhile.
When one of a set can't be put in place, those before it are taken back: what was there lies there again.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from pathlib import Path

from tiling.failures import Action, OutputRefused, Remedy
from tiling.files.destination import exists_already
from tiling.files.locks import hold
from tiling.files.parts import clear_dead_parts, part_name
from tiling.files.sets import Identity, Journal, Move, identity_of, settle_dead_sets, take_back

__all__ = ["Publication", "publish", "publish_all"]

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EXDEV}


@dataclass(frozen=True, slots=True)
class Publication:
    """One file to be published.

    Attributes:
        path: the destination; a symbolic link is followed, so that the link stays and its target is replaced.
        content: the whole file.
        force: whether a file that is there may be replaced.
    """

    path: Path
    content: bytes
    force: bool = False


@dataclass(slots=True)
class _Placing:
    """A publication on its way.

    Attributes:
        wanted: what is published.
        target: the destination, links followed.
        part: the written file beside it.
        kept: the name under which the file that was there lies while the set is not whole yet.
        identity: of the part, by which it is known wherever it was moved.
    """

    wanted: Publication
    target: Path
    part: Path = field(init=False)
    kept: Path = field(init=False)
    identity: Identity | None = None

    def __post_init__(self) -> None:
        self.part = self.target.with_name(part_name(self.target.name))
        self.kept = self.target.with_name(part_name(self.target.name))

    @property
    def move(self) -> Move | None:
        """The move to be made, None while the part isn't written."""
        return None if self.identity is None else Move(self.target, self.kept, self.identity)


def publish(path: Path, content: bytes, *, force: bool = False) -> None:
    """Publish one file; arguments as for `Publication`.

    Raises:
        OutputRefused: the file can't be written, or is there already and may not be replaced.
    """
    publish_all([Publication(path, content, force)])


def publish_all(publications: Sequence[Publication]) -> None:
    """Publish files that belong together, if any: all or none.

    Raises:
        OutputRefused: one of them can't be written, or is there already and may not be replaced; nothing was changed.
    """
    placings: list[_Placing] = []
    journal: Journal | None = None
    current = Path()
    try:
        for wanted in publications:
            current = wanted.path
            placings.append(_Placing(wanted, wanted.path.resolve()))
        _tidy(placings)
        for placing in placings:
            current = placing.wanted.path
            _write(placing)
        with ExitStack() as locks:
            # In one order everywhere, so that no two sets wait for each other.
            for placing in sorted(placings, key=lambda one: str(one.target)):
                current = placing.wanted.path
                hold(locks, placing.target)
            if len(placings) > 1:
                current = placings[0].wanted.path
                journal = Journal(_moves(placings))
            for placing in placings:
                current = placing.wanted.path
                _put_in_place(placing)
    except OSError as failure:
        take_back(_moves(placings))
        raise _refused(current, failure) from failure
    except BaseException:
        take_back(_moves(placings))
        raise
    finally:
        if journal is not None:
            journal.close()
        for placing in placings:
            for left in (placing.part, placing.kept):
                with suppress(OSError):
                    left.unlink(missing_ok=True)
    for folder in {placing.target.parent for placing in placings}:
        _settle(folder)


def _tidy(placings: Sequence[_Placing]) -> None:
    """Settle what killed runs left where files are to be published."""
    for folder in {placing.target.parent for placing in placings}:
        settle_dead_sets(folder)
        clear_dead_parts(folder)


def _moves(placings: Sequence[_Placing]) -> list[Move]:
    return [placing.move for placing in placings if placing.move is not None]


def _write(placing: _Placing) -> None:
    """Write the part, with the rights of the file it replaces, and read it back."""
    # O_EXCL: never write through a link that somebody laid in our way.
    handle = os.open(placing.part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(handle, "wb") as stream:
        if placing.target.is_file() and hasattr(os, "fchmod"):
            os.fchmod(handle, placing.target.stat().st_mode & 0o777)
        stream.write(placing.wanted.content)
        stream.flush()
        os.fsync(stream.fileno())
    placing.identity = identity_of(placing.part)
    if placing.part.read_bytes() != placing.wanted.content:
        raise OSError(errno.EIO, "what was written reads back differently")


def _put_in_place(placing: _Placing) -> None:
    """Move the part to its destination in one step, keeping what was there until the set is whole."""
    target = placing.target
    if not placing.wanted.force:
        if not _moved_where_nothing_is(placing.part, target):
            raise exists_already(placing.wanted.path)
    else:
        if target.exists():
            _second_name(target, placing.kept)
        placing.part.replace(target)


def _moved_where_nothing_is(part: Path, target: Path) -> bool:
    """Move a file to a name that nothing has, in one step; False where something has it."""
    try:
        if os.name == "nt":
            part.rename(target)  # which refuses there what it would replace elsewhere
        else:
            os.link(part, target)
            part.unlink()
    except FileExistsError:
        return False
    except OSError as failure:
        if failure.errno not in _NO_LINKS:
            raise
        # A file system without hard links: take the name first, then move onto our own empty file.
        try:
            os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        except FileExistsError:
            return False
        part.replace(target)
    return True


def _second_name(target: Path, kept: Path) -> None:
    """Give the file another name beside its own, or a copy of it where it can't have two."""
    try:
        os.link(target, kept)
    except OSError as failure:
        if os.name != "nt" and failure.errno not in _NO_LINKS:
            raise
        kept.write_bytes(target.read_bytes())


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


def _refused(path: Path, failure: OSError) -> OutputRefused:
    """The refusal that a failure of the file system becomes."""
    nothing = "Nothing was changed."
    if failure.errno in _NO_ROOM:
        return OutputRefused(f"{path}: the disk is full; free some room and run again. {nothing}")
    if failure.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return OutputRefused(f"{path}: may not be written here", Remedy(Action.CHOOSE_PLACE))
    if failure.errno == errno.ENAMETOOLONG:
        return OutputRefused(f"{path}: the file name is too long", Remedy(Action.SHORTEN_NAME))
    return OutputRefused(f"{path}: can't be written ({failure.strerror or failure}). {nothing}")
