"""Edits of a pattern's notes as the page makes them: one value here, one line there, all else as it was written."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from math import hypot
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.container import OutOfOrderTableProxy
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, InlineTable, Table

from tiling.failures import InputUnfit, UsageWrong
from tiling.lengths import LengthUnclear, decimal_number, parse_length
from tiling.notes import CutAs, Wearer
from tiling.pattern import Role
from tiling.workroom.asked import Asked, asked

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

__all__ = ["edited"]

_SAME = 0.06
"""mm; two places so near are one: places are written in tenths of a mm."""


def edited(text: str, changes: Sequence[Any]) -> str:
    """The notes with changes made, in their order.

    A change is an object with a ``kind``:

    - ``piece``: ``id``, with any of ``title``, ``copies``, ``cut``, ``cloth``, ``interfacing``, ``lining``,
      ``allowance_mm``, and ``at`` [x, y], a place on its outline, by which it is found again;
    - ``line``: ``piece``, ``role``, ``name``, ``at``: what the line that passes there is;
    - ``no-line``: ``at``: nothing is said of that line any more;
    - ``seam``: ``first``, ``second`` (lists of ``piece.line``), ``name``, ``ease_mm``;
    - ``no-seam``: ``first``, ``second``: that seam is no more;
    - ``measures``: ``of`` (mm by name), the body it was drawn for;
    - ``title``: ``text``; ``wearer``: ``who``.

    Args:
        text: of the notes; empty for none yet.
        changes: as plain values.

    Raises:
        UsageWrong: a change can't be understood.
        InputUnfit: the notes are no TOML, or hold something else where a change belongs.
    """
    try:
        document = tomlkit.parse(text.removeprefix("\ufeff"))
    except (TOMLKitError, ValueError, RecursionError):
        raise InputUnfit("the notes can't be read as they stand; mend the file first.") from None
    for change in changes:
        with asked(change, "change") as said:
            kind = said.text("kind")
            if kind not in _KINDS:
                raise UsageWrong(f"change: there is no kind '{kind}'.")
            _KINDS[kind](document, said)
    return _spaced(tomlkit.dumps(document))


def _piece(document: TOMLDocument, said: Asked) -> None:
    ident = said.text("id")
    if not ident:
        raise UsageWrong("change: which piece is meant?")
    if (at := said.numbers("at", 2)) is not None:
        _point(document, at, {"piece": ident, "role": Role.CUTTING.value}, _is_outline)
    pieces = _table(document, "pieces")
    piece = _table(pieces, ident)
    for key in ("title", "cloth"):
        if key in said:
            piece[key] = said.text(key)
    if "cut" in said:
        piece["cut"] = said.choice("cut", CutAs, CutAs.SINGLE).value
    for key, least in (("copies", 1), ("interfacing", 0), ("lining", 0)):
        if (count := said.whole(key, least, 999)) is not None:
            piece[key] = count
    if (width := said.number("allowance_mm", 0.0, 500.0)) is not None:
        piece["seam-allowance"] = _length(width)


def _line(document: TOMLDocument, said: Asked) -> None:
    at = said.numbers("at", 2)
    if at is None:
        raise UsageWrong("change: which line is meant?")
    entry = {
        "piece": said.text("piece"),
        "role": said.choice("role", Role, Role.PLAIN).value,
        "name": said.text("name"),
    }
    if not any(entry.values()):
        raise UsageWrong("change: what is the line?")
    _point(document, at, entry, lambda table: not _is_outline(table))


def _no_line(document: TOMLDocument, said: Asked) -> None:
    at = said.numbers("at", 2)
    lines = _tables(document, "lines")
    for number in range(len(lines) - 1, -1, -1):
        if at is not None and _is_at(lines[number], at):
            del lines[number]
    if not lines:
        document.remove("lines")


def _seam(document: TOMLDocument, said: Asked) -> None:
    first, second = said.texts("first"), said.texts("second")
    if not first or not second:
        raise UsageWrong("change: a seam has two sides.")
    seams = _tables(document, "seams")
    entry = next((one for one in seams if _sides(one) == (first, second)), None)
    if entry is None:
        entry = tomlkit.table()
        seams.append(entry)
    entry["first"], entry["second"] = list(first), list(second)
    if name := said.text("name"):
        entry["name"] = name
    if (ease := said.number("ease_mm", -1000.0, 1000.0)) is not None:
        entry["ease"] = _length(ease)


def _no_seam(document: TOMLDocument, said: Asked) -> None:
    sides = said.texts("first"), said.texts("second")
    seams = _tables(document, "seams")
    for number in range(len(seams) - 1, -1, -1):
        if _sides(seams[number]) == sides:
            del seams[number]
    if not seams:
        document.remove("seams")


def _measures(document: TOMLDocument, said: Asked) -> None:
    table = _table(document, "drawn-for")
    for name, mm in said.lengths("of").items():
        table[name] = _length(mm)


def _title(document: TOMLDocument, said: Asked) -> None:
    document["title"] = said.text("text")


def _wearer(document: TOMLDocument, said: Asked) -> None:
    document["wearer"] = said.choice("who", Wearer, Wearer.ADULT).value


_KINDS: dict[str, Callable[[TOMLDocument, Asked], None]] = {
    "piece": _piece,
    "line": _line,
    "no-line": _no_line,
    "seam": _seam,
    "no-seam": _no_seam,
    "measures": _measures,
    "title": _title,
    "wearer": _wearer,
}


def _is_outline(table: Any) -> bool:
    """Whether an entry says of which piece an outline is; one of its edges may be named at the same place."""
    return bool(table.get("role") == Role.CUTTING.value and not table.get("name"))


def _point(document: TOMLDocument, at: Sequence[float], entry: dict[str, str], meant: Callable[[Any], bool]) -> None:
    """Say what the line at a place is, in the entry of that kind that points there if there is one."""
    lines = _tables(document, "lines")
    table = next((one for one in lines if _is_at(one, at) and meant(one)), None)
    if table is None:
        table = tomlkit.table()
        for key, value in entry.items():
            if value:
                table[key] = value
        table["at"] = [f"{decimal_number(part / 10, 2)}cm" for part in at]
        lines.append(table)
        return
    for key, value in entry.items():
        if value:
            table[key] = value
        elif key in table:
            del table[key]


def _is_at(line: Any, at: Sequence[float]) -> bool:
    place = line.get("at") if hasattr(line, "get") else None
    if not isinstance(place, list) or len(place) != 2:
        return False
    try:
        x, y = (parse_length(str(part)) for part in place)
    except LengthUnclear:
        return False
    return hypot(x - at[0], y - at[1]) <= _SAME


def _sides(seam: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    def side(key: str) -> tuple[str, ...]:
        value = seam.get(key) if hasattr(seam, "get") else None
        return tuple(str(one) for one in value) if isinstance(value, list) else (str(value),)

    return side("first"), side("second")


def _table(parent: Any, key: str) -> Any:
    if key not in parent:
        parent[key] = tomlkit.table(is_super_table=key == "pieces")
    found = parent[key]
    if not isinstance(found, Table | InlineTable | OutOfOrderTableProxy):
        raise InputUnfit(f"the notes have something else under '{key}'; mend the file first.")
    return found


def _tables(document: TOMLDocument, key: str) -> Any:
    if key not in document:
        document[key] = tomlkit.aot()
    found = document[key]
    if not isinstance(found, AoT):
        raise InputUnfit(f"the notes have something else under '{key}'; mend the file first.")
    return found


def _length(mm: float) -> str:
    return f"{decimal_number(mm, 2)}mm"


def _spaced(text: str) -> str:
    """The text with an empty line before every table, unless that would change what it says."""
    spaced = re.sub(r"(?m)(?<=\S\n)(?=\[)", "\n", text)
    return spaced if tomlkit.parse(spaced) == tomlkit.parse(text) else text
