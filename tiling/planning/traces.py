"""Drawn lines reduced to what taped paper can show: where they run and how they look. For comparing two drawings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from tiling.planning.printed import STEP
from tiling.shapes import Affine, Path, Point

__all__ = ["Trace", "common_share", "difference", "shift_votes"]

_SPACING = 0.5
"""Longest distance between two compared points of a line, mm."""
_MOST_ALIKE = 24
_EACH = 10
_LEAST_SHARE = 0.02  # of a piece: a shift that leaves less of it in place is chance


@dataclass(frozen=True, eq=False)
class Trace:
    """One mark as ink: `kind` ('line', 'text', 'picture'), its piece, `look` (a key of its style) and its path, mm.

    A picture is traced by the edges of its place, a text by the upright edge it begins at; `whole` is then all of the
    text's place, which is what changes when it moves.
    """

    kind: str
    piece: str
    look: str
    path: Path
    whole: Path | None = None

    def moved(self, by: Affine) -> Trace:
        """The trace moved."""
        return replace(self, path=self.path.moved(by), whole=self.whole.moved(by) if self.whole else None)

    @cached_property
    def key(self) -> tuple[str, str, bytes, bytes]:
        """Equal for traces that print alike at the same place (to a step)."""
        steps = np.round(self.path.points / STEP).astype(np.int64)
        return (self.kind, self.look, self.path.ops.tobytes(), steps.tobytes())

    @cached_property
    def polylines(self) -> list[NDArray[np.float64]]:
        """The path flattened to a hundredth of a millimetre."""
        return self.path.flatten(0.01)


def _samples(polyline: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points along the polyline, vertices included, never more than `_SPACING` apart."""
    legs = np.linalg.norm(np.diff(polyline, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(legs)])
    if along[-1] == 0.0:
        return polyline[:1]
    wanted = np.union1d(along, np.linspace(0.0, along[-1], int(along[-1] / _SPACING) + 2))
    return np.column_stack([np.interp(wanted, along, polyline[:, axis]) for axis in (0, 1)])


def _without_twins(ours: Sequence[Trace], theirs: Sequence[Trace]) -> list[Trace]:
    twins = {trace.key for trace in theirs}
    return [trace for trace in ours if trace.key not in twins]


def _tree(lines: Sequence[NDArray[np.float64]]) -> shapely.STRtree:
    legs = [np.hstack([line[:-1], line[1:]]) if len(line) > 1 else np.hstack([line, line]) for line in lines]
    return shapely.STRtree(shapely.linestrings(np.vstack(legs).reshape(-1, 2, 2)))


def _distances(tree: shapely.STRtree, places: NDArray[np.object_]) -> NDArray[np.float64]:
    """Distance of each place from the nearest line, mm; measured at every tenth, which is dense enough."""
    (index, _), measured = tree.query_nearest(places[::_EACH], return_distance=True, all_matches=False)
    sparse = np.full(len(places[::_EACH]), np.inf)
    sparse[index] = measured
    return np.repeat(sparse, _EACH)[: len(places)]


def _lonely(ours: Sequence[Trace], theirs: Sequence[Trace], slack: float) -> NDArray[np.float64]:
    """(n, 3): points of `ours` farther than `slack` from every line of `theirs` that looks alike, and how far."""
    result = [np.zeros((0, 3))]
    looks = {(trace.kind, trace.look) for trace in ours}
    for look in looks:
        mine = [line for trace in ours if (trace.kind, trace.look) == look for line in trace.polylines]
        other = [line for trace in theirs if (trace.kind, trace.look) == look for line in trace.polylines]
        points = np.vstack([_samples(line) for line in mine])
        off = np.ones(len(points), dtype=np.bool_)
        far = np.full(len(points), np.inf)
        if other:
            tree = _tree(other)
            places = shapely.points(points)
            off[tree.query(places, predicate="dwithin", distance=slack)[0]] = False
            if off.any():
                far[off] = _distances(tree, places[off])
        result.append(np.column_stack([points[off], far[off]]))
        result += _wholes([trace for trace in ours if (trace.kind, trace.look) == look], result[-1])
    return np.vstack(result)


def _wholes(traces: Sequence[Trace], off: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """The whole places, each as (n, 3), of the texts that begin at any of the points (n, 3) found off."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy, and only needed to compare two drawings

    found = []
    tree = cKDTree(off[:, :2])
    for trace in traces:
        near = tree.query_ball_point(trace.path.points[0], STEP) if trace.whole is not None else []
        if near and trace.whole is not None:
            places = np.vstack([_samples(line) for line in trace.whole.flatten(0.01)])
            found.append(np.column_stack([places, np.full(len(places), off[near, 2].max())]))
    return found


def difference(old: Sequence[Trace], new: Sequence[Trace], slack: float) -> NDArray[np.float64]:
    """The points at which two drawings differ, compared both ways.

    Returns:
        (n, 3): x, y in mm and the distance to the nearest like line of the other drawing (inf where there is none),
        for points of either drawing that lie farther than `slack` mm from the other one.
    """
    gone, came = _without_twins(old, new), _without_twins(new, old)
    return np.vstack([_lonely(gone, new, slack), _lonely(came, old, slack)])


def common_share(old: Sequence[Trace], new: Sequence[Trace], slack: float, enough: float = 1.0) -> float:
    """The share of the new drawing's lines, by length from 0 to 1, within `slack` mm of a like line of the old.

    Where those drawn alike at the same place are `enough` already, others are not looked at, and count as none.
    """
    lengths = {trace: trace.path.length() for trace in new}
    fresh = _without_twins(new, old)
    total = sum(lengths.values())
    alike = 1.0 - sum(lengths[trace] for trace in fresh) / total if total else 0.0
    if alike > enough:
        return alike
    total = sum(len(_samples(line)) for trace in new for line in trace.polylines)
    return 1.0 - len(_lonely(new, old, slack)) / total if total else 1.0


def _segments(traces: Sequence[Trace]) -> dict[str, NDArray[np.float64]]:
    """By look, (n, 8): start x and y of every segment longer than 1 mm, then its other three points seen from there."""
    found: dict[str, list[NDArray[np.float64]]] = {}
    for trace in traces:
        if trace.kind == "line":
            rows = found.setdefault(trace.look, [])
            for cubic in trace.path.cubics():
                shape = cubic[1:] - cubic[0]
                if np.abs(shape).max() > 1.0:
                    rows.append(np.concatenate([cubic[0], shape.ravel()]))
    return {look: np.array(rows) for look, rows in found.items() if rows}


def _pairs_alike(old: NDArray[np.float64], new: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Indices of segments of the same shape, to what quantising may have done to both."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - as above

    within = 3 * STEP * (1 + 1e-9)
    _, near = cKDTree(old[:, 2:]).query(new[:, 2:], k=range(1, _MOST_ALIKE + 2), distance_upper_bound=within)
    # Hatching and the like are all alike and say nothing of a shift.
    kept = (near < len(old)) & (near[:, -1:] == len(old))
    here, nth = np.nonzero(kept)
    return near[here, nth], here


def shift_votes(old: Sequence[Trace], new: Sequence[Trace], most: int = 6) -> list[Point]:
    """Shifts of `new` that leave some of its lines where `old` has them, the one with most length first.

    Every segment of the new drawing votes, with its size, for the shifts that lay it on a segment of the same shape;
    votes within a few steps of each other are one. The null shift is always among the answers.
    """
    before, after = _segments(old), _segments(new)
    shifts, weights = [np.zeros((0, 2))], [np.zeros(0)]
    for look in before.keys() & after.keys():
        there, here = _pairs_alike(before[look], after[look])
        shifts.append(before[look][there, :2] - after[look][here, :2])
        weights.append(np.abs(after[look][here, 2:]).max(axis=1, initial=0.0))
    cast, weight = np.vstack(shifts), np.concatenate(weights)
    found: list[Point] = []
    enough = _LEAST_SHARE * sum(float(np.abs(rows[:, 2:]).max(axis=1).sum()) for rows in after.values())
    while len(weight) and len(found) < most:
        _, which = np.unique(np.round(cast / (3 * STEP)).astype(np.int64), axis=0, return_inverse=True)
        sums = np.bincount(which.ravel(), weights=weight)
        best = int(np.argmax(sums))
        if sums[best] < enough:
            break
        middle = np.median(cast[which.ravel() == best], axis=0)
        found.append(Point(float(middle[0]), float(middle[1])))
        rest = np.abs(cast - middle).max(axis=1) > 4 * STEP
        cast, weight = cast[rest], weight[rest]
    # What is all but no shift is none: the lines are where they were.
    found = [Point(0.0, 0.0) if shift.norm < 2 * STEP else shift for shift in found]
    return found if Point(0.0, 0.0) in found else [*found, Point(0.0, 0.0)]
