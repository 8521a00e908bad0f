"""Sharing an amount around the garment: the pieces that make the circumference, and the cut layers of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

from tiling.altering.piece_geometry import PieceGeometry
from tiling.altering.seams import named_lines
from tiling.notes import CutAs, LineRef
from tiling.pattern import Pattern, Role
from tiling.shapes.chains import as_point, chains_of, crossings

__all__ = ["Circumference", "circumference", "crossed", "layers_of"]


@dataclass(frozen=True, slots=True)
class Circumference:
    """The pieces that go around together, and how many cut layers each has in it.

    Attributes:
        layers: layers by piece; every grading line of the piece counts once per layer.
        left_out: pieces that have grading lines and belong to another circumference.
    """

    layers: dict[str, int]
    left_out: tuple[str, ...] = ()


def layers_of(pattern: Pattern, piece: str) -> int:
    """The number of cut layers of the piece in the circumference: its copies, twice on the fold.

    A piece sewn to itself by two lines that its grading lines don't cross (a sleeve along its underarm) closes a
    circumference of its own in each copy, so its copies don't add up.
    """
    note = pattern.note(piece)
    copies = 1 if _closes_on_itself(pattern, piece) else note.copies
    return copies * (2 if note.cut is CutAs.FOLD else 1)


def circumference(pattern: Pattern, bodies: Sequence[PieceGeometry]) -> Circumference:
    """The garment's own circumference among all pieces with grading lines.

    Pieces whose lengthwise seams (those that no grading line crosses) join them go around together; of several such
    groups the one with the most layers is meant. Another group is left out when it closes on itself, or when it is
    sewn to this one along lines that the grading lines cross (sleeves at the armhole, a waistband at the waist).
    """
    idents = [body.ident for body in bodies]
    groups = _groups(pattern, idents)
    groups.sort(key=lambda group: (-_weight(pattern, group), idents.index(group[0])))
    main: list[str] = list(groups[0])
    left_out: list[str] = []
    for group in groups[1:]:
        apart = any(_closes_on_itself(pattern, ident) for ident in group) or _sewn_across(pattern, main, group)
        (left_out if apart else main).extend(group)
    layers = {ident: layers_of(pattern, ident) for ident in idents if ident in main}
    return Circumference(layers, tuple(ident for ident in idents if ident in left_out))


def crossed(pattern: Pattern, ref: LineRef, role: Role = Role.GRADING) -> int:
    """The number of the piece's grading (or lengthen) lines that cross its line of that name."""
    count = 0
    for cut in pattern.lines(piece=ref.piece, role=role):
        (start, end), *_ = [(c[0][0], c[-1][3]) for c, _ in chains_of(cut.path)]
        from_, to = as_point(start), as_point(end)
        count += any(
            crossings(chain, from_, to, closed=closed)
            for line in named_lines(pattern, ref)
            for chain, closed in chains_of(line.path)
        )
    return count


def _weight(pattern: Pattern, group: Sequence[str]) -> int:
    return sum(layers_of(pattern, ident) for ident in group)


def _closes_on_itself(pattern: Pattern, piece: str) -> bool:
    return any(
        one.piece == other.piece == piece and one.name != other.name and not _any_crossed(pattern, one, other)
        for seam in pattern.seams
        for one in seam.first
        for other in seam.second
    )


def _any_crossed(pattern: Pattern, one: LineRef, other: LineRef) -> bool:
    return crossed(pattern, one) > 0 or crossed(pattern, other) > 0


def _groups(pattern: Pattern, idents: Sequence[str]) -> list[list[str]]:
    """The pieces joined by lengthwise seams."""
    group_of = {ident: [ident] for ident in idents}
    for seam in pattern.seams:
        for one, other in product(seam.first, seam.second):
            if one.piece not in group_of or other.piece not in group_of:
                continue
            a, b = group_of[one.piece], group_of[other.piece]
            if a is not b and not _any_crossed(pattern, one, other):
                a.extend(b)
                group_of.update(dict.fromkeys(b, a))
    groups: list[list[str]] = []
    for ident in idents:
        if group_of[ident] not in groups:
            groups.append(group_of[ident])
    return groups


def _sewn_across(pattern: Pattern, main: Sequence[str], group: Sequence[str]) -> bool:
    """Whether a seam joins the two groups along lines that grading lines cross on both sides."""
    for seam in pattern.seams:
        for one, two in product(seam.first, seam.second):
            pieces = {one.piece, two.piece}
            meets = pieces & set(main) and pieces & set(group)
            if meets and crossed(pattern, one) and crossed(pattern, two):
                return True
    return False
