"""A PDF page as objects with known places, from which the content of any window can be written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from pypdf import PageObject
from pypdf.generic import DictionaryObject, StreamObject

from calibrate.run import Run
from tiling.content.annotations import Overlay
from tiling.content.boxes import PageFrame, page_frame
from tiling.content.content_writer import ContentWriter
from tiling.content.interpret import Reader, page_resources
from tiling.content.layers import LayerChoice
from tiling.content.lexer import number
from tiling.content.look import fill_colour, fill_opacity, path_style
from tiling.content.nesting import check_nesting
from tiling.content.resources import Merger, entry
from tiling.content.scene import DAMAGED, Bounds, ContentScene, Drawn, ItemKind, Matrix, figure, stretch
from tiling.content.state import Param
from tiling.content.streams import content_of, decoded
from tiling.content.table import PathTable, build_table
from tiling.content.text import parameter
from tiling.content.text_run import TextRun
from tiling.content.trim import Trimmer, touching
from tiling.shapes import Affine, Box, Path, Size
from tiling.style import Colour, Style

__all__ = ["Artwork", "Item", "Numbering"]

_THINNEST = 0.2
"""mm: half the width a hairline may have on a coarse screen."""


_WIDTH, _JOIN, _MITER, _DASH, _EXTENDED = Param.WIDTH, Param.JOIN, Param.MITER, Param.DASH, Param.EXTENDED
"""Looked up once: members of an enum are found slowly."""


class Numbering(Enum):
    """What an item's `mark` is."""

    OWN = "its own index"
    TAGS = "the number in the marked-content tag around it"


@dataclass(frozen=True, slots=True)
class Item:
    """One object of the page, in paint order; lengths and places in mm on the sheet."""

    artwork: Artwork
    index: int

    @property
    def _drawn(self) -> Drawn:
        return self.artwork.drawn[self.index]

    @property
    def kind(self) -> ItemKind:
        """Path, text, picture, shading or other."""
        return self._drawn.kind

    @property
    def reach(self) -> Box:
        """A box around all its ink inside its clip, never too small."""
        x0, y0, x1, y1 = self.artwork.reaches[self.index].tolist()
        return Box(x0, y0, x1, y1)

    @property
    def clip_box(self) -> Bounds | None:
        """A box around what its clip lets through, where that is less than the whole object."""
        return self._drawn.clip if self.artwork.clipped.item(self.index) else None

    @property
    def is_certain(self) -> bool:
        """False for a path whose numbers readers may take differently: its reach is then all it could be."""
        run = self._drawn.run
        return run < 0 or not bool(self.artwork.table.unsure[run])

    @property
    def path(self) -> Path | None:
        """A path's outline, unclipped; None for other kinds."""
        run = self._drawn.run
        return self.artwork.table.path(run) if run >= 0 else None

    @property
    def style(self) -> Style:
        """How a path is painted; of other kinds only the fill."""
        drawn = self._drawn
        return path_style(self.artwork.scene, drawn.state, drawn.paint if drawn.run >= 0 else b"f", drawn.ctm)

    @property
    def text(self) -> TextRun | None:
        """The run of text: its characters and where it starts."""
        return self._drawn.text

    @property
    def colour(self) -> Colour:
        """What text is filled with."""
        text = self._drawn.text
        return fill_colour(self.artwork.scene, text.parts[0][0] if text else self._drawn.state)

    @property
    def opacity(self) -> float:
        """Of text and pictures, from 0 to 1."""
        return fill_opacity(self.artwork.scene, self._drawn.state)

    @property
    def layer(self) -> str:
        """The name of the optional content group it belongs to, or nothing."""
        return self._drawn.layer

    @property
    def mark(self) -> int:
        """The number by which `Artwork.cut` and the pattern's marks know it (-1: none)."""
        return self._drawn.mark

    @property
    def leaves_ink(self) -> bool:
        """Whether it can be seen on white paper."""
        drawn = self._drawn
        if drawn.run >= 0:
            return self.style.leaves_ink
        if drawn.text is not None:
            return any(int(parameter(state, Param.RENDER)) % 4 != 3 for state, _ in drawn.text.parts)
        return True


class Artwork:
    """A page that has been read.

    Attributes:
        to_mm: from the page's default user space to mm on the sheet (Rotate, UserUnit and CropBox applied).
        size: of the sheet, mm.
        reaches: (n, 4) the items' reach, mm.
        clipped: (n,) whether an item's clip takes something of it away.
        reasons: why pages should show this one whole behind a clip; empty when `cut` gives the same look.
        repairs, missing: what was malformed in the content, and what it names that isn't there.
        beyond: how many objects lie wholly outside the visible page and are, like those that a clip hides, no items.
        content_size: bytes of the page's own content as read.
    """

    __slots__ = (
        "_frame", "_overhangs", "_trimmer", "beyond", "clipped", "content_size", "drawn", "missing", "reaches",
        "reasons", "repairs", "scene", "size", "table", "to_mm",
    )  # fmt: skip

    def __init__(self, scene: ContentScene, frame: PageFrame, content_size: int) -> None:
        self.scene = scene
        self._frame = frame
        self.to_mm, self.size, self.content_size = frame.to_mm, frame.size, content_size
        moves: list[Matrix] = [drawn.ctm for drawn in scene.drawn if drawn.run >= 0]
        self.table: PathTable = build_table(scene.runs, moves)
        spare = _spares(scene.drawn, len(moves))
        self._trimmer = Trimmer(self.table, spare, moves)
        self._place(_boxes(scene, self.table, spare))
        self.reasons = tuple(sorted(scene.reasons))
        self.repairs = tuple(sorted(scene.repairs))
        self.missing = tuple(sorted(scene.missing))

    def _place(self, boxes: NDArray[np.float64]) -> None:
        drawn = self.scene.drawn
        clips = np.array([one.clip for one in drawn], dtype=np.float64).reshape(-1, 4)
        page = np.array([0.0, 0.0, self.size.width, self.size.height])
        self._overhangs = bool((boxes[:, :2] < page[:2] - 0.1).any() or (boxes[:, 2:] > page[2:] + 0.1).any())
        reaches = np.hstack([np.maximum(boxes[:, :2], clips[:, :2]), np.minimum(boxes[:, 2:], clips[:, 2:])])
        seen = (reaches[:, 0] <= reaches[:, 2]) & (reaches[:, 1] <= reaches[:, 3])
        chosen = np.flatnonzero(seen)
        self.reaches = reaches[chosen]
        self.clipped: NDArray[np.bool_] = np.any(self.reaches != boxes[chosen], axis=1)
        self.drawn: list[Drawn] = [drawn[index] for index in chosen.tolist()]
        # What a clip within the page hides is nowhere to be seen, in no program.
        self.beyond = int(np.count_nonzero(~seen & (clips == page).all(axis=1)))
        if not self.scene.tagged:
            for index, one in enumerate(self.drawn):
                one.mark = index

    @classmethod
    def from_page(
        cls,
        page: PageObject,
        *,
        layers_shown: LayerChoice | None = None,
        numbering: Numbering = Numbering.OWN,
        overlay: Overlay | None = None,
        run: Run = Run(),
    ) -> Artwork:
        """Read a page's content, and what lies over it; what hidden layers hold is left out.

        Raises:
            InputUnfit: the page has no usable size, or there is too much of its content.
            Cancelled: the run is to end.
        """
        frame = page_frame(page)
        data, whole = content_of(page)
        check_nesting(page_resources(page), data)
        if overlay is not None:
            check_nesting(overlay.resources, overlay.content)
        scene = _scene(page_resources(page), frame, layers_shown or LayerChoice.everything(), Merger())
        scene.run = run
        scene.tagged = numbering is Numbering.TAGS
        if not whole:
            scene.repairs.add(DAMAGED)
        scene.count(len(data))
        for name in ("/DefaultGray", "/DefaultRGB", "/DefaultCMYK"):
            raw = entry(scene.resources, "/ColorSpace", name)
            if raw is not None:
                scene.merger.always("/ColorSpace", name, raw)
        reader = Reader(_form_without_layers)
        if overlay is None or not overlay.content:
            reader.read(scene, data)
            return cls(scene, frame, len(data))
        scene.push()
        scene.floor = len(scene.saved)
        reader.read(scene, data)
        scene.floor = 0
        scene.pop()
        scene.resources = overlay.resources
        reader.read(scene, overlay.content)
        return cls(scene, frame, len(data) + len(overlay.content))

    @property
    def items(self) -> tuple[Item, ...]:
        """All visible objects in paint order."""
        return tuple(Item(self, index) for index in range(len(self.drawn)))

    @property
    def needs_whole(self) -> bool:
        """Whether object by object the page could look different: show it whole behind a clip."""
        return bool(self.reasons)

    @property
    def resources(self) -> DictionaryObject:
        """What `cut` and `whole` name; clone it once into a writer, after the last cut."""
        return self.scene.merger.dictionary

    def whole(self) -> bytes:
        """The content of the whole page in its user space, hidden layers left out.

        Both this and `cut` expect the initial graphics state (ISO 32000-2, table 51) and leave what they find.
        """
        return self._clipped(_written(self.scene, self.drawn, self._trimmer))

    def cut(self, window: Box | Sequence[Box], *, only: Collection[int] | None = None) -> bytes:
        """The content that touches a window (or any of several), mm on the sheet, in the page's user space.

        The caller clips to the window.

        Args:
            window: closed boxes.
            only: marks to which the content is restricted; None for all.
        """
        boxes = [window] if isinstance(window, Box) else list(window)
        windows = np.array([(box.x0, box.y0, box.x1, box.y1) for box in boxes], dtype=np.float64).reshape(-1, 4)
        chosen: Iterable[Drawn] = map(self.drawn.__getitem__, np.flatnonzero(touching(self.reaches, windows)).tolist())
        if only is not None:
            marks = frozenset(only)
            chosen = (one for one in chosen if one.mark in marks)
        listed = list(chosen)
        runs = np.array(sorted(one.run for one in listed if one.run >= 0 and one.paint == b"S"), dtype=np.int64)
        self._trimmer.aim(windows, runs)
        scribe = ContentWriter(self.scene)
        for one in listed:
            if one.run >= 0:
                scribe.path(one, self._pieces(one, windows))
            elif one.text is not None:
                scribe.text(one)
            else:
                scribe.other(one)
        return self._clipped(scribe.finish())

    def _pieces(self, one: Drawn, windows: NDArray[np.float64]) -> list[tuple[bytes | None, bytes]]:
        """What of a path is needed for the windows."""
        if one.paint != b"S":
            return [(None, self._trimmer.filled(one.run, windows))]
        pattern, _, _ = one.state[_DASH].partition(b"]")
        if not pattern.strip(b"[ "):
            return [(None, self._trimmer.stroked(one.run))]
        if one.state[_EXTENDED]:
            # See-through dashes drawn in several goes would darken where they cross.
            return [(None, self._trimmer.whole(one.run))]
        phase = _phase(one.state[_DASH])
        return list(self._trimmer.dashed(one.run, pattern + b"]", phase))

    def _clipped(self, content: bytes) -> bytes:
        """The content behind a clip to the visible page, where anything goes beyond it."""
        if not self._overhangs or not content:
            return content
        box = self._frame.box
        edges = b" ".join(map(figure, (box.x0, box.y0, box.width, box.height)))
        return b"q " + edges + b" re W n\n" + content + b"\nQ"


def _phase(value: bytes) -> float:
    """The phase of a d operator."""
    words = value.rpartition(b"]")[2].split()
    return number(words[0]) if len(words) == 2 else 0.0


def _scene(resources: DictionaryObject, frame: PageFrame, choice: LayerChoice, merger: Merger) -> ContentScene:
    move = frame.to_mm
    return ContentScene(
        resources=resources,
        ctm=(move.a, move.b, move.c, move.d, move.e, move.f),
        parent=(move.a, move.b, move.c, move.d, move.e, move.f),
        clip=(0.0, 0.0, frame.size.width, frame.size.height),
        choice=choice,
        merger=merger,
    )


def _written(scene: ContentScene, drawn: Sequence[Drawn], trimmer: Trimmer) -> bytes:
    scribe = ContentWriter(scene)
    for one in drawn:
        if one.run >= 0:
            scribe.path(one, [(None, trimmer.whole(one.run))])
        elif one.text is not None:
            scribe.text(one)
        else:
            scribe.other(one)
    return scribe.finish()


def _form_without_layers(outer: ContentScene, form: StreamObject, placed: Matrix) -> tuple[bytes, DictionaryObject]:
    """A form's content and resources with the hidden layers left out, for forms that are drawn as one."""
    data, _ = decoded(form)
    outer.count(len(data))
    resources = page_resources(form) or outer.resources
    frame = PageFrame(Box(0, 0, 1, 1), Affine(*placed), Size(1.0, 1.0))
    scene = _scene(resources, frame, outer.choice, Merger(outer.merger.host))
    scene.clip = (-1e9, -1e9, 1e9, 1e9)
    scene.active = [*outer.active, id(form)]
    Reader(_form_without_layers).read(scene, data)
    moves = [drawn.ctm for drawn in scene.drawn if drawn.run >= 0]
    trimmer = Trimmer(build_table(scene.runs, moves), np.zeros(len(moves)), moves)
    content = _written(scene, scene.drawn, trimmer)
    return content, scene.merger.dictionary


def _spares(drawn: Sequence[Drawn], count: int) -> NDArray[np.float64]:
    """How far each path's ink goes beyond it, mm: half the pen, more at mitred corners and projecting caps."""
    spare = np.full(count, 0.02)
    known: dict[tuple[object, ...], float] = {}
    for one in drawn:
        if one.run < 0 or one.paint in (b"f", b"f*"):
            continue
        state = one.state
        key = (state[_WIDTH], state[_JOIN], state[_MITER], one.ctm[:4])
        reach = known.get(key)
        if reach is None:
            half = max(abs(parameter(state, _WIDTH)) / 2 * stretch(one.ctm), _THINNEST)
            mitred = int(parameter(state, _JOIN)) == 0
            reach = known[key] = half * max(1.5, parameter(state, _MITER) if mitred else 0.0)
        spare[one.run] = reach
    return spare


def _boxes(scene: ContentScene, table: PathTable, spare: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 4) the box of every object's ink, without its clip."""
    everything = (-1e9, -1e9, 1e9, 1e9)
    boxes = np.array([one.box or everything for one in scene.drawn], dtype=np.float64).reshape(-1, 4)
    holders = np.array([index for index, one in enumerate(scene.drawn) if one.run >= 0], dtype=np.int64)
    if len(holders):
        grown = table.hulls + spare[:, None] * np.array([-1.0, -1.0, 1.0, 1.0])
        grown[table.unsure] = everything
        empty = np.isnan(grown[:, 0])
        grown[empty] = (1e9, 1e9, -1e9, -1e9)
        boxes[holders] = grown
    return boxes
