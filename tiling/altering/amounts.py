"""From what the person asks for to what each cut opens by, with how that is shared in words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from calibrate.spelling import closest_word
from tiling.altering.carry_out import PlannedCut
from tiling.altering.cut import Opening
from tiling.altering.piece_geometry import CutKind, CutLine, PieceGeometry, piece_geometry
from tiling.altering.shares import circumference, going_along, layers_in_words, layers_of
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong, advised
from tiling.lengths import in_mm
from tiling.pattern import Finding, Pattern

__all__ = [
    "CutLimits",
    "CutPlan",
    "Explanation",
    "at_each",
    "going_around",
    "known_nearest",
    "lines_of",
    "plan_around",
    "plan_longer",
    "taper_of",
]


@dataclass(frozen=True, slots=True)
class CutLimits:
    """Which pieces and lines an alteration keeps to, and how far its cuts close.

    Attributes:
        pieces: ids of the only pieces to alter; empty for all.
        taper: share of the opening left at the narrow end; None: as the notes say, else all of it.
        marks: indices of the only lines to cut along; None for all of the right role.
    """

    pieces: tuple[str, ...] = ()
    taper: float | None = None
    marks: frozenset[int] | None = None


@dataclass(frozen=True, slots=True)
class Explanation:
    """One sentence on how an amount is shared; with a remedy its beginning, without a full stop."""

    text: str
    remedy: Remedy | None = None

    def __str__(self) -> str:
        return advised(self.text, self.remedy)


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The cuts to make, how what was asked for is shared over them, and what should be known besides."""

    cuts: tuple[PlannedCut, ...]
    explanation: tuple[Explanation, ...]
    findings: tuple[Finding, ...] = ()


def plan_around(pattern: Pattern, amount: float, limits: CutLimits) -> CutPlan:
    """Share an amount around the garment over all layers that are cut.

    Raises:
        InputUnfit: no piece has a grading line.
    """
    bodies, lines, left_out = going_around(pattern, limits)
    each = amount / lines
    cuts = []
    narrow: set[float] = set()
    for body in bodies:
        opening = Opening(each, each * taper_of(pattern, body.ident, limits))
        narrow.add(opening.narrow)
        cuts += _planned(body, CutKind.GRADING, limits, opening)
    more = "more" if amount >= 0 else "less"
    shared = f"{in_mm(abs(amount))} {more} around: {at_each(each, lines)}{_words_at_narrow_end(each, narrow)}."
    return CutPlan(tuple(cuts), (Explanation(shared), *left_out))


def plan_longer(pattern: Pattern, amount: float, limits: CutLimits) -> CutPlan:
    """Lengthen (or shorten) every piece that has a lengthen line; several in one piece share the amount.

    Raises:
        InputUnfit: no piece has a lengthen line.
    """
    bodies = _pieces_to_cut(pattern, CutKind.LENGTHEN, limits)
    cuts, explanation = [], []
    longer = "longer" if amount >= 0 else "shorter"
    for body in bodies:
        count = len(lines_of(body, CutKind.LENGTHEN, limits))
        each = amount / count
        cuts += _planned(body, CutKind.LENGTHEN, limits, Opening(each, each))
        place = "its lengthen line" if count == 1 else f"each of its {count} lengthen lines"
        explanation.append(Explanation(f"{body.ident}: {in_mm(abs(amount))} {longer}, {in_mm(abs(each))} at {place}."))
    return CutPlan(tuple(cuts), (*explanation, *_without_line(pattern, CutKind.LENGTHEN)))


def _pieces_to_cut(pattern: Pattern, kind: CutKind, limits: CutLimits) -> list[PieceGeometry]:
    """The pieces to cut, taken apart."""
    idents = [piece.ident for piece in pattern.pieces]
    for ident in limits.pieces:
        if ident not in idents:
            remedy = known_nearest(ident, idents, Action.PIECE_MEANT, Action.PIECES_KNOWN)
            raise UsageWrong(f"there is no piece '{ident}'", remedy)
    having = [ident for ident in idents if pattern.lines(piece=ident, role=kind.role)]
    for ident in limits.pieces:
        if ident not in having:
            raise InputUnfit(f"Piece {ident} has no {kind.value}", Remedy(Action.DRAW_CUT_LINE))
    wanted = [ident for ident in having if not limits.pieces or ident in limits.pieces]
    bodies = [piece_geometry(pattern, ident) for ident in wanted]
    bodies = [body for body in bodies if lines_of(body, kind, limits)]
    if not bodies:
        raise InputUnfit(
            f"{pattern.title}: no piece has a {kind.value}", Remedy(Action.DRAW_CUT_LINE_AS, (kind.role.value,))
        )
    return bodies


def known_nearest(word: str, known: Collection[str], one: Action, several: Action) -> Remedy:
    """The action `one` with the known word most like `word`, else `several` with all that are known."""
    near = closest_word(word, known)
    return Remedy(several, (", ".join(known),)) if near is None else Remedy(one, (near,))


def lines_of(body: PieceGeometry, kind: CutKind, limits: CutLimits) -> list[CutLine]:
    """The piece's lines of that kind that the alteration keeps to."""
    return [line for line in body.cut_lines[kind] if limits.marks is None or line.mark in limits.marks]


def going_around(pattern: Pattern, limits: CutLimits) -> tuple[list[PieceGeometry], int, tuple[Explanation, ...]]:
    """The pieces to widen, how many layers of grading lines share the amount, and what is said of how they count.

    The pieces are all those named or cut by hand, else those of the garment's own circumference.
    """
    having = _pieces_to_cut(pattern, CutKind.GRADING, limits)
    by_hand = bool(limits.pieces) or limits.marks is not None
    bodies = having if by_hand else circumference(pattern, having)
    lines = sum(layers_of(pattern, body.ident) * len(lines_of(body, CutKind.GRADING, limits)) for body in bodies)
    counted = [body.ident for body in bodies]
    others = ", ".join(body.ident for body in having if body.ident not in counted)
    said = []
    if assumed := layers_in_words(pattern, counted):
        said.append(Explanation(assumed))
    if others:
        remedy = Remedy(Action.ALTER_ALONE_OR_FOLLOW)
        said.append(Explanation(f"Not counted in this circumference: {others}", remedy))
    if left := going_along(pattern, bodies):
        said.append(
            Explanation(f"Left as drawn: {', '.join(left)}, though sewn to {', '.join(counted)} and going around.")
        )
    return bodies, lines, (*said, *_without_line(pattern, CutKind.GRADING))


def _without_line(pattern: Pattern, kind: CutKind) -> tuple[Explanation, ...]:
    """Which pieces stay as they are for want of a line, where no seams are noted that would show what follows."""
    left = [piece.ident for piece in pattern.pieces if not pattern.lines(piece=piece.ident, role=kind.role)]
    if pattern.seams or not left:
        return ()
    return (Explanation(f"Left as drawn, without a {kind.value}: {', '.join(left)}."),)


def _planned(body: PieceGeometry, kind: CutKind, limits: CutLimits, opening: Opening) -> list[PlannedCut]:
    return [PlannedCut(body.ident, line.mark, kind, opening) for line in lines_of(body, kind, limits)]


def taper_of(pattern: Pattern, piece: str, limits: CutLimits) -> float:
    """The share of the opening left at the narrow end: as asked, as the notes say, or all of it."""
    if limits.taper is not None:
        return limits.taper
    noted = pattern.note(piece).taper
    return 1.0 if noted is None else noted


def at_each(each: float, lines: int) -> str:
    """What each line opens or overlaps by, in words."""
    overlap = "" if each >= 0 else " overlapped"
    where = "1 grading line" if lines == 1 else f"each of {lines} grading lines"
    return f"{in_mm(abs(each))}{overlap} at {where}"


def _words_at_narrow_end(each: float, narrow: Collection[float]) -> str:
    if all(abs(n - each) < 1e-9 for n in narrow):
        return ""
    if max(map(abs, narrow)) < 1e-9:
        return ", closing to nothing at the other end"
    return f", {' or '.join(in_mm(abs(n)) for n in sorted(narrow))} at the other end"
