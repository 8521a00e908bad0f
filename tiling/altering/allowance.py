"""A cutting line that follows its stitching line, so that the allowance between them stays what was drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from tiling.shapes import curves
from tiling.shapes.chains import (
    Chain,
    chain_length,
    direction_at_end,
    direction_at_start,
    reverse_chain,
    trimmed,
)
from tiling.shapes.corners import smooth_run
from tiling.shapes.curves import Array
from tiling.shapes.fitting import fitted
from tiling.shapes.polylines import nearest_places

__all__ = ["Guide", "followed", "ruled_along"]

_FINE = 0.002
_OFF = 0.02
"""mm by which the allowance may differ before anything is done about it."""

_ON = float(np.cos(np.radians(3.0)))
"""Cosine of the turn up to which an edge goes on into the next."""

_BESIDE = float(np.cos(np.radians(25.0)))
"""Cosine of the angle up to which two lines run side by side."""

_HANDLES = (0.05, 0.9)
_CLOSE = 0.04
"""mm by which the fitted cubics may miss the parallel line."""


@dataclass(frozen=True, slots=True, eq=False)
class Guide:
    """One join of a stitching line, as (n, 2) polylines: its edges before they were trued, and trued.

    Attributes:
        tips: where both edges ended at the cut, (2, 2).
        before: the edge up to the first tip, from the corner before it on, and drawn on straight beyond that: there the
            cutting line's corner lies. `after` likewise, from the second tip on.
        trued: both as one line.
        changed: (2, 2), between which two points the trued line differs.
    """

    NEAR: ClassVar[float] = 60.0
    """mm; a stitching line farther from a cutting line than this is another line's."""

    tips: Array
    before: Array
    after: Array
    trued: Array
    changed: Array

    @classmethod
    def of(cls, before: Chain, after: Chain, head: Chain, section: Chain, tail: Chain) -> Guide:
        """From both chains as they were, and what became of them."""
        edges = _last_run(before), _first_run(after)
        rest = (_last_run(head) if head else ()), (_first_run(tail) if tail else ())
        ends = section[0][0], section[-1][3]
        # A ruled line ends at its corners; beyond them lie other edges.
        kept = tuple(
            run if run and _goes_on(run, section, at_end=at_end) else ()
            for run, at_end in zip(rest, (False, True), strict=True)
        )
        trued = (*kept[0], *section, *kept[1])
        tips = np.array([before[-1][3], after[0][0]])
        first, last = _drawn_on(_flat(edges[0])[::-1])[::-1], _drawn_on(_flat(edges[1]))
        whole = _drawn_on(_drawn_on(_flat(trued))[::-1])[::-1]
        return cls(tips, first, last, whole, np.array(ends))

    def distance(self, before: Chain, after: Chain) -> float:
        """How far another line's join lies from this one, mm; infinite where the lines don't run side by side."""
        ways = direction_at_end(before), direction_at_start(after)
        edges = self.before[-1] - self.before[-2], self.after[1] - self.after[0]
        if any(abs(float(way @ edge)) < _BESIDE * np.hypot(*edge) for way, edge in zip(ways, edges, strict=True)):
            return float("inf")
        return float(np.hypot(*(self.tips - (before[-1][3], after[0][0])).T).max())


def _goes_on(run: Chain, section: Chain, *, at_end: bool) -> bool:
    one, other = (section[-1:], run) if at_end else (run, section[:1])
    return float(direction_at_end(one) @ direction_at_start(other)) > _ON


def _drawn_on(line: Array) -> Array:
    """The polyline with a straight end more."""
    step = line[-1] - line[-2]
    return np.vstack([line, line[-1] + step * (Guide.NEAR / float(np.hypot(*step)))])


def _first_run(chain: Chain) -> Chain:
    return trimmed(chain, 0.0, max(0.0, chain_length(chain) - smooth_run(chain)))


def _last_run(chain: Chain) -> Chain:
    return reverse_chain(_first_run(reverse_chain(chain)))


def _flat(chain: Sequence[Array]) -> Array:
    return curves.flatten_all(np.array(chain), _FINE)


def ruled_along(
    guide: Guide, ends: tuple[Array, Array], others: tuple[Chain, Chain], at_corner: tuple[bool, bool]
) -> tuple[Array, Array]:
    """The ends of a ruled cutting line, moved along the edges beside it so that it keeps its distance.

    Args:
        guide: the stitching line's join.
        ends: from where to where the line would be ruled, each where the edge ended before.
        others: the chains that lead up to it and go on from it.
        at_corner: whether it ends in a corner there; elsewhere it keeps its end.
    """
    start, end = guide.changed
    way = (end - start) / np.hypot(*(end - start))
    moved = []
    for point, edge, other, corner, at_end in zip(
        ends, (guide.before, guide.after), others, at_corner, (False, True), strict=True
    ):
        run = edge[-1] - edge[0]
        run = run / np.hypot(*run)
        normal = np.array([-way[1], way[0]])
        was = float((point - edge[0]) @ np.array([-run[1], run[0]]))
        missing = was - float((point - start) @ normal)
        if corner and other and _OFF < abs(missing) < 5.0:
            along = direction_at_start(other) if at_end else direction_at_end(other)
            steep = float(along @ normal)
            moved.append(point + (along * missing / steep if abs(steep) > 0.5 else normal * missing))
        else:
            moved.append(point)
    return moved[0], moved[1]


def followed(
    chains: tuple[Chain, Chain], cuts: tuple[float, float], joined: Chain, guide: Guide
) -> tuple[Chain, Chain, Chain] | None:
    """A join of the cutting line made parallel to that of the stitching line.

    Args:
        chains: the cutting line's parts, untrued.
        cuts: how much the join took off the end of the first and the start of the second, mm.
        joined: both joined on their own.
        guide: the stitching line's join.

    Returns:
        What is left of the first part, the new join, and what is left of the second; None where it is parallel already.
    """
    before, after = chains
    back = max(cuts[0], min(_beyond(reverse_chain(before), guide.changed[0]), smooth_run(reverse_chain(before))))
    ahead = max(cuts[1], min(_beyond(after, guide.changed[1]), smooth_run(after)))
    head, tail = trimmed(before, 0.0, back), trimmed(after, ahead, 0.0)
    base = trimmed(joined, chain_length(head), chain_length(tail))
    points = _flat_evenly(base)
    feet, apart = _feet(guide.trued, points)
    first, last = (_apart(edge, point) for edge, point in ((guide.before, points[0]), (guide.after, points[-1])))
    wanted = first + (last - first) * np.linspace(0.0, 1.0, len(points))
    if np.abs(wanted - apart).max() < _OFF or max(first, last) > Guide.NEAR:
        return None
    target = feet + (points - feet) * (wanted / np.maximum(apart, 1e-9))[:, None]
    target[0], target[-1] = points[0], points[-1]
    directions = np.array([direction_at_start(base), direction_at_end(base)])
    return head, _through(target, directions, 3), tail


def _beyond(chain: Chain, point: Array) -> float:
    """How far along the chain, from its start, its first edge lies nearest to the point, mm."""
    return float(nearest_places(_flat(_first_run(chain)), point[None])[0][0])


def _apart(edge: Array, point: Array) -> float:
    return float(nearest_places(edge, point[None])[1][0])


def _flat_evenly(chain: Chain, count: int = 80) -> Array:
    """Points along a chain, evenly spread by arc length."""
    line = _flat(chain)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0.0, along[-1], count)
    return np.column_stack([np.interp(at, along, line[:, axis]) for axis in (0, 1)])


def _feet(line: Array, points: Array) -> tuple[Array, Array]:
    """The nearest place on the polyline for each point, and the distance."""
    along, apart = nearest_places(line, points)
    ends = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return np.column_stack([np.interp(along, ends, line[:, axis]) for axis in (0, 1)]), apart


def _through(points: Array, directions: Array, halvings: int) -> Chain:
    """As few cubics as stay within `_CLOSE` of the points, with the given unit tangents at the ends."""
    ends = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    cubic = fitted(points[[0, -1]], directions, points, ends / ends[-1], _HANDLES)
    if halvings == 0 or len(points) < 12:
        return (cubic,)
    if nearest_places(curves.flatten(cubic, _FINE), points)[1].max() < _CLOSE:
        return (cubic,)
    middle = len(points) // 2
    way = points[middle + 2] - points[middle - 2]
    way = way / np.hypot(*way)
    one = _through(points[: middle + 1], np.array([directions[0], way]), halvings - 1)
    return (*one, *_through(points[middle:], np.array([way, directions[1]]), halvings - 1))
