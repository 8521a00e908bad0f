"""The pattern's notes: a TOML file beside the drawing, read strictly.

Every refusal names the file, the line, the key, and the nearest right word.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any, NoReturn, TypeVar

from calibrate.spelling import closest_word
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.lengths import LengthUnclear, parse_length, parse_percent
from tiling.notes import CutAs, DrawnLine, LineRef, Notes, NotionNote, PieceNote, SeamNote, Wearer
from tiling.pattern import Pattern, Role
from tiling.reading.toml_lines import KeyPath, TomlLines
from tiling.shapes import Point

__all__ = ["check_notes", "read_notes"]

_LARGEST = 1024 * 1024
_DEEP_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){50}""")
"""The library needs room that grows with the square of a dotted key's parts."""
_UNSEEN = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_RENAMED = {"interfacing": "interface"}
"""Keys by their names, and what they were called before."""
_Choice = TypeVar("_Choice", bound=StrEnum)


class WideEnd(StrEnum):
    """Which end of a grading line opens fully."""

    START = "start"
    END = "end"


@dataclass(frozen=True, slots=True)
class _Book:
    """The file being read, for messages."""

    file: str
    lines: TomlLines
    outdated: list[tuple[str, str]] = field(default_factory=list)

    def refuse(self, path: KeyPath, words: str) -> NoReturn:
        """Raise InputUnfit for the key at `path`."""
        raise InputUnfit(f"{self.place(path)}: {words}")

    def place(self, path: KeyPath) -> str:
        """File, line and key, as messages begin."""
        shown = ".".join(_plain(str(part)) for part in path if isinstance(part, str))
        return f"{self.file}, line {self.lines.line(path)}: {shown}"


class _Table:
    """One table of the file; every key asked for counts as known."""

    def __init__(self, book: _Book, path: KeyPath, content: Any) -> None:
        if not isinstance(content, Mapping):
            book.refuse(path, "must be a table of keys and values.")
        self.book = book
        self.path = path
        self.content: Mapping[str, Any] = content
        self._asked: list[str] = []

    def refuse(self, key: str, words: str) -> NoReturn:
        """Raise InputUnfit for one of this table's keys."""
        self.book.refuse((*self.path, key), words)

    def done(self) -> None:
        """Refuse any key that nobody asked for."""
        for key in self.content:
            if key not in self._asked and key not in (_RENAMED.get(asked) for asked in self._asked):
                near = _nearest(key, self._asked)
                self.refuse(key, f"unknown key '{_plain(key)}'{near} Known here: {', '.join(self._asked)}.")

    def value(self, key: str) -> Any:
        """The value as written, None when the key is missing; a key may stand under the name it had before."""
        self._asked.append(key)
        old = _RENAMED.get(key)
        if old is None or old not in self.content:
            return self.content.get(key)
        if key in self.content:
            self.refuse(old, f"is what {key} was called; keep only one of them.")
        self.book.outdated.append((self.book.place((*self.path, old)), key))
        return self.content[old]

    def text(self, key: str, default: str = "") -> str:
        """A string."""
        found = self.value(key)
        if found is None:
            return default
        if not isinstance(found, str):
            self.refuse(key, f'must be text in quotes, such as {key} = "…".')
        return _plain(found)

    def needed(self, key: str) -> str:
        """A string that must be there."""
        found = self.text(key)
        if not found:
            self.refuse(key, f'is missing; add {key} = "…".')
        return found

    def rule(self, key: str) -> str:
        """A rule that must be there: a string, or a plain number."""
        found = self.content.get(key)
        if isinstance(found, int | float) and not isinstance(found, bool):
            self._asked.append(key)
            return repr(found)
        return self.needed(key)

    def whole(self, key: str, default: int, least: int) -> int:
        """A whole number from `least` to 1000."""
        found = self.value(key)
        if found is None:
            return default
        if not isinstance(found, int) or isinstance(found, bool) or not least <= found <= 1000:
            self.refuse(key, f"must be a whole number from {least} to 1000.")
        return found

    def length(self, key: str) -> float | None:
        """A length in mm."""
        found = self.value(key)
        return None if found is None else self.as_length(key, found)

    def as_length(self, key: str, found: Any) -> float:
        """A value of this table as a length in mm."""
        return self._measured(key, found, parse_length, "12mm")

    def share(self, key: str) -> float | None:
        """A share from 0 to 1, written in per cent."""
        found = self.value(key)
        if found is None:
            return None
        share = self._measured(key, found, parse_percent, "50%")
        if not 0 <= share <= 1:
            self.refuse(key, "must lie between 0% and 100%.")
        return share

    def _measured(self, key: str, found: Any, parse: Callable[[str], float], example: str) -> float:
        if not isinstance(found, str):
            self.refuse(key, f'needs its unit and quotes, such as {key} = "{example}".')
        try:
            return parse(found)
        except LengthUnclear as unclear:
            self.refuse(key, str(unclear))

    def choice(self, key: str, kind: type[_Choice]) -> _Choice | None:
        """One of an enumeration's words."""
        word = self.text(key)
        if not word:
            return None
        try:
            return kind(word)
        except ValueError:
            words = [member.value for member in kind if member.value]
            self.refuse(key, f"'{word}' is not one of {', '.join(words)}{_nearest(word, words)}")

    def table(self, key: str) -> _Table:
        """A table inside this one, empty when missing."""
        found = self.value(key)
        return _Table(self.book, (*self.path, key), {} if found is None else found)

    def tables(self, key: str) -> list[_Table]:
        """The tables of an array of tables."""
        found = self.value(key)
        if found is None:
            return []
        if not isinstance(found, list):
            self.refuse(key, f"must be written as [[{key}]].")
        return [_Table(self.book, (*self.path, key, i), content) for i, content in enumerate(found)]

    def lengths(self, key: str, *, least: float | None = None) -> dict[str, float]:
        """A table of lengths by free names."""
        inner = self.table(key)
        values = {_plain(name): inner.as_length(name, value) for name, value in inner.content.items()}
        for name, value in values.items():
            if least is not None and value < least:
                inner.refuse(name, "must not be negative.")
        return values

    def refs(self, key: str) -> tuple[LineRef, ...]:
        """Lines written ``piece.line``, one or a list."""
        found = self.value(key)
        words = found if isinstance(found, list) else [found]
        if not words or not all(isinstance(word, str) for word in words):
            self.refuse(key, f'must name a line as "piece.line", or several: {key} = ["front.side", "front.hem"].')
        return tuple(self._ref(key, word) for word in words)

    def _ref(self, key: str, word: str) -> LineRef:
        piece, dot, name = _plain(word).rpartition(".")
        if not dot or not piece or not name:
            self.refuse(key, f"'{_plain(word)}' must be written as piece.line, such as front.side.")
        return LineRef(piece, name)


def read_notes(file: InputFile) -> Notes:
    """Read and check one notes file.

    Raises:
        InputUnfit: it is larger than 1 MB, no TOML, or holds an unknown key or a wrong value.
    """
    text = _text_of(file)
    too_deep = f"{file.name}: its values are nested too deeply; write the notes as in the manual."
    if _DEEP_KEY.search(text):
        raise InputUnfit(too_deep)
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise InputUnfit(_syntax(file.name, text, str(fault))) from None
    except RecursionError:
        raise InputUnfit(too_deep) from None
    except ValueError:
        raise InputUnfit(f"{file.name}: holds a number of too many digits; write lengths with their unit.") from None
    return _notes(_Table(_Book(file.name, TomlLines(text)), (), content), text)


def _text_of(file: InputFile) -> str:
    data = file.content
    if len(data) > _LARGEST:
        raise InputUnfit(
            f"{file.name}: is larger than 1 MB, too large for a pattern's notes; check that it is the right file."
        )
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise InputUnfit(f"{file.name}, line {line}: is not written in UTF-8; save the notes as UTF-8.") from None


def _syntax(file: str, text: str, fault: str) -> str:
    found = re.search(r"\(at line (\d+), column \d+\)", fault)
    line = int(found[1]) if found else text.count("\n") + 1
    words = _plain(re.sub(r"\s*\(at .*\)$", "", fault))[:120]
    return f"{file}, line {line}: is not valid TOML ({words}); texts and lengths need quotes."


def _notes(top: _Table, text: str) -> Notes:
    title, summary = top.text("title"), top.text("summary")
    wearer, garment = top.choice("wearer", Wearer), top.text("garment")
    drawn_for, ease = top.lengths("drawn-for", least=0.0), top.lengths("ease")
    pieces = top.table("pieces")
    rules = top.table("rules")
    notes = Notes(
        title=title,
        summary=summary,
        wearer=wearer or Wearer.ADULT,
        garment=garment,
        drawn_for=drawn_for,
        ease=ease,
        pieces={_plain(ident): _piece(_plain(ident), pieces.table(ident)) for ident in pieces.content},
        seams=tuple(_seam(table) for table in top.tables("seams")),
        notions=tuple(_notion(table) for table in top.tables("notions")),
        lines=tuple(_line(table) for table in top.tables("lines")),
        rules={_plain(name): rules.rule(name) for name in rules.content},
        file=top.book.file,
        text=text,
        outdated=tuple(top.book.outdated),
    )
    top.done()
    return notes


def _piece(ident: str, table: _Table) -> PieceNote:
    note = PieceNote(
        ident,
        table.text("title"),
        table.whole("copies", 1, 1),
        table.choice("cut", CutAs) or CutAs.SINGLE,
        table.text("cloth", "main"),
        table.whole("interfacing", 0, 0),
        table.whole("lining", 0, 0),
        table.length("seam-allowance"),
        table.lengths("allowances", least=0.0),
        table.share("taper"),
        table.choice("wide-end", WideEnd) or "",
    )
    table.done()
    if note.seam_allowance is not None and note.seam_allowance < 0:
        table.refuse("seam-allowance", "must not be negative.")
    return note


def _seam(table: _Table) -> SeamNote:
    name = table.text("name")
    first, second = table.refs("first"), table.refs("second")
    seam = SeamNote(name or f"{first[0]} to {second[0]}", first, second, table.length("ease") or 0.0)
    table.done()
    return seam


def _notion(table: _Table) -> NotionNote:
    notion = NotionNote(
        name=table.needed("name"),
        rule=table.rule("rule"),
        count=table.whole("count", 1, 1),
        step=table.length("step") or 0.0,
        kind=table.text("kind"),
        place=table.text("place"),
        channel=table.text("channel"),
        comment=table.text("comment"),
    )
    table.done()
    if notion.step < 0:
        table.refuse("step", "must not be negative.")
    return notion


def _line(table: _Table) -> DrawnLine:
    piece, name = table.text("piece"), table.text("name")
    role = table.choice("role", Role)
    if role is None:
        table.refuse("role", f"is missing; say what the line is: {', '.join(r.value for r in Role if r.value)}.")
    points = table.value("points")
    if not isinstance(points, list) or not 2 <= len(points) <= 10_000:
        table.refuse("points", 'must list at least two points, such as [["10cm", "20cm"], ["30cm", "20cm"]].')
    drawn = DrawnLine(piece, role.value, name, tuple(_point(table, point) for point in points))
    table.done()
    return drawn


def _point(table: _Table, point: Any) -> Point:
    if not isinstance(point, list) or len(point) != 2:
        table.refuse("points", 'each point is two lengths, such as ["10cm", "20cm"].')
    return Point(table.as_length("points", point[0]), table.as_length("points", point[1]))


def check_notes(notes: Notes, pattern: Pattern, drawn_in: Sequence[DrawnLine]) -> Notes:
    """Compare what the notes name with what the drawing holds.

    Args:
        notes: as read from one file.
        pattern: all that was drawn.
        drawn_in: the lines that the notes of all drawings add to it.

    Returns:
        The notes with every ``piece.line`` parted as the drawing has it, where either name holds dots.

    Raises:
        InputUnfit: a piece or a line is named that is not there; the message says where and what comes nearest.
    """
    book = _Book(notes.file, TomlLines(notes.text))
    drawn = [LineRef(mark.tag.piece, mark.tag.name) for mark in pattern.lines()]
    drawn += [LineRef(line.piece, line.name) for line in drawn_in]
    pieces = list(dict.fromkeys([*(p.ident for p in pattern.pieces), *(ref.piece for ref in drawn if ref.piece)]))
    if pieces:
        for ident in notes.pieces:
            if ident not in pieces:
                words = f"the drawing has no piece '{ident}'{_nearest(ident, pieces)}"
                book.refuse(("pieces", ident), f"{words} There are: {', '.join(pieces)}.")
    known = {str(ref): ref for ref in reversed(drawn)}
    seams = []
    for i, seam in enumerate(notes.seams):
        for key, refs in (("first", seam.first), ("second", seam.second)):
            for ref in refs:
                if str(ref) not in known:
                    _refuse_ref(book, ("seams", i, key), ref, drawn)
        first, second = (tuple(known[str(ref)] for ref in side) for side in (seam.first, seam.second))
        seams.append(replace(seam, first=first, second=second))
    return replace(notes, seams=tuple(seams))


def _refuse_ref(book: _Book, path: KeyPath, ref: LineRef, drawn: Collection[LineRef]) -> NoReturn:
    pieces = sorted({one.piece for one in drawn if one.piece})
    if ref.piece not in pieces:
        book.refuse(path, f"the drawing has no piece '{ref.piece}'{_nearest(ref.piece, pieces)}")
    names = sorted({one.name for one in drawn if one.piece == ref.piece and one.name})
    book.refuse(path, f"the piece '{ref.piece}' has no line named '{ref.name}'{_nearest(ref.name, names)}")


def _nearest(word: str, known: Collection[str]) -> str:
    """``; the nearest is 'x'.``, or that there are none."""
    close = closest_word(word, known, least=0.0)
    return "; there are none." if close is None else f"; the nearest is '{close}'."


def _plain(text: str) -> str:
    """Text without characters that steer a terminal or turn the writing round."""
    return " ".join("".join(" " if ord(c) < 32 or 127 <= ord(c) < 160 else c for c in _UNSEEN.sub("", text)).split())
