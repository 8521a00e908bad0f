"""Carrying out a cut: each mark of the piece moves with its side; lines that cross are parted and joined again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from calibrate.run import Run
from tiling.altering.cut import Cut
from tiling.altering.piece_geometry import CutKind
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
    direction_at_end,
    direction_at_start,
    is_straight,
    merged_straights,
    moved_chain,
    point_along,
    reverse_chain,
    split_at,
    trimmed,
    turn_between,
)
from tiling.shapes.fairing import Bridge, EdgeUsedUp, Finish, bridge
from tiling.shapes.regions import holds, ring_of
from tiling.shapes.straights import straight_of

__all__ = ["FAIRING", "Joiner", "Rejoined"]

SMALL = 40.0
"""Plain and placement lines shorter than this (mm) are signs, not edges: where a cut meets them they move whole."""


FAIRING, LONGEST, STEEPEST = 50.0, 200.0, 20.0
"""Fairing where none is asked for, mm on either side: at least, at most, and per mm of the step."""

NEARLY = 6.0
"""An edge that turns by less than this (degrees) within the fairing length is nearly straight."""


@dataclass(frozen=True, slots=True)
class Rejoined:
    """The marks after a cut, in the same order, and what could not be carried along."""

    marks: tuple[Mark, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Joiner:
    """One cut with the move of its moving side.

    `fairing` is the length on either side of the gap over which an edge is faired, mm; None: as long as the step asks
    for, `FAIRING` at least.
    """

    cut: Cut
    move: Affine
    fairing: float | None

    def carry(self, marks: Sequence[Mark], run: Run) -> Rejoined:
        """All marks of the piece after the cut (others pass untouched); `run` is asked at each whether to go on.

        Raises:
            UsageWrong: an edge would turn inside out.
        """
        result: list[Mark] = []
        findings: list[Finding] = []
        for index, mark in enumerate(marks):
            run.check()
            if mark.tag.piece != self.cut.piece or index == self.cut.source.mark:
                result.append(mark)
            elif isinstance(mark, Line):
                line, clipped = self._line(mark)
                result.append(line)
                if clipped:
                    text = "a line that is shown only in part (clipped) crosses the cut and is now shown whole"
                    findings.append(Finding(FindingKind.CLIPPED_LINE_SHOWN_WHOLE, text, f"piece {self.cut.piece}"))
            else:
                result.append(mark.moved(self.move) if self.cut.moves(mark.reach().centre) else mark)
        return Rejoined(tuple(result), tuple(findings))

    def _line(self, line: Line) -> tuple[Line, bool]:
        """The line after the cut, and whether a clip had to be given up."""
        chains = [] if is_sign(line) or line.tag.role is Role.NOTCH else chains_of(line.path)
        if not chains:
            # Words drawn as outlines, notches, dots: one body.
            centre = line.path.hull.centre
            return (line.moved(self.move) if self.cut.moves(centre) else line), False
        if line.tag.role in {Role.GRADING, Role.LENGTHEN, Role.FOLD, Role.GRAINLINE}:
            return self._reference(line, chains), False
        if not any(self._cuts(line, chain, closed) for chain, closed in chains):
            return self._whole(line, chains), False
        paths = [self._chain(line, chain, closed) for chain, closed in chains]
        clipped = line.clip is not None and not _shown_whole(line)
        return replace(line, path=Path.joined(paths), clip=None), clipped

    def _whole(self, line: Line, chains: Sequence[tuple[Chain, bool]]) -> Line:
        """A line none of whose subpaths is parted."""
        sides = {self.cut.moves(_middle(chain)) for chain, _ in chains}
        if len(sides) == 1:
            return line.moved(self.move) if True in sides else line
        return replace(
            line, path=Path.joined([self._placed(chain, closed, _middle(chain)) for chain, closed in chains])
        )

    def _placed(self, chain: Chain, closed: bool, probe: Point) -> Path:
        """The chain in one piece, on the side of the cut where `probe` lies."""
        return chain_path(moved_chain(chain, self.move) if self.cut.moves(probe) else chain, closed=closed)

    def _cuts(self, line: Line, chain: Chain, closed: bool) -> list[Crossing]:
        """The crossings at which the cut parts the chain; none for what moves whole."""
        if line.tag.role in {Role.PLAIN, Role.PLACEMENT} and chain_length(chain) < SMALL:
            return []
        reach = self.cut.reach()
        return crossings(chain, reach.start, reach.end, closed=closed)

    def _reference(self, line: Line, chains: Sequence[tuple[Chain, bool]]) -> Line:
        """Grading, lengthen, fold and grain lines: straight before, straight after, from end to end.

        A grainline that a spread meets stays whole, with the side it lies on most: it keeps its direction to the fold.
        """
        paths = []
        for chain, closed in chains:
            if line.tag.role is Role.GRAINLINE and self.cut.kind is CutKind.GRADING:
                paths.append(self._placed(chain, closed, straight_of(line.path).middle))
            elif len(chain) > 1 or not is_straight(chain[0]) or chain_length(chain) < 15.0:
                paths.append(self._placed(chain, closed, _middle(chain)))
            else:
                ends = (as_point(chain[0][0]), as_point(chain[-1][3]))
                paths.append(Path.polyline([self.move.point(p) if self.cut.moves(p) else p for p in ends]))
        return replace(line, path=Path.joined(paths))

    def _chain(self, line: Line, chain: Chain, closed: bool) -> Path:
        cuts = self._cuts(line, chain, closed)
        if not cuts:
            return self._placed(chain, closed, _middle(chain))
        parts = split_at(chain, cuts, closed=closed)
        sides = [self.cut.moves(_middle(part)) for part in parts]
        placed = [moved_chain(p, self.move) if side else p for p, side in zip(parts, sides, strict=True)]
        joined = self._joined(line, placed, sides, closed)
        return chain_path(merged_straights(joined, closed=closed), closed=closed)

    def _joined(self, line: Line, parts: Sequence[Chain], sides: Sequence[bool], closed: bool) -> Chain:
        """The parts in order with a bridge wherever the side changes."""
        count = len(parts)
        joints = count if closed else count - 1
        bridges: list[Bridge | None] = []
        for i in range(joints):
            after = (i + 1) % count
            if sides[i] == sides[after]:
                bridges.append(None)
                continue
            ends_joined = 1 if closed else int(i > 0) + int(after < count - 1)
            bridges.append(self._bridge(line, parts[i], parts[after], 0.5 if ends_joined else 1.0))
        result: list[curves.Array] = []
        for i, part in enumerate(parts):
            before = bridges[i - 1] if i or closed else None
            after_ = bridges[i] if i < joints else None
            result += trimmed(part, before.ahead if before else 0.0, after_.back if after_ else 0.0)
            result += after_.cubics if after_ else ()
        return tuple(result)

    def _reach(self, before: Chain, after: Chain) -> float:
        """Fairing length: as asked, else so long that a step is hardly seen (a slope of about 1 in 20).

        Only where the edge is nearly straight: a curve keeps its shape beyond `FAIRING`.
        """
        if self.fairing is not None:
            return self.fairing
        gap, along = after[0][0] - before[-1][3], direction_at_end(before)
        reach = min(STEEPEST * abs(float(gap[0] * along[1] - gap[1] * along[0])), LONGEST)
        while reach > FAIRING and max(_bend(reverse_chain(before), reach), _bend(after, reach)) > NEARLY:
            reach *= 0.8
        return max(reach, FAIRING)

    def _bridge(self, line: Line, before: Chain, after: Chain, share: float) -> Bridge:
        finish = Finish.FAIRED
        if line.tag.role is Role.PLACEMENT and is_straight(before[-1]) and is_straight(after[0]):
            # Level lines: the measured width is the sum of both parts and the gap.
            finish = Finish.STRAIGHT
        try:
            return bridge(before, after, finish, self._reach(before, after), share)
        except EdgeUsedUp:
            x, y = before[-1][3]
            raise UsageWrong(
                f"Piece {self.cut.piece}: by that amount the {line.tag.name or line.tag.role.value or 'edge'} at "
                f"x = {x:.0f} mm, y = {y:.0f} mm would turn inside out; choose a smaller amount."
            ) from None


def _shown_whole(line: Line) -> bool:
    """Whether the line's clip hides nothing of it: a page frame, as many programs write them."""
    if line.clip is None:
        return True
    rings = [ring_of(chain) for chain, _ in chains_of(line.clip)]
    hull = line.path.hull
    corners = [Point(x, y) for x in (hull.x0, hull.x1) for y in (hull.y0, hull.y1)]
    return len(rings) == 1 and all(holds(rings[0], corner) for corner in corners)


def _bend(chain: Chain, distance: float) -> float:
    """By how many degrees the chain turns from its start to a distance along it."""
    segment, t = point_along(chain, distance)
    there = curves.derivative(chain[segment], t)
    norm = float((there @ there) ** 0.5)
    return turn_between(direction_at_start(chain), there / norm) if norm > 1e-9 else 0.0


def _middle(chain: Chain) -> Point:
    """A point of the chain well away from its ends: halfway along its longest segment."""
    longest = max(chain, key=lambda cubic: float(abs(cubic[3] - cubic[0]).sum()))
    return as_point(curves.evaluate(longest, 0.5))
