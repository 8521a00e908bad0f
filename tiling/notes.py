"""What a drawing cannot say: the pattern's notes, as read from the TOML file beside it.

Only values live here; `tiling.reading.notes` reads and checks the file. All lengths are mm.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tiling.shapes import Point

__all__ = [
    "RULE_NAME",
    "RULE_WORDS",
    "CutAs",
    "DrawnLine",
    "LineRef",
    "Notes",
    "NotionNote",
    "PieceNote",
    "SeamNote",
    "StepNote",
    "Wearer",
]


RULE_NAME = re.compile(r"[^\W\d]\w*(?:-[^\W\d]\w*)*")
"""A name that a rule may use: words of letters and digits, joined with hyphens, each beginning with a letter."""

RULE_WORDS = frozenset({"length", "min", "max", "up"})
"""Words that mean something else in a rule."""

_CORNER = Point(0.0, 0.0)


class CutAs(StrEnum):
    """How a piece is cut from cloth."""

    SINGLE = "single"
    PAIR = "pair"
    FOLD = "fold"


class Wearer(StrEnum):
    """Whom the garment is for; decides which cautions are shown."""

    ADULT = "adult"
    CHILD = "child"


@dataclass(frozen=True, slots=True)
class LineRef:
    """A named line of a piece, written ``piece.name`` in the notes."""

    piece: str
    name: str

    def __str__(self) -> str:
        return f"{self.piece}.{self.name}"


@dataclass(frozen=True, slots=True)
class PieceNote:
    """One ``[pieces.ID]`` table.

    `copies` is how many times the paper piece is laid on cloth: a pair of sleeves is ``copies = 2, cut = "pair"``
    (the second mirrored); one front on the fold is ``copies = 1, cut = "fold"``. 0 and None: the notes don't say;
    `Pattern.note` has what the drawing says then.
    `interfacing` and `lining` are how many are cut from each of those besides.
    `taper` is the share (0..1) of a grading line's opening left at its narrow end; None leaves it to the command.
    `seam_allowance` is the distance from cutting to stitching line all round, `allowances` the exceptions by the name
    of a cutting line (``hem = "40mm"``); both in mm, used only where the drawing has no stitching line.
    """

    ident: str
    title: str = ""
    copies: int = 0
    cut: CutAs | None = None
    cloth: str = "main"
    interfacing: int = 0
    lining: int = 0
    seam_allowance: float | None = None
    allowances: Mapping[str, float] = field(default_factory=dict)
    taper: float | None = None
    wide_end: str = ""


@dataclass(frozen=True, slots=True)
class SeamNote:
    """One ``[[seams]]`` table: lines sewn to each other; several refs on one side are sewn end to end.

    `ease` is how much longer `first` is than `second`, in mm, where that is meant (a sleeve cap in its armhole).
    """

    name: str
    first: tuple[LineRef, ...]
    second: tuple[LineRef, ...]
    ease: float = 0.0


@dataclass(frozen=True, slots=True)
class NotionNote:
    """One ``[[notions]]`` table: something to buy, with the rule for its length in mm (or its number).

    `rule` is an expression in the small grammar of `tiling.cloth.rules`; `step` is the buying step in mm (0: none).
    `kind` says what it is (``elastic``, ``cord``, ``drawstring``, ``tape``, ``button`` …) and `place` where it sits
    (``neck``, ``hood``, ``waist``, ``hem``, ``sleeve``, ``back``): cautions depend on both. `channel` is a rule for
    the length of the casing a cord runs in; what is longer than it hangs out at the ends.
    """

    name: str
    rule: str
    count: int = 1
    step: float = 0.0
    kind: str = ""
    place: str = ""
    channel: str = ""
    comment: str = ""


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """One ``[[lines]]`` table: a line the drawing has no role for (a PDF's grading line, say), through `points`.

    The points are mm in the notes' own drawing as it stands; that is brought to its true size by `scale`, and its
    corner lies at `origin` where several are one layout.
    """

    piece: str
    role: str
    name: str
    points: tuple[Point, ...]
    origin: Point = _CORNER
    scale: float = 1.0

    @property
    def laid(self) -> tuple[Point, ...]:
        """The points on the layout."""
        return tuple(point * self.scale + self.origin for point in self.points)


@dataclass(frozen=True, slots=True)
class StepNote:
    """One ``[[steps]]`` table: what to sew next, in paragraphs parted by line ends.

    `picture` names a file in the drawing's folder.
    """

    title: str = ""
    text: str = ""
    picture: str = ""


@dataclass(frozen=True, slots=True)
class PointedLine:
    """One ``[[lines]]`` table that says what lines of the drawing are: the one at a place, or all of a layer or colour.

    Attributes:
        piece, role, name: what they are; empty where the notes don't say.
        at: a place on the line, mm on the notes' own drawing; None where `layer` or `colour` choose lines.
        layer: the name of their layer.
        colour: of their stroke, as ``#rrggbb``.
        where: file, line and key, for messages.
        origin, scale: as for `DrawnLine`.
    """

    piece: str = ""
    role: str = ""
    name: str = ""
    at: Point | None = None
    layer: str = ""
    colour: str = ""
    where: str = ""
    origin: Point = _CORNER
    scale: float = 1.0

    @property
    def laid(self) -> Point | None:
        """The place on the layout."""
        return None if self.at is None else self.at * self.scale + self.origin


@dataclass(frozen=True, slots=True)
class Notes:
    """The whole file. Measures are body measures in mm by name (``waist``, ``hip``, ``wrist``, …).

    `gained` is what alterations added, mm, at the wide and at the narrow ends of the grading lines, for the measures of
    which the drawing doesn't show the level, so that it isn't known where they are taken.

    `file` is the file's name and `text` all that stands in it. `outdated` says where keys are still called by an older
    name: (file, line and key; what to call it), `left_out` where pieces are named that the drawing no longer has:
    (file, line and key; the piece).
    """

    title: str = ""
    summary: str = ""
    wearer: Wearer = Wearer.ADULT
    garment: str = ""
    drawn_for: Mapping[str, float] = field(default_factory=dict)
    ease: Mapping[str, float] = field(default_factory=dict)
    gained: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    pieces: Mapping[str, PieceNote] = field(default_factory=dict)
    seams: tuple[SeamNote, ...] = ()
    notions: tuple[NotionNote, ...] = ()
    steps: tuple[StepNote, ...] = ()
    lines: tuple[DrawnLine, ...] = ()
    pointed: tuple[PointedLine, ...] = ()
    rules: Mapping[str, str] = field(default_factory=dict)
    file: str = ""
    text: str = field(default="", repr=False)
    outdated: tuple[tuple[str, str], ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
