"""What of a path has to be drawn so that nothing is missing inside some windows.

A stroked path is cut to the operators whose ink can touch a window, with one to spare at each end; dashes go on by
arc length. Of a filled path whole subpaths are left out: outside its box a subpath winds zero times round a point.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tiling.content.lexer import numbers
from tiling.content.scene import Matrix, figure
from tiling.content.table import CLOSE, LINE, MOVE, RECTANGLE, PathTable

__all__ = ["Trimmer", "touching"]

_SHORT = 4
"""Runs of fewer operators aren't worth cutting."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


def touching(boxes: Floats, windows: Floats) -> Flags:
    """Which of the (n, 4) boxes share a point with any of the (k, 4) windows."""
    found = np.zeros(len(boxes), dtype=np.bool_)
    for x0, y0, x1, y1 in windows:
        found |= (boxes[:, 0] <= x1) & (boxes[:, 2] >= x0) & (boxes[:, 1] <= y1) & (boxes[:, 3] >= y0)
    return found


class Trimmer:
    """Cuts the runs of one table. `spare` (p,) is how far each run's ink goes beyond its path, mm.

    It takes the table's boxes over, and grows them by the ink.
    """

    def __init__(self, table: PathTable, spare: Floats, moves: Sequence[Matrix]) -> None:
        self.table = table
        counts = np.diff(table.first)
        grow = np.repeat(spare, counts)[:, None]
        self.boxes = table.boxes
        self.boxes[:, :2] -= grow
        self.boxes[:, 2:] += grow
        self._moves = moves
        self._worth = table.regular & (counts >= _SHORT)
        self._closed = np.zeros(len(counts), dtype=np.bool_)
        self._closed[np.searchsorted(table.first, np.flatnonzero(table.kinds == CLOSE), side="right") - 1] = True
        self._spans: dict[int, tuple[int, int]] = {}
        self._starts: list[int] = []
        self._stops: list[int] = []

    def aim(self, windows: Floats, runs: NDArray[np.int64]) -> None:
        """Find, for some windows and runs (ascending), the spans of operators that can touch a window.

        Runs that are needed wholly, or are too short to be cut, get no span.
        """
        table = self.table
        self._spans = {}
        chosen = runs[self._worth[runs]]
        if not len(chosen):
            return
        counts = np.diff(table.first)[chosen]
        offsets = _starts(counts)
        index = np.repeat(table.first[:-1][chosen] - offsets, counts) + np.arange(int(counts.sum()))
        kinds = table.kinds[index]
        moving = kinds == MOVE
        touch = touching(self.boxes[index], windows) & ~moving
        keep = touch.copy()
        keep[:-1] |= touch[1:] & ~moving[1:]
        keep[1:] |= touch[:-1]
        keep &= ~moving
        for at in np.flatnonzero(kinds == CLOSE).tolist():
            start = at - int(np.argmax(moving[at::-1])) + 1
            keep[start] |= touch[at]
            keep[at] |= touch[start]
        # Every run begins with a move, which is never kept by itself: spans can't go over from one run to the next.
        begins = np.flatnonzero(keep & ~np.concatenate([[False], keep[:-1]]))
        ends = np.flatnonzero(keep & ~np.concatenate([keep[1:], [False]]))
        self._starts, self._stops = index[begins].tolist(), (index[ends] + 1).tolist()
        bounds = np.searchsorted(begins, np.concatenate([offsets, [len(index)]]))
        partial = np.add.reduceat((~keep & ~moving).astype(np.int64), offsets) > 0
        for position in np.flatnonzero(partial).tolist():
            self._spans[int(chosen[position])] = (int(bounds[position]), int(bounds[position + 1]))

    def whole(self, run: int) -> bytes:
        """The run as in the source."""
        table = self.table
        return table.text[table.run_bytes[run] : table.run_bytes[run + 1]]

    def stroked(self, run: int) -> bytes:
        """The parts of a stroked, undashed run that the windows aimed at need."""
        groups = self._groups(run)
        if groups is None:
            return self.whole(run)
        if not self._closed[run]:
            return b" ".join([self._written(start, stop, run) for start, stop in groups])
        return b" ".join(self._round(groups, run))

    def dashed(self, run: int, pattern: bytes, phase: float) -> list[tuple[bytes, bytes]]:
        """The same of a dashed run: pairs of a d operator and the path it is for."""
        values = numbers(pattern)
        period = sum(values) * (1 + len(values) % 2)
        plain = pattern + b" " + figure(phase) + b" d"
        if self._closed[run] or not period > 0 or min(values) < 0:
            return [(plain, self.whole(run))]
        groups = self._groups(run)
        a, b, c, d, _, _ = self._moves[run]
        if groups is None or abs(a * d - b * c) < 1e-12:
            return [(plain, self.whole(run))]
        along = self._arc_starts(run)
        first = int(self.table.first[run])
        return [
            (pattern + b" " + figure((phase + along[start - first]) % period) + b" d", self._written(start, stop, run))
            for start, stop in groups
        ]

    def _groups(self, run: int) -> list[tuple[int, int]] | None:
        """Spans of operators to keep, each within one subpath; None when that is all of them."""
        span = self._spans.get(run)
        return None if span is None else list(zip(self._starts[slice(*span)], self._stops[slice(*span)], strict=True))

    def _begin(self, operator: int, run: int) -> int:
        """Where an operator's operands begin in the text."""
        table = self.table
        return table.run_bytes.item(run) if operator == table.first.item(run) else table.ends.item(operator - 1)

    def _written(self, start: int, stop: int, run: int) -> bytes:
        """Operators start … stop - 1 with a move to where they begin."""
        table = self.table
        text, ends = table.text, table.ends
        before, own, end = self._begin(start - 1, run), ends.item(start - 1), ends.item(stop - 1)
        if table.kinds.item(start - 1) == MOVE:
            return text[before:end]
        words = text[before:own].replace(b"\x00", b" ").split()
        return b"%s %s m%s" % (words[-3], words[-2], text[own:end])

    def _round(self, groups: list[tuple[int, int]], run: int) -> list[bytes]:
        """Groups of subpaths of which some are closed: what goes over the closing point stays joined there."""
        table = self.table
        leading = {start: stop for start, stop in groups if table.kinds[start - 1] == MOVE}
        result: list[bytes] = []
        used: set[int] = set()
        for start, stop in groups:
            whole = start in leading
            if table.kinds[stop - 1] != CLOSE or whole:
                continue
            first = stop - 1
            while table.kinds[first] != MOVE:
                first -= 1
            words = table.text[self._begin(first, run) : table.ends[first]].replace(b"\x00", b" ").split()
            body = self._written(start, stop - 1, run) if stop - 1 > start else self._point(start, run)
            joined = b"%s %s %s l" % (body, words[-3], words[-2])
            if first + 1 in leading:
                used.add(first + 1)
                joined += table.text[table.ends[first] : table.ends[leading[first + 1] - 1]]
            result.append(joined)
            used.add(start)
        result.extend(self._written(start, stop, run) for start, stop in groups if start not in used)
        return result

    def _point(self, operator: int, run: int) -> bytes:
        """A move to where an operator begins."""
        table = self.table
        words = table.text[self._begin(operator - 1, run) : table.ends[operator - 1]].replace(b"\x00", b" ").split()
        return b"%s %s m" % (words[-3], words[-2])

    def _arc_starts(self, run: int) -> list[float]:
        """Arc length in user space from each operator's subpath's start to the operator's."""
        table = self.table
        a, b, c, d, _, _ = self._moves[run]
        back = np.linalg.inv(np.array([[a, b], [c, d]]))
        result: list[float] = []
        total = 0.0
        for operator in range(int(table.first[run]), int(table.first[run + 1])):
            if table.kinds[operator] == MOVE:
                total = 0.0
            result.append(total)
            if table.kinds[operator] != MOVE:
                stop = table.after[operator]
                points = np.vstack([table.points[table.before[operator]], table.points[_own(table, operator) : stop]])
                total += _length(points @ back)
        return result

    def filled(self, run: int, windows: Floats) -> bytes:
        """The parts of a filled run that are needed: subpaths whose box touches a window."""
        table = self.table
        first, stop = int(table.first[run]), int(table.first[run + 1])
        kinds = table.kinds[first:stop]
        starts = np.flatnonzero((kinds == MOVE) | (kinds == RECTANGLE))
        if len(starts) < 2 or starts[0] != 0 or table.unsure[run]:
            return self.whole(run)
        drawing = np.flatnonzero((kinds >= LINE) & (kinds != RECTANGLE))
        closing = np.isin(drawing - 1, np.flatnonzero((kinds == CLOSE) | (kinds == RECTANGLE)))
        if closing.any():
            return self.whole(run)
        boxes = self.boxes[first:stop]
        subs = np.hstack(
            [np.minimum.reduceat(boxes[:, :2], starts, axis=0), np.maximum.reduceat(boxes[:, 2:], starts, axis=0)]
        )
        kept = touching(subs, windows)
        if kept.all():
            return self.whole(run)
        stops = np.concatenate([starts[1:], [stop - first]])
        if int((stops - starts)[kept].sum()) < _SHORT and not (kinds == RECTANGLE)[starts[kept]].any():
            # Renderers draw a path of a single straight segment as a hairline when it is filled.
            return self.whole(run)
        spans = zip((starts[kept] + first).tolist(), (stops[kept] + first - 1).tolist(), strict=True)
        return b" ".join(table.text[self._begin(one, run) : table.ends[last]] for one, last in spans)


def _starts(counts: NDArray[np.int64]) -> NDArray[np.int64]:
    return np.concatenate([[0], np.cumsum(counts)[:-1]])


def _own(table: PathTable, operator: int) -> int:
    """Where an operator's own points begin."""
    return int(table.after[operator - 1]) if operator else 0


def _length(points: Floats) -> float:
    """Arc length of a straight or cubic segment (Gauss-Legendre, 16 nodes on each of four parts)."""
    if len(points) == 2:
        return float(np.linalg.norm(points[1] - points[0]))
    t = ((np.arange(4)[:, None] + (_NODES + 1) / 2) / 4).ravel()[:, None]
    d = np.diff(points, axis=0) * 3
    speed = np.linalg.norm((1 - t) ** 2 * d[0] + 2 * t * (1 - t) * d[1] + t**2 * d[2], axis=1)
    return float(np.sum(speed.reshape(4, -1) * _WEIGHTS) / 8)
