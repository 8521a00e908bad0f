"""The notes of a pattern for its altered drawing: the same text, with the body measures it now fits."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

import tomlkit

from tiling.lengths import decimal_number

__all__ = ["notes_for_altered"]

_TABLE = "drawn-for"


def notes_for_altered(text: str, measures: Mapping[str, float]) -> str:
    """The TOML text with these measures (mm) in its ``drawn-for`` table; everything else as it was written.

    The text is read back: nothing but those measures may differ.

    Raises:
        ValueError: the text is no TOML, it has no ``drawn-for``, or it does not read back so.
    """
    if not measures:
        return text
    document = tomlkit.parse(text.removeprefix("\ufeff"))
    table = document[_TABLE]
    wanted = tomllib.loads(text.removeprefix("\ufeff"))
    for name, mm in measures.items():
        said = f"{decimal_number(mm, 3)}mm"
        table[name] = said
        wanted[_TABLE][name] = said
    changed = tomlkit.dumps(document)
    if tomllib.loads(changed) != wanted:
        raise ValueError("the notes don't read back as they were changed")
    return changed
