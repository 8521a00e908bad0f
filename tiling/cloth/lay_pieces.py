"""The paper pieces to lay on cloth: every copy, unfolded or mirrored as it is cut, its grain along the selvedge.

Cloth coordinates in mm: x along the selvedge from the cut end, y across from one selvedge (or from the cloth's fold).
The top of the drawing points to the cut end, so that all pieces of a nap run the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import atan2, degrees

import numpy as np

from tiling.cloth.cutting_list import CutShare, CuttingRow
from tiling.cloth.outlines import drawing_name
from tiling.cloth.seam_lines import SeamLines
from tiling.failures import Action, InputUnfit, Remedy
from tiling.notes import CutAs
from tiling.outlines import PieceOutline, grain_of
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import area
from tiling.shapes.straights import longest_stretch

__all__ = ["ClothFold", "LayPiece", "Layers", "lay_pieces"]

_FLAT = 0.05
_EVEN = 1.0
_PARALLEL = 3.0


class ClothFold(StrEnum):
    """Whether the cloth lies double on the table, selvedge on selvedge, or opened out."""

    LENGTHWISE = "lengthwise"
    NONE = "none"


class Layers(StrEnum):
    """The layers of cloth that one paper piece is cut through."""

    SINGLE = "one layer"
    DOUBLE = "both layers"
    ON_FOLD = "both layers, its fold on the fold of the cloth"


@dataclass(frozen=True, slots=True, eq=False)
class LayPiece:
    """One paper piece as it is laid down.

    `ring` is its outline in mm, (n, 2), its grain along x; a piece on the fold has its fold along y = 0.
    """

    piece: str
    title: str
    copy: int
    copies: int
    mirrored: bool
    layers: Layers
    ring: Array

    @property
    def across(self) -> float:
        """Its extent across the cloth, mm."""
        return float(np.ptp(self.ring[:, 1]))

    @property
    def cloth_area(self) -> float:
        """Area of cloth cut, all layers, mm²."""
        return area(self.ring) * (1 if self.layers is Layers.SINGLE else 2)


def lay_pieces(seam_lines: SeamLines, rows: Sequence[CuttingRow], cloth: str, fold: ClothFold) -> list[LayPiece]:
    """Every paper piece to lay on one cloth, in the order of the cutting list.

    Args:
        seam_lines: of the pattern.
        rows: the cutting list.
        cloth: the cloth's name in the notes.
        fold: how the cloth lies; it decides which copies are cut double and which pieces stay folded.

    Raises:
        InputUnfit: a piece has no closed outline, or its fold is askew to its grain on folded cloth.
    """
    return [
        laid
        for row in rows
        for share in row.shares
        if share.cloth == cloth
        for laid in _laid(seam_lines, row, share, fold)
    ]


def _laid(seam_lines: SeamLines, row: CuttingRow, share: CutShare, fold: ClothFold) -> Iterator[LayPiece]:
    outline = seam_lines.outline(row.piece)
    turn = _along_grain(seam_lines, outline)
    place = f"{drawing_name(seam_lines.pattern)}, piece '{row.piece}'"
    if share.cut is CutAs.FOLD:
        if not _lies_on_fold(outline):
            raise InputUnfit(
                f"{place}: its fold line lies off its cutting line, or is all of it; draw it along the edge that goes "
                "on the fold."
            )
        folded = fold is ClothFold.LENGTHWISE
        ring = _sound(_half(outline, turn, place) if folded else turn.points(_unfolded(outline)), place)
        kinds = [(False, Layers.ON_FOLD if folded else Layers.SINGLE)] * share.copies
    else:
        ring = _sound(turn.points(outline.ring(_FLAT)), place)
        kinds = _kinds(share, fold, _is_even(ring))
    for number, (mirrored, layers) in enumerate(kinds, 1):
        laid = ring * (1.0, -1.0) if mirrored else ring
        yield LayPiece(row.piece, row.title, number, len(kinds), mirrored, layers, laid - laid.min(axis=0))


def _sound(ring: Array, place: str) -> Array:
    """The outline without needless corners, and without the tiny loops that a join in a drawing can leave.

    Raises:
        InputUnfit: it has no area, or crosses itself for good.
    """
    from shapely import Polygon  # noqa: PLC0415 - shapely is slow to load

    plain = Polygon(ring) if len(ring) > 2 else Polygon()
    whole = area(ring)
    if not plain.is_valid:
        parts = plain.buffer(0)
        plain = max(getattr(parts, "geoms", [parts]), key=lambda part: float(part.area))
    if plain.area < 1.0 or abs(plain.area - whole) > 0.01 * whole:
        raise InputUnfit(
            f"{place}: its cutting line crosses itself or encloses nothing; draw it as one simple outline."
        )
    return np.array(plain.simplify(_FLAT).exterior.coords)[:-1]


def _kinds(share: CutShare, fold: ClothFold, even: bool) -> list[tuple[bool, Layers]]:
    """For each paper piece laid down: mirrored or not, and the layers it is cut through."""
    pair = share.cut is CutAs.PAIR
    if fold is ClothFold.LENGTHWISE and (pair or even):
        # Two layers, right sides together, give a piece and its mirror image.
        double, odd = divmod(share.copies, 2)
        return [(False, Layers.DOUBLE)] * double + [(False, Layers.SINGLE)] * odd
    return [(pair and bool(number % 2), Layers.SINGLE) for number in range(share.copies)]


def _along_grain(seam_lines: SeamLines, outline: PieceOutline) -> Affine:
    """The turn that lays the piece's grain along x, the drawing's top to the left."""
    grain = grain_of(seam_lines.pattern.lines(piece=outline.piece))
    if grain is None and outline.fold is not None:
        fold = longest_stretch([outline.fold.path])
        grain = None if fold is None else fold.downwards()
    if grain is None:
        return Affine.turn(-90)
    step = grain.end - grain.start
    return Affine.turn(-degrees(atan2(step.y, step.x)))


def _lies_on_fold(outline: PieceOutline) -> bool:
    """Whether a part of its outline that has a length, and not all of it, lies on the fold."""
    if outline.fold is None or all(run.on_fold for run in outline.runs):
        return False
    _, start, end = _open_chain(outline)
    return float(np.linalg.norm(end - start)) > 1e-6


def _open_chain(outline: PieceOutline) -> tuple[Array, Array, Array]:
    """The outline from the end of its fold round to the fold's start, and those two points."""
    runs = outline.runs
    first = next(i for i in range(len(runs)) if not runs[i].on_fold and runs[i - 1].on_fold)
    ordered = [*runs[first:], *runs[:first]]
    points = np.vstack([line for run in ordered if not run.on_fold for line in run.path.flatten(_FLAT)])
    keep = np.append(np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-6, True)
    points = points[keep]
    return points, points[0], points[-1]


def _unfolded(outline: PieceOutline) -> Array:
    """The whole piece: its half and the mirror image across the fold."""
    points, start, end = _open_chain(outline)
    axis = (end - start) / np.linalg.norm(end - start)
    offset = points - start
    mirrored = start + 2 * (offset @ axis)[:, None] * axis - offset
    return np.vstack([points, mirrored[-2:0:-1]])


def _half(outline: PieceOutline, turn: Affine, place: str) -> Array:
    """The half piece with its fold on y = 0 and its body at y > 0."""
    points, start, end = _open_chain(outline)
    ends = turn.points(np.array([start, end]))
    askew = degrees(atan2(*(ends[1] - ends[0])[::-1]))
    askew = (askew + 90) % 180 - 90
    if abs(askew) > _PARALLEL:
        raise InputUnfit(
            f"{place}: its fold line lies {abs(askew):.0f}° off its grainline, so it can't be laid on the "
            "fold of the cloth",
            Remedy(Action.OPEN_OUT),
        )
    ring = Affine.turn(-askew).points(turn.points(points))
    ring = ring - ring[0]
    return np.asarray(ring * (1.0, -1.0) if ring[:, 1].mean() < 0 else ring)


def _is_even(ring: Array) -> bool:
    """Whether the piece is its own mirror image across its grain, to `_EVEN` mm."""
    from shapely import LinearRing  # noqa: PLC0415 - shapely is slow to load

    middle = ring - (ring.min(axis=0) + ring.max(axis=0)) / 2
    return bool(LinearRing(middle).hausdorff_distance(LinearRing(middle * (1.0, -1.0))) < _EVEN)
