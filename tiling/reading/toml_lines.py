"""On which line of a TOML file a key stands; the standard library's reader does not say."""

from __future__ import annotations

import re

__all__ = ["KeyPath", "TomlLines"]

KeyPath = tuple[str | int, ...]
"""Keys from the outside in; a number counts the tables of an array from 0."""

_TABLE = re.compile(r"\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(
    r"""\s*((?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+))*)\s*="""
)
_PART = re.compile(r""""((?:[^"\\]|\\.)*)"|'([^']*)'|([A-Za-z0-9_-]+)""")
_LONG = re.compile(r'"""|' + "'''")


class TomlLines:
    """The lines of a file that is known to be valid TOML."""

    def __init__(self, text: str) -> None:
        self._lines: dict[KeyPath, int] = {}
        self._scan(text)

    def line(self, path: KeyPath) -> int:
        """The line (from 1) of the key, or of the innermost table around it that was found."""
        for length in range(len(path), 0, -1):
            found = self._lines.get(path[:length])
            if found is not None:
                return found
        return 1

    def _scan(self, text: str) -> None:
        table: KeyPath = ()
        counts: dict[KeyPath, int] = {}
        until = ""
        for number, line in enumerate(text.splitlines(), 1):
            if until:
                if until in line:
                    until = ""
                continue
            head = _TABLE.match(line)
            if head and _KEY.match(line) is None:
                table = _resolved(_parts(head[2]), counts, new=head[1] == "[[")
                self._note(table, number)
                continue
            key = _KEY.match(line)
            if key is not None:
                self._note((*table, *_parts(key[1])), number)
            marks = _LONG.findall(line)
            if len(marks) % 2:
                until = marks[-1]

    def _note(self, path: KeyPath, number: int) -> None:
        for length in range(1, len(path) + 1):
            self._lines.setdefault(path[:length], number)


def _parts(text: str) -> KeyPath:
    return tuple(double or single or bare for double, single, bare in _PART.findall(text))


def _resolved(parts: KeyPath, counts: dict[KeyPath, int], *, new: bool) -> KeyPath:
    """The path with the number of the current table of every array on the way."""
    path: KeyPath = ()
    for i, part in enumerate(parts):
        path = (*path, part)
        if new and i == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path
