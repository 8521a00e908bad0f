"""What holds a set of files together while they are put in place one after the other.

Before the first of them moves, a journal beside it says where each lies, which file it will be, and under what other
name the one before it is kept. Whoever finds a journal whose owner was killed takes back what it did, so that the files
of a set are all the new ones or all the earlier ones, whenever anybody reads them.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path

from tiling.files.locks import hold
from tiling.files.parts import is_dead, journal_name, journals_in

__all__ = ["Identity", "Journal", "Move", "identity_of", "settle_dead_sets", "take_back"]


Identity = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Move:
    """One file of a set on its way.

    Attributes:
        target: its place.
        kept: the other name of the file that was there before; there is none while nothing lies under it.
        identity: of the new file, by which it is known wherever it was moved; see `identity_of`.
    """

    target: Path
    kept: Path
    identity: Identity


class Journal:
    """The journal of one set, there from before the first move until the set is whole."""

    def __init__(self, moves: Sequence[Move]) -> None:
        """Write it.

        Raises:
            OSError: it can't be written.
        """
        target = moves[0].target
        self._path = target.with_name(journal_name(target.name))
        told = [{"target": str(m.target), "kept": str(m.kept), "identity": list(m.identity)} for m in moves]
        handle = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(json.dumps(told).encode())
                stream.flush()
                os.fsync(stream.fileno())
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """The set is whole, or was taken back."""
        with suppress(OSError):
            self._path.unlink(missing_ok=True)


def take_back(moves: Sequence[Move]) -> None:
    """Put back what lay at the targets before; done twice it changes nothing."""
    for move in reversed(moves):
        with suppress(OSError):
            if identity_of(move.target) == move.identity:
                if move.kept.exists():
                    move.kept.replace(move.target)
                else:
                    move.target.unlink()


def settle_dead_sets(folder: Path) -> None:
    """Take back the sets that killed runs of this machine were putting in place, whose journals lie in the folder.

    Nothing happens where the folder can't be read or written.
    """
    for path in journals_in(folder):
        if not is_dead(path.name):
            continue
        with suppress(OSError), ExitStack() as locks:
            moves = sorted(_read(path, folder), key=lambda move: str(move.target))
            for move in moves:
                hold(locks, move.target)
            if path.exists():  # else somebody else settled it meanwhile
                take_back(moves)
                path.unlink()


def identity_of(path: Path) -> Identity:
    """Device, number, time of the last change in ns, and bytes of a file, not of what a link leads to.

    A number alone is soon given to another file.

    Raises:
        OSError: there is none.
    """
    found = path.stat(follow_symlinks=False)
    return found.st_dev, found.st_ino, found.st_mtime_ns, found.st_size


def _read(path: Path, folder: Path) -> list[Move]:
    """The moves; none where the journal isn't whole: then nothing had moved yet.

    A journal speaks for its own folder alone, and never of other names than parts for what is kept.
    """
    try:
        told = json.loads(path.read_bytes())
        moves = [
            Move(Path(one["target"]), Path(one["kept"]), (int(dev), int(number), int(changed), int(size)))
            for one in told
            for dev, number, changed, size in [one["identity"]]
        ]
    except (OSError, ValueError, TypeError, KeyError, IndexError):
        return []
    sound = all(is_dead(move.kept.name) and move.kept.parent == move.target.parent for move in moves)
    return moves if sound and moves and moves[0].target.parent == folder.resolve() else []
