"""The notes of a pattern for its altered drawing: the same text, with the body measures it now fits."""

from __future__ import annotations

import re
from collections.abc import Mapping

__all__ = ["notes_for_altered"]

_TABLE = re.compile(r"^\s*\[\s*(?P<name>[^\[\]]+?)\s*\]\s*(#.*)?$")
_VALUE = re.compile(
    r"""^(?P<start>\s*(?P<quote>["']?)(?P<key>[\w-]+)(?P=quote)\s*=\s*)(?P<value>[^#\n]*?)(?P<rest>\s*(\#.*)?)$"""
)


def notes_for_altered(text: str, measures: Mapping[str, float]) -> str:
    """The TOML text with these measures (mm) in its ``[drawn-for]`` table; everything else as it was written."""
    if not measures:
        return text
    lines, table = [], ""
    for line in text.split("\n"):
        head = _TABLE.match(line)
        if head:
            table = head["name"].strip("\"'")
        found = _VALUE.match(line) if table == "drawn-for" else None
        if found and found["key"] in measures:
            line = f'{found["start"]}"{measures[found["key"]]:g}mm"{found["rest"]}'  # noqa: PLW2901
        lines.append(line)
    return "\n".join(lines)
