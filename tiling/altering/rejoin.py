"""Carrying out a cut: each mark of the piece moves with its side; lines that cross are parted and joined again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calibrate.run import Run
from tiling.altering.allowance import Guide
from tiling.altering.cut import Cut
from tiling.altering.darts import round_dart
from tiling.altering.kept import EDGES, SMALL, Kept, kept_at
from tiling.altering.parts import Part, Strand, moved_with, strands_of, with_moved, with_strands
from tiling.altering.piece_geometry import CutKind, PieceGeometry
from tiling.altering.truing import EdgeUsedUp, Trued, Truing
from tiling.failures import UsageWrong
from tiling.outlines import is_sign
from tiling.pattern import Finding, FindingKind, Line, Mark, Role
from tiling.shapes import Affine, Path, Point, curves
from tiling.shapes.chains import (
    Chain,
    Crossing,
    as_point,
    chain_length,
    chain_path,
    chains_of,
    crossings,
    is_straight,
    merged_straights,
    moved_chain,
    split_at,
    trimmed,
)
from tiling.shapes.corners import is_corner
from tiling.shapes.regions import holds, ring_of
from tiling.shapes.rings import MEET

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["Joiner", "Rejoined"]

_MEET = 0.005
"""mm; parts nearer to each other than this meet."""

_STUB = 0.02
"""mm; the part of an edge that goes with the other side where an edge of its own begins there."""

_REFERENCE = {Role.GRADING, Role.LENGTHEN, Role.FOLD, Role.GRAINLINE}


@dataclass(frozen=True, slots=True)
class Rejoined:
    """The marks after a cut, in the same order, and what should be known of it."""

    marks: tuple[Mark, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Joiner:
    """One cut through a piece, with the move of its moving side.

    `fairing` is the length on either side of the gap over which an edge is faired, mm; None: straight edges are ruled,
    others faired as long as the step asks for.
    """

    body: PieceGeometry
    cut: Cut
    move: Affine
    fairing: float | None

    def carry(self, marks: Sequence[Mark], titles: Mapping[str, str], run: Run) -> Rejoined:
        """All marks of the piece after the cut (others pass untouched).

        Args:
            marks: all marks of the pattern.
            titles: of its pieces, by id.
            run: asked at each mark whether to go on.

        Raises:
            UsageWrong: an edge would turn inside out.
        """
        result: list[Mark] = list(marks)
        kept = kept_at(self.cut, self.body, marks, titles)
        findings = list(kept.findings)
        guides: list[Guide] = []
        # Stitching lines come first: cutting lines keep their distance to them.
        for index in sorted(range(len(marks)), key=lambda i: marks[i].tag.role is not Role.STITCHING):
            run.check()
            mark = marks[index]
            if mark.tag.piece != self.cut.piece or index == self.cut.source.mark:
                continue
            if index in kept.sides or not isinstance(mark, Line):
                result[index] = self._whole(mark, kept.sides.get(index))
                continue
            result[index], clipped = self._line(mark, kept, guides)
            if clipped:
                text = "a line that is shown only in part (clipped) crosses the cut and is now shown whole"
                findings.append(Finding(FindingKind.CLIPPED_LINE_SHOWN_WHOLE, text, f"piece {self.cut.piece}"))
        return Rejoined(tuple(result), tuple(findings))

    def _whole(self, mark: Mark, moves: bool | None = None) -> Mark:
        """The mark in one piece, with the side on which its middle lies, or with the moving one where that is said."""
        line = mark.path.hull if isinstance(mark, Line) else mark.reach()
        earlier = moved_with(mark)
        if not (self._goes(mark, line.centre) if moves is None else moves):
            return mark
        moved = mark.moved(self.move)
        if isinstance(mark, Line) and isinstance(moved, Line):
            strands = [self._strand_moved(strand) for strand in strands_of(mark)]
            if any(strand.remembers for strand in strands_of(mark) + strands):
                moved = replace(with_strands(moved, moved.path, strands), clip=moved.clip)
        hidden = not self.cut.beyond(self.move.point(line.centre))
        return with_moved(moved, earlier | {self.cut.name} if hidden else earlier - {self.cut.name})

    def _goes(self, mark: Mark, point: Point) -> bool:
        known = self.cut.made_before and self.cut.name in moved_with(mark)
        return known or self.cut.moves(point)

    def _strand_moved(self, strand: Strand) -> Strand:
        drawn = moved_chain(strand.drawn, self.move)
        hidden = {self.cut.name} if self.cut.kept_short(drawn) else set()
        parts = tuple(
            replace(part, chain=moved_chain(part.chain, self.move), moved=part.moved - {self.cut.name} | hidden)
            for part in strand.parts
        )
        return replace(strand, parts=parts, drawn=drawn)

    def _strand_goes(self, line: Line, strand: Strand) -> bool:
        known = self.cut.made_before and strand.knows(self.cut.name)
        return known or self._goes(line, _middle(strand.drawn))

    def _line(self, line: Line, kept: Kept, guides: list[Guide]) -> tuple[Line, bool]:
        """The line after the cut, and whether a clip had to be given up."""
        if is_sign(line) or line.tag.role is Role.NOTCH or not chains_of(line.path):
            # Words drawn as outlines, notches, dots: one body.
            moved = self._whole(line)
            assert isinstance(moved, Line)
            return moved, False
        strands = strands_of(line)
        edge = kept if line.tag.role in EDGES else replace(kept, tips=())
        parted = [None if self._stays_whole(line, strand) else self._parted(strand, edge) for strand in strands]
        if not any(parted):
            if line.tag.role is Role.STITCHING:
                # One that was cut before still guides the cutting line, which is trued anew at all its cuts.
                self._joined(line, strands, guides)
            return self._unparted(line, strands), False
        done = [
            one or (self._strand_moved(strand) if self._strand_goes(line, strand) else strand)
            for one, strand in zip(parted, strands, strict=True)
        ]
        path = Path.joined(self._joined(line, done, guides))
        return with_strands(line, path, done), line.clip is not None and not _shown_whole(line)

    def _unparted(self, line: Line, strands: Sequence[Strand]) -> Line:
        """A line none of whose subpaths is parted."""
        sides = {self._strand_goes(line, strand) for strand in strands}
        if len(sides) == 1:
            moved = self._whole(line, True in sides)
            assert isinstance(moved, Line)
            return moved
        done = [self._strand_moved(s) if self._strand_goes(line, s) else s for s in strands]
        path = Path.joined([chain_path(strand.drawn, closed=strand.closed) for strand in done])
        return replace(with_strands(line, path, done), clip=line.clip)

    def _stays_whole(self, line: Line, strand: Strand) -> bool:
        """Whether the subpath keeps its shape: a sign, an arrowhead, a grainline that a spread meets."""
        if line.tag.role is Role.GRAINLINE and self.cut.kind is CutKind.GRADING:
            return True
        if line.tag.role in _REFERENCE:
            bent = len(strand.drawn) > 1 or not is_straight(strand.drawn[0])
            return bent or chain_length(strand.drawn) < 15.0
        return line.tag.role in {Role.PLAIN, Role.PLACEMENT} and chain_length(strand.drawn) < SMALL

    def _parted(self, strand: Strand, kept: Kept) -> Strand | None:
        """The strand after the cut, untrued; None where the cut doesn't part it."""
        name = self.cut.name
        if strand.knows(name) and self.cut.made_before:
            sided = [(part, name in part.moved) for part in strand.parts]
        else:
            sided = list(self._split(strand.forgetting() if strand.knows(name) else strand, kept))
        if len({side for _, side in sided}) < 2:
            return None
        parts = [
            replace(part, chain=moved_chain(part.chain, self.move), moved=part.moved | {name}) if side else part
            for part, side in sided
        ]
        return replace(strand, parts=tuple(_healed(parts, name, closed=strand.closed)))

    def _split(self, strand: Strand, kept: Kept) -> Iterator[tuple[Part, bool]]:
        """The strand's parts, split where the cut crosses them, each with whether it moves."""
        crossed = self._crossings(strand.drawn, kept, closed=strand.closed)
        if not crossed:
            yield from self._with_tips(strand, kept)
            return
        each = [crossed]
        if len(strand.parts) > 1:
            each = [self._crossings(part.chain, kept, closed=False) for part in strand.parts]
            if sum(map(len, each)) != len(crossed):
                strand, each = strand.forgetting(), [crossed]
        closed = strand.closed and len(strand.parts) == 1
        for part, cuts in zip(strand.parts, each, strict=True):
            pieces = split_at(part.chain, cuts, closed=closed)
            corners = [_was_corner(part.chain, c, kept, closed=closed) for c in cuts]
            # A ring's first part begins after the first cut; an open one's begins before it.
            ends = [*corners[1:], *corners[:1]] if closed else [*corners, part.corner]
            for chain, corner in zip(pieces, ends, strict=False):
                yield Part(chain, part.moved, corner), self.cut.moves(_middle(chain, kept))

    def _with_tips(self, strand: Strand, kept: Kept) -> Iterator[tuple[Part, bool]]:
        """An open edge that stays, ending on the cut where one that moves begins, with a stub of that at its end."""
        if strand.closed or not kept.tips or self.cut.moves(_middle(strand.drawn)):
            return
        chain, whole = strand.drawn, chain_length(strand.drawn)
        begins, ends = (
            any(as_point(p).distance(tip) <= MEET for tip in kept.tips) for p in (chain[0][0], chain[-1][3])
        )
        if begins:
            yield Part(trimmed(chain, 0.0, whole - _STUB)), True
        yield Part(trimmed(chain, _STUB * begins, _STUB * ends)), False
        if ends:
            yield Part(trimmed(chain, whole - _STUB, 0.0)), True

    def _crossings(self, chain: Chain, kept: Kept, *, closed: bool) -> list[Crossing]:
        reach = self.cut.reach()
        found = crossings(chain, reach.start, reach.end, closed=closed)
        for dart, moves in kept.darts:
            found = round_dart(chain, found, dart, self.cut.beyond if not moves else self.cut.short_of, closed=closed)
        return found

    def _joined(self, line: Line, strands: Sequence[Strand], guides: list[Guide]) -> list[Path]:
        """The subpaths with their parts joined again and trued."""
        paths = []
        for strand in strands:
            if len(strand.parts) == 1:
                chain = strand.parts[0].chain
            elif line.tag.role in _REFERENCE:
                chain = (curves.line_as_cubic(strand.parts[0].chain[0][0], strand.parts[-1].chain[-1][3]),)
            else:
                trued = self._trued(line, strand, guides)
                chain = trued.chain
                guides += trued.guides if line.tag.role is Role.STITCHING else ()
            chain = merged_straights(chain, closed=strand.closed, off=_MEET)
            paths.append(chain_path(chain, closed=strand.closed))
        return paths

    def _trued(self, line: Line, strand: Strand, guides: Sequence[Guide]) -> Trued:
        along = tuple(guides) if line.tag.role is Role.CUTTING else ()
        truing = Truing(self.fairing, line.tag.role is Role.PLACEMENT, along)
        chains = [part.chain for part in strand.parts]
        try:
            return truing.trued(chains, [part.corner for part in strand.parts], closed=strand.closed)
        except EdgeUsedUp:
            x, y = self.cut.line.middle.x, self.cut.line.middle.y
            raise UsageWrong(
                f"Piece {self.cut.piece}: by that amount the {line.tag.name or line.tag.role.value or 'edge'} at the "
                f"{self.cut.kind.value} about x = {x:.0f} mm, y = {y:.0f} mm would turn inside out; choose a smaller "
                "amount."
            ) from None


def _was_corner(chain: Chain, crossing: Crossing, kept: Kept, *, closed: bool) -> bool:
    """Whether the line turns where it is crossed; the end of a dart's leg turns for the dart, not for the seam."""
    last = crossing.segment == len(chain) - 1
    if crossing.t < 1 - 1e-9 or (last and not closed) or not is_corner(chain, crossing.segment, closed=closed):
        return False
    here = np.array([crossing.point.x, crossing.point.y])
    return not any(float(np.hypot(*(leg[0] - here))) < 1.0 for dart, _ in kept.darts for leg in dart.legs)


def _healed(parts: Sequence[Part], name: str, *, closed: bool) -> list[Part]:
    """The parts without that cut, where everything has come back to where it was; as they are otherwise."""
    joints = [(i, (i + 1) % len(parts)) for i in range(len(parts) if closed else len(parts) - 1)]
    across = [(i, j) for i, j in joints if parts[i].moved ^ parts[j].moved == {name}]
    if not across or not all(_meets(parts[i].chain, parts[j].chain) for i, j in across):
        return list(parts)
    result: list[Part] = []
    joined = {j for _, j in across}
    for index, part in enumerate(parts):
        bare = replace(part, moved=part.moved - {name})
        if index in joined and result:
            result[-1] = Part((*result[-1].chain, *part.chain), result[-1].moved, part.corner)
        else:
            result.append(bare)
    if closed and 0 in joined and len(result) > 1:
        last = result.pop()
        result[0] = Part((*last.chain, *result[0].chain), result[0].moved, result[0].corner)
    return result


def _meets(one: Chain, other: Chain) -> bool:
    return bool(np.hypot(*(other[0][0] - one[-1][3])) < _MEET)


def _shown_whole(line: Line) -> bool:
    """Whether the line's clip hides nothing of it: a page frame, as many programs write them."""
    if line.clip is None:
        return True
    rings = [ring_of(chain) for chain, _ in chains_of(line.clip)]
    hull = line.path.hull
    corners = [Point(x, y) for x in (hull.x0, hull.x1) for y in (hull.y0, hull.y1)]
    return len(rings) == 1 and all(holds(rings[0], corner) for corner in corners)


def _middle(chain: Chain, kept: Kept | None = None) -> Point:
    """A point of the chain well away from its ends: halfway along its longest segment that is no leg of a dart."""
    darts = [dart.reach() for dart, _ in kept.darts] if kept is not None else []
    free = [c for c in chain if not any(_runs_in(c, one) for one in darts)] or chain
    longest = max(free, key=lambda cubic: float(abs(cubic[3] - cubic[0]).sum()))
    return as_point(curves.evaluate(longest, 0.5))


def _runs_in(cubic: curves.Array, dart: BaseGeometry) -> bool:
    import shapely  # noqa: PLC0415

    return bool(dart.dwithin(shapely.Point(curves.evaluate(cubic, 0.5)), 0.5))
