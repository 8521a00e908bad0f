"""What a printed file knows: its plan and the drawing's marks as they were printed, as plain values."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tiling.pattern import Label, Line, Mark, Picture, Tag
from tiling.planning.plan import PrintPlan
from tiling.shapes import Box, Path, Point
from tiling.style import Colour

__all__ = [
    "STEP",
    "UNSEEN",
    "Cross",
    "MarkKind",
    "PrintedCheck",
    "PrintedRecord",
    "RecordedMark",
    "look_of",
    "recorded",
]

STEP = 0.02
"""mm; coordinates are kept as whole multiples."""
UNSEEN = "unseen"
"""The look of a line that leaves no ink."""


class MarkKind(StrEnum):
    """What kind of mark it was."""

    LINE = "line"
    TEXT = "text"
    PICTURE = "picture"


@dataclass(frozen=True, slots=True, eq=False)
class RecordedMark:
    """One mark as it was printed.

    Attributes:
        kind: line, text or picture.
        tag: piece, role, name and layer.
        look: how it is drawn, as `look_of` puts it; equal looks print alike.
        path: the line, or the outline of the text's or picture's place, in whole `STEP`s of mm.
        clip: what of it is drawn, where it is clipped.
        content: a digest of what a text says or a picture shows; empty for lines.
    """

    kind: MarkKind
    tag: Tag
    look: str
    path: Path
    clip: Path | None = None
    content: str = ""


def look_of(mark: Mark) -> str:
    """How a mark is drawn, without where: widths and sizes to 0.01 mm, colours, dashes, font."""
    if isinstance(mark, Picture):
        return f"picture {mark.opacity:.3f}"
    if isinstance(mark, Label):
        return f"text {mark.font} {mark.size:.2f} {_hex(mark.colour)} {mark.opacity:.3f}"
    style, parts = mark.style, []
    if (stroke := style.stroke) is not None:
        parts.append(f"stroke {stroke.width:.2f} {_hex(stroke.colour)} {stroke.opacity:.3f} {stroke.cap}{stroke.join}")
        if stroke.dashes:
            parts.append("dashes " + " ".join(f"{dash:.2f}" for dash in stroke.dashes))
    if style.fill is not None:
        parts.append(f"fill {_hex(style.fill)} {style.fill_opacity:.3f} {'even-odd' if style.even_odd else 'wound'}")
    return ", ".join(parts) or UNSEEN


def recorded(marks: Iterable[Mark]) -> list[RecordedMark]:
    """The marks as a record keeps them, with coordinates not yet rounded."""
    result = []
    looks: dict[int, str] = {}
    for mark in marks:
        if isinstance(mark, Line):
            look = looks.get(id(mark.style))
            if look is None:
                look = looks[id(mark.style)] = look_of(mark)
            result.append(RecordedMark(MarkKind.LINE, mark.tag, look, mark.path, mark.clip))
            continue
        if isinstance(mark, Label):
            kind, box = MarkKind.TEXT, Box(0.0, -mark.size, max(mark.advance, 0.1), 0.0)
            content = mark.text.encode("utf-8", "surrogatepass")
        else:
            kind, box, content = MarkKind.PICTURE, Box(0.0, 0.0, 1.0, 1.0), mark.data
        digest = hashlib.sha256(content).hexdigest()[:16]
        place = Path.rectangle(box).moved(mark.at)
        result.append(RecordedMark(kind, mark.tag, look_of(mark), place, mark.clip, digest))
    return result


@dataclass(frozen=True, slots=True)
class Cross:
    """A cross to measure from: its number, and where it lies on the layout."""

    number: int
    at: Point


@dataclass(frozen=True, slots=True)
class PrintedCheck:
    """A check line whose crosses stand on the taped sheet, `start` on the tile `from_tile` and `end` on `to_tile`."""

    what: str
    start: Cross
    end: Cross
    from_tile: str
    to_tile: str


@dataclass(frozen=True, slots=True, eq=False)
class PrintedRecord:
    """What a printed file knows.

    Attributes:
        plan: tiles of the whole taped sheet; its `kept` ones came with an earlier file.
        marks: the drawing as laid out, to 0.02 mm.
        titles: of the pieces, by id, in the drawing's order.
        printing: the number of this file's printing, from 1.
        printings: for each tile's name, the printing it was last printed in.
        checks: the check lines of the taped sheet; None where an earlier edition printed it, which didn't keep them.
    """

    plan: PrintPlan
    marks: tuple[RecordedMark, ...]
    titles: Mapping[str, str] = field(default_factory=dict)
    printing: int = 1
    printings: Mapping[str, int] = field(default_factory=dict)
    checks: tuple[PrintedCheck, ...] | None = None


def _hex(colour: Colour) -> str:
    return "#" + "".join(
        f"{round(255 * min(max(part, 0.0), 1.0)):02x}" for part in (colour.red, colour.green, colour.blue)
    )
