"""The fonts installed on this machine, by family, weight and slant: found in the folders where its system keeps them.

`PAGESEAM_FONTS`, a list of folders as in PATH, takes the place of the system's folders: who needs the same pages on
two machines gives both the same fonts.
"""

from __future__ import annotations

import os
import re
import struct
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from calibrate.regular_file import open_regular

__all__ = ["FOLDERS_VARIABLE", "MachineFont", "font_folders", "installed", "plain_family"]

FOLDERS_VARIABLE = "PAGESEAM_FONTS"

_SUFFIXES = {".ttf", ".otf", ".ttc", ".otc"}
_MOST_FILES, _DEEPEST, _LARGEST = 10_000, 8, 400_000_000
_MOST_IN_ONE, _MOST_TABLES, _LARGEST_TABLE = 64, 200, 1_000_000
_OUTLINES = {b"glyf", b"CFF ", b"CFF2"}
# Fonts that have every character, as a box or a code.
_NO_LETTERS = re.compile(r"last ?resort|adobe ?blank|unifont|notdef|fallback", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class MachineFont:
    """One face in a font file.

    Attributes:
        index: its place in a collection.
        families: its family's names in all languages, plain (see `plain_family`).
        weight: from 100 to 900, 400 is regular; `varies` where the file can give any (OpenType, OS/2 and fvar).
        width: from 1 (condensed) to 9 (expanded), 5 is normal.
    """

    file: Path
    index: int
    families: frozenset[str]
    weight: int = 400
    width: int = 5
    slanted: bool = False
    varies: bool = False

    def distance(self, *, bold: bool, slanted: bool) -> int:
        """How far it is from what is wanted; width and slant count for more than the weight."""
        weight = 0 if self.varies else abs(self.weight - (700 if bold else 400))
        return weight + 1000 * (self.slanted != slanted) + 2000 * abs(self.width - 5)


def plain_family(name: str) -> str:
    """A family's name as names are compared: CSS tells no capitals apart."""
    return " ".join(name.split()).casefold()


def font_folders(system: str, env: Mapping[str, str], home: Path) -> list[Path]:
    """Where a system keeps fonts, the person's own first.

    Args:
        system: as `sys.platform` names it.
        env: the environment.
        home: the person's folder.
    """
    if FOLDERS_VARIABLE in env:
        return [Path(folder) for folder in env[FOLDERS_VARIABLE].split(os.pathsep) if folder]
    if system == "win32":
        local, windows = env.get("LOCALAPPDATA"), env.get("WINDIR", r"C:\Windows")
        return [*([Path(local) / "Microsoft" / "Windows" / "Fonts"] if local else []), Path(windows) / "Fonts"]
    if system == "darwin":
        return [home / "Library" / "Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")]
    own = Path(env.get("XDG_DATA_HOME") or home / ".local" / "share")
    shared = (env.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share").split(":")
    return [own / "fonts", home / ".fonts", *(Path(folder) / "fonts" for folder in shared if folder)]


def installed() -> tuple[MachineFont, ...]:
    """All faces that have outlines, in an order that depends on the files alone; kept for the process."""
    return _read(tuple(font_folders(sys.platform, os.environ, Path.home())))


@cache
def _read(folders: tuple[Path, ...]) -> tuple[MachineFont, ...]:
    faces: list[MachineFont] = []
    for number, file in enumerate(_files(folders)):
        if number >= _MOST_FILES:
            break
        try:
            faces += _faces(file)
        except (OSError, struct.error, UnicodeError):
            continue  # not ours to mend: as good as not installed
    return tuple(faces)


def _files(folders: tuple[Path, ...]) -> Iterator[Path]:
    """Font files, each once, folder by folder and by name."""
    seen: set[str] = set()
    for folder in folders:
        for where, below, names in os.walk(folder):
            below.sort()
            if len(Path(where).relative_to(folder).parts) >= _DEEPEST:
                below.clear()
            for name in sorted(names):
                file = os.path.join(where, name)  # noqa: PTH118 - hundreds of them, and pathlib is slow
                if os.path.splitext(name)[1].lower() in _SUFFIXES and file not in seen:  # noqa: PTH122
                    seen.add(file)
                    yield Path(file)


def _faces(file: Path) -> Iterator[MachineFont]:
    """The faces of a file, from its tables name, OS/2 and fvar (OpenType 1.9)."""
    with open_regular(file) as stream:
        if os.fstat(stream.fileno()).st_size > _LARGEST:
            return
        starts = [0]
        if stream.read(4) == b"ttcf":
            stream.seek(8)
            (count,) = struct.unpack(">I", stream.read(4))
            starts = list(struct.unpack(f">{min(count, _MOST_IN_ONE)}I", stream.read(4 * min(count, _MOST_IN_ONE))))
        for index, start in enumerate(starts):
            stream.seek(start + 4)
            (count,) = struct.unpack(">H6x", stream.read(8))
            listed = stream.read(16 * min(count, _MOST_TABLES))
            tables = {tag: (at, size) for tag, _, at, size in struct.iter_unpack(">4sIII", listed)}
            if not _OUTLINES & tables.keys() or b"cmap" not in tables:
                continue

            def table(tag: bytes, places: dict[bytes, tuple[int, int]] = tables) -> bytes:
                at, size = places.get(tag, (0, 0))
                stream.seek(at)
                return stream.read(min(size, _LARGEST_TABLE))

            families = frozenset(_families(table(b"name")))
            if not families or any(_NO_LETTERS.search(family) for family in families):
                continue
            style = table(b"OS/2")
            weight, width, marks = (
                struct.unpack_from(">H", style, at)[0] if len(style) >= at + 2 else 0 for at in (4, 6, 62)
            )
            varies = b"wght" in table(b"fvar")
            yield MachineFont(file, index, families, weight or 400, width or 5, bool(marks & 0x201), varies)


def _families(names: bytes) -> Iterator[str]:
    """The family names (1 and 16) of a name table, in all languages."""
    _, count, storage = struct.unpack_from(">HHH", names)
    for number in range(count):
        platform, _, _, kind, size, at = struct.unpack_from(">6H", names, 6 + 12 * number)
        if kind in {1, 16}:
            text = names[storage + at : storage + at + size]
            yield plain_family(text.decode("mac_roman" if platform == 1 else "utf-16-be", "replace"))
