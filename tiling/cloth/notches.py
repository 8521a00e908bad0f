"""Notches along the two sides of a seam: which meets which, once both are laid out from the end at which they start.

Which ends meet is told by the corners: by the lines that begin there, and what the notes sew those to. How a line
happens to be drawn says nothing; only where the corners don't tell either is the way taken in which notches fit best.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice, pairwise, product
from math import inf

import numpy as np

from tiling.cloth.seam_lines import SeamLines, SewnLine
from tiling.notes import LineRef, SeamNote
from tiling.pattern import Role
from tiling.shapes import curves
from tiling.shapes.chains import as_point

__all__ = ["NotchPair", "meeting_notches"]

_NOTCH_REACH = 30.0
_CORNER_REACH = 30.0
"""mm between the ends of two sewn lines that meet at a corner: as far as their allowances may set them apart."""

_SAME = 1.0
_MOST_WAYS = 32
_SEWN, _ALIKE = 3, 1
_FOLD = "fold"
_SIDES = re.compile(r"\b(front|back|left|right|upper|under|top|bottom)\b")


@dataclass(frozen=True, slots=True)
class NotchPair:
    """Two notches that should meet: mm along the first and the second side; None where one has no partner."""

    first: float | None
    second: float | None

    @property
    def apart(self) -> float | None:
        """By how much they miss each other if both sides are laid flat from the same end, mm."""
        return None if self.first is None or self.second is None else self.first - self.second


@dataclass(frozen=True, slots=True)
class _Corner:
    """The end of a line: its piece, and the line that begins there, `fold` for a fold; None where that isn't known."""

    piece: str
    beside: LineRef | None


@dataclass(frozen=True, slots=True)
class _Line:
    """One line laid out straight: its length, where its notches lie from its start, and its corners."""

    ref: LineRef
    length: float
    notches: tuple[float, ...]
    start: _Corner
    end: _Corner

    def turned(self) -> _Line:
        """The same from its other end."""
        notches = tuple(self.length - at for at in reversed(self.notches))
        return _Line(self.ref, self.length, notches, self.end, self.start)


@dataclass(frozen=True, slots=True)
class _Side:
    """Lines sewn end to end as one; a notch drawn at a join of two is counted once."""

    lines: tuple[_Line, ...]
    notches: tuple[float, ...]
    joins: tuple[float, ...]


def meeting_notches(
    seam_lines: SeamLines, first: Sequence[SewnLine], second: Sequence[SewnLine]
) -> tuple[NotchPair, ...]:
    """The notches of a seam in pairs, in order along it.

    Args:
        seam_lines: the pattern.
        first: the lines of the first side, sewn end to end in this order.
        second: those of the second side, in this order or the other way round.
    """
    one_side, other_side = ([_flat(seam_lines, line) for line in side] for side in (first, second))
    seams = seam_lines.pattern.seams
    best: tuple[NotchPair, ...] = ()
    least = (inf, inf)
    others = list(chain(_ways(other_side), _ways(other_side[::-1]) if len(other_side) > 1 else ()))
    for one in _ways(one_side):
        for other in others:
            pairs = _pairs(one, other)
            missed = sum(abs(pair.apart) if pair.apart is not None else 1e6 for pair in pairs)
            cost = (-float(_agreement(one, other, seams)), missed)
            if cost < (least[0], least[1] - 1e-9):
                best, least = pairs, cost
    return best


# -- corners ---------------------------------------------------------------------------------------------------------


def _agreement(one: _Side, other: _Side, seams: Sequence[SeamNote]) -> int:
    """How much the corners speak for laying the sides out this way."""
    total = _alike(one.lines[0].start, other.lines[0].start, seams) + _alike(
        one.lines[-1].end, other.lines[-1].end, seams
    )
    for side in (one, other):
        for before, after in pairwise(side.lines):
            same = before.end.beside == after.ref and after.start.beside == before.ref
            total += _SEWN if same else _alike(before.end, after.start, seams)
    return total


def _alike(one: _Corner, other: _Corner, seams: Sequence[SeamNote]) -> int:
    """How much speaks for two corners meeting: a seam that the lines beside them share, or a name."""
    a, b = one.beside, other.beside
    if a is None or b is None:
        return 0
    if a != b and any(a in (refs := (*seam.first, *seam.second)) and b in refs for seam in seams):
        return _SEWN
    return _ALIKE if _bare(a.name) == _bare(b.name) else 0


def _bare(name: str) -> str:
    """The line's name without which side it is on."""
    words = re.sub(r"[-_]+", " ", name.casefold())
    return " ".join(_SIDES.sub(" ", words).split()) or words


def _corners(seam_lines: SeamLines, line: SewnLine) -> tuple[_Corner, _Corner]:
    """The corners at which the line starts and ends."""
    points = line.path.points
    found = []
    for here, far in ((points[0], points[-1]), (points[-1], points[0])):
        least, beside = _CORNER_REACH, None
        for ref, ends in _neighbours(seam_lines, line.ref):
            apart = float(np.linalg.norm(ends - here, axis=1).min())
            if apart < least and apart < float(np.linalg.norm(ends - far, axis=1).min()) + _SAME:
                least, beside = apart, ref
        found.append(_Corner(line.ref.piece, beside))
    return found[0], found[1]


def _neighbours(seam_lines: SeamLines, own: LineRef) -> Iterator[tuple[LineRef, np.ndarray]]:
    """The ends of the other lines along the edge of the piece, (2, 2) each, where they are sewn; folds too."""
    drawn = seam_lines.pattern.lines(piece=own.piece)
    for fold in (line for line in drawn if line.tag.role is Role.FOLD):
        yield LineRef(own.piece, _FOLD), fold.path.points[[0, -1]]
    stitched = {line.tag.name for line in seam_lines.stitching(own.piece).seams}
    cut = {line.tag.name for line in drawn if line.tag.role is Role.CUTTING}
    for name in sorted((stitched | cut) - {own.name, ""}):
        path = seam_lines.line(LineRef(own.piece, name)).path
        if not path.closed:
            yield LineRef(own.piece, name), path.points[[0, -1]]


# -- notches ---------------------------------------------------------------------------------------------------------


def _flat(seam_lines: SeamLines, line: SewnLine) -> _Line:
    """The line with the notches of its piece that lie nearer to it than to the piece's other sewn lines."""
    own_roles = {mark.tag.role for mark in seam_lines.pattern.lines(piece=line.ref.piece, name=line.ref.name)}
    role = Role.STITCHING if Role.STITCHING in own_roles else Role.CUTTING
    rivals = {mark.tag.name for mark in seam_lines.pattern.lines(piece=line.ref.piece, role=role)}
    others = [seam_lines.line(LineRef(line.ref.piece, name)) for name in sorted(rivals - {line.ref.name, ""})]
    found = []
    for notch in seam_lines.pattern.lines(piece=line.ref.piece, role=Role.NOTCH):
        cubics = list(notch.path.cubics())
        # The middle of a single tick, the centre of any other mark.
        at = as_point(curves.evaluate(cubics[0], 0.5)) if len(cubics) == 1 else notch.path.bounds().centre
        own = line.distance(at)
        if own <= _NOTCH_REACH and all(own <= other.distance(at) for other in others):
            found.append(line.position(at))
    return _Line(line.ref, line.length, tuple(sorted(found)), *_corners(seam_lines, line))


def _joined(lines: Sequence[_Line]) -> _Side:
    before, notches, joins = 0.0, [], []
    for line in lines:
        notches += [before + at for at in line.notches]
        before += line.length
        joins.append(before)
    once = [at for last, at in pairwise([-inf, *sorted(notches)]) if at - last > _SAME]
    return _Side(tuple(lines), tuple(once), tuple(joins[:-1]))


def _ways(lines: Sequence[_Line]) -> Iterator[_Side]:
    """The side with each of its lines either way round, as drawn first."""
    for turns in islice(product((False, True), repeat=len(lines)), _MOST_WAYS):
        yield _joined([line.turned() if turn else line for line, turn in zip(lines, turns, strict=True)])


def _pairs(one: _Side, other: _Side) -> tuple[NotchPair, ...]:
    """In order along the seam, each notch with the nearest left of the other side, or with a join of its lines."""
    pairs = []
    left = list(other.notches)
    for at in one.notches:
        partner = min(left, key=lambda there: abs(at - there), default=None)
        if partner is not None and abs(at - partner) <= _NOTCH_REACH:
            left.remove(partner)
        else:
            partner = _join_near(at, other)
        pairs.append(NotchPair(at, partner))
    # The nearest is not always the right one of a double notch: along a seam, partners keep their order.
    met = [pair for pair in pairs if pair.second is not None]
    ordered = sorted(pair.second for pair in met if pair.second is not None)
    pairs = [pair for pair in pairs if pair.second is None]
    pairs += [NotchPair(pair.first, second) for pair, second in zip(met, ordered, strict=True)]
    pairs += [NotchPair(_join_near(at, one), at) for at in left]
    return tuple(sorted(pairs, key=lambda pair: pair.first if pair.first is not None else pair.second or 0.0))


def _join_near(at: float, side: _Side) -> float | None:
    """The join of two of the side's lines that a notch there marks (the crown of a sleeve at the shoulder seam)."""
    return min((join for join in side.joins if abs(join - at) <= _NOTCH_REACH), default=None)
