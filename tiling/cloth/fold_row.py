"""Pieces cut on the fold, set one behind the other along the fold of the cloth.

The packing can't be told to keep a piece at the edge. So the row enters it as one rigid comb: a thin spine along the
fold and a thin wall as high as the cloth is wide, which fits on the strip only with its spine on the fold. The other
pieces are packed between the comb's teeth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations, product

import numpy as np

from tiling.cloth.lay_pieces import LayPiece
from tiling.shapes import Affine
from tiling.shapes.curves import Array

__all__ = ["FoldRow", "comb", "fold_row", "grown"]

SPINE = 0.5
"""Thickness of the comb's spine and wall, mm: what the row loses at its start."""

_HAIR = 0.02
_MOST_WAYS = 5000


@dataclass(frozen=True, slots=True, eq=False)
class FoldRow:
    """The pieces in order along the fold, each with its move (a shift, or a turn end for end on the fold)."""

    pieces: tuple[LayPiece, ...]
    moves: tuple[Affine, ...]

    def rings(self) -> list[Array]:
        """The outlines at their places, fold on y = 0."""
        return [move.points(piece.ring) for piece, move in zip(self.pieces, self.moves, strict=True)]


def fold_row(pieces: Sequence[LayPiece], gap: float, *, may_turn: bool) -> FoldRow:
    """The shortest row, found by trying every order and turn (for very many pieces: longest first, as drawn).

    Args:
        pieces: pieces on the fold, fold along y = 0.
        gap: what stays free between two of them, mm.
        may_turn: whether a piece may lie end for end; on folded cloth that is its mirror image along x.
    """
    count = len(pieces)
    turns = (False, True) if may_turn else (False,)
    rings = {(i, turn): _faced(pieces[i].ring, turn) for i in range(count) for turn in turns}
    step = {(a, b): _clearance(rings[a], rings[b]) + gap for a in rings for b in rings if a[0] != b[0]}
    best: list[tuple[int, bool]] = []
    starts: list[float] = []
    shortest = float("inf")
    for way in _ways(pieces, turns):
        here: list[float] = []
        for place, key in enumerate(way):
            here.append(max((here[i] + step[way[i], key] for i in range(place)), default=0.0))
        length = max((x + float(np.ptp(rings[key][:, 0])) for x, key in zip(here, way, strict=True)), default=0.0)
        if length < shortest - 1e-9:
            best, starts, shortest = list(way), here, length
    moves = [
        Affine.shift(start, 0.0) @ _facing(pieces[i].ring, turn) for start, (i, turn) in zip(starts, best, strict=True)
    ]
    return FoldRow(tuple(pieces[i] for i, _ in best), tuple(moves))


def comb(row: FoldRow, height: float, gap: float) -> Array:
    """The row as one outline with spine and wall, grown by half the gap; the cloth's fold is at y = gap / 2.

    The wall stands at x from -`SPINE` to 0 and is as high as the strip, less a hair.
    """
    from shapely import Polygon, box, unary_union  # noqa: PLC0415 - shapely is slow to load

    rings = row.rings()
    length = max(float(ring[:, 0].max()) for ring in rings)
    wall = box(-SPINE, 0.0, 0.0, height - _HAIR)
    spine = box(-SPINE, 0.0, length, gap / 2 + SPINE)
    teeth = [Polygon(grown(ring + np.array([0.0, gap / 2]), gap)) for ring in rings]
    whole = unary_union([wall, spine, *teeth]).intersection(box(-SPINE, 0.0, length + gap / 2, height))
    return np.array(whole.exterior.coords)[:-1]


def grown(ring: Array, gap: float) -> Array:
    """The outline moved outwards by half the gap, mitred, so that two grown outlines keep the gap."""
    from shapely import Polygon  # noqa: PLC0415

    shape = Polygon(ring).buffer(0).buffer(gap / 2, join_style="mitre", mitre_limit=2.0)
    parts = list(getattr(shape, "geoms", [shape]))
    return np.array(max(parts, key=lambda part: float(part.area)).exterior.coords)[:-1]


def _ways(pieces: Sequence[LayPiece], turns: tuple[bool, ...]) -> Iterator[tuple[tuple[int, bool], ...]]:
    count = len(pieces)
    # Copies of one piece look alike: their order among themselves does not matter, nor is it worth trying.
    tried = 0
    for order in permutations(range(count)):
        for turn in product(turns, repeat=count):
            yield tuple(zip(order, turn, strict=True))
            tried += 1
            if tried >= _MOST_WAYS:
                return


def _facing(ring: Array, turned: bool) -> Affine:
    """The piece as it is, or its mirror image along x, starting at x = 0."""
    return Affine(a=-1.0, e=float(ring[:, 0].max())) if turned else Affine.shift(-float(ring[:, 0].min()), 0.0)


def _faced(ring: Array, turned: bool) -> Array:
    return _facing(ring, turned).points(ring)


def _clearance(one: Array, other: Array) -> float:
    """How far right of `one`'s start `other` must start so that they don't cross, whatever lies to the left."""
    heights = np.unique(np.concatenate([one[:, 1], other[:, 1]]))
    right, left = _reach(one, heights, 1.0), -_reach(other, heights, -1.0)
    both = np.isfinite(right) & np.isfinite(left)
    return float((right[both] - left[both]).max()) if both.any() else 0.0


def _reach(ring: Array, heights: Array, sign: float) -> Array:
    """The largest sign·x of the outline at each height; -inf where it has none."""
    a, b = ring, np.roll(ring, -1, axis=0)
    low, high = np.minimum(a[:, 1], b[:, 1]), np.maximum(a[:, 1], b[:, 1])
    spans = (heights[:, None] >= low) & (heights[:, None] <= high)
    rise = b[:, 1] - a[:, 1]
    flat = np.abs(rise) < 1e-12
    share = np.where(flat, 0.0, (heights[:, None] - a[:, 1]) / np.where(flat, 1.0, rise))
    x = sign * (a[:, 0] + np.clip(share, 0.0, 1.0) * (b[:, 0] - a[:, 0]))
    x = np.where(flat, np.maximum(sign * a[:, 0], sign * b[:, 0]), x)
    return np.asarray(np.where(spans, x, -np.inf).max(axis=1))
