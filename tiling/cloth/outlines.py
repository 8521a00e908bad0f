"""The closed outline of a piece as it is cut: its cutting lines, and its fold line where it is cut on the fold.

A drawing may hold the outline as one closed path, or as several named lines that meet end to end. Either way it
becomes a ring of runs, each with its name, ready to be moved inwards, unfolded or filled.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tiling.failures import InputUnfit
from tiling.pattern import Line, Pattern, Role
from tiling.shapes import Box, Path, curves
from tiling.shapes.curves import Array

__all__ = ["PieceOutline", "Run", "cut_outline", "drawing_of", "place_of"]

MEET = 1.0
"""Ends of lines this near (mm) are taken to meet: a corner drawn by hand and eye."""


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Part of an outline: an open path (mm, as drawn), the name of its line, and whether it lies on the fold."""

    path: Path
    name: str = ""
    on_fold: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class PieceOutline:
    """The ring of runs around a piece; each starts where the one before ends, to `MEET`."""

    piece: str
    runs: tuple[Run, ...]

    def ring(self, tolerance: float = 0.05) -> Array:
        """The outline as an (n, 2) polygon without repeated end, chords within `tolerance` mm."""
        points = np.vstack([line for run in self.runs for line in run.path.flatten(tolerance)])
        keep = np.linalg.norm(points - np.roll(points, 1, axis=0), axis=1) > 1e-6
        return np.asarray(points[keep])

    def box(self) -> Box:
        """The upright box around it, exact."""
        boxes = [run.path.bounds() for run in self.runs]
        whole = Box.around(boxes)
        assert whole is not None  # an outline has runs
        return whole

    @property
    def fold(self) -> Run | None:
        """The run on the fold, None for a piece without one."""
        return next((run for run in self.runs if run.on_fold), None)


def place_of(pattern: Pattern) -> str:
    """How messages about the notes name the pattern: its notes' file, or else the drawing."""
    return (pattern.notes.file if pattern.notes else "") or drawing_of(pattern)


def drawing_of(pattern: Pattern) -> str:
    """How messages about the drawing name it: its file, or its title."""
    names = dict.fromkeys(sheet.name for sheet in pattern.sheets)
    return ", ".join(names) or pattern.title or "the drawing"


def cut_outline(pattern: Pattern, piece: str) -> PieceOutline:
    """The outline of a piece.

    Raises:
        InputUnfit: it has no cutting line, or its lines leave a gap.
    """
    cutting = pattern.lines(piece=piece, role=Role.CUTTING)
    folds = [sub for line in pattern.lines(piece=piece, role=Role.FOLD) for sub in line.path.subpaths()]
    if not cutting:
        raise InputUnfit(
            f"{drawing_of(pattern)}, piece '{piece}': it has no cutting line; give its outline the class cutting-line."
        )
    closed = [sub for line in cutting for sub in line.path.subpaths() if _comes_back(sub)]
    if closed:
        whole = max(closed, key=lambda path: abs(_area(path)))
        return PieceOutline(piece, tuple(_named(whole, cutting, folds)))
    pieces = [Run(sub, line.tag.name) for line in cutting for sub in line.path.subpaths()]
    pieces += [Run(sub, "", on_fold=True) for sub in folds]
    return PieceOutline(piece, tuple(_chained(pieces, f"{drawing_of(pattern)}, piece '{piece}'")))


def _ends(path: Path) -> tuple[Array, Array]:
    return path.points[0], path.points[-1]


def _comes_back(path: Path) -> bool:
    start, end = _ends(path)
    return path.closed or (len(path) > 2 and float(np.linalg.norm(start - end)) < 1e-3)


def _area(path: Path) -> float:
    points = path.flatten(0.5)[0]
    x, y = points[:, 0], points[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


def _named(whole: Path, cutting: Sequence[Line], folds: Sequence[Path]) -> Iterable[Run]:
    """The closed path's segments as runs, named after the open cutting lines drawn over them; fold segments apart."""
    named = [
        (line.tag.name, _coarse(sub))
        for line in cutting
        for sub in line.path.subpaths()
        if line.tag.name and not _comes_back(sub)
    ]
    default = next((line.tag.name for line in cutting if any(_same(sub, whole) for sub in line.path.subpaths())), "")
    over = [_coarse(fold) for fold in folds]
    if not named and not over:
        yield Run(whole, default)
        return
    kinds = []
    for cubic in whole.cubics():
        points = curves.evaluate(cubic, np.array([0.02, 0.5, 0.98]))
        on_fold = any(_near(points, fold) for fold in over)
        name = next((name for name, line in named if _near(points, line)), default)
        kinds.append((cubic, "" if on_fold else name, on_fold))
    # Begin where the kind changes, so that no run is torn at the path's own start.
    start = next((i for i in range(len(kinds)) if kinds[i][1:] != kinds[i - 1][1:]), 0)
    kinds = [*kinds[start:], *kinds[:start]]
    group: list[Array] = []
    for i, (cubic, name, on_fold) in enumerate(kinds):
        group.append(cubic)
        if i + 1 == len(kinds) or kinds[i + 1][1:] != (name, on_fold):
            yield Run(Path.from_cubics(group), name, on_fold)
            group = []


def _same(one: Path, other: Path) -> bool:
    return len(one) == len(other) and one == other


def _coarse(path: Path) -> Array:
    return path.flatten(0.05)[0]


def _near(points: Array, line: Array) -> bool:
    """Whether all points lie on the polyline, to `MEET`."""
    start, along = line[:-1], np.diff(line, axis=0)
    square = np.maximum((along**2).sum(axis=1), 1e-300)
    gap = points[:, None, :] - start[None]
    share = np.clip((gap * along).sum(axis=2) / square, 0.0, 1.0)
    return bool(np.linalg.norm(gap - share[..., None] * along, axis=2).min(axis=1).max() < MEET)


def _chained(runs: list[Run], place: str) -> Iterable[Run]:
    """The runs in order and turned so that each starts where the last ended."""
    left = runs[1:]
    chain = [runs[0]]
    first, here = _ends(runs[0].path)
    while left:
        distances = [
            (float(np.linalg.norm(end - here)), index, turned)
            for index, run in enumerate(left)
            for turned, end in enumerate(_ends(run.path))
        ]
        distance, index, turned = min(distances)
        if distance > MEET:
            # A ring that has closed already leaves inner lines over; anything else is a gap.
            if float(np.linalg.norm(first - here)) <= MEET and len(chain) > 1:
                break
            raise _gap(place, here, distance)
        run = left.pop(index)
        chain.append(Run(run.path.reversed(), run.name, run.on_fold) if turned else run)
        here = _ends(chain[-1].path)[1]
    remaining = float(np.linalg.norm(first - here))
    if remaining > MEET:
        raise _gap(place, here, remaining)
    return chain


def _gap(place: str, here: Array, distance: float) -> InputUnfit:
    return InputUnfit(
        f"{place}: its cutting line is open at {here[0]:.1f}, {here[1]:.1f} mm; the next end is {distance:.1f} mm off. "
        "Close the outline, or draw the fold line that closes it."
    )
