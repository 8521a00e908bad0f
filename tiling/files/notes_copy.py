"""The notes of a pattern for its altered drawing: the same text, with the body measures it now fits.

Places that point at lines have moved with them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit

from tiling.lengths import LengthUnclear, decimal_number, parse_length

__all__ = ["notes_for_altered"]

_MEASURES, _GAINED = "drawn-for", "gained"
_AS_WRITTEN = 0.05
"""mm; a place that moved less stays as it is written."""
_SAME = 0.0005
"""mm; a measure that differs by less is written as it was."""


def notes_for_altered(
    text: str,
    measures: Mapping[str, float],
    gained: Mapping[str, tuple[float, float]] | None = None,
    places: Sequence[tuple[float, float]] = (),
) -> str:
    """The TOML text with these measures (mm) in its ``drawn-for`` table; everything else as it was written.

    Args:
        text: of the notes.
        measures: by their names in that table; those that are as they stand there stay as they are written.
        gained: the whole ``gained`` table, mm at the wide and at the narrow ends.
        places: of those ``lines`` that have a place (``at``), in their order, mm; none leaves all as they are.

    The text is read back: nothing but those may differ.

    Raises:
        ValueError: the text is no TOML, it has no ``drawn-for``, or it does not read back so.
    """
    text_read = text.removeprefix("\ufeff")
    wanted: dict[str, Any] = tomllib.loads(text_read)
    here = wanted.get(_MEASURES, {})
    changed = {name: _said(mm) for name, mm in measures.items() if not _is_said(here.get(name), mm)}
    sums = {name: [_said(mm) for mm in pair] for name, pair in (gained or {}).items()}
    moved = _moved([line for line in wanted.get("lines", []) if "at" in line], places)
    if not changed and not moved and sums == wanted.get(_GAINED, {}):
        return text
    document = tomlkit.parse(text_read)
    for name, said in changed.items():
        document[_MEASURES][name] = said
        wanted[_MEASURES][name] = said
    if sums != wanted.get(_GAINED, {}):
        wanted[_GAINED] = sums
        document[_GAINED] = sums
        if not sums:
            del wanted[_GAINED], document[_GAINED]
    for number, at in moved.items():
        for lines in (wanted, document):
            [line for line in lines["lines"] if "at" in line][number]["at"] = at
    copy = tomlkit.dumps(document)
    if tomllib.loads(copy) != wanted:
        raise ValueError("the notes don't read back as they were changed")
    return copy


def _moved(lines: Sequence[Mapping[str, Any]], places: Sequence[tuple[float, float]]) -> dict[int, list[str]]:
    """What is to be written for those places that are not where they were, by their number."""
    return {
        number: [f"{decimal_number(mm / 10.0, 2)}cm" for mm in place]
        for number, (line, place) in enumerate(zip(lines, places, strict=bool(places)))
        if any(abs(parse_length(said) - mm) > _AS_WRITTEN for said, mm in zip(line["at"], place, strict=True))
    }


def _said(mm: float) -> str:
    return f"{decimal_number(mm, 3)}mm"


def _is_said(said: Any, mm: float) -> bool:
    try:
        return isinstance(said, str) and abs(parse_length(said) - mm) < _SAME
    except LengthUnclear:
        return False
