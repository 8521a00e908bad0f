"""The pattern's notes: a TOML file beside the drawing, read strictly.

Every refusal names the file, the line, the key, and the nearest right word.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection
from dataclasses import replace
from enum import StrEnum
from typing import Any

from tinycss2.color3 import RGBA, parse_color

from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.lengths import is_unit
from tiling.notes import (
    RULE_NAME,
    RULE_WORDS,
    CutAs,
    DrawnLine,
    Notes,
    NotionNote,
    PieceNote,
    PointedLine,
    SeamNote,
    StepNote,
    Wearer,
)
from tiling.pattern import Role
from tiling.reading.notes_tables import NotesBook, NotesTable, plain_text
from tiling.reading.toml_lines import TomlLines
from tiling.shapes import Point

__all__ = ["read_notes"]

_LARGEST = 1024 * 1024
_DEEP_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){50}""")
"""The library needs room that grows with the square of a dotted key's parts."""


class WideEnd(StrEnum):
    """Which end of a grading line opens fully."""

    START = "start"
    END = "end"


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
    return _notes(NotesTable(NotesBook(file.name, TomlLines(text)), (), content), text)


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
    words = plain_text(re.sub(r"\s*\(at .*\)$", "", fault))[:120]
    return f"{file}, line {line}: is not valid TOML ({words}); texts and lengths need quotes."


def _notes(top: NotesTable, text: str) -> Notes:
    title, summary = top.text("title"), top.text("summary")
    wearer, garment = top.choice("wearer", Wearer), top.text("garment")
    drawn_for, ease = top.lengths("drawn-for", least=0.0), top.lengths("ease")
    gained = top.pairs_of_lengths("gained")
    pieces = top.table("pieces")
    rules = top.table("rules")
    lines = [_line(table) for table in top.tables("lines")]
    notes = Notes(
        title=title,
        summary=summary,
        wearer=wearer or Wearer.ADULT,
        garment=garment,
        drawn_for=drawn_for,
        ease=ease,
        gained=gained,
        pieces={plain_text(ident): _piece(plain_text(ident), pieces.table(ident)) for ident in pieces.content},
        seams=tuple(_seam(table) for table in top.tables("seams")),
        notions=tuple(_notion(table) for table in top.tables("notions")),
        steps=tuple(_step(table) for table in top.tables("steps")),
        lines=tuple(line for line in lines if isinstance(line, DrawnLine)),
        pointed=tuple(line for line in lines if isinstance(line, PointedLine)),
        rules={plain_text(name): _rule(rules, name, drawn_for) for name in rules.content},
        file=top.book.file,
        text=text,
        outdated=tuple(top.book.outdated),
    )
    top.done()
    return notes


def _rule(rules: NotesTable, name: str, measures: Collection[str]) -> str:
    """The text of a rule under a name that other rules can use."""
    plain = plain_text(name)
    if plain.casefold() in {measure.casefold() for measure in measures}:
        rules.refuse(name, "is the name of a body measure in [drawn-for] too; give the rule another name.")
    if plain in RULE_WORDS or is_unit(plain):
        rules.refuse(name, f"'{plain}' has a meaning of its own in rules; give the rule another name.")
    if not RULE_NAME.fullmatch(plain):
        rules.refuse(
            name,
            f"no rule can use the name '{plain}'; write it as words joined with hyphens, each beginning with a letter, "
            "such as cord-end.",
        )
    return rules.rule(name)


def _piece(ident: str, table: NotesTable) -> PieceNote:
    note = PieceNote(
        ident,
        table.text("title"),
        table.whole("copies", 0, 1),
        table.choice("cut", CutAs),
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


def _seam(table: NotesTable) -> SeamNote:
    name = table.text("name")
    first, second = table.refs("first"), table.refs("second")
    seam = SeamNote(name or f"{first[0]} to {second[0]}", first, second, table.length("ease") or 0.0)
    table.done()
    return seam


def _notion(table: NotesTable) -> NotionNote:
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


def _step(table: NotesTable) -> StepNote:
    step = StepNote(table.text("title"), table.paragraphs("text"), table.text("picture"))
    table.done()
    if step == StepNote():
        table.refuse("title", 'is missing; a step has at least a title or a text, such as title = "Shoulders".')
    return step


def _line(table: NotesTable) -> DrawnLine | PointedLine:
    piece, name = table.text("piece"), table.text("name")
    role = table.choice("role", Role)
    if "points" not in table.content and {"at", "layer", "colour"} & set(table.content):
        return _pointed(table, PointedLine(piece, role.value if role is not None else "", name))
    if role is None:
        table.refuse("role", f"is missing; say what the line is: {', '.join(r.value for r in Role if r.value)}.")
    points = table.value("points")
    if not isinstance(points, list) or not 2 <= len(points) <= 10_000:
        table.refuse("points", 'must list at least two points, such as [["10cm", "20cm"], ["30cm", "20cm"]].')
    drawn = DrawnLine(piece, role.value, name, tuple(_point(table, point) for point in points))
    table.done()
    return drawn


def _pointed(table: NotesTable, line: PointedLine) -> PointedLine:
    """A line that is drawn, by a place on it, or by its layer and colour."""
    at, layer, colour = table.value("at"), table.text("layer"), table.text("colour")
    if at is not None and (layer or colour):
        table.refuse("at", "points at one line; a layer or a colour chooses many: leave one of them out.")
    if not line.piece and not line.role:
        table.refuse("role", "is missing, and so is the piece; say what the line is.")
    if at is not None and not line.role:
        table.refuse("role", "is missing; say what the line is: cutting-line for the outline of a piece.")
    rgb = parse_color(colour) if colour else None
    if colour and not isinstance(rgb, RGBA):
        table.refuse("colour", 'must be a colour such as "#cc0000" or "red".')
    shown = "#" + "".join(f"{round(part * 255):02x}" for part in rgb[:3]) if isinstance(rgb, RGBA) else ""
    table.done()
    place = None if at is None else _point(table, at, "at")
    where = table.book.place((*table.path, "at" if at is not None else "layer" if layer else "colour"))
    return replace(line, at=place, layer=layer, colour=shown, where=where)


def _point(table: NotesTable, point: Any, key: str = "points") -> Point:
    if not isinstance(point, list) or len(point) != 2:
        table.refuse(key, 'a place is two lengths, from the left and from the top, such as ["10cm", "20cm"].')
    return Point(table.as_length(key, point[0]), table.as_length(key, point[1]))
