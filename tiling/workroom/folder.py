"""The folder that a workroom works in: what lies there by plain names, and what is put there.

A name from the page is a plain one or refused; links are followed nowhere, so nothing outside is read or written.
"""

from __future__ import annotations

import os
import re
import stat
import unicodedata
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from tiling.failures import Action, InputUnfit, OutputRefused, PageseamError, Remedy, UsageWrong
from tiling.files.inputs import Artifact, InputFile, InputKind, read_input
from tiling.files.publish import Publication, publish_all
from tiling.workroom.printed_mark import is_printed

__all__ = ["Listed", "WorkFolder", "cleaned"]

_ENDINGS = (".svg", ".pdf")
_LONGEST = 120
"""Letters of a name that is made here."""
_MOST, _MOST_OTHERS = 2000, 8
"""Files that are listed; and printed ones that are looked at for pages of a sheet."""
_DEVICE = re.compile(r"(?i)(con|prn|aux|nul|com\d|lpt\d)(\..*)?")
"""Names that Windows keeps for devices, whatever their ending."""
_FORBIDDEN = set('<>:"/\\|?*')


@dataclass(frozen=True, slots=True)
class Listed:
    """A file of the folder: a drawing, or pages that were printed; sizes in bytes, `changed` in s since 1970."""

    name: str
    size: int
    changed: float
    notes: bool
    printed: bool


@dataclass(frozen=True, slots=True)
class WorkFolder:
    """One folder."""

    path: Path

    def listed(self) -> list[Listed]:
        """Drawings and printed pages, by name."""
        found: list[Listed] = []
        with os.scandir(self.path) as entries:
            for entry in entries:
                if len(found) < _MOST and _is_shown(entry.name) and entry.is_file(follow_symlinks=False):
                    told = entry.stat(follow_symlinks=False)
                    path = self.path / entry.name
                    printed = path.suffix.lower() == ".pdf" and is_printed(path, told.st_size, told.st_mtime_ns)
                    notes = self._is_file(path.with_suffix(".toml").name)
                    found.append(Listed(entry.name, told.st_size, told.st_mtime, notes, printed))
        return sorted(found, key=lambda one: (one.name.casefold(), one.name))

    def values(self) -> dict[str, Any]:
        """What is in it, as the page is told."""
        return {"folder": self.path.name or str(self.path), "files": [asdict(one) for one in self.listed()]}

    def read(self, name: str, kind: InputKind = InputKind.DRAWING) -> InputFile:
        """A file by its plain name.

        Raises:
            InputUnfit: there is none, or it is a link, or can't be read.
            UsageWrong: the name isn't plain.
        """
        path = self._place(name)
        if not self._is_file(name):
            raise InputUnfit(f"{name}: there is no such file in this folder any more.")
        file = read_input(path, kind)
        return InputFile(name, file.content, file.neighbours)

    def notes_of(self, drawing: str) -> InputFile | None:
        """The notes beside a drawing, None where there are none."""
        name = notes_name(drawing)
        return self.read(name, InputKind.NOTES) if self._is_file(name) else None

    def printed_with_others(self, name: str) -> list[InputFile]:
        """A file of printed pages, and the newest of the others, which may print pages of the same sheet.

        Raises:
            InputUnfit: there is none of that name, or it can't be read.
        """
        newest = sorted(self.listed(), key=lambda one: -one.changed)
        others = [one.name for one in newest if one.printed and one.name != name][:_MOST_OTHERS]
        return [self.read(one, InputKind.PRINTED) for one in (name, *others)]

    def refuse_if_there(self, names: Sequence[str]) -> None:
        """Raise where a file of one of these names is there already.

        Raises:
            OutputRefused: one is; with the remedy to replace it.
            UsageWrong: a name isn't plain.
        """
        for name in names:
            if os.path.lexists(self._place(name)):
                raise OutputRefused(f"{name}: is there already", Remedy(Action.REPLACE_OR_RENAME))

    def publish(self, files: Sequence[Artifact], *, replace: bool) -> list[str]:
        """Put files there, all or none; their names.

        Raises:
            OutputRefused: one can't be written, or is there and may not be replaced.
            UsageWrong: a name isn't plain.
        """
        for file in files:
            if self._place(file.name).is_symlink():
                raise OutputRefused(f"{file.name}: is a link to another place, which is left alone.")
        publish_all([Publication(self.path / file.name, file.content, replace) for file in files])
        return [file.name for file in files]

    def remove_notes(self, drawing: str) -> None:
        """Take back notes that the page wrote where there were none."""
        if self._is_file(name := notes_name(drawing)):
            self._place(name).unlink(missing_ok=True)

    def _place(self, name: str) -> Path:
        if not _is_plain(name):
            raise UsageWrong("a file is called by its plain name, without folders.")
        return self.path / name

    def _is_file(self, name: str) -> bool:
        try:
            return stat.S_ISREG(self._place(name).stat(follow_symlinks=False).st_mode)
        except (OSError, PageseamError):
            return False


def notes_name(drawing: str) -> str:
    """What the notes beside a drawing are called."""
    return Path(drawing).with_suffix(".toml").name


def cleaned(name: str) -> str:
    """A name that a dropped file can be saved under on every system, like the one it came with.

    Raises:
        UsageWrong: nothing of it is left, or it is no drawing's name.
    """
    last = unicodedata.normalize("NFC", name).replace("\\", "/").rpartition("/")[2]
    letters = "".join("_" if one in _FORBIDDEN or not one.isprintable() else one for one in last).strip(" .")
    stem, dot, ending = letters.rpartition(".")
    if not dot or not stem or f".{ending.lower()}" not in _ENDINGS:
        raise UsageWrong("a drawing is an SVG or a PDF file.")
    found = f"{_shortened(stem)}.{ending}"
    return f"_{found}" if _DEVICE.fullmatch(stem) else found


def _shortened(stem: str) -> str:
    """So many letters, and no more bytes than every file system takes."""
    stem = stem[:_LONGEST]
    while len(stem.encode("utf-8", "replace")) > 2 * _LONGEST:
        stem = stem[:-1]
    return stem.strip(" .") or "drawing"


def _is_plain(name: str) -> bool:
    return bool(name) and len(name) <= 255 and not name.startswith(".") and name.isprintable() and not (
        {"/", "\\"} & set(name)
    ) and (os.name != "nt" or ":" not in name)  # fmt: skip


def _is_shown(name: str) -> bool:
    return _is_plain(name) and name.lower().endswith(_ENDINGS)
