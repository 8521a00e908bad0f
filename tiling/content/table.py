"""All paths of a page as arrays: half a million points parsed, placed and boxed without a loop over them.

A *run* is the construction operators of one path as bytes; an *operator* is one m, l, c, v, y, re or h of it.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tiling.content.lexer import number
from tiling.content.scene import Matrix
from tiling.shapes import Op, Path

__all__ = ["CLOSE", "CURVE", "CURVE_V", "CURVE_Y", "LINE", "MOVE", "RECTANGLE", "PathTable", "build_table"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOVE, LINE, CURVE, CURVE_V, CURVE_Y, RECTANGLE, CLOSE = range(7)
_LETTERS: Final = b"mlcvyrh"
_CODES: Final = np.full(256, 255, dtype=np.uint8)
_CODES[np.frombuffer(_LETTERS, dtype=np.uint8)] = np.arange(7, dtype=np.uint8)
_NUMBERS_OF: Final = np.array([2, 2, 6, 4, 4, 4, 0])
_POINTS_OF: Final = np.array([1, 1, 3, 3, 3, 4, 0])
_STEPS_OF: Final = np.array([1, 1, 1, 1, 1, 5, 1])
_BLANKS: Final = bytes.maketrans(b"mlcvyreh\x00", b" " * 9)
_ODD: Final = re.compile(rb"[\d.][+\-]|\.\d*\.|[+\-][+\-.]*[+\-]|(?<![\d.])[+\-.]+(?![\d.])")
_FAR = 1e7
"""mm: ten kilometres. Numbers are cut off there, so that nothing overflows later."""


@dataclass(frozen=True, slots=True)
class PathTable:
    """Every path of a page.

    Attributes:
        text: all runs, one after the other.
        run_bytes: (p + 1,) where each run begins in `text`.
        first: (p + 1,) the first operator of each run.
        kinds, ends: (n,) each operator's kind and where it ends in `text`.
        boxes: (n, 4) the box in mm of what each operator draws (its start included; a MOVE is its point).
        hulls: (p, 4) the box of all points of each run.
        regular: (p,) whether each run has only M, L, C (v, y too) and H, every subpath beginning with M.
        unsure: (p,) whether readers may disagree about the run's numbers.
        ops, points: as in `tiling.shapes.Path`, mm; `op_first`, `point_first` say where each run's begin.
        before: (n,) index in `points` of the current point when the operator begins.
        after: (n,) index one past the operator's last point.
    """

    text: bytes
    run_bytes: Ints
    first: Ints
    kinds: NDArray[np.uint8]
    ends: Ints
    boxes: Floats
    hulls: Floats
    regular: NDArray[np.bool_]
    unsure: NDArray[np.bool_]
    ops: NDArray[np.uint8]
    points: Floats
    op_first: Ints
    point_first: Ints
    before: Ints
    after: Ints

    def path(self, run: int) -> Path:
        """One path in mm; views on the table's arrays."""
        return Path(
            self.ops[self.op_first[run] : self.op_first[run + 1]],
            self.points[self.point_first[run] : self.point_first[run + 1]],
        )


def _parse(text: bytes, expected: int) -> Floats | None:
    """All numbers, or None when there are too few, too many, or words that are no plain number."""
    spaced = text.translate(_BLANKS)
    words = np.frombuffer(spaced, dtype=np.uint8) > 32
    count = int(np.count_nonzero(words[1:] & ~words[:-1])) + int(len(words) > 0 and words[0])
    if count != expected:
        return None
    with warnings.catch_warnings():
        # What can't be read to its end is found by counting.
        warnings.simplefilter("ignore", DeprecationWarning)
        try:
            found = np.fromstring(spaced, dtype=np.float64, sep=" ")
        except ValueError:
            return None
    return found if len(found) == expected else None


def _repaired(text: bytes, kinds: NDArray[np.uint8], ends: Ints) -> tuple[Floats, Ints]:
    """The numbers operator by operator (missing ones 0, surplus ones dropped in front), and the odd operators."""
    result: list[float] = []
    odd: list[int] = []
    previous = 0
    for index, (kind, end) in enumerate(zip(kinds.tolist(), ends.tolist(), strict=True)):
        piece = text[previous:end]
        need = int(_NUMBERS_OF[kind])
        words = piece.translate(_BLANKS).split()
        if len(words) != need or _ODD.search(piece):
            odd.append(index)
        values = [number(word) for word in words[len(words) - need :]] if need else []
        result += values + [0.0] * (need - len(values))
        previous = end
    return np.array(result, dtype=np.float64), np.array(odd, dtype=np.int64)


def build_table(runs: Sequence[bytes], moves: Sequence[Matrix]) -> PathTable:
    """Parse the runs and place each by its move (from user space to mm)."""
    text = b"".join(runs)
    run_bytes = np.concatenate([[0], np.cumsum(np.fromiter(map(len, runs), dtype=np.int64, count=len(runs)))])
    codes = _CODES[np.frombuffer(text, dtype=np.uint8)]
    places = np.flatnonzero(codes != 255)
    kinds = codes[places]
    del codes
    ends = places + 1 + (kinds == RECTANGLE)
    first = np.searchsorted(places, run_bytes)
    values = _parse(text, int(_NUMBERS_OF[kinds].sum()))
    unsure = np.zeros(len(runs), dtype=np.bool_)
    if values is None:
        values, odd = _repaired(text, kinds, ends)
        unsure[np.searchsorted(first, odd, side="right") - 1] = True
    return _Builder(kinds, first, values).table(text, run_bytes, ends, unsure, moves)


class _Builder:
    """From raw operators to canonical steps and points."""

    def __init__(self, kinds: NDArray[np.uint8], first: Ints, values: Floats) -> None:
        self.kinds, self.first, self.values = kinds, first, values
        opening = np.zeros(len(kinds), dtype=np.bool_)
        opening[first[:-1][first[:-1] < first[1:]]] = True
        previous = np.concatenate([[MOVE], kinds[:-1]]) if len(kinds) else kinds
        closed_before = ~opening & ((previous == CLOSE) | (previous == RECTANGLE))
        self.draws = (kinds >= LINE) & (kinds <= CURVE_Y)
        self.lead = self.draws & (closed_before | opening)
        self.idle = (kinds == CLOSE) & (closed_before | opening)
        self.closed_before, self.opening = closed_before, opening
        counts = _POINTS_OF[kinds] + self.lead
        steps = np.where(self.idle, 0, _STEPS_OF[kinds] + self.lead)
        self.point_at = _offsets(counts)
        self.step_at = _offsets(steps)
        starts = np.where((kinds == MOVE) | (kinds == RECTANGLE) | self.lead, self.point_at[:-1], 0)
        self.sub_start = np.maximum.accumulate(starts) if len(starts) else starts
        behind = np.concatenate([[0], self.sub_start[:-1]]) if len(starts) else starts
        self.before = np.where(
            opening, self.point_at[:-1], np.where(closed_before, behind, np.maximum(self.point_at[:-1] - 1, 0))
        )

    def points(self) -> Floats:
        """All points in user space."""
        kinds, values = self.kinds, self.values.reshape(-1, 2)
        out = np.empty((int(self.point_at[-1]), 2))
        start = self.point_at[:-1] + self.lead
        source = _offsets(_NUMBERS_OF[kinds])[:-1] // 2
        single = kinds <= LINE
        out[start[single]] = values[source[single]]
        for kind, targets in ((CURVE, (0, 1, 2)), (CURVE_V, (1, 2)), (CURVE_Y, (0, 2))):
            chosen = kinds == kind
            if chosen.any():
                for number_, target in enumerate(targets):
                    out[start[chosen] + target] = values[source[chosen] + number_]
        chosen = kinds == CURVE_Y
        out[start[chosen] + 1] = out[start[chosen] + 2]
        chosen = kinds == RECTANGLE
        corner, size = values[source[chosen]], values[source[chosen] + 1] if chosen.any() else values[:0]
        for target, factor in ((0, (0, 0)), (1, (1, 0)), (2, (1, 1)), (3, (0, 1))):
            out[start[chosen] + target] = corner + size * factor
        for index in np.flatnonzero(self.lead).tolist():
            at = int(self.point_at[index])
            out[at] = out[at + int(_POINTS_OF[kinds[index]])] if self.opening[index] else out[self.before[index]]
        chosen = np.flatnonzero(kinds == CURVE_V)
        out[start[chosen]] = out[start[chosen] - 1]
        return out

    def steps(self) -> NDArray[np.uint8]:
        """Canonical steps."""
        kinds = self.kinds
        out = np.empty(int(self.step_at[-1]), dtype=np.uint8)
        start = self.step_at[:-1]
        out[start[self.lead]] = Op.MOVE
        start = start + self.lead
        for kind, step in enumerate((Op.MOVE, Op.LINE, Op.CURVE, Op.CURVE, Op.CURVE)):
            out[start[kinds == kind]] = step
        out[start[(kinds == CLOSE) & ~self.idle]] = Op.CLOSE
        rectangles = start[kinds == RECTANGLE]
        for offset, step in enumerate((Op.MOVE, Op.LINE, Op.LINE, Op.LINE, Op.CLOSE)):
            out[rectangles + offset] = step
        return out

    def boxes(self, points: Floats) -> Floats:
        """The box of what each operator draws."""
        boxes = np.empty((len(self.kinds), 4))
        owning = np.flatnonzero(self.point_at[1:] > self.point_at[:-1])
        if len(owning):
            at = self.point_at[:-1][owning]
            boxes[owning, :2] = np.minimum.reduceat(points, at, axis=0)
            boxes[owning, 2:] = np.maximum.reduceat(points, at, axis=0)
        closing = np.flatnonzero(self.kinds == CLOSE)
        if len(closing) and len(points):
            boxes[closing] = np.tile(points[np.minimum(self.sub_start[closing], len(points) - 1)], 2)
        drawn = np.flatnonzero(self.draws | (self.kinds == CLOSE))
        if len(drawn) and len(points):
            here = points[np.minimum(self.before[drawn], len(points) - 1)]
            boxes[drawn, :2] = np.minimum(boxes[drawn, :2], here)
            boxes[drawn, 2:] = np.maximum(boxes[drawn, 2:], here)
        return boxes

    def table(
        self, text: bytes, run_bytes: Ints, ends: Ints, unsure: NDArray[np.bool_], moves: Sequence[Matrix]
    ) -> PathTable:
        point_first = self.point_at[self.first]
        points = _placed(self.points(), point_first, moves)
        boxes = self.boxes(points)
        hulls = np.full((len(moves), 4), np.nan)
        filled = np.flatnonzero(self.first[1:] > self.first[:-1])
        if len(filled):
            at = self.first[:-1][filled]
            hulls[filled, :2] = np.minimum.reduceat(boxes[:, :2], at, axis=0)
            hulls[filled, 2:] = np.maximum.reduceat(boxes[:, 2:], at, axis=0)
        irregular = self.lead | self.idle | (self.kinds == RECTANGLE) | (self.closed_before & (self.kinds != MOVE))
        regular = np.ones(len(moves), dtype=np.bool_)
        regular[np.searchsorted(self.first, np.flatnonzero(irregular), side="right") - 1] = False
        return PathTable(
            text, run_bytes, self.first, self.kinds, ends, boxes, hulls, regular & ~unsure, unsure,
            self.steps(), points, self.step_at[self.first], point_first, self.before, self.point_at[1:],
        )  # fmt: skip


def _offsets(counts: NDArray[np.int64]) -> Ints:
    return np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(counts, dtype=np.int64)])


def _placed(points: Floats, point_first: Ints, moves: Sequence[Matrix]) -> Floats:
    """The points of every run under its move, in mm, kept within bounds."""
    if not len(points):
        return points
    matrices = np.array(moves, dtype=np.float64)
    if (matrices == matrices[0]).all():
        a, b, c, d, e, f = matrices[0]
    else:
        counts = np.diff(point_first)
        a, b, c, d, e, f = (np.repeat(matrices[:, column], counts) for column in range(6))
    x, y = points[:, 0], points[:, 1]
    placed = np.empty_like(points)
    # Numbers beyond all bounds are no fault here: they end up at the bounds.
    with np.errstate(over="ignore", invalid="ignore"):
        np.add(a * x + c * y, e, out=placed[:, 0])
        np.add(b * x + d * y, f, out=placed[:, 1])
    np.nan_to_num(placed, copy=False, nan=_FAR, posinf=_FAR, neginf=-_FAR)
    return np.clip(placed, -_FAR, _FAR, out=placed)
