"""Closed outlines drawn as one closed path, or as several paths that meet end to end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.shapes.curves import Array
from tiling.shapes.paths import Path
from tiling.shapes.points import Point
from tiling.shapes.regions import area

__all__ = ["MEET", "RingOpen", "RingPart", "closes", "largest_closed", "ring_of_paths", "rings_among"]

MEET = 1.0
"""Ends of lines this near to each other (mm) are taken to meet: a corner drawn by hand and eye."""


class RingOpen(ValueError):
    """Paths that make no ring: at `at` the next end is `gap` mm off."""

    def __init__(self, at: Point, gap: float) -> None:
        super().__init__(f"open at {at.x:.1f}, {at.y:.1f} mm by {gap:.1f} mm")
        self.at = at
        self.gap = gap


@dataclass(frozen=True, slots=True)
class RingPart:
    """One of the paths that make a ring: its index, and whether it is run from its end to its start."""

    index: int
    turned: bool


def closes(path: Path) -> bool:
    """Whether a single subpath is closed, by its own CLOSE or by ending where it began to 0.001 mm."""
    return path.closed or (len(path) > 2 and float(np.linalg.norm(path.points[0] - path.points[-1])) < 1e-3)


def largest_closed(paths: Sequence[Path]) -> Path | None:
    """Of single subpaths the closed one that encloses the largest area; None where none is closed."""
    return max(filter(closes, paths), key=lambda path: area(path.flatten(0.5)[0]), default=None)


def ring_of_paths(paths: Sequence[Path], first: int) -> list[RingPart]:
    """The open paths that make a ring with one of them, each beginning where the one before ends, to `MEET`.

    From one end of the first path on, the path with the nearest end follows, until the ring closes; paths that are
    left over lie inside it. The ring begins with the first of its paths in the order given, run as it is drawn.

    Raises:
        RingOpen: no end meets before it is closed.
    """
    ends = [(path.points[0], path.points[-1]) for path in paths]
    parts, left = [RingPart(first, turned=False)], [index for index in range(len(paths)) if index != first]
    begin, here = ends[first]
    while float(np.linalg.norm(begin - here)) > MEET:
        near = [
            (float(np.linalg.norm(end - here)), index, turned)
            for index in left
            for turned, end in zip((False, True), ends[index], strict=True)
        ]
        distance, index, turned = min(near, default=(np.inf, -1, False))
        if distance > MEET:
            gap = min(distance, float(np.linalg.norm(begin - here)))
            raise RingOpen(Point(float(here[0]), float(here[1])), gap)
        left.remove(index)
        parts.append(RingPart(index, turned))
        here = ends[index][0 if turned else 1]
    return _from_lowest(parts)


def rings_among(paths: Sequence[Path]) -> list[list[RingPart]]:
    """All rings that open paths make, each path in one of them at most; from the longest path on."""
    ends = [(path.points[0], path.points[-1]) for path in paths]
    left = [i for i, path in enumerate(paths) if not closes(path)]
    left.sort(key=lambda i: -paths[i].length())
    rings = []
    while left:
        # A path with an end that meets no other is in no ring.
        tips = np.array([end for i in left for end in ends[i]])
        near = [min(_others(tips, 2 * k), _others(tips, 2 * k + 1)) for k in range(len(left))]
        met = [i for i, meets in zip(left, near, strict=True) if meets]
        if len(met) < len(left):
            left = met
            continue
        first = left.pop(0)
        among = sorted([first, *left])
        try:
            parts = ring_of_paths([paths[i] for i in among], among.index(first))
        except RingOpen:
            continue
        rings.append([RingPart(among[part.index], part.turned) for part in parts])
        used = {part.index for part in rings[-1]}
        left = [i for i in left if i not in used]
    return rings


def _others(tips: Array, index: int) -> int:
    """How many other ends meet an end."""
    return int((np.linalg.norm(tips - tips[index], axis=1) <= MEET).sum()) - 1


def _from_lowest(parts: list[RingPart]) -> list[RingPart]:
    """The ring begun with the part of the lowest index, and run so that this part is not turned."""
    if min(parts, key=lambda part: part.index).turned:
        parts = [RingPart(part.index, not part.turned) for part in reversed(parts)]
    start = parts.index(min(parts, key=lambda part: part.index))
    return [*parts[start:], *parts[:start]]
