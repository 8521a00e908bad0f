"""The lines along which a piece is sewn: as drawn, or the cutting line moved inwards by the seam allowance.

Everything that compares or adds up seams measures here, so that every number means the same line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from calibrate.run import Run
from tiling.cloth.hollowing import inset_by_subtraction
from tiling.cloth.outlines import cut_outline, drawing_name, notes_name
from tiling.cloth.rules import nearest
from tiling.cloth.stitching import Closed, Stitching, closed_on, stitching_among
from tiling.failures import InputUnfit
from tiling.notes import LineRef
from tiling.outlines import PieceOutline
from tiling.pattern import Pattern, Role
from tiling.shapes import Path, Point, curves
from tiling.shapes.chains import as_point
from tiling.shapes.curves import Array
from tiling.shapes.offset import OffsetCollapsed, OffsetEdge, inset
from tiling.shapes.polylines import nearest_position
from tiling.shapes.regions import is_simple

__all__ = ["Basis", "LineLengths", "SeamLines", "SewnLine"]

_MEET = 1e-6
"""Ends this near to each other (mm) make one line of two."""

_FINE = 0.005
"""mm; how finely lines are flattened to find places on them."""


class Basis(StrEnum):
    """The drawn line that a measured line was taken from."""

    STITCHING = "stitching line as drawn"
    OFFSET = "cutting line less the seam allowance"
    CUTTING = "cutting line as drawn"
    DRAWN = "line as drawn"


@dataclass(frozen=True, slots=True, eq=False)
class SewnLine:
    """A named line as it is sewn: the path (mm, as drawn on the paper piece) and what it was taken from.

    `closed` are the stretches of the path that its darts and pleats take away.
    """

    ref: LineRef
    path: Path
    basis: Basis
    closed: tuple[Closed, ...] = ()

    @property
    def length(self) -> float:
        """Its length once its darts and pleats are sewn, mm."""
        return self.path.length() - sum(one.width for one in self.closed)

    def position(self, point: Point) -> float:
        """Length from the line's start to its place nearest to `point`, mm, once darts and pleats are sewn."""
        at = nearest_position(self.path, point, _FINE)[0]
        return at - sum(min(max(at - one.start, 0.0), one.width) for one in self.closed)

    def distance(self, point: Point) -> float:
        """Distance from `point` to the line, mm."""
        return nearest_position(self.path, point, _FINE)[1]


class SeamLines:
    """The sewn lines of one pattern; outlines and offsets are worked out once each, when first asked for.

    All that measures the pattern asks here, so `run` is asked with every line and piece whether to go on.
    """

    def __init__(self, pattern: Pattern, run: Run = Run()) -> None:
        self.pattern = pattern
        self._run = run
        self._outlines: dict[str, PieceOutline] = {}
        self._moved: dict[str, tuple[Path, ...]] = {}
        self._stitching: dict[str, Stitching] = {}
        self._rings: dict[str, Array | None] = {}
        self._lines: dict[LineRef, SewnLine] = {}

    def references(self) -> dict[str, LineRef]:
        """Every named line by ``piece.name``, in drawing order.

        The text alone can't be parted into both: either name may hold dots.
        """
        found: dict[str, LineRef] = {}
        for line in self.pattern.lines():
            if line.tag.piece and line.tag.name:
                ref = LineRef(line.tag.piece, line.tag.name)
                found.setdefault(str(ref), ref)
        return found

    def outline(self, piece: str) -> PieceOutline:
        """The piece's cutting outline (`tiling.cloth.outlines.cut_outline`)."""
        if piece not in self._outlines:
            self._run.check()
            self._outlines[piece] = cut_outline(self.pattern, piece)
        return self._outlines[piece]

    def ring(self, piece: str) -> Array | None:
        """The piece's cutting outline as a polyline that repeats its start; None where it has none that closes."""
        if piece not in self._rings:
            try:
                ring = self.outline(piece).ring(_FINE)
                self._rings[piece] = np.vstack([ring, ring[:1]]) if len(ring) > 2 else None
            except InputUnfit:
                self._rings[piece] = None
        return self._rings[piece]

    def stitching(self, piece: str) -> Stitching:
        """The piece's drawn stitching lines, those of seams apart from darts (`tiling.cloth.stitching`)."""
        if piece not in self._stitching:
            ring, lines = self.ring(piece), self.pattern.lines(piece=piece)
            allowance = self.pattern.note(piece).seam_allowance
            self._stitching[piece] = self._run.watched(lambda: stitching_among(lines, ring, allowance))
        return self._stitching[piece]

    def line(self, ref: LineRef) -> SewnLine:
        """The named line where it is sewn, its darts and pleats closed.

        Raises:
            InputUnfit: no line of that name (the nearest right word is given), or the allowance is too wide for it.
            Cancelled: by the run.
        """
        self._run.check()
        if ref not in self._lines:
            open_ = self._line(ref)
            self._lines[ref] = replace(open_, closed=closed_on(open_.path, self.stitching(ref.piece).darts))
        return self._lines[ref]

    def _line(self, ref: LineRef) -> SewnLine:
        """The line as `line` gives it, its darts open.

        A stitching line of that name as drawn comes first; then the part of an unnamed drawn stitching line that runs
        beside the cutting line of that name; then the cutting line less its allowance; then whatever bears the name.
        """
        found = self.pattern.lines(piece=ref.piece, name=ref.name)
        if not found or not ref.name:
            hint = nearest(str(ref), self.references())
            raise InputUnfit(f"{notes_name(self.pattern)}: the line '{ref}' is not in the drawing{hint}")
        drawn = [line.path for line in found if line.tag.role is Role.STITCHING]
        if drawn:
            return SewnLine(ref, Path.joined(drawn), Basis.STITCHING)
        cutting = [line.path for line in found if line.tag.role is Role.CUTTING]
        if not cutting:
            return SewnLine(ref, Path.joined([line.path for line in found]), Basis.DRAWN)
        beside = self._beside(ref)
        if beside is not None:
            return SewnLine(ref, beside, Basis.STITCHING)
        if not self.has_allowance(ref.piece) or self.stitching(ref.piece).seams:
            return SewnLine(ref, Path.joined(cutting), Basis.CUTTING)
        runs = self.outline(ref.piece).runs
        parts = [moved for moved, run in zip(self._offset(ref.piece), runs, strict=True) if run.name == ref.name]
        if not parts:
            # A cutting line inside the outline: a slit, say.
            return SewnLine(ref, Path.joined(cutting), Basis.CUTTING)
        parts = [part for part in parts if len(part)]
        if not parts:
            raise InputUnfit(
                f"{drawing_name(self.pattern)}: nothing of the line '{ref}' is left inside the seam allowances; draw "
                "its stitching line, or give smaller allowances in the notes."
            )
        return SewnLine(ref, _one(parts), Basis.OFFSET)

    def has_allowance(self, piece: str) -> bool:
        """Whether the notes give the piece's seam allowance."""
        note = self.pattern.note(piece)
        return note.seam_allowance is not None or bool(note.allowances)

    def edges(self, piece: str) -> tuple[Path, ...]:
        """All of the piece's edge where it is sewn: drawn stitching lines and fold, or the offset ring, or the cut.

        Raises:
            InputUnfit: it has no closed outline, or no stitching line can be worked out.
        """
        drawn = self.stitching(piece).seams
        if drawn:
            folds = self.pattern.lines(piece=piece, role=Role.FOLD)
            return tuple(line.path for line in [*drawn, *folds])
        if self.has_allowance(piece):
            return self._offset(piece)
        return tuple(run.path for run in self.outline(piece).runs)

    def allowance(self, piece: str, line: str) -> float:
        """The distance from cutting to stitching line along a named line, mm; 0 where none is noted."""
        note = self.pattern.note(piece)
        return note.allowances.get(line, note.seam_allowance or 0.0)

    def _offset(self, piece: str) -> tuple[Path, ...]:
        if piece not in self._moved:
            self._run.check()
            runs = self.outline(piece).runs
            self._check_allowances(piece)
            edges = [OffsetEdge(run.path, 0.0 if run.on_fold else self.allowance(piece, run.name)) for run in runs]
            self._moved[piece] = self._inset(piece, edges)
        return self._moved[piece]

    def _inset(self, piece: str, edges: list[OffsetEdge]) -> tuple[Path, ...]:
        try:
            moved = self._run.watched(lambda: inset(edges))
            if is_simple(np.vstack([line[:-1] for path in moved for line in path.flatten(0.01)])):
                return moved
        except OffsetCollapsed:
            pass
        # Edges shorter than the allowance, or parts of the piece too narrow for it: take the border away as an area.
        try:
            return self._run.watched(lambda: inset_by_subtraction(edges))
        except OffsetCollapsed as collapsed:
            raise InputUnfit(
                f"{drawing_name(self.pattern)}, piece '{piece}': no stitching line can be worked out, {collapsed}; "
                "draw the stitching line, or give a smaller seam-allowance in the notes."
            ) from collapsed

    def _check_allowances(self, piece: str) -> None:
        known = {run.name for run in self.outline(piece).runs if run.name}
        for name in self.pattern.note(piece).allowances:
            if name not in known:
                raise InputUnfit(
                    f"{notes_name(self.pattern)}, pieces.{piece} allowances: the piece has no cutting line "
                    f"'{name}'{nearest(name, known)}"
                )

    def _beside(self, ref: LineRef) -> Path | None:
        """The segments of the piece's unnamed stitching lines whose nearest cutting line bears the name."""
        unnamed = [
            cubic for line in self.stitching(ref.piece).seams if not line.tag.name for cubic in line.path.cubics()
        ]
        if not unnamed:
            return None
        runs = [(run.name, run.path) for run in self.outline(ref.piece).runs]
        own = []
        for cubic in unnamed:
            self._run.check()
            middle = as_point(curves.evaluate(cubic, 0.5))
            name, _ = min(runs, key=lambda run: nearest_position(run[1], middle, _FINE)[1])
            if name == ref.name:
                own.append(cubic)
        return _one([Path.from_cubics([cubic]) for cubic in own]) if own else None


class LineLengths(Mapping[str, float]):
    """Lengths of a pattern's named lines in mm by ``piece.name``, worked out when asked for."""

    def __init__(self, seam_lines: SeamLines) -> None:
        self._seam_lines = seam_lines
        self._references = seam_lines.references()

    def __getitem__(self, name: str) -> float:
        return self._seam_lines.line(self._references[name]).length

    def __iter__(self) -> Iterator[str]:
        return iter(self._references)

    def __len__(self) -> int:
        return len(self._references)

    def __contains__(self, name: object) -> bool:
        return name in self._references


def _one(paths: list[Path]) -> Path:
    """Paths that follow each other as one subpath; others as several."""
    cubics = [list(path.cubics()) for path in paths]
    merged = [cubics[0]]
    for following in cubics[1:]:
        if np.abs(merged[-1][-1][3] - following[0][0]).max() <= _MEET:
            merged[-1] = [*merged[-1], *following]
        elif np.abs(merged[0][0][0] - following[-1][3]).max() <= _MEET:
            merged[0] = [*following, *merged[0]]
        else:
            merged.append(following)
    return Path.joined([Path.from_cubics(run) for run in merged])
