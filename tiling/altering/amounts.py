"""From what the person asks for to what each cut opens by, with how that is shared in words."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from calibrate.spelling import closest_word
from tiling.altering.carry_out import PlannedCut, waist_of
from tiling.altering.cut import Cut, Opening, cut_of, position_on_cut
from tiling.altering.piece_geometry import CutKind, CutLine, PieceGeometry, piece_geometry
from tiling.altering.shares import circumference, layers_of
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong, advised
from tiling.lengths import in_mm
from tiling.pattern import Pattern

__all__ = ["CutLimits", "CutPlan", "Explanation", "plan_around", "plan_longer", "plan_to"]


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
    """The cuts to make, and how what was asked for is shared over them."""

    cuts: tuple[PlannedCut, ...]
    explanation: tuple[Explanation, ...]


def plan_around(pattern: Pattern, amount: float, limits: CutLimits) -> CutPlan:
    """Share an amount around the garment over all layers that are cut.

    Raises:
        InputUnfit: no piece has a grading line.
    """
    bodies, lines, left_out = _around(pattern, limits)
    each = amount / lines
    cuts = []
    narrow: set[float] = set()
    for body in bodies:
        opening = Opening(each, each * _taper(pattern, body.ident, limits))
        narrow.add(opening.narrow)
        cuts += _planned(body, CutKind.GRADING, limits, opening)
    more = "more" if amount >= 0 else "less"
    shared = f"{in_mm(abs(amount))} {more} around: {_words_at_each(each, lines)}{_words_at_narrow_end(each, narrow)}."
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
        count = len(_lines(body, CutKind.LENGTHEN, limits))
        each = amount / count
        cuts += _planned(body, CutKind.LENGTHEN, limits, Opening(each, each))
        place = "its lengthen line" if count == 1 else f"each of its {count} lengthen lines"
        explanation.append(Explanation(f"{body.ident}: {in_mm(abs(amount))} {longer}, {in_mm(abs(each))} at {place}."))
    return CutPlan(tuple(cuts), tuple(explanation))


def plan_to(pattern: Pattern, measures: Mapping[str, float], limits: CutLimits) -> CutPlan:
    """Fit the garment to a person: body measures against those the pattern was drawn for; the ease stays.

    One measure opens each cut by its share at the height of the line of that name, tapered as asked; two are both
    met, each at its height, and the cut opens in a straight line through both.

    Raises:
        UsageWrong: more than two measures, or one that the notes don't hold.
        InputUnfit: no notes, or no line of that name crosses a cut.
    """
    if pattern.notes is None or not pattern.notes.drawn_for:
        raise InputUnfit(f"{pattern.title}: its notes hold no measures it was drawn for", Remedy(Action.GIVE_AMOUNTS))
    if not 1 <= len(measures) <= 2:
        raise UsageWrong(f"{len(measures)} measures are given", Remedy(Action.FIT_ONE_OR_TWO))
    bodies, lines, left_out = _around(pattern, limits)
    shares, explanation = {}, []
    for name, value in measures.items():
        change, words = _change(pattern, name, value)
        shares[name] = change / lines
        explanation.append(Explanation(f"{words}: {_words_at_each(change / lines, lines)} at the {name}."))
    cuts = []
    for body in bodies:
        for source in _lines(body, CutKind.GRADING, limits):
            cut = cut_of(body, source, CutKind.GRADING, waist_of(pattern, body.ident))
            opening = _opening_through(pattern, cut, shares, _taper(pattern, body.ident, limits))
            cuts.append(PlannedCut(body.ident, source.mark, CutKind.GRADING, opening))
            ends = f"{in_mm(opening.wide, signed=True)} at the wide end, {in_mm(opening.narrow, signed=True)}"
            explanation.append(Explanation(f"{body.ident}: {ends} at the narrow end of its grading line."))
    return CutPlan(tuple(cuts), (*dict.fromkeys(explanation), *left_out))


def _change(pattern: Pattern, name: str, value: float) -> tuple[float, str]:
    """By how much the body differs from the one it was drawn for, mm, and how that was reckoned in words."""
    assert pattern.notes is not None
    known = pattern.notes.drawn_for
    if name not in known:
        remedy = _closest(name, known, Action.MEASURE_MEANT, Action.MEASURES_KNOWN)
        raise UsageWrong(f"the pattern's notes hold no measure '{name}'", remedy)
    ease = pattern.notes.ease.get(name, 0.0)
    change = value - known[name]
    more = "more" if change >= 0 else "less"
    words = (
        f"{name}: {in_mm(value)} and {in_mm(ease)} ease make {in_mm(value + ease)}, "
        f"drawn {in_mm(known[name] + ease)}, so {in_mm(abs(change))} {more}"
    )
    return change, words


def _opening_through(pattern: Pattern, cut: Cut, shares: Mapping[str, float], taper: float) -> Opening:
    """The opening that has each measure's share at the height of its line."""
    places: list[tuple[float, float]] = []
    for name, amount in shares.items():
        place = position_on_cut(cut, pattern.lines(piece=cut.piece, name=name))
        if place is None and len(shares) == 1 and not pattern.lines(name=name):
            raise InputUnfit(
                f"{pattern.title}: no line named {name} shows where that measure is taken", Remedy(Action.DRAW_LEVEL)
            )
        # A second measure without a line of its own is taken at the end that is left.
        places.append((place if place is not None else (1.0 if not places else 0.0), amount))
    if len(places) == 1:
        (place, amount), *_ = places
        whole = taper + (1 - taper) * place
        if whole < 0.05:
            raise UsageWrong(
                f"Piece {cut.piece}: nothing opens at that height with this taper", Remedy(Action.LARGER_TAPER)
            )
        return Opening(amount / whole, taper * amount / whole)
    (p, a), (q, b) = places
    if abs(p - q) < 0.05:
        raise InputUnfit(f"Piece {cut.piece}: both measures are taken at the same height; give one of them.")
    slope = (a - b) / (p - q)
    return Opening(a + (1 - p) * slope, a - p * slope)


def _pieces_to_cut(pattern: Pattern, kind: CutKind, limits: CutLimits) -> list[PieceGeometry]:
    """The pieces to cut, taken apart."""
    idents = [piece.ident for piece in pattern.pieces]
    for ident in limits.pieces:
        if ident not in idents:
            remedy = _closest(ident, idents, Action.PIECE_MEANT, Action.PIECES_KNOWN)
            raise UsageWrong(f"there is no piece '{ident}'", remedy)
    having = [ident for ident in idents if pattern.lines(piece=ident, role=kind.role)]
    for ident in limits.pieces:
        if ident not in having:
            raise InputUnfit(f"Piece {ident} has no {kind.value}", Remedy(Action.DRAW_CUT_LINE))
    wanted = [ident for ident in having if not limits.pieces or ident in limits.pieces]
    bodies = [piece_geometry(pattern, ident) for ident in wanted]
    bodies = [body for body in bodies if _lines(body, kind, limits)]
    if not bodies:
        raise InputUnfit(
            f"{pattern.title}: no piece has a {kind.value}", Remedy(Action.DRAW_CUT_LINE_AS, (kind.role.value,))
        )
    return bodies


def _closest(word: str, known: Collection[str], one: Action, several: Action) -> Remedy:
    """The action `one` with the known word most like `word`, else `several` with all that are known."""
    near = closest_word(word, known)
    return Remedy(several, (", ".join(known),)) if near is None else Remedy(one, (near,))


def _lines(body: PieceGeometry, kind: CutKind, limits: CutLimits) -> list[CutLine]:
    return [line for line in body.cut_lines[kind] if limits.marks is None or line.mark in limits.marks]


def _around(pattern: Pattern, limits: CutLimits) -> tuple[list[PieceGeometry], int, tuple[Explanation, ...]]:
    """The pieces to widen, how many layers of grading lines share the amount, and which pieces are not counted.

    The pieces are all those named or cut by hand, else those of the garment's own circumference.
    """
    having = _pieces_to_cut(pattern, CutKind.GRADING, limits)
    by_hand = bool(limits.pieces) or limits.marks is not None
    bodies = having if by_hand else circumference(pattern, having)
    lines = sum(layers_of(pattern, body.ident) * len(_lines(body, CutKind.GRADING, limits)) for body in bodies)
    counted = {body.ident for body in bodies}
    others = ", ".join(body.ident for body in having if body.ident not in counted)
    remedy = Remedy(Action.ALTER_ALONE_OR_FOLLOW)
    return bodies, lines, (Explanation(f"Not counted in this circumference: {others}", remedy),) if others else ()


def _planned(body: PieceGeometry, kind: CutKind, limits: CutLimits, opening: Opening) -> list[PlannedCut]:
    return [PlannedCut(body.ident, line.mark, kind, opening) for line in _lines(body, kind, limits)]


def _taper(pattern: Pattern, piece: str, limits: CutLimits) -> float:
    if limits.taper is not None:
        return limits.taper
    noted = pattern.note(piece).taper
    return 1.0 if noted is None else noted


def _words_at_each(each: float, lines: int) -> str:
    overlap = "" if each >= 0 else " overlapped"
    where = "1 grading line" if lines == 1 else f"each of {lines} grading lines"
    return f"{in_mm(abs(each))}{overlap} at {where}"


def _words_at_narrow_end(each: float, narrow: Collection[float]) -> str:
    if all(abs(n - each) < 1e-9 for n in narrow):
        return ""
    if max(map(abs, narrow)) < 1e-9:
        return ", closing to nothing at the other end"
    return f", {' or '.join(in_mm(abs(n)) for n in sorted(narrow))} at the other end"
