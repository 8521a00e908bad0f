"""What a drawing is once read: frozen values that every room passes on.

A `Pattern` is a flat list of marks in drawing order on a sheet measured in mm (x right, y down, origin at the
sheet's top left corner), with the roles, pieces and layers that the drawing or its notes name.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum, StrEnum
from typing import TYPE_CHECKING

from tiling.cutting_words import CuttingWords, cutting_words
from tiling.failures import Remedy, advised
from tiling.fonts.shaping import Direction, shaped
from tiling.notes import CutAs, Notes, PieceNote, SeamNote
from tiling.shapes import Affine, Box, Path, Size
from tiling.style import BLACK, Colour, Style

if TYPE_CHECKING:
    from tiling.content import Artwork

__all__ = [
    "Finding",
    "FindingKind",
    "Label",
    "Layer",
    "Line",
    "Mark",
    "Pattern",
    "Picture",
    "Piece",
    "Role",
    "Sheet",
    "SizeBasis",
    "Tag",
    "layers_by_name",
    "pieces_of",
    "unused_name",
]

_PILED = "\u0600"
"""From here on scripts have marks above and below that reach beyond Latin letters."""


class Role(StrEnum):
    """What a line means to the person who sews; the values are the class names used in drawings."""

    CUTTING = "cutting-line"
    STITCHING = "stitching-line"
    GRAINLINE = "grainline"
    FOLD = "fold-line"
    NOTCH = "notch"
    GRADING = "grading-line"
    LENGTHEN = "lengthen-line"
    PLACEMENT = "placement-line"
    DART = "dart"
    PLAIN = ""


@dataclass(frozen=True, slots=True)
class Tag:
    """Where a mark belongs: its piece's id, its role and line name, its layer, its id in the source.

    `extra` holds what else the source says of the line in its ``data-*`` attributes, as (name without ``data-``,
    value), sorted by name; ``("wide", "start")`` marks the wide end of a grading line.
    """

    piece: str = ""
    role: Role = Role.PLAIN
    name: str = ""
    layer: str = ""
    ident: str = ""
    extra: tuple[tuple[str, str], ...] = ()

    @property
    def was_found(self) -> bool:
        """Whether nobody says what the line is: it was told by its looks, or by words beside it (``data-found``)."""
        return bool(self.said("found"))

    def said(self, name: str) -> str:
        """What the source's ``data-name`` attribute of that name says, or an empty text."""
        return dict(self.extra).get(name, "")


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A path with its style. `clip` (mm) limits what of it is drawn."""

    path: Path
    style: Style
    tag: Tag = field(default_factory=Tag)
    clip: Path | None = None

    def moved(self, by: Affine) -> Line:
        """The line moved; widths and dashes follow the move's area factor."""
        factor = abs(by.determinant) ** 0.5
        style = self.style
        if style.stroke is not None and abs(factor - 1.0) > 1e-12:
            stroke = replace(
                style.stroke,
                width=style.stroke.width * factor,
                dashes=tuple(d * factor for d in style.stroke.dashes),
                dash_offset=style.stroke.dash_offset * factor,
            )
            style = replace(style, stroke=stroke)
        return replace(self, path=self.path.moved(by), style=style, clip=self.clip.moved(by) if self.clip else None)

    def reach(self) -> Box:
        """A box that holds all its ink: control points grown by half the stroke width, or more for sharp mitres."""
        stroke = self.style.stroke
        grow = 0.0
        if stroke is not None:
            grow = stroke.width / 2 * (stroke.miter_limit if stroke.join == 0 and len(self.path) > 2 else 1.5)
        box = self.path.hull.grown(grow)
        return (box.common(self.clip.hull) or Box(box.x0, box.y0, box.x0, box.y0)) if self.clip else box


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """One run of text on one line.

    Attributes:
        text: what is written.
        at: from text space (x along the baseline, y down, origin at the start of the baseline, mm) to the sheet.
        size: height of the font's em in mm, in text space.
        font: a PostScript base font name (``Helvetica``, ``Times-Bold``, …) or the face asked for (see `AskedFace`).
        advance: width of the run in mm, in text space.
        direction: which way the line runs, for scripts that are written to the left.
    """

    text: str
    at: Affine
    size: float
    font: str = "Helvetica"
    colour: Colour = BLACK
    advance: float = 0.0
    opacity: float = 1.0
    tag: Tag = field(default_factory=Tag)
    clip: Path | None = None
    direction: Direction = Direction.BY_TEXT

    def moved(self, by: Affine) -> Label:
        """The text moved as one."""
        return replace(self, at=by @ self.at, clip=self.clip.moved(by) if self.clip else None)

    def outline(self) -> Path:
        """The letters as drawn, on the sheet."""
        lettering = shaped(self.text, self.font, self.direction)
        stretch = self.advance / (lettering.width * self.size) if self.advance > 0 < lettering.width else 1.0
        return lettering.outline.moved(self.at @ Affine.scale(self.size * stretch, self.size))

    def reach(self) -> Box:
        """A box that holds the run, from descender to above the capitals, or all that letters of the East pile up."""
        above, below = (1.5, 0.8) if max(self.text, default="") >= _PILED else (1.1, 0.35)
        return self.at.box(Box(0.0, -above * self.size, max(self.advance, 0.1), below * self.size))


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A raster picture; `at` maps the unit square (y down) to the sheet. `data` is the file's bytes (PNG, JPEG)."""

    data: bytes
    at: Affine
    opacity: float = 1.0
    tag: Tag = field(default_factory=Tag)
    clip: Path | None = None

    def moved(self, by: Affine) -> Picture:
        """The picture moved as one."""
        return replace(self, at=by @ self.at, clip=self.clip.moved(by) if self.clip else None)

    def reach(self) -> Box:
        """The box around the picture."""
        return self.at.box(Box(0.0, 0.0, 1.0, 1.0))


Mark = Line | Label | Picture


class FindingKind(Enum):
    """What the person should know. A number is stable and means one thing; the manual lists them all."""

    SIZE_ASSUMED = 1
    TEXT_FONT_REPLACED = 2
    GLYPH_MISSING = 3
    FILTER_NOT_DRAWN = 4
    MASK_NOT_DRAWN = 5
    PICTURE_NOT_READ = 6
    GRADIENT_FLATTENED = 7
    REFERENCE_MISSING = 8
    SCRIPT_DROPPED = 9
    ELEMENT_UNKNOWN = 10
    GROUP_OPACITY_SPREAD = 11
    CONTENT_REPAIRED = 12
    LAYER_HIDDEN = 13
    ANNOTATION_DROPPED = 14
    NOTHING_BEYOND_PAGE = 15
    STYLE_NOT_READ = 16
    SEAM_LENGTH_CHANGED = 17
    NOT_CARRIED = 18
    PRINTER_OTHER_PAPER = 19
    SPREAD_LARGE = 20
    NOTES_KEY_RENAMED = 21
    SHEET_ENLARGED = 22
    SEAM_SIDES_DISAGREE = 23
    CLIPPED_LINE_SHOWN_WHOLE = 24
    NOTCHES_APART = 25
    RULE_GIVES_NOTHING = 26
    MARGIN_NARROW = 27
    PICTURE_ONLY = 28
    UNIT_UNUSUAL = 29
    PAGES_ALREADY = 30
    DRAWN_DIFFERENTLY = 31
    NOTED_LINE_LEFT_OUT = 32
    NOTES_WITHOUT_PIECE = 33
    NOTES_CONTRADICT_DRAWING = 34
    GRAINLINE_MISSING = 35
    CLOTH_OPENED = 36
    MEASURE_MISSING = 37
    SHAPE_KEPT_AT_CUT = 38


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the person should know about, numbered by its kind.

    Attributes:
        kind: what kind of thing.
        text: one sentence; with a remedy its beginning, without a full stop.
        where: the file, sheet, piece or element.
        remedy: what to do, where a terminal and a web page each have words of their own for it.
    """

    kind: FindingKind
    text: str
    where: str = ""
    remedy: Remedy | None = None

    def __str__(self) -> str:
        return advised(self.text, self.remedy)

    @property
    def number(self) -> int:
        """The kind's stable number."""
        return int(self.kind.value)


class SizeBasis(Enum):
    """How the drawing's real size was known."""

    STATED = "stated in the drawing"
    PIXELS = "taken from pixels"
    GIVEN = "given by the person"


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer by name, and whether the file shows it by default."""

    name: str
    shown: bool = True


@dataclass(frozen=True, slots=True)
class Piece:
    """A pattern piece: an id, a title for people, and the marks that belong to it (indices into `Pattern.marks`)."""

    ident: str
    title: str
    marks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One drawing or PDF page, and where it lies on the layout.

    `artwork` is set when the sheet came from a PDF whose own content is to be printed; `to_layout` maps the
    artwork's sheet mm to the layout's mm. Artwork item i belongs to mark `first_mark + i`.
    """

    name: str
    place: Box
    to_layout: Affine = field(default_factory=Affine)
    artwork: Artwork | None = None
    first_mark: int = 0


@dataclass(frozen=True, slots=True)
class Pattern:
    """A whole drawing (or several laid one below the other) at full size.

    `picked` names the layers that were asked for, where not all that the file shows are drawn. `scale` is what its
    source was multiplied by to be at its true size, as the person asked; 1 for as it was.
    """

    title: str
    size: Size
    marks: tuple[Mark, ...]
    pieces: tuple[Piece, ...] = ()
    layers: tuple[Layer, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    size_basis: SizeBasis = SizeBasis.STATED
    px_per_inch: float | None = None
    findings: tuple[Finding, ...] = ()
    notes: Notes | None = None
    picked: tuple[str, ...] = ()
    scale: float = 1.0

    @property
    def source(self) -> str:
        """What messages call it: the files it was read from, or its title in quotes."""
        names = list(dict.fromkeys(sheet.name for sheet in self.sheets))
        more = f" and {len(names) - 1} more" if len(names) > 1 else ""
        return f"{names[0]}{more}" if names else f"'{self.title}'"

    def piece(self, ident: str) -> Piece:
        """The piece with that id; KeyError when there is none."""
        for piece in self.pieces:
            if piece.ident == ident:
                return piece
        raise KeyError(ident)

    @property
    def seams(self) -> tuple[SeamNote, ...]:
        """The seams that its notes name."""
        return self.notes.seams if self.notes is not None else ()

    def note(self, piece: str) -> PieceNote:
        """The notes on a piece, with how it is cut: as they say, else as is written in it, else as is drawn.

        A piece of which neither says so is cut once, on the fold if a fold line is drawn in it.
        """
        noted = self.noted(piece)
        if noted.copies and noted.cut:
            return noted
        words = self.words(piece)
        drawn = CutAs.FOLD if self.lines(piece=piece, role=Role.FOLD) else CutAs.SINGLE
        return replace(noted, copies=noted.copies or words.copies or 1, cut=noted.cut or words.cut or drawn)

    def noted(self, piece: str) -> PieceNote:
        """What the notes alone say of a piece."""
        notes = self.notes.pieces if self.notes is not None else {}
        return notes.get(piece) or PieceNote(piece)

    def words(self, piece: str) -> CuttingWords:
        """What is written in a piece on how it is cut."""
        own = next((one.marks for one in self.pieces if one.ident == piece), ())
        marks = (self.marks[number] for number in own)
        return cutting_words(mark.text if isinstance(mark, Label) else mark.tag.said("text") for mark in marks)

    def lines(self, piece: str | None = None, role: Role | None = None, name: str | None = None) -> list[Line]:
        """The lines that match all that is given, in drawing order."""
        return [
            mark
            for mark in self.marks
            if isinstance(mark, Line)
            and (piece is None or mark.tag.piece == piece)
            and (role is None or mark.tag.role is role)
            and (name is None or mark.tag.name == name)
        ]

    def with_marks(self, marks: Sequence[Mark], findings: Iterable[Finding] = ()) -> Pattern:
        """The pattern with other marks, its pieces found again by tag; the sources' own content no longer applies."""
        titles = {p.ident: p.title for p in self.pieces}
        sheets = tuple(replace(sheet, artwork=None) for sheet in self.sheets)
        return replace(
            self,
            marks=tuple(marks),
            pieces=pieces_of(marks, titles),
            sheets=sheets,
            findings=(*self.findings, *findings),
        )


def layers_by_name(layers: Iterable[Layer]) -> tuple[Layer, ...]:
    """Each name once, in the order they first appear; shown when any of that name is."""
    shown: dict[str, bool] = {}
    for layer in layers:
        shown[layer.name] = shown.get(layer.name, False) or layer.shown
    return tuple(Layer(name, on) for name, on in shown.items())


def unused_name(wanted: str, used: Container[str]) -> str:
    """The name as wanted, or with the first number from 2 behind it that makes it one of its own."""
    name, copy = wanted, 2
    while name in used:
        name, copy = f"{wanted}-{copy}", copy + 1
    return name


def pieces_of(marks: Sequence[Mark], titles: dict[str, str] | None = None) -> tuple[Piece, ...]:
    """The pieces named in the marks' tags, in the order they first appear."""
    found: dict[str, list[int]] = {}
    for index, mark in enumerate(marks):
        if mark.tag.piece:
            found.setdefault(mark.tag.piece, []).append(index)
    titles = titles or {}
    return tuple(Piece(ident, titles.get(ident, ident), tuple(indices)) for ident, indices in found.items())
