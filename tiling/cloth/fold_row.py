"""Pieces cut on the fold, set one behind the other along the fold of the cloth.

The packing can't be told to keep a piece at the edge. So the row enters it as one rigid comb: a thin spine along the
fold and a thin wall as high as the cloth is wide, which fits on the strip only with its spine on the fold. The other
pieces are packed between the comb's teeth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, permutations, product

import numpy as np

from calibrate.run import Run
from tiling.cloth.lay_pieces import LayPiece
from tiling.planning.packing import packable
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import polygon_of

__all__ = ["FoldRow", "comb", "fold_rows", "grown"]

SPINE = 0.5
"""Thickness of the comb's spine and wall, mm: what the row loses at its start."""

_HAIR = 0.02
_COARSEST = 0.5
_MOST_WAYS = 5000
_MOST_ROWS = 4


@dataclass(frozen=True, slots=True, eq=False)
class FoldRow:
    """The pieces in order along the fold, each with its move (a shift, or a turn end for end on the fold)."""

    pieces: tuple[LayPiece, ...]
    moves: tuple[Affine, ...]

    def rings(self) -> list[Array]:
        """The outlines at their places, fold on y = 0."""
        return [move.points(piece.ring) for piece, move in zip(self.pieces, self.moves, strict=True)]


def fold_rows(pieces: Sequence[LayPiece], gap: float, *, may_turn: bool, run: Run = Run()) -> list[FoldRow]:
    """The shortest row of each order, short ones first; at most `_MOST_ROWS`, at least one (perhaps empty).

    The shortest row is not always the best one to pack other pieces around. Of very many pieces not all orders are
    tried.

    Args:
        pieces: pieces on the fold, fold along y = 0.
        gap: what stays free between two of them, mm.
        may_turn: whether a piece may lie end for end; on folded cloth that is its mirror image along x.
        run: ends it early.

    Raises:
        Cancelled: by `run`.
    """
    turns = (False, True) if may_turn else (False,)
    rings = {
        (i, turn): _facing(piece.ring, turn).points(piece.ring) for i, piece in enumerate(pieces) for turn in turns
    }
    step = {(a, b): _clearance(rings[a], rings[b]) + gap for a in rings for b in rings if a[0] != b[0]}
    best: dict[tuple[int, ...], tuple[float, FoldRow]] = {}
    for way in islice(_ways(len(pieces), turns), _MOST_WAYS):
        run.check()
        starts: list[float] = []
        for key in way:
            starts.append(
                max((start + step[before, key] for start, before in zip(starts, way, strict=False)), default=0.0)
            )
        # A piece may reach over the one before it, and beyond the row's start.
        left = min(starts, default=0.0)
        starts = [start - left for start in starts]
        length = max((x + float(np.ptp(rings[key][:, 0])) for x, key in zip(starts, way, strict=True)), default=0.0)
        order = tuple(i for i, _ in way)
        # Read from the other end, a row is the same row where pieces may be turned.
        name = min(order, order[::-1]) if may_turn else order
        if name not in best or length < best[name][0] - 1e-9:
            moves = [
                Affine.shift(x, 0.0) @ _facing(pieces[i].ring, turn) for x, (i, turn) in zip(starts, way, strict=True)
            ]
            best[name] = (length, FoldRow(tuple(pieces[i] for i in order), tuple(moves)))
    return [row for _, row in sorted(best.values(), key=lambda found: found[0])[:_MOST_ROWS]]


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
    """An outline of few corners around the piece with half the gap to spare: two such outlines keep the gap."""
    around = polygon_of(ring).buffer(gap / 2, join_style="mitre", mitre_limit=2.0)
    return packable(around, min(gap / 8, _COARSEST))


def _ways(count: int, turns: tuple[bool, ...]) -> Iterator[tuple[tuple[int, bool], ...]]:
    for order in permutations(range(count)):
        for turn in product(turns, repeat=count):
            yield tuple(zip(order, turn, strict=True))


def _facing(ring: Array, turned: bool) -> Affine:
    """The piece as it is, or its mirror image along x, starting at x = 0."""
    return Affine(a=-1.0, e=float(ring[:, 0].max())) if turned else Affine.shift(-float(ring[:, 0].min()), 0.0)


def _clearance(one: Array, other: Array) -> float:
    """Least distance in x from the start of `one` at which `other` can start to its right and not cross it, mm."""
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
