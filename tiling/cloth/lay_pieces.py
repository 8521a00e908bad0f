"""The paper pieces to lay on cloth: every copy, unfolded or mirrored as it is cut, its grain along the selvedge.

Cloth coordinates in mm: x along the selvedge from the cut end, y across from one selvedge (or from the cloth's fold).
The arrow of each grainline points along x the same way on all of them, so that all run the same way with the nap.

Cloth opened out lies right side up, folded cloth right sides together: then its upper side is the wrong one, and a
piece cut from the upper layer alone comes out as drawn where its paper lies printed side down.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import atan2, degrees, inf

import numpy as np

from tiling.cloth.cloth_choice import ClothFold
from tiling.cloth.cutting_list import INTERFACING, LINING, CutShare, CuttingRow
from tiling.cloth.grain import Grain, grains_of
from tiling.cloth.lay_shapes import LayShape, drawn_shape, half_shape, is_even, lies_on_fold, open_chain, whole_shape
from tiling.cloth.outlines import drawing_name
from tiling.cloth.seam_lines import SeamLines
from tiling.failures import InputUnfit
from tiling.notes import CutAs
from tiling.outlines import PieceOutline
from tiling.shapes import Affine, Point
from tiling.shapes.curves import Array
from tiling.shapes.regions import area

__all__ = ["LayPiece", "Layers", "lay_pieces"]


class Layers(StrEnum):
    """The layers of cloth that one paper piece is cut through."""

    SINGLE = "one layer"
    DOUBLE = "both layers"
    ON_FOLD = "both layers, its fold on the fold of the cloth"
    OPENED = "one layer, where the folded cloth is opened out"


@dataclass(frozen=True, slots=True, eq=False)
class LayPiece:
    """One paper piece as it is laid down.

    Attributes:
        piece: its id.
        title: what it is called.
        copy: which of its paper pieces it is, from 1.
        copies: how many there are.
        mirrored: whether it lies printed side down.
        layers: what is cut through.
        ring: its outline in mm, (n, 2), its grain along x; a piece on the fold has its fold along y = 0.
        hollows: outlines of what is cut out of it, each in the same coordinates.
        arrow: 1.0 where its grain's arrow points along x, -1.0 where it points against it.
        opened: what is cut in its place where folded cloth is opened out; a piece on the fold may also be cut so from
            the upper layer.
        unfolded: whether the paper shows half of it only.
        faces_in: whether its right side faces in, as a lining's does that is cut from another cloth's piece.
    """

    piece: str
    title: str
    copy: int
    copies: int
    mirrored: bool
    layers: Layers
    ring: Array
    hollows: tuple[Array, ...] = ()
    arrow: float = -1.0
    opened: tuple[LayPiece, ...] = ()
    unfolded: bool = False
    faces_in: bool = False

    @property
    def across(self) -> float:
        """Its extent across the cloth, mm."""
        return float(np.ptp(self.ring[:, 1]))

    @property
    def cloth_area(self) -> float:
        """Area of cloth cut, all layers, without hollows, mm²."""
        once = area(self.ring) - sum(area(hollow) for hollow in self.hollows)
        return once * (2 if self.layers in {Layers.DOUBLE, Layers.ON_FOLD} else 1)


def lay_pieces(
    seam_lines: SeamLines, rows: Sequence[CuttingRow], cloth: str, fold: ClothFold, room: float = inf
) -> list[LayPiece]:
    """Every paper piece to lay on one cloth, in the order of the cutting list.

    Args:
        seam_lines: of the pattern.
        rows: the cutting list.
        cloth: the cloth's name in the notes.
        fold: how the cloth lies; it decides which copies are cut double and which pieces stay folded.
        room: how wide a piece may be on folded cloth, mm; wider ones, and those whose fold lies askew to their grain,
            are cut where it is opened out (or, the latter, from the upper layer where they fit).

    Raises:
        InputUnfit: a piece has no closed outline, or its fold line lies off it.
    """
    shared = [(row, share) for row in rows for share in row.shares if share.cloth == cloth]
    outlines = [seam_lines.outline(row.piece) for row in rows]
    grains = grains_of(seam_lines.pattern, outlines)
    arrow = -1.0
    if fold is ClothFold.LENGTHWISE:
        arrow = _arrow(seam_lines, [row for row, share in shared if share.cut is CutAs.FOLD], grains)
    return [
        laid
        for row, share in shared
        for laid in _laid(_Cut(seam_lines, row, share, grains[row.piece], arrow), fold, room)
    ]


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """One piece as it is cut from one cloth."""

    seam_lines: SeamLines
    row: CuttingRow
    share: CutShare
    grain: Grain
    arrow: float

    @property
    def place(self) -> str:
        """What messages call it."""
        return f"{drawing_name(self.seam_lines.pattern)}, piece '{self.row.piece}'"

    @property
    def outline(self) -> PieceOutline:
        return self.seam_lines.outline(self.row.piece)

    @property
    def turn(self) -> Affine:
        """Lays the grain along x, its arrow as all arrows point."""
        step = self.grain.line.end - self.grain.line.start
        return Affine.turn(-degrees(atan2(step.y, step.x)) + (0.0 if self.arrow > 0 else 180.0))

    @property
    def faces_in(self) -> bool:
        """Whether it lines another cloth: the right side is then seen from the other side than the drawing shows."""
        others = {share.cloth for share in self.row.shares} - {LINING, INTERFACING}
        return self.share.cloth == LINING and bool(others)

    def piece(self, shape: LayShape, layers: Layers, *, mirrored: bool) -> LayPiece:
        """The first and only paper piece."""
        unfolded = self.share.cut is CutAs.FOLD and layers is not Layers.ON_FOLD
        return LayPiece(
            self.row.piece, self.row.title, 1, 1, mirrored, layers, shape.ring, shape.hollows, self.arrow,
            unfolded=unfolded, faces_in=self.faces_in,
        )  # fmt: skip


def _laid(cut: _Cut, fold: ClothFold, room: float) -> Iterator[LayPiece]:
    laid = list(_on_fold(cut, fold, room) if cut.share.cut is CutAs.FOLD else _flat(cut, fold))
    if fold is ClothFold.LENGTHWISE and any(piece.across > room for piece in laid):
        laid = [opened for piece in laid for opened in piece.opened or (piece,)]
    for number, piece in enumerate(laid, 1):
        yield replace(piece, copy=number, copies=len(laid))


def _on_fold(cut: _Cut, fold: ClothFold, room: float) -> Iterator[LayPiece]:
    """Each copy of a piece with a fold: its half on the fold of the cloth, or whole."""
    outline = cut.outline
    if not lies_on_fold(outline):
        raise InputUnfit(
            f"{cut.place}: its fold line lies off its cutting line, or is all of it; draw it along the edge that goes "
            "on the fold."
        )
    whole = whole_shape(cut.seam_lines.pattern, outline, cut.place).moved(cut.turn).at_nought()
    if fold is ClothFold.NONE:
        yield from [cut.piece(whole, Layers.SINGLE, mirrored=False)] * cut.share.copies
        return
    opened = cut.piece(whole, Layers.OPENED, mirrored=False)
    half = half_shape(cut.seam_lines.pattern, outline, cut.turn, cut.place)
    if half is None:
        fits = opened.across <= room
        piece = replace(opened, layers=Layers.SINGLE, opened=(opened,)) if fits else opened
    else:
        shape, mirrored = half
        piece = replace(cut.piece(shape, Layers.ON_FOLD, mirrored=mirrored), opened=(opened,))
    yield from [piece] * cut.share.copies


def _flat(cut: _Cut, fold: ClothFold) -> Iterator[LayPiece]:
    """Each paper piece of one that is cut as drawn, or with its mirror image."""
    drawn = drawn_shape(cut.seam_lines.pattern, cut.outline, cut.place).moved(cut.turn)
    sides = {side: (drawn.mirrored() if side else drawn).at_nought() for side in (False, True)}
    even = is_even(drawn)
    pair = cut.share.cut is CutAs.PAIR

    def one(number: int, layers: Layers, *, upper_is_wrong: bool) -> LayPiece:
        """The copy of that number as it lies on one layer."""
        down = (pair and bool(number % 2)) ^ cut.faces_in ^ upper_is_wrong
        down = down and not (even and not pair)
        return cut.piece(sides[down], layers, mirrored=down)

    if fold is ClothFold.NONE:
        yield from (one(number, Layers.SINGLE, upper_is_wrong=False) for number in range(cut.share.copies))
        return
    opened = [one(number, Layers.OPENED, upper_is_wrong=False) for number in range(cut.share.copies)]
    # Two layers, right sides together, give a piece and its mirror image.
    double = cut.share.copies // 2 if pair or even else 0
    for number in range(double):
        piece = cut.piece(sides[False], Layers.DOUBLE, mirrored=False)
        yield replace(piece, opened=tuple(opened[2 * number : 2 * number + 2]))
    for number in range(2 * double, cut.share.copies):
        yield replace(one(number, Layers.SINGLE, upper_is_wrong=True), opened=(opened[number],))


def _arrow(seam_lines: SeamLines, rows: Sequence[CuttingRow], grains: dict[str, Grain]) -> float:
    """Which way arrows point on folded cloth: so that more of the paper on the fold lies printed side up."""
    upwards = 0.0
    for row in rows:
        outline = seam_lines.outline(row.piece)
        if lies_on_fold(outline):
            points, start, end = open_chain(outline)
            body = points.mean(axis=0) - (start + end) / 2
            along = grains[row.piece].line.direction
            upwards += float(np.sign(along.cross(Point(float(body[0]), float(body[1]))))) * area(points)
    return 1.0 if upwards > 0 else -1.0
