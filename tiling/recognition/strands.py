"""The lines of a drawing as single strands, and the closed rings that they make, alone or end to end."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import atan2, hypot, pi
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from tiling.pattern import Line, Mark
from tiling.recognition.understanding import OpenEnd
from tiling.shapes import Box, Path, Point
from tiling.shapes.curves import Array
from tiling.shapes.regions import polygon_of
from tiling.shapes.rings import closes

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["FLAT", "MEET", "Ring", "Strand", "open_ends", "rings_of", "strands_of"]

MEET = 0.5
"""mm; ends of lines this near to each other were meant to meet."""

FLAT = 0.1
"""mm; strands are looked at as chords this near to them."""

_CLOSED_AREA = 4.0
"""mm²; what encloses less is a dot."""

_MANY, _MOST = 2_000, 50_000
"""Points of an outline: up to so many it may cross itself; beyond, it is none."""

_GAP = 30.0
"""mm; ends farther apart were never meant to meet."""

_OUTLINE = 300.0
"""mm; open lines shorter than this in all are no piece's outline."""


@dataclass(frozen=True, eq=False)
class Strand:
    """One subpath of a drawn line.

    Attributes:
        mark, part: its line's index in `Pattern.marks`, and which subpath of it.
        path: the subpath, mm.
        look: what it looks like (layer, colour, width, dashes): lines drawn alike mean alike.
        filled: whether it is filled and not stroked: an arrowhead, a letter, a dot.
        dashed: whether it is drawn in dashes.
    """

    mark: int
    part: int
    path: Path
    look: tuple[object, ...]
    filled: bool
    dashed: bool

    @cached_property
    def line(self) -> Array:
        """(n, 2) points on it, chords within `FLAT` mm; a closed one repeats its start."""
        return self.path.flatten(FLAT)[0]

    @cached_property
    def ends(self) -> Array:
        """(2, 2): its first and its last point."""
        return self.path.points[[0, 0 if self.path.closed else -1]]

    @cached_property
    def closed(self) -> bool:
        """Whether it ends where it began."""
        apart = float(np.abs(self.ends[0] - self.ends[1]).max())
        return closes(self.path) or (len(self.path) > 3 and apart < MEET and self.extent > 2 * MEET)

    @cached_property
    def extent(self) -> float:
        """The diagonal of the box around its control points, mm: it is at most so far from end to end."""
        hull = self.path.hull
        return hypot(hull.width, hull.height)

    @property
    def room(self) -> float:
        """The area of that box, mm²: it encloses at most so much."""
        return self.path.hull.width * self.path.hull.height

    @cached_property
    def length(self) -> float:
        """Its length, mm."""
        return float(np.linalg.norm(np.diff(self.line, axis=0), axis=1).sum())

    @cached_property
    def box(self) -> Box:
        """The upright box around it."""
        low, high = self.line.min(axis=0), self.line.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    @cached_property
    def chord(self) -> tuple[Point, Point]:
        """Its two ends."""
        return Point(*map(float, self.line[0])), Point(*map(float, self.line[-1]))

    @cached_property
    def straight(self) -> bool:
        """Whether it lies within 0.3 mm, or a 300th of its length, of the straight line between its ends."""
        start, step = self.line[0], self.line[-1] - self.line[0]
        norm = float(np.linalg.norm(step))
        if self.closed or norm < 1e-6:
            return False
        off = np.abs((self.line - start) @ np.array([-step[1], step[0]])) / norm
        return bool(off.max() <= max(0.3, norm / 300)) and self.length < 1.01 * norm


@dataclass(frozen=True, eq=False)
class Ring:
    """Strands that enclose an area, each beginning where the one before ends.

    Attributes:
        strands: in order, with whether each is run from its end to its start.
        line: (n, 2) points around it that repeat the start, clockwise on the page.
    """

    strands: tuple[tuple[Strand, bool], ...]
    line: Array

    @cached_property
    def polygon(self) -> BaseGeometry:
        """The region that it encloses."""
        return polygon_of(self.line)

    @cached_property
    def area(self) -> float:
        """Enclosed area, mm²."""
        return float(self.polygon.area)

    @cached_property
    def box(self) -> Box:
        """The upright box around it."""
        low, high = self.line.min(axis=0), self.line.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    @property
    def marks(self) -> tuple[int, ...]:
        """The drawn lines that it is made of, in drawing order."""
        return tuple(sorted({strand.mark for strand, _ in self.strands}))

    @property
    def dashed(self) -> bool:
        """Whether most of it is drawn in dashes."""
        return sum(s.length for s, _ in self.strands if s.dashed) > 0.5 * sum(s.length for s, _ in self.strands)

    @property
    def look(self) -> tuple[object, ...]:
        """What its longest strand looks like."""
        return max((strand for strand, _ in self.strands), key=lambda strand: strand.length).look


def strands_of(marks: Sequence[Mark]) -> list[Strand]:
    """Every subpath of every line that leaves ink."""
    found = []
    for index, mark in enumerate(marks):
        if not isinstance(mark, Line) or not mark.style.leaves_ink or mark.tag.said("text"):
            continue
        stroke = mark.style.stroke
        shown = stroke if stroke is not None and not stroke.colour.is_white else None
        look = (
            mark.tag.layer,
            shown and (shown.colour, round(shown.width, 2), tuple(round(d, 2) for d in shown.dashes)),
            None if shown else mark.style.fill,
        )
        # A label outlined as glyphs is one mark of many small subpaths; it is no strand.
        parts = mark.path.subpaths()
        for part, path in enumerate(parts):
            if len(path) > 1 and path.hull.width + path.hull.height > 0.0:
                dashed = shown is not None and bool(shown.dashes)
                found.append(Strand(index, part, path, look, shown is None, dashed))
    return found


def rings_of(strands: Sequence[Strand]) -> list[Ring]:
    """The rings: strands that are closed, and open ones that meet end to end within `MEET`.

    Open ones that look alike are joined first, so that a fold or stitching line that ends on the outline isn't taken
    for part of it; then all that are left. Where more than two meet, the ring is the way round outside.
    """
    rings = [_ring([(strand, False)]) for strand in strands if strand.room > _CLOSED_AREA and strand.closed]
    left = [strand for strand in strands if not strand.closed and not strand.filled and strand.extent > MEET]
    alike: dict[tuple[object, ...], list[Strand]] = defaultdict(list)
    for strand in left:
        alike[strand.look].append(strand)
    used: set[int] = set()
    for group in [*alike.values(), left]:
        for way in _ways_round([strand for strand in group if id(strand) not in used]):
            used.update(id(strand) for strand, _ in way)
            rings.append(_ring(way))
    return [ring for ring in rings if _is_outline(ring.line) and ring.area > _CLOSED_AREA]


def _is_outline(line: Array) -> bool:
    """Whether a ring may be an outline: not a scribble that crosses itself without end, whose area can't be had."""
    return len(line) <= _MANY or (len(line) <= _MOST and bool(shapely.LinearRing(line).is_simple))


def _ring(way: Sequence[tuple[Strand, bool]]) -> Ring:
    line = np.vstack([strand.line[::-1] if turned else strand.line for strand, turned in way])
    if np.abs(line[0] - line[-1]).max() > 1e-9:
        line = np.vstack([line, line[:1]])
    x, y = line[:, 0], line[:, 1]
    if float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])) < 0:
        return Ring(tuple((strand, not turned) for strand, turned in reversed(way)), line[::-1])
    return Ring(tuple(way), line)


def _nodes(strands: Sequence[Strand]) -> list[tuple[int, int]]:
    """For each strand the places at which it begins and ends; ends within `MEET` are one place."""
    ends = np.vstack([strand.ends for strand in strands])
    # Copies of copies end in one place by the thousand: all pairs of them would fill the memory, so what lies in one
    # cell, where all is near enough to meet, is one from the start.
    cells, first, of_end = np.unique(np.floor(ends / (MEET / 4)), axis=0, return_index=True, return_inverse=True)
    pairs = cKDTree(ends[first]).query_pairs(MEET, output_type="ndarray")
    near = coo_array((np.ones(len(pairs), dtype=bool), (pairs[:, 0], pairs[:, 1])), shape=(len(cells), len(cells)))
    places = connected_components(near, directed=False)[1][of_end.ravel()].reshape(-1, 2)
    return [(int(start), int(end)) for start, end in places]


def _ways_round(strands: Sequence[Strand]) -> list[list[tuple[Strand, bool]]]:
    """Ways round outside each group of strands that hang together, strands with a loose end left out."""
    if len(strands) < 2:
        return []
    nodes = _nodes(strands)
    alive = set(range(len(strands)))
    at: dict[int, set[int]] = defaultdict(set)
    for k, (start, end) in enumerate(nodes):
        at[start].add(k)
        at[end].add(k)
    loose = [node for node, ks in at.items() if len(ks) == 1]
    while loose:
        node = loose.pop()
        for k in list(at[node]):
            alive.discard(k)
            for end in nodes[k]:
                at[end].discard(k)
                if len(at[end]) == 1:
                    loose.append(end)
    ways = []
    done: set[int] = set()
    for first in sorted(alive):
        if first in done:
            continue
        group = _together(first, nodes, at)
        done |= group
        way = _outside([(k, *nodes[k]) for k in sorted(group)], strands)
        if way:
            ways.append([(strands[k], turned) for k, turned in way])
    return ways


def _together(first: int, nodes: Sequence[tuple[int, int]], at: dict[int, set[int]]) -> set[int]:
    group, ahead, visited = {first}, list(nodes[first]), set()
    while ahead:
        node = ahead.pop()
        if node in visited:
            continue
        visited.add(node)
        for k in at[node] - group:
            group.add(k)
            ahead += nodes[k]
    return group


def _outside(edges: Sequence[tuple[int, int, int]], strands: Sequence[Strand]) -> list[tuple[int, bool]]:
    """The way round outside, as strands with whether each is turned: at every place the next one to the left hand.

    From the leftmost point of all; a way that uses a strand twice comes out empty.
    """
    leaving: dict[int, list[tuple[float, int, bool]]] = defaultdict(list)
    for k, start, end in edges:
        line = strands[k].line
        leaving[start].append((_heading(line), k, False))
        leaving[end].append((_heading(line[::-1]), k, True))
    first = min((k for k, *_ in edges), key=lambda k: float(strands[k].line[:, 0].min()))
    ends = {k: (start, end) for k, start, end in edges}
    line = strands[first].line
    lowest = int(line[:, 0].argmin())
    # At its leftmost point the outside is to the left: go up the page there, so that the inside is to the right.
    after, before = line[min(lowest + 1, len(line) - 1)], line[max(lowest - 1, 0)]
    turned = bool(after[1] > before[1])
    way: list[tuple[int, bool]] = []
    k = first
    while len(way) <= len(edges):
        way.append((k, turned))
        node = ends[k][0 if turned else 1]
        line = strands[k].line
        back = _heading(line if turned else line[::-1])
        choices = [one for one in leaving[node] if one[1:] != (k, not turned)]
        if not choices:
            return []
        # Clockwise on the page the outside lies to the left: the sharpest turn to the left hand comes first.
        k, turned = min(choices, key=lambda one: (one[0] - back) % (2 * pi) or 2 * pi)[1:]
        if (k, turned) == way[0]:
            return way if len({k for k, _ in way}) == len(way) else []
    return []


def _heading(line: Array) -> float:
    """In which direction a polyline leaves its start, seen a few mm on, radians clockwise on the page."""
    far = np.linalg.norm(line - line[0], axis=1)
    ahead = line[int(np.argmax(far > min(2.0, 0.5 * far.max())))]
    return atan2(float(ahead[1] - line[0][1]), float(ahead[0] - line[0][0]))


def open_ends(strands: Iterable[Strand], rings: Sequence[Ring]) -> list[OpenEnd]:
    """Gaps of lines that would enclose a piece if their loose ends met."""
    used = {id(strand) for ring in rings for strand, _ in ring.strands}
    left = [s for s in strands if not s.closed and not s.filled and id(s) not in used and s.extent > 20.0]
    if not left:
        return []
    nodes = _nodes(left)
    gaps = _gaps(left, nodes)
    at: dict[int, set[int]] = defaultdict(set)
    for k, ends in enumerate(nodes):
        for end in ends:
            at[end].add(k)
    jump = {a: b for _, a, b in gaps} | {b: a for _, a, b in gaps}

    def closed_length(one: int, node: int) -> float:
        """The length of the lines that would be closed by this gap and the others, 0 where they would not be."""
        length, last = 0.0, -1
        for _ in range(len(left) + 1):
            onward = [k for k in at[node] if k != last]
            if len(onward) != 1:
                return 0.0
            last = onward[0]
            length += left[last].length
            start, end = nodes[last]
            node = end if node == start else start
            if len(at[node]) == 1:
                if node == one or node not in jump:
                    return length if node == one else 0.0
                node, last = jump[node], -1
        return 0.0

    return [gap for gap, one, other in gaps if closed_length(one, other) >= _OUTLINE]


def _gaps(strands: Sequence[Strand], nodes: Sequence[tuple[int, int]]) -> list[tuple[OpenEnd, int, int]]:
    """Loose ends that lie near each other, each in one pair, with the places between which they gape."""
    count: dict[int, int] = defaultdict(int)
    spot: dict[int, Array] = {}
    for strand, (start, end) in zip(strands, nodes, strict=True):
        for node, point in zip((start, end), strand.ends, strict=True):
            count[node] += 1
            spot[node] = point
    loose = [node for node in count if count[node] == 1]
    gaps = []
    paired: set[int] = set()
    for gap, one, other in _near_pairs(np.array([spot[node] for node in loose]).reshape(-1, 2)):
        if one not in paired and other not in paired:
            paired.update((one, other))
            middle = (spot[loose[one]] + spot[loose[other]]) / 2
            gaps.append((OpenEnd(Point(*map(float, middle)), gap), loose[one], loose[other]))
    return gaps


def _near_pairs(points: Array) -> list[tuple[float, int, int]]:
    """Pairs of points no farther apart than `_GAP`, the nearest first; of each only those with its nearest few."""
    if len(points) < 2:
        return []
    near = min(5, len(points))
    apart, others = cKDTree(points).query(points, k=near, distance_upper_bound=_GAP)
    found = {
        (float(gap), min(k, int(other)), max(k, int(other)))
        for k in range(len(points))
        for gap, other in zip(apart[k], others[k], strict=True)
        if np.isfinite(gap) and other != k
    }
    return sorted(found)
