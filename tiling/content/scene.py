"""What has been found so far while a content stream is read, and the state that holds at the moment."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from math import hypot
from typing import TYPE_CHECKING

from pypdf.generic import DictionaryObject, PdfObject, StreamObject

from calibrate.run import Run
from tiling.content.fonts import FontMetrics
from tiling.content.layers import LayerChoice
from tiling.content.nesting import check_amount
from tiling.content.resources import Merger
from tiling.content.state import INITIAL, Frame, Param, State
from tiling.failures import InputUnfit
from tiling.lengths import decimal_number

if TYPE_CHECKING:
    from tiling.content.text_run import TextRun
    from tiling.style import Style

__all__ = [
    "DAMAGED",
    "IN_TEXT",
    "NO_CONTENT",
    "NO_END",
    "NO_FONT",
    "NO_OPERATOR",
    "NO_Q",
    "OWN_FORM",
    "UNSURE",
    "Bounds",
    "ContentScene",
    "Drawn",
    "ItemKind",
    "Matrix",
    "box_of_unit",
    "common",
    "figure",
    "moved_box",
    "stretch",
    "times",
]  # fmt: skip

Matrix = tuple[float, float, float, float, float, float]
Bounds = tuple[float, float, float, float]

DAMAGED, NO_OPERATOR, NO_CONTENT = "damaged stream", "operators that don't exist", "characters that are no content"
NO_FONT, NO_END = "fonts that are none", "inline image without end"
NO_Q = "q without Q"
OWN_FORM, IN_TEXT = "a form that draws itself", "moves of the whole page inside a text"
UNSURE = frozenset((DAMAGED, NO_OPERATOR, NO_CONTENT, NO_FONT, NO_END, OWN_FORM, IN_TEXT))
"""Repairs of content that programs read in different ways: not decoded whole, no operators and operands, or endless."""
_MAX_OBJECTS = 300_000
_MAX_POINTS = 3_000_000
_CLIP_SPARE = 0.1
"""mm: renderers paint every pixel that a clip touches."""


class ItemKind(StrEnum):
    """What an object of a page is."""

    PATH = "path"
    TEXT = "text"
    PICTURE = "picture"
    SHADING = "shading"
    OTHER = "other"


def times(second: Matrix, first: Matrix) -> Matrix:
    """The move that does `first`, then `second`."""
    a, b, c, d, e, f = second
    p, q, r, s, t, u = first
    return (a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f)


def moved_box(by: Matrix, box: Bounds) -> Bounds:
    """The upright box around a moved box; corners in any order."""
    a, b, c, d, e, f = by
    x0, y0, x1, y1 = box
    xs = (a * x0 + c * y0, a * x1 + c * y0, a * x0 + c * y1, a * x1 + c * y1)
    ys = (b * x0 + d * y0, b * x1 + d * y0, b * x0 + d * y1, b * x1 + d * y1)
    return min(xs) + e, min(ys) + f, max(xs) + e, max(ys) + f


def box_of_unit(by: Matrix) -> Bounds:
    """Where the unit square comes to lie."""
    return moved_box(by, (0.0, 0.0, 1.0, 1.0))


def common(one: Bounds, other: Bounds) -> Bounds:
    """The shared part; without area (and at a corner of `one`'s far side) where they don't meet."""
    x0, y0 = max(one[0], other[0]), max(one[1], other[1])
    return x0, y0, min(one[2], other[2]), min(one[3], other[3])


def stretch(by: Matrix) -> float:
    """The largest factor by which any length grows."""
    a, b, c, d, _, _ = by
    return (hypot(a + d, b - c) + hypot(a - d, b + c)) / 2


def figure(value: float) -> bytes:
    """A number as written in a content stream, to nine decimals."""
    return decimal_number(value, 9).encode("ascii")


class Drawn:
    """One object of the page and all that is needed to draw it again.

    Attributes:
        paint: the painting operator of a path, or the whole body of anything else but text.
        run: the number of the path among the scene's runs (-1: none).
        closes: the path's last h stands for a closing painting operator.
        box: in mm on the sheet; of a path, not yet known.
        clip: box (mm) around what its clip lets through.
    """

    __slots__ = (
        "box", "clip", "closes", "ctm", "frame", "kind", "layer", "mark", "needs", "paint", "run", "state", "steps",
        "text",
    )  # fmt: skip

    def __init__(self, scene: ContentScene, kind: ItemKind, needs: tuple[Param, ...], paint: bytes) -> None:
        self.kind = kind
        self.frame = scene.frame
        self.steps = len(scene.frame.steps)
        self.state = scene.state
        self.needs = needs
        self.clip = scene.clip
        self.ctm = scene.ctm
        self.layer = scene.layer
        self.mark = scene.mark
        self.paint = paint
        self.run = -1
        self.closes = False
        self.box: Bounds | None = None
        self.text: TextRun | None = None


@dataclass(slots=True)
class Saved:
    """What q saves."""

    frame: Frame
    state: State
    ctm: Matrix
    clip: Bounds


@dataclass(slots=True)
class Marked:
    """One open marked-content sequence: what it changed."""

    layer: str
    mark: int
    hides: bool


@dataclass(slots=True)
class ContentScene:
    """The reader's memory.

    Attributes:
        resources: of the stream being read.
        ctm: from user space to mm on the sheet.
        parent: the same at the start of the content stream being read, to which patterns refer.
        clip: box (mm) around the current clip.
        runs: construction operators of each path found, as in the source.
        run: told of how far it is, and asked whether to go on.
        reasons: why the page is better drawn whole.
        repairs: what was not well-formed, one phrase each.
    """

    resources: DictionaryObject
    ctm: Matrix
    clip: Bounds
    choice: LayerChoice
    merger: Merger
    parent: Matrix
    run: Run = Run()
    state: State = INITIAL
    frame: Frame = field(default_factory=lambda: Frame(None))
    saved: list[Saved] = field(default_factory=list)
    floor: int = 0
    marked: list[Marked] = field(default_factory=list)
    marked_floor: int = 0
    layer: str = ""
    mark: int = -1
    hidden: int = 0
    tagged: bool = False
    drawn: list[Drawn] = field(default_factory=list)
    runs: list[bytes] = field(default_factory=list)
    path: list[bytes] = field(default_factory=list)
    clip_rule: bytes = b""
    fonts: dict[bytes, FontMetrics] = field(default_factory=dict)
    extended: dict[bytes, dict[str, PdfObject]] = field(default_factory=dict)
    masked: bool = False
    active: list[int] = field(default_factory=list)
    streams: dict[int, bytes] = field(default_factory=dict)
    lent: dict[tuple[int, int], tuple[StreamObject, DictionaryObject, StreamObject]] = field(default_factory=dict)
    read: int = 0
    points: int = 0
    reasons: set[str] = field(default_factory=set)
    repairs: set[str] = field(default_factory=set)
    missing: set[str] = field(default_factory=set)
    words: dict[bytes, bytes] = field(default_factory=dict)
    styles: dict[tuple[State, bytes, tuple[float, ...]], Style] = field(default_factory=dict)

    def set(self, param: Param, value: bytes) -> None:
        """Change one parameter of the graphics state."""
        state = self.state
        if state[param] != value:
            self.state = (*state[:param], self.words.setdefault(value, value), *state[param + 1 :])

    def push(self) -> None:
        """The q operator."""
        self.saved.append(Saved(self.frame, self.state, self.ctm, self.clip))
        self.frame = Frame(self.frame)

    def pop(self) -> None:
        """The Q operator; one without its q is passed over."""
        if len(self.saved) <= self.floor:
            self.repairs.add("Q without q")
            return
        last = self.saved.pop()
        self.frame, self.state, self.ctm, self.clip = last.frame, last.state, last.ctm, last.clip

    def narrow(self, box: Bounds) -> None:
        """Take a new clip box (mm) into account."""
        grown = (box[0] - _CLIP_SPARE, box[1] - _CLIP_SPARE, box[2] + _CLIP_SPARE, box[3] + _CLIP_SPARE)
        self.clip = common(self.clip, grown)

    def covers(self, box: Bounds) -> bool:
        """Whether a clip to this box (mm) would change nothing, as the current one is narrower."""
        clip = self.clip
        return box[0] <= clip[0] and box[1] <= clip[1] and box[2] >= clip[2] and box[3] >= clip[3]

    def add(self, drawn: Drawn) -> None:
        """One more object.

        Raises:
            InputUnfit: there are too many.
        """
        self.drawn.append(drawn)
        if len(self.drawn) > _MAX_OBJECTS:
            raise InputUnfit(f"the drawing has more than {_MAX_OBJECTS:,} objects; export a simpler one.")

    def trace(self, run: bytes) -> None:
        """Account for a path's points.

        Raises:
            InputUnfit: there are too many.
        """
        self.points += run.count(b"l") + run.count(b"m") + 3 * run.count(b"c") + 4 * run.count(b"re")
        if self.points > _MAX_POINTS:
            raise InputUnfit(f"the drawing has more than {_MAX_POINTS:,} points; simplify it or export a part of it.")

    def count(self, size: int) -> None:
        """Account for content read, forms each time they are drawn.

        Raises:
            InputUnfit: forms that draw forms make it too much.
        """
        self.read += size
        check_amount(0, self.read)
