"""The closed outline around a piece, and the outlines that are pieces in a drawing that names none.

A drawing may hold an outline as one closed path, or as several lines that meet end to end, closed by a fold line.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tiling.pattern import Line, Pattern, Role
from tiling.shapes import Box, Path
from tiling.shapes.chains import Chain, chains_of
from tiling.shapes.curves import Array
from tiling.shapes.regions import area
from tiling.shapes.rings import MEET, RingOpen, closes, largest_closed, ring_of_paths
from tiling.shapes.straights import Straight, longest_stretch

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = [
    "LEAST_PIECE",
    "MEET",
    "OutlineRun",
    "PieceOutline",
    "RingOpen",
    "grain_of",
    "is_frame",
    "is_sign",
    "outermost",
    "piece_outline",
]

LEAST_PIECE = 400.0
"""mm²; a smaller closed outline is no piece: a button mark, a letter."""

_HOLLOW = 1.01
"""Lines that enclose so many times a closed line's area are an outline around it; less, they are drawn along it."""

_ON_EDGE = 0.05
"""mm; an outline that sticks out of another by no more lies in it."""


@dataclass(frozen=True, slots=True, eq=False)
class OutlineRun:
    """Part of an outline: a path (mm, as drawn), the name of its line, and whether it lies on the fold."""

    path: Path
    name: str = ""
    on_fold: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class PieceOutline:
    """The ring of runs around a piece; each starts where the one before ends, to `MEET`."""

    piece: str
    runs: tuple[OutlineRun, ...]

    def ring(self, tolerance: float = 0.05) -> Array:
        """The outline as an (n, 2) polygon without repeated end, chords within `tolerance` mm."""
        points = np.vstack([line for run in self.runs for line in run.path.flatten(tolerance)])
        keep = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-6
        return np.asarray(points[keep])

    def chain(self) -> Chain:
        """Its segments in order, as cubics."""
        return tuple(cubic for run in self.runs for chain, _ in chains_of(run.path) for cubic in chain)

    def box(self) -> Box:
        """The upright box around it, exact."""
        whole = Box.around(run.path.bounds() for run in self.runs)
        assert whole is not None  # an outline has runs
        return whole

    @property
    def fold(self) -> OutlineRun | None:
        """The run on the fold, None for a piece without one."""
        return next((run for run in self.runs if run.on_fold), None)


def piece_outline(pattern: Pattern, piece: str, roles: Sequence[Role] = (Role.CUTTING,)) -> PieceOutline | None:
    """The outline of a piece: its largest closed line, as one run, or the lines that meet around it or around that.

    Args:
        pattern: the drawing.
        piece: the piece's id.
        roles: lines of the first of these that the piece has make its outline; fold lines may close it.

    Returns:
        None where the piece has no line of these roles, or none with a length.

    Raises:
        RingOpen: its lines leave a gap.
    """
    own = [line for line in pattern.lines(piece=piece) if not is_sign(line)]
    role = next((role for role in roles if any(line.tag.role is role for line in own)), None)
    runs = [OutlineRun(sub, line.tag.name) for line in own if line.tag.role is role for sub in _drawn(line)]
    whole = largest_closed([run.path for run in runs])
    lines = [run for run in runs if not closes(run.path)]
    if whole is None:
        return _joined(piece, own, lines) if lines else None
    closed = PieceOutline(piece, tuple(run for run in runs if run.path is whole))
    # What is closed may be a hollow in an outline of several lines.
    with suppress(RingOpen):
        around = _joined(piece, own, lines) if lines else closed
        return around if area(around.ring(0.5)) > _HOLLOW * area(closed.ring(0.5)) else closed
    return closed


def _joined(piece: str, own: Sequence[Line], lines: Sequence[OutlineRun]) -> PieceOutline:
    """The outline that lines make with each other, and with fold lines where these close it."""
    runs = list(lines)
    longest = max(range(len(runs)), key=lambda index: runs[index].path.length())
    runs += [OutlineRun(sub, on_fold=True) for line in own if line.tag.role is Role.FOLD for sub in _drawn(line)]
    parts = ring_of_paths([run.path for run in runs], longest)
    ring = (
        OutlineRun(run.path.reversed(), run.name, run.on_fold) if part.turned else run
        for part, run in ((part, runs[part.index]) for part in parts)
    )
    return PieceOutline(piece, tuple(ring))


def _drawn(line: Line) -> list[Path]:
    """The line's subpaths that have a length."""
    return [sub for sub in line.path.subpaths() if chains_of(sub)]


def is_sign(line: Line) -> bool:
    """Whether it is filled and not stroked, and has no role: words drawn as outlines, arrowheads, dots."""
    return line.style.stroke is None and line.style.fill is not None and line.tag.role is Role.PLAIN


def grain_of(lines: Sequence[Line]) -> Straight | None:
    """The shaft of the longest grainline among the lines, pointing down the page; None where there is none."""
    shaft = longest_stretch(line.path for line in lines if line.tag.role is Role.GRAINLINE)
    return None if shaft is None else shaft.downwards()


def outermost(areas: Sequence[BaseGeometry]) -> list[int]:
    """For each area the index of the outermost one that it lies in: its own where it lies in no other.

    Of areas that are the same the first is the outer one.
    """
    outer: list[tuple[int, BaseGeometry]] = []
    hosts = list(range(len(areas)))
    for index in sorted(hosts, key=lambda index: -areas[index].area):
        host = next((other for other, around in outer if around.covers(areas[index])), None)
        if host is None:
            outer.append((index, _with_edge(areas[index])))
        else:
            hosts[index] = host
    return hosts


def is_frame(area: BaseGeometry, areas: Sequence[BaseGeometry]) -> bool:
    """Whether two or more of the areas that don't lie in each other lie in `area`: a frame around pieces."""
    around = _with_edge(area)
    inside = [other for other in areas if other.area < area.area and around.covers(other)]
    return len(set(outermost(inside))) > 1


def _with_edge(area: BaseGeometry) -> BaseGeometry:
    import shapely  # noqa: PLC0415 - heavy, and only needed here

    around = area.buffer(_ON_EDGE)
    shapely.prepare(around)
    return around
