"""Sharing an amount around the garment: the pieces that make the circumference, and the cut layers of each."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

from tiling.altering.piece_geometry import PieceGeometry
from tiling.altering.seams import named_lines
from tiling.notes import CutAs, LineRef
from tiling.pattern import Pattern, Role
from tiling.shapes.chains import chains_of, crossings
from tiling.shapes.straights import straight_of

__all__ = ["circumference", "closes_on_itself", "going_along", "layers_in_words", "layers_of"]

_TIMES = {1: "once", 2: "twice"}
_ALONG = 0.86
"""Cosine of 30 degrees: a seam that leans no more runs along the grain."""


def layers_of(pattern: Pattern, piece: str) -> int:
    """The number of cut layers of the piece in the circumference: its copies, twice on the fold.

    Every grading line of the piece counts once per layer. A piece sewn to itself by two lines that its grading lines
    don't cross (a sleeve along its underarm) closes a circumference of its own in each copy: its copies don't add up.
    """
    note = pattern.note(piece)
    copies = 1 if closes_on_itself(pattern, piece) else note.copies
    return copies * (2 if note.cut is CutAs.FOLD else 1)


def layers_in_words(pattern: Pattern, pieces: Sequence[str]) -> str:
    """One sentence on how often each piece was counted, and why, of those whose notes leave it open; else nothing."""
    said = []
    for piece in pieces:
        noted, words, note = pattern.noted(piece), pattern.words(piece), pattern.note(piece)
        if noted.copies and noted.cut:
            continue
        times = "once for each" if closes_on_itself(pattern, piece) else _TIMES.get(note.copies, f"{note.copies} times")
        how = " on the fold" if note.cut is CutAs.FOLD else ""
        reasons = []
        if not noted.copies:
            reasons.append("as is written in it" if words.copies else "nothing says how often it is cut")
        if not noted.cut and not (words.copies and words.cut):
            on_fold = "a fold is drawn" if pattern.lines(piece=piece, role=Role.FOLD) else "no fold is drawn or named"
            reasons.append("the fold is written in it" if words.cut is CutAs.FOLD else on_fold)
        said.append(f"{piece} {times}{how} ({', '.join(dict.fromkeys(reasons))})")
    if not said:
        return ""
    return f"Counted: {'; '.join(said)}. If that is wrong, say copies and cut in the notes."


def going_along(pattern: Pattern, bodies: Sequence[PieceGeometry]) -> list[str]:
    """The other pieces that go around with these: sewn to one along the grain, where no grading line crosses."""
    own = {body.ident: body.grain for body in bodies}
    found: list[str] = []
    for seam in pattern.seams:
        pairs = list(product(seam.first, seam.second))
        for one, other in (*pairs, *((other, one) for one, other in pairs)):
            grain = own.get(one.piece)
            if grain is None or other.piece in own or other.piece in found or _is_crossed(pattern, one):
                continue
            lengths = [straight_of(line.path) for line in named_lines(pattern, one)]
            if any(line.length > 1.0 and abs(line.direction.dot(grain.direction)) > _ALONG for line in lengths):
                found.append(other.piece)
    return found


def circumference(pattern: Pattern, bodies: Sequence[PieceGeometry]) -> list[PieceGeometry]:
    """Those of all pieces with grading lines that make the garment's own circumference.

    Pieces whose lengthwise seams (those that no grading line crosses) join them go around together; of several such
    groups the one with the most layers is meant. Another group is left out when it closes on itself, or when it is
    sewn to this one along lines that the grading lines cross (sleeves at the armhole, a waistband at the waist).
    """
    idents = [body.ident for body in bodies]
    groups = _groups(pattern, idents)
    groups.sort(key=lambda group: (-sum(layers_of(pattern, ident) for ident in group), idents.index(group[0])))
    main: list[str] = list(groups[0])
    for group in groups[1:]:
        apart = any(closes_on_itself(pattern, ident) for ident in group) or _sewn_across(pattern, main, group)
        main += [] if apart else group
    return [body for body in bodies if body.ident in main]


def _is_crossed(pattern: Pattern, ref: LineRef) -> bool:
    """Whether one of the piece's grading lines crosses its line of that name."""
    cuts = [straight_of(line.path) for line in pattern.lines(piece=ref.piece, role=Role.GRADING)]
    return any(
        crossings(chain, cut.start, cut.end, closed=closed)
        for cut in cuts
        for line in named_lines(pattern, ref)
        for chain, closed in chains_of(line.path)
    )


def closes_on_itself(pattern: Pattern, piece: str) -> bool:
    """Whether it is sewn to itself by two lines that its grading lines don't cross, as a sleeve along its underarm."""
    return any(
        one.piece == other.piece == piece and one.name != other.name and not _any_crossed(pattern, one, other)
        for seam in pattern.seams
        for one in seam.first
        for other in seam.second
    )


def _any_crossed(pattern: Pattern, one: LineRef, other: LineRef) -> bool:
    return _is_crossed(pattern, one) or _is_crossed(pattern, other)


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
            if meets and _is_crossed(pattern, one) and _is_crossed(pattern, two):
                return True
    return False
