"""What a job is given and what it makes, as names and bytes; and how the terminal reads a file into such a value."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path, PurePath
from typing import Protocol

from calibrate.regular_file import open_regular
from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.sets import settle_dead_sets

__all__ = [
    "Artifact",
    "Folder",
    "InputFile",
    "InputKind",
    "Neighbours",
    "NotRead",
    "read_input",
    "read_inputs",
    "read_notes_for",
]

_LARGEST = 2 * 1024**3
_LARGEST_NEIGHBOUR = 50 * 1024**2


class NotRead(Enum):
    """Why a file named inside another one is not read."""

    OUTSIDE = "outside the folder"
    ABSENT = "not there"
    UNREADABLE = "can't be opened"
    TOO_LARGE = "too large"


class Neighbours(Protocol):
    """The files that lie beside an input and may be named in it, such as the pictures of an SVG."""

    def read(self, name: str) -> bytes | NotRead:
        """The content of the file with this relative name, or why there is none."""
        ...


@dataclass(frozen=True, slots=True)
class NoNeighbours:
    """Nothing lies beside the input."""

    def read(self, name: str) -> bytes | NotRead:  # noqa: ARG002 - the protocol's
        """See `Neighbours`."""
        return NotRead.ABSENT


@dataclass(frozen=True, slots=True)
class Folder:
    """The files of one folder and the folders in it; what leads out of it, also by links, is never opened."""

    path: Path

    def read(self, name: str) -> bytes | NotRead:
        """See `Neighbours`; at most 50 MB."""
        try:
            folder = self.path.resolve()
            file = (folder / name).resolve()
            if not file.is_relative_to(folder):
                return NotRead.OUTSIDE
            if not file.is_file():
                return NotRead.ABSENT
            with open_regular(file) as stream:
                content = stream.read(_LARGEST_NEIGHBOUR + 1)
        except (OSError, ValueError):
            return NotRead.UNREADABLE
        return content if len(content) <= _LARGEST_NEIGHBOUR else NotRead.TOO_LARGE


@dataclass(frozen=True, slots=True)
class InputFile:
    """A file that a job reads.

    Attributes:
        name: what messages call it, as the person gave it, with folders if so.
        content: all its bytes.
        neighbours: what lies beside it.
    """

    name: str
    content: bytes = field(repr=False)
    neighbours: Neighbours = NoNeighbours()

    @property
    def file_name(self) -> str:
        """The last part of the name."""
        return PurePath(self.name).name

    @property
    def stem(self) -> str:
        """The last part of the name without its ending."""
        return PurePath(self.name).stem


@dataclass(frozen=True, slots=True)
class Artifact:
    """A finished file that a job made and, where it has a proof, proved; not yet published anywhere."""

    name: str
    content: bytes = field(repr=False)


class InputKind(Enum):
    """What a file is read for; decides how a refusal is worded."""

    DRAWING = "drawing"
    NOTES = "notes"
    PRINTED = "printed file"
    PHOTO = "photo"
    FONT = "font"


def read_input(path: Path, kind: InputKind = InputKind.DRAWING) -> InputFile:
    """Read a whole file, as one whose set was not torn by a run that was killed.

    Raises:
        InputUnfit: there is none, it may not be read, is a folder, a pipe or a device, an empty drawing or larger than
            2 GB, or was changed while it was read.
    """
    settle_dead_sets(path.parent)
    try:
        if path.exists() and not path.is_file():
            raise _no_file(path, kind)
        with open_regular(path) as stream:
            before = os.fstat(stream.fileno())
            too_large = before.st_size > _LARGEST
            content = b"" if too_large else stream.read()
            after = os.fstat(stream.fileno())
    except OSError as fault:
        raise _not_opened(path, kind, fault) from None
    if too_large:
        advice = "send it as the phone took it" if kind is InputKind.PHOTO else "simplify the drawing or split it"
        raise InputUnfit(f"{path}: is larger than 2 GB; {advice}.")
    if _stamp(before) != _stamp(after):
        raise InputUnfit(
            f"{path}: was changed while it was read; wait until it is saved, then run again. Nothing was published."
        )
    if kind is InputKind.DRAWING and not content:
        raise InputUnfit(f"{path}: the file is empty; save the drawing again.")
    return InputFile(str(path), content, Folder(path.parent))


def read_inputs(paths: Sequence[Path]) -> tuple[InputFile, ...]:
    """Several drawings, as `read_input` reads one."""
    return tuple(read_input(path) for path in paths)


def read_notes_for(drawings: Sequence[Path], named: Path | None = None) -> tuple[InputFile, ...]:
    """The notes named, or else each ``.toml`` of the same name that lies beside a drawing, once.

    Raises:
        InputUnfit: as `read_input`.
    """
    if named is not None:
        return (read_input(named, InputKind.NOTES),)
    beside = dict.fromkeys(path.with_suffix(".toml") for path in drawings if path.suffix != ".toml")
    return tuple(read_input(path, InputKind.NOTES) for path in beside if path.is_file())


def _no_file(path: Path, kind: InputKind) -> InputUnfit:
    if kind is InputKind.NOTES:
        return InputUnfit(f"{path}: is no file; name the notes' own file.")
    if kind is InputKind.PRINTED:
        return InputUnfit(f"{path}: is no file", Remedy(Action.NAME_PRINTED))
    if kind is InputKind.PHOTO:
        return InputUnfit(f"{path}: is no file; name the photo itself")
    if kind is InputKind.FONT:
        return InputUnfit(f"{path}: is no file; give a TrueType file (.ttf).")
    if path.is_dir():
        return InputUnfit(f"{path}: is a folder; give the drawing's file.")
    return InputUnfit(f"{path}: is a pipe or a device, which can't be read twice; save the drawing to a file.")


def _not_opened(path: Path, kind: InputKind, fault: OSError) -> InputUnfit:
    why = fault.strerror or fault
    if kind is InputKind.FONT:
        return InputUnfit(f"{path}: can't be used as a font ({why}); give a TrueType file (.ttf).")
    if kind is InputKind.NOTES:
        return InputUnfit(f"{path}: the notes can't be opened ({why}); check the name.")
    if kind is InputKind.PRINTED:
        return InputUnfit(f"{path}: can't be read ({why}).")
    if kind is InputKind.PHOTO and isinstance(fault, FileNotFoundError):
        return InputUnfit(f"{path}: there is no such file; check the name")
    if kind is InputKind.PHOTO:
        return InputUnfit(f"{path}: can't be opened ({why}); check its permissions")
    return InputUnfit(f"{path}: can't be opened ({why}); check the name and its rights.")


def _stamp(found: os.stat_result) -> tuple[int, int]:
    """What tells one content of a file from another."""
    return found.st_size, found.st_mtime_ns
