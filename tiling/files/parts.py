"""Names of files that are not finished yet, whose they are, and clearing those that a killed run left behind."""

from __future__ import annotations

import os
import re
import secrets
import socket
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path

from calibrate.processes import is_running

__all__ = ["clear_dead_parts", "is_dead", "journal_name", "journals_in", "lock_name", "part_name"]

_LONGEST = 255
"""Bytes a file's name may have on the usual file systems."""
_JOURNAL = ".pageseam-set"
_OWNED = re.compile(r"\.(?P<host>[0-9a-f]{8})-(?P<owner>[0-9]+)-[0-9a-f]{8}\.pageseam-(?:part|set)$")


def part_name(name: str) -> str:
    """A name of this process's own for a file that shall be called `name`, hidden beside it."""
    return _hidden(name, f"{_own()}.pageseam-part")


def journal_name(name: str) -> str:
    """A name of this process's own for the journal of a set whose first file shall be called `name`."""
    return _hidden(name, f"{_own()}{_JOURNAL}")


def lock_name(name: str) -> str:
    """The name of the lock on a file called `name`, hidden beside it; the same for every process."""
    return _hidden(name, ".pageseam-lock")


def is_dead(name: str) -> bool:
    """Whether it is the name of a part or a journal of a process of this machine that runs no more."""
    found = _OWNED.search(name)
    return found is not None and found["host"] == _host() and not is_running(int(found["owner"]))


def journals_in(folder: Path) -> list[Path]:
    """The journals that lie in a folder; none where it can't be read."""
    try:
        with os.scandir(folder) as entries:
            return [folder / one.name for one in entries if one.name.endswith(_JOURNAL)]
    except OSError:
        return []


def clear_dead_parts(folder: Path) -> None:
    """Remove the parts that processes of this machine left in the folder when they were killed."""
    with suppress(OSError):
        for file in folder.iterdir():
            if is_dead(file.name) and not file.name.endswith(_JOURNAL):
                with suppress(OSError):
                    file.unlink()


def _own() -> str:
    return f".{_host()}-{os.getpid()}-{secrets.token_hex(4)}"


def _hidden(name: str, ending: str) -> str:
    """The name with a dot before and an ending, shortened to a digest where that would be too long."""
    if len(os.fsencode(f".{name}{ending}")) > _LONGEST:
        name = sha256(os.fsencode(name)).hexdigest()[:32]
    return f".{name}{ending}"


@cache
def _host() -> str:
    return sha256(socket.gethostname().encode()).hexdigest()[:8]
