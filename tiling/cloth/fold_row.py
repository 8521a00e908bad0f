"""Pieces cut on the fold, set one behind the other along the fold of the cloth.

The packing can't be told to keep a piece at the edge. So the row enters it as one rigid comb: a thin spine along the
fold and a thin wall as high as the cloth is wide, which fits on the strip only with its spine on the fold. The other
pieces are packed between the comb's teeth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibrate.run import Run
from tiling.planning.packing import packable
from tiling.planning.strip import Facing, StripItem, Surrounding, kinds_of
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import polygon_of

__all__ = ["SPINE", "comb", "fold_rows", "grown"]

SPINE = 0.5
"""Thickness of the comb's spine and wall, mm; the row itself loses nothing by it."""

_HAIR = 0.02
_COARSEST = 0.5
_BEAM = 300
"""Beginnings of rows that are kept for each number of pieces."""


@dataclass(frozen=True, slots=True, eq=False)
class _Begun:
    """The beginning of a row: which facings in order (numbers into all of them), and where each starts, mm."""

    order: tuple[int, ...]
    starts: tuple[float, ...]
    reach: float

    @property
    def moved(self) -> tuple[float, ...]:
        """The starts, the least of them at 0."""
        return tuple(start - min(self.starts) for start in self.starts)


def fold_rows(items: Sequence[StripItem], gap: float, most: int, run: Run = Run()) -> list[list[Affine]]:
    """The shortest rows of pinned things, each as their moves by item; short ones first.

    The row is built from one end by dynamic programming: of all beginnings with the same things, the same one last,
    only the shortest is kept, and of those the most promising few hundred for each number of things. The order in which
    the things are given makes no difference.

    Args:
        items: pinned things, one at least.
        gap: what stays free between two of them, mm.
        most: how many rows are wanted, each in another order.
        run: ends it early.

    Raises:
        Cancelled: by `run`.
    """
    kinds = kinds_of(items, _COARSEST)
    facings = list(dict.fromkeys(facing for kind in kinds for facing in kind))
    groups = list(dict.fromkeys(kinds))
    group_of = np.array([next(i for i, group in enumerate(groups) if facing in group) for facing in facings])
    counts = np.array([kinds.count(group) for group in groups])
    step = _steps(facings, gap, run)
    # No beginning can become shorter than if each thing still to come had its best neighbour before it.
    least = np.array([step[:, group_of == group].min() for group in range(len(groups))])
    begun = [_Begun((key,), (0.0,), facing.length) for key, facing in enumerate(facings)]
    for _ in range(len(items) - 1):
        run.check()
        following: dict[tuple[tuple[int, ...], int], tuple[float, _Begun]] = {}
        for beginning in begun:
            left = counts - np.bincount(group_of[list(beginning.order)], minlength=len(groups))
            starts = (np.array(beginning.starts)[:, None] + step[list(beginning.order)]).max(axis=0)
            for key in np.flatnonzero(left[group_of] > 0).tolist():
                start = float(starts[key])
                longer = _Begun(
                    (*beginning.order, key),
                    (*beginning.starts, start),
                    max(beginning.reach, start + facings[key].length),
                )
                rest = left.copy()
                rest[group_of[key]] -= 1
                name, worth = (tuple(rest.tolist()), key), _span(longer) + float((rest * least).sum())
                if name not in following or worth < following[name][0] - 1e-9:
                    following[name] = (worth, longer)
        begun = [one for _, one in sorted(following.values(), key=lambda found: found[0])[:_BEAM]]
    rows: dict[tuple[int, ...], _Begun] = {}
    for row in sorted(begun, key=_span):
        rows.setdefault(tuple(group_of[list(row.order)].tolist()), row)
    return [_moves(row, facings, kinds) for row in list(rows.values())[:most]]


def comb(rings: Sequence[Array], height: float, gap: float) -> Array:
    """A row of outlines at their places as one with spine and wall, grown by half the gap.

    The cloth's fold is at y = gap / 2. The wall stands half a gap before the row's start, is `SPINE` thick, and is as
    high as the strip, less a hair.
    """
    from shapely import Polygon, box, unary_union  # noqa: PLC0415 - shapely is slow to load

    start = -gap / 2
    length = max(float(ring[:, 0].max()) for ring in rings)
    wall = box(start - SPINE, 0.0, start, height - _HAIR)
    spine = box(start - SPINE, 0.0, length, gap / 2 + SPINE)
    teeth = [Polygon(grown(ring + np.array([0.0, gap / 2]), gap)) for ring in rings]
    whole = unary_union([wall, spine, *teeth]).intersection(box(start - SPINE, 0.0, length + gap / 2, height))
    return np.array(whole.exterior.coords)[:-1]


def grown(ring: Array, gap: float) -> Array:
    """An outline of few corners around the piece with half the gap to spare: two such outlines keep the gap."""
    around = polygon_of(ring).buffer(gap / 2, join_style="mitre", mitre_limit=2.0)
    return packable(around, min(gap / 8, _COARSEST))


def _steps(facings: Sequence[Facing], gap: float, run: Run) -> Array:
    """From the start of each facing to the first start behind it of each other one, mm."""
    level = np.zeros(1)
    step = np.zeros((len(facings), len(facings)))
    for row, one in enumerate(facings):
        run.check()
        for column, other in enumerate(facings):
            # Where none of the one lies beside the other, the other may start with it.
            step[row, column] = max(0.0, float(Surrounding(one, other, gap).spans(level)[1].max()))
    return step


def _span(row: _Begun) -> float:
    return row.reach - min(row.starts)


def _moves(row: _Begun, facings: Sequence[Facing], kinds: Sequence[tuple[Facing, ...]]) -> list[Affine]:
    """The row as moves by item; like items take the places of their kind in turn."""
    places = [
        (facings[key], Affine.shift(start, 0.0) @ facings[key].move)
        for key, start in zip(row.order, row.moved, strict=True)
    ]
    moves = []
    for kind in kinds:
        at = next(number for number, (facing, _) in enumerate(places) if facing in kind)
        moves.append(places.pop(at)[1])
    return moves
