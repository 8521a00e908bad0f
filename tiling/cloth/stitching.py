"""Which of a piece's drawn stitching lines join it to other pieces, and which are darts, topstitching or pockets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.cloth.darts import FINE, Dart, darts_among, length_of, sharp_pairs
from tiling.cloth.words import names_no_seam
from tiling.pattern import Line, Role
from tiling.shapes import Path
from tiling.shapes.chains import chains_of
from tiling.shapes.curves import Array
from tiling.shapes.polylines import nearest_places
from tiling.shapes.regions import area
from tiling.shapes.rings import closes

__all__ = ["Closed", "Stitching", "closed_on", "stitching_among"]

_WIDEST = 80.0
"""mm from the cutting line; a seam's stitching line lies nearer, deep hems included (common practice, no source)."""

_SLANT = 35.0
_ASTRAY = 1.0
_LEAST_LEG = 40.0
_SAMPLES = np.linspace(0.05, 0.95, 19)
_NOWHERE = np.full((2, 2), 1e9)


@dataclass(frozen=True, slots=True, eq=False)
class Stitching:
    """The stitching lines of one piece: those of seams and hems, and the darts and pleats."""

    seams: tuple[Line, ...]
    darts: tuple[Dart, ...]


@dataclass(frozen=True, slots=True)
class Closed:
    """A stretch of a line that a dart or pleat takes away when it is sewn: arc lengths along the line, mm."""

    start: float
    end: float
    word: str = "dart"

    @property
    def width(self) -> float:
        """What is taken away, mm."""
        return self.end - self.start


def stitching_among(lines: Sequence[Line], edge: Array | None, allowance: float | None = None) -> Stitching:
    """The stitching lines of a piece, sorted.

    A seam's line runs beside the cutting line with no other seam's line between; what lies farther in joins nothing.

    Args:
        lines: all lines of the piece.
        edge: its cutting line as a ring that repeats its start; None where it has none.
        allowance: from the edge to a seam, mm, where it is noted; a line without a name that lies deeper is
            topstitching where stitching lines don't run along nearly all of the edge.
    """
    darts, used = darts_among(lines, edge)
    rest = [
        line
        for i, line in enumerate(lines)
        if line.tag.role is Role.STITCHING and i not in used and not names_no_seam(line.tag.name)
    ]
    if edge is None:
        return Stitching(tuple(_around(rest)), darts)
    seams = _beside(rest, edge)
    sewn = length_of(edge) - sum(line.path.length() for line in lines if line.tag.role is Role.FOLD)
    if allowance is not None and sum(line.path.length() for line in seams) < 0.8 * sewn:
        seams = [line for line in seams if line.tag.name or _depth(line, edge) < allowance + _ASTRAY]
    return Stitching(tuple(seams), darts)


def _around(lines: list[Line]) -> list[Line]:
    """Without closed lines other than the largest: pockets, buttonholes."""
    sizes = [area(line.path.flatten(0.5)[0]) if closes(line.path) else np.inf for line in lines]
    largest = max((size for size in sizes if size < np.inf), default=np.inf)
    return [line for line, size in zip(lines, sizes, strict=True) if size >= largest]


def _beside(lines: list[Line], edge: Array) -> list[Line]:
    """The lines that run beside the edge for at least half their way and are nearest to it."""
    import shapely  # noqa: PLC0415 - heavy, and loaded when used

    runs = [np.vstack([sub.flatten(FINE)[0] for sub in line.path.subpaths() if chains_of(sub)] or [_NOWHERE])
            for line in lines]  # fmt: skip
    beside, ways = [], []
    for run in runs:
        places, headings = _placed(run, _SAMPLES * length_of(run))
        along, apart = nearest_places(edge, places)
        feet, directions = _placed(edge, along)
        slant = np.degrees(np.arccos(np.clip(np.abs((headings * directions).sum(axis=1)), 0.0, 1.0)))
        beside.append(float(((apart < _WIDEST) & (slant < _SLANT)).mean()) >= 0.5)
        ways.append([shapely.LineString(pair) for pair in np.stack([places, feet], axis=1)])
    near = [i for i, one in enumerate(beside) if one]
    tree = shapely.STRtree([shapely.LineString(runs[i]) for i in near])
    kept = []
    for i in near:
        hit, by = tree.query(ways[i], predicate="intersects")
        behind = {int(way) for way, other in zip(hit, by, strict=True) if near[other] != i}
        if len(behind) < 0.7 * len(_SAMPLES):
            kept.append(lines[i])
    return kept


def _depth(line: Line, edge: Array) -> float:
    """How far inside the edge the line runs for most of its way, mm."""
    depths = [nearest_places(edge, _placed(run, _SAMPLES * length_of(run))[0])[1] for run in line.path.flatten(FINE)]
    return float(np.median(np.concatenate(depths)))


def _placed(line: Array, along: Array) -> tuple[Array, Array]:
    """The polyline's points at arc lengths from its start, and its unit directions there."""
    steps = np.diff(line, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    segment = np.clip(np.searchsorted(ends, along, side="right") - 1, 0, len(steps) - 1)
    unit = steps[segment] / np.maximum(lengths[segment], 1e-12)[:, None]
    return line[segment] + unit * (along - ends[segment])[:, None], unit


def closed_on(path: Path, darts: Sequence[Dart]) -> tuple[Closed, ...]:
    """The stretches of a line that darts and pleats take away: between their legs, or drawn as part of the line."""
    found, before = [], 0.0
    for run in path.flatten(FINE):
        whole = length_of(run)
        for dart in darts:
            places = [_meeting(run, leg) for leg in dart.legs or ()]
            if len(places) == 2 and None not in places:
                start, end = sorted(place for place in places if place is not None)
                found.append(Closed(before + start, before + end, dart.word))
        found += [Closed(before + a, before + b) for a, b in _own(run, whole)]
        before += whole
    return tuple(_apart([one for one in found if one.width > 0.01]))


def _meeting(run: Array, leg: Array) -> float | None:
    """Where a dart's leg meets the line: where it ends there or crosses it; None where it does neither."""
    (at,), (apart,) = nearest_places(run, leg[:1])
    if apart <= _ASTRAY:
        return float(at)
    import shapely  # noqa: PLC0415

    string = shapely.LineString(run)
    met = shapely.LineString(leg).intersection(string)
    if met.is_empty:
        return None
    points = shapely.get_coordinates(met)
    nearest = points[np.linalg.norm(points - leg[0], axis=1).argmin()]
    return float(string.project(shapely.Point(nearest)))


def _own(run: Array, whole: float) -> list[tuple[float, float]]:
    """Darts that the line itself runs round: sharp hollows between its ends."""
    found = []
    for dart in sharp_pairs(run):
        assert dart.legs is not None
        start, end = sorted(float(nearest_places(run, leg[:1])[0][0]) for leg in dart.legs)
        if start > _ASTRAY and end < whole - _ASTRAY and length_of(dart.legs[0]) > _LEAST_LEG:
            found.append((start, end))
    return found


def _apart(found: list[Closed]) -> list[Closed]:
    """In order; of stretches that overlap the first."""
    kept: list[Closed] = []
    for one in sorted(found, key=lambda closed: (closed.start, -closed.end)):
        if not kept or one.start >= kept[-1].end - 0.01:
            kept.append(one)
    return kept
