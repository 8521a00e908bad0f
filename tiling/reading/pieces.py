"""Pieces of a drawing that names none: its closed outlines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from calibrate.run import Run
from tiling.failures import InputUnfit
from tiling.notes import DrawnLine
from tiling.outlines import LEAST_PIECE, is_frame, is_sign, outermost
from tiling.pattern import Line, Mark, Pattern, Role
from tiling.shapes import Box, Path
from tiling.shapes.chains import chains_of
from tiling.shapes.curves import Array
from tiling.shapes.regions import area, distance_to, holds, polygon_of, ring_of
from tiling.shapes.rings import closes, rings_among
from tiling.shapes.straights import Straight

__all__ = ["with_pieces", "without_pieces"]

_MOST_OPEN = 2_000
"""Open lines among which rings are looked for; a drawing with more is no pattern drawn by hand."""

_BEYOND = 60.0
"""mm by which a plain line of a piece may stick out of it."""


@dataclass(frozen=True, slots=True)
class _Outline:
    """A closed outline: its ring, the indices of the marks that draw it, and its piece's id once it has one."""

    ring: Array
    marks: tuple[int, ...]
    ident: str = ""


def with_pieces(pattern: Pattern, lines: Sequence[DrawnLine] = (), run: Run = Run()) -> Pattern:
    """The pattern with its pieces: as named in the drawing, else each closed outline that lies in no other.

    A piece found so is called as the notes' line that runs through it says, else ``piece-1``, ``piece-2``, … in
    drawing order; what lies in an outline, or nearest to it within 20 mm, belongs to it.

    Raises:
        InputUnfit: no closed outline is found.
    """
    if pattern.pieces:
        return pattern
    found = _outer(_closed_lines(pattern, run))
    if not found:
        raise InputUnfit(
            f'{pattern.title}: no piece is found; draw a closed outline, or name the pieces with class="piece".'
        )
    middles = [(line.piece, Straight(line.laid[0], line.laid[-1]).middle) for line in lines]
    outlines: list[_Outline] = []
    for number, outline in enumerate(found, 1):
        named = next((piece for piece, middle in middles if piece and holds(outline.ring, middle)), "")
        taken = {other.ident for other in outlines}
        ident = named if named and named not in taken else f"piece-{number}"
        outlines.append(replace(outline, ident=ident))
    marks: list[Mark] = []
    for index, mark in enumerate(pattern.marks):
        run.check()
        home = next((outline.ident for outline in outlines if index in outline.marks), "") or _home(outlines, mark)
        marks.append(replace(mark, tag=replace(mark.tag, piece=home)) if home else mark)
    return replace(pattern.with_marks(marks), sheets=pattern.sheets)


def without_pieces(pattern: Pattern) -> Pattern:
    """The pattern with no piece named, as it was before `with_pieces`; its lines to cut along find theirs again."""
    return pattern.with_marks([replace(mark, tag=replace(mark.tag, piece="")) for mark in pattern.marks])


def _closed_lines(pattern: Pattern, run: Run) -> list[_Outline]:
    """All closed outlines of some size, also of open lines that meet end to end; words drawn as shapes are none."""
    outlines = []
    roles: dict[Role, list[tuple[Path, int]]] = {Role.PLAIN: [], Role.CUTTING: [], Role.STITCHING: []}
    for index, line in enumerate(pattern.marks):
        run.check()
        if not isinstance(line, Line) or line.tag.role not in roles or is_sign(line):
            continue
        outlines += [_Outline(ring_of(chain), (index,)) for chain, closed in chains_of(line.path) if closed]
        if len(line.path) > 1:
            roles[line.tag.role] += [(sub, index) for sub in line.path.subpaths() if not closes(sub) and chains_of(sub)]
    for drawn in roles.values():
        outlines += _rings(drawn[:_MOST_OPEN])
    return [outline for outline in outlines if area(outline.ring) >= LEAST_PIECE]


def _rings(drawn: Sequence[tuple[Path, int]]) -> Iterator[_Outline]:
    for parts in rings_among([path for path, _ in drawn]):
        paths = [drawn[part.index][0].reversed() if part.turned else drawn[part.index][0] for part in parts]
        chain = [cubic for path in paths for sub, _ in chains_of(path) for cubic in sub]
        yield _Outline(ring_of(chain), tuple(sorted({drawn[part.index][1] for part in parts})))


def _outer(outlines: Sequence[_Outline]) -> list[_Outline]:
    """The outlines that lie in no other, in drawing order; a frame around several is no piece."""
    areas = [polygon_of(outline.ring) for outline in outlines]
    left = [i for i, outline in enumerate(outlines) if len(outline.ring) != 5 or not is_frame(areas[i], areas)]
    hosts = outermost([areas[i] for i in left])
    return [outlines[i] for n, i in enumerate(left) if hosts[n] == n]


def _home(outlines: Sequence[_Outline], mark: Mark) -> str:
    """The piece that a mark belongs to; none for a frame around it, or a base line that runs on beyond it."""
    outlines = [outline for outline in outlines if not _runs_beyond(mark, outline.ring)]
    if not outlines:
        return ""
    centre = mark.path.hull.centre if isinstance(mark, Line) else mark.reach().centre
    near = {
        outline.ident: 0.0 if holds(outline.ring, centre) else distance_to(outline.ring, centre) for outline in outlines
    }
    ident = min(near, key=lambda key: near[key])
    return ident if near[ident] <= 20.0 else ""


def _runs_beyond(mark: Mark, ring: Array) -> bool:
    if not isinstance(mark, Line) or mark.tag.role is not Role.PLAIN:
        return False
    (x0, y0), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
    return not Box(x0, y0, x1, y1).grown(_BEYOND).covers(mark.path.hull)
