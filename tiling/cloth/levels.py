"""How wide a piece is where it is sewn, along a line drawn across it: from seam to seam, darts and pleats closed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tiling.cloth.darts import FINE, Dart, darts_of_ring, length_of
from tiling.cloth.seam_lines import SeamLines
from tiling.notes import LineRef
from tiling.pattern import Line, Role
from tiling.shapes import Path
from tiling.shapes.chains import chain_path, chains_of, direction_at_end, direction_at_start
from tiling.shapes.curves import Array
from tiling.shapes.polylines import nearest_places

__all__ = ["Closing", "LevelWidth", "crosses", "level_width", "runs_along"]

_BEYOND = 1e5
_WIDEST = 80.0
"""mm from the cutting line to a seam's stitching line, at most (common practice, no source)."""

_STEEP = 0.3
_BAND = 60.0
"""mm; a level drawn on a waistband lies no farther from its seam."""

_ON = 0.02
"""mm; a line that ends so near to a level ends on it."""

_SHIFTS = (0.0, 0.01, -0.01)
"""mm across a level: one drawn on the very edge is looked at on either side of it."""


@dataclass(frozen=True, slots=True)
class Closing:
    """A dart, a pleat or an opening that a level runs across, and what it takes off the width, mm."""

    word: str
    width: float


@dataclass(frozen=True, slots=True)
class LevelWidth:
    """One layer of a piece at a level, mm: `width` is what is left when `closings` are taken off."""

    width: float
    closings: tuple[Closing, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Level:
    """A level as drawn, run on straight beyond both ends; places on it are arc lengths, mm."""

    line: Array
    first: float
    last: float

    def crossings(self, lines: Iterable[Array]) -> list[float]:
        """The places where lines cross it or end on it, in order."""
        import shapely  # noqa: PLC0415 - heavy, and loaded when used

        own, points = shapely.LineString(self.line), []
        for line in lines:
            if len(line) > 1:
                points += list(shapely.get_coordinates(own.intersection(shapely.LineString(line))))
                points += [end for end in line[[0, -1]] if own.distance(shapely.Point(end)) < _ON]
        return sorted(float(own.project(shapely.Point(point))) for point in points)

    def at(self, place: float) -> Array:
        """The point at a place."""
        import shapely  # noqa: PLC0415

        return np.array(shapely.LineString(self.line).interpolate(place).coords[0])


def level_width(seam_lines: SeamLines, piece: str, level: Line) -> LevelWidth:
    """The piece's width at a level: the stretches of the level that lie on cloth, between the outermost seams.

    A seam is the stitching line that is drawn beside the edge, or the edge less its allowance, or the edge itself; a
    fold is no seam. What lies farther inside (darts, pockets, topstitching) ends no stretch; darts and pleats are
    taken off.

    Raises:
        InputUnfit: no stitching line can be worked out.
        Cancelled: by the run of the seam lines.
    """
    widths = [_width(seam_lines, piece, _run_on(level.path, shift)) for shift in _SHIFTS[:1]]
    if widths[0].width <= 0.0 or _on_edge(seam_lines, piece, level):
        widths += [_width(seam_lines, piece, _run_on(level.path, shift)) for shift in _SHIFTS[1:]]
    return max(widths, key=lambda one: one.width)


def crosses(seam_lines: SeamLines, level: Line, ref: LineRef) -> bool:
    """Whether a line of the piece, where it is sewn, leads away from the level (run on straight beyond both ends)."""
    apart = _apart(seam_lines, level, ref)
    return bool(apart.min() < 1.0 and np.ptp(apart) > _STEEP * seam_lines.line(ref).length)


def runs_along(seam_lines: SeamLines, level: Line, ref: LineRef) -> bool:
    """Whether a line of the piece, where it is sewn, lies beside the level, as a waist seam does."""
    apart = _apart(seam_lines, level, ref)
    return bool(apart.max() < _BAND and np.ptp(apart) <= _STEEP * seam_lines.line(ref).length)


def _apart(seam_lines: SeamLines, level: Line, ref: LineRef) -> Array:
    """Distances from the level of the line's points, and of its place nearest to it, mm."""
    import shapely  # noqa: PLC0415

    own, lines = _run_on(level.path, 0.0).line, seam_lines.line(ref).path.flatten(FINE)
    nearest = shapely.LineString(own).distance(shapely.MultiLineString([line for line in lines if len(line) > 1]))
    return np.concatenate([[nearest], *(nearest_places(own, line)[1] for line in lines)])


def _on_edge(seam_lines: SeamLines, piece: str, level: Line) -> bool:
    """Whether the level is drawn over an edge, where what it crosses is a matter of rounding."""
    drawn = level.path.flatten(FINE)[0]
    edges = [line for path in seam_lines.edges(piece) for line in path.flatten(FINE)]
    return any(bool((nearest_places(line, drawn)[1] < 2 * FINE).all()) for line in edges if len(line) > 1)


def _run_on(path: Path, shift: float) -> _Level:
    chain, _ = chains_of(path)[0]
    drawn = chain_path(chain).flatten(FINE)[0]
    before, after = -direction_at_start(chain) * _BEYOND, direction_at_end(chain) * _BEYOND
    chord = drawn[-1] - drawn[0]
    across = np.array([-chord[1], chord[0]]) / max(float(np.linalg.norm(chord)), 1e-9)
    line = np.vstack([drawn[0] + before, drawn, drawn[-1] + after]) + across * shift
    return _Level(line, _BEYOND, _BEYOND + length_of(drawn))


def _width(seam_lines: SeamLines, piece: str, level: _Level) -> LevelWidth:
    stitching = seam_lines.stitching(piece)
    stretches = _on_cloth(seam_lines, piece, level)
    sewn = [_sewn(seam_lines, piece, level, stretch) for stretch in stretches]
    if not sewn:
        return LevelWidth(level.last - level.first)
    cut_out = [Closing("dart", after[0] - before[1]) for before, after in pairwise(sewn)]
    drawn = [one for stretch in sewn for dart in stitching.darts for one in _closings(level, dart, stretch)]
    whole = sum(end - start for start, end in sewn)
    return LevelWidth(whole - sum(one.width for one in drawn), (*drawn, *cut_out))


def _on_cloth(seam_lines: SeamLines, piece: str, level: _Level) -> list[tuple[float, float]]:
    """The stretches of the level that lie on the piece: those under the line as drawn, and on over cut-out darts."""
    import shapely  # noqa: PLC0415

    ring = seam_lines.ring(piece)
    if ring is None:
        lines = [line for path in seam_lines.edges(piece) for line in path.flatten(FINE)]
        places = level.crossings(lines)
        return [(places[0], places[-1])] if len(places) > 1 else []
    cloth = shapely.Polygon(ring).buffer(0)
    places = level.crossings([ring])
    stretches = [
        (start, end)
        for start, end in pairwise(places)
        if end - start > 1e-6 and cloth.covers(shapely.Point(level.at((start + end) / 2)))
    ]
    stretches = _merged(stretches)
    middle = (level.first + level.last) / 2
    chosen = [i for i, (start, end) in enumerate(stretches) if start < level.last - 1.0 and end > level.first + 1.0]
    if not chosen and stretches:
        chosen = [min(range(len(stretches)), key=lambda i: abs(sum(stretches[i]) / 2 - middle))]
    if not chosen:
        return []
    first, last = chosen[0], chosen[-1]
    hollows = [shapely.Polygon(np.vstack([dart.lines[0], dart.lines[1][::-1]])) for dart in darts_of_ring(ring)]

    def cut_out(one: int) -> bool:
        gap = shapely.Point(level.at((stretches[one][1] + stretches[one + 1][0]) / 2))
        return any(hollow.is_valid and hollow.contains(gap) for hollow in hollows)

    while first > 0 and cut_out(first - 1):
        first -= 1
    while last + 1 < len(stretches) and cut_out(last):
        last += 1
    return stretches[first : last + 1]


def _merged(stretches: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Stretches that touch as one: a level may run through a corner of the outline."""
    merged: list[tuple[float, float]] = []
    for start, end in stretches:
        if merged and start - merged[-1][1] < 1e-6:
            merged[-1] = (merged[-1][0], end)
        else:
            merged.append((start, end))
    return merged


def _sewn(seam_lines: SeamLines, piece: str, level: _Level, stretch: tuple[float, float]) -> tuple[float, float]:
    """The stretch between the seams at its ends."""
    start, end = stretch
    if seam_lines.ring(piece) is None:
        return stretch
    folds = [line for run in seam_lines.outline(piece).runs if run.on_fold for line in run.path.flatten(FINE)]
    folds += [
        line for mark in seam_lines.pattern.lines(piece=piece, role=Role.FOLD) for line in mark.path.flatten(FINE)
    ]
    seams = [line for mark in seam_lines.stitching(piece).seams for line in mark.path.flatten(FINE)]
    if not seams and seam_lines.has_allowance(piece):
        seams = [line for path in seam_lines.edges(piece) for line in path.flatten(FINE) if len(line) > 1]
    places = [place for place in level.crossings(seams) if start - 0.01 <= place <= end + 0.01]

    def inwards(edge: float, candidates: Sequence[float]) -> float:
        if any(float(nearest_places(fold, level.at(edge)[None])[1][0]) < 0.05 for fold in folds if len(fold) > 1):
            return edge
        ring = seam_lines.ring(piece)
        assert ring is not None
        near = (place for place in candidates if nearest_places(ring, level.at(place)[None])[1][0] < _WIDEST)
        return next(near, edge)

    left, right = inwards(start, places), inwards(end, places[::-1])
    return (left, right) if left < right else stretch


def _closings(level: _Level, dart: Dart, stretch: tuple[float, float]) -> list[Closing]:
    """What the dart or pleat takes off there: between its outermost lines."""
    places = [place for place in level.crossings(dart.lines) if stretch[0] - 0.01 <= place <= stretch[1] + 0.01]
    width = places[-1] - places[0] if len(places) > 1 else 0.0
    return [Closing(dart.word, width)] if width > 0.05 else []
