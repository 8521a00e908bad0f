"""The seam table: lines that are sewn to each other, their lengths where they are sewn, ease, and notches that meet.

Lines are measured as drawn on the paper piece. Where two cut layers of one line are sewn end to end, the notes name
the line twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice, pairwise, product
from math import inf

from tiling.cloth.outlines import notes_name
from tiling.cloth.rules import nearest
from tiling.cloth.seam_lines import Basis, SeamLines, SewnLine
from tiling.failures import InputUnfit
from tiling.notes import LineRef, SeamNote
from tiling.pattern import Role
from tiling.shapes import curves
from tiling.shapes.chains import as_point

__all__ = ["AGREE", "NotchPair", "SeamRow", "seam_rows"]

AGREE = 3.0
"""A seam whose ease is off by more than this (mm) is pointed out; common practice, no source."""

_NOTCH_REACH = 30.0
_SAME = 1.0
_MOST_WAYS = 32


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
class SeamRow:
    """One seam: lengths in mm on the line named by each basis, and the notches in order along it."""

    name: str
    first: tuple[LineRef, ...]
    second: tuple[LineRef, ...]
    first_length: float
    second_length: float
    ease_asked: float
    bases: tuple[Basis, ...]
    notches: tuple[NotchPair, ...]

    @property
    def ease_found(self) -> float:
        """Length of the first side less that of the second, mm."""
        return self.first_length - self.second_length

    @property
    def off(self) -> float:
        """Ease found less ease asked, mm."""
        return self.ease_found - self.ease_asked

    @property
    def agrees(self) -> bool:
        """Whether the sides fit, to `AGREE`."""
        return abs(self.off) <= AGREE


@dataclass(frozen=True, slots=True)
class _SeamSide:
    """One side laid out straight: its length, and where its notches and the joins of its lines lie from its start."""

    length: float
    notches: tuple[float, ...]
    joins: tuple[float, ...] = ()


def seam_rows(seam_lines: SeamLines) -> tuple[SeamRow, ...]:
    """All seams of the notes, in their order; empty without notes.

    Raises:
        InputUnfit: a seam names a piece or a line that the drawing doesn't have.
    """
    return tuple(_row(seam_lines, seam) for seam in seam_lines.pattern.seams)


def _row(seam_lines: SeamLines, seam: SeamNote) -> SeamRow:
    first = [_line(seam_lines, seam, ref) for ref in seam.first]
    second = [_line(seam_lines, seam, ref) for ref in seam.second]
    bases = tuple(dict.fromkeys(line.basis for line in [*first, *second]))
    return SeamRow(
        name=seam.name,
        first=seam.first,
        second=seam.second,
        first_length=sum(line.length for line in first),
        second_length=sum(line.length for line in second),
        ease_asked=seam.ease,
        bases=bases,
        notches=_meeting([_flat(seam_lines, line) for line in first], [_flat(seam_lines, line) for line in second]),
    )


def _line(seam_lines: SeamLines, seam: SeamNote, ref: LineRef) -> SewnLine:
    pieces = [piece.ident for piece in seam_lines.pattern.pieces]
    if ref.piece not in pieces:
        raise InputUnfit(
            f"{notes_name(seam_lines.pattern)}, seams '{seam.name}': the piece '{ref.piece}' is not in the drawing"
            f"{nearest(ref.piece, pieces)}"
        )
    try:
        return seam_lines.line(ref)
    except InputUnfit as unfit:
        place = notes_name(seam_lines.pattern)
        raise InputUnfit(f"{place}, seams '{seam.name}': {str(unfit).removeprefix(f'{place}: ')}") from unfit


def _flat(seam_lines: SeamLines, line: SewnLine) -> _SeamSide:
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
    return _SeamSide(line.length, tuple(sorted(found)))


def _meeting(first: list[_SeamSide], second: list[_SeamSide]) -> tuple[NotchPair, ...]:
    """The notches in pairs. Which end of each line meets which is not drawn: the way that fits best is taken."""
    best: tuple[NotchPair, ...] = ()
    least = inf
    for one in _ways(first):
        for other in chain(_ways(second), _ways(second[::-1]) if len(second) > 1 else ()):
            pairs = _pairs(one, other)
            missed = sum(abs(pair.apart) if pair.apart is not None else 1e6 for pair in pairs)
            if missed < least - 1e-9:
                best, least = pairs, missed
    return best


def _joined(sides: Sequence[_SeamSide]) -> _SeamSide:
    """Lines sewn end to end as one; a notch drawn at a join of two is counted once."""
    before, notches, joins = 0.0, [], []
    for side in sides:
        notches += [before + at for at in side.notches]
        before += side.length
        joins.append(before)
    once = [at for last, at in pairwise([-inf, *sorted(notches)]) if at - last > _SAME]
    return _SeamSide(before, tuple(once), tuple(joins[:-1]))


def _turned(side: _SeamSide) -> _SeamSide:
    return _SeamSide(side.length, tuple(side.length - at for at in reversed(side.notches)))


def _ways(sides: list[_SeamSide]) -> Iterator[_SeamSide]:
    """The side with each of its lines either way round, as drawn first."""
    for turns in islice(product((False, True), repeat=len(sides)), _MOST_WAYS):
        yield _joined([_turned(side) if turn else side for side, turn in zip(sides, turns, strict=True)])


def _pairs(one: _SeamSide, other: _SeamSide) -> tuple[NotchPair, ...]:
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


def _join_near(at: float, side: _SeamSide) -> float | None:
    """The join of two of the side's lines that a notch there marks (the crown of a sleeve at the shoulder seam)."""
    return min((join for join in side.joins if abs(join - at) <= _NOTCH_REACH), default=None)
