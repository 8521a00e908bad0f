"""Altering a pattern as with scissors on paper: cut, spread or overlap, move apart or together, true the edges.

`alter` is a pure function from pattern to pattern. The parts: `amounts` shares what is asked for over the lines
(`shares` says which pieces go around, `measures` and `girths` what a person's measures ask for), `carry_out` makes the
cuts (`cut` for the geometry of one, `rejoin` for what becomes of each line), `match` lets the partner of a seam follow,
`seams` measures, `room` keeps pieces off each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

from calibrate.run import Run
from tiling.altering.amounts import CutLimits, CutPlan, Explanation, plan_around, plan_longer
from tiling.altering.carry_out import PlannedCut, carry_out
from tiling.altering.match import partner_plan, partners, would_widen_body
from tiling.altering.measures import measures_in_words, plan_to, with_measures
from tiling.altering.named_places import NamedPlace, line_at
from tiling.altering.piece_geometry import piece_geometry
from tiling.altering.room import with_room
from tiling.altering.seams import TOLERANCE, SeamChange, seam_changes
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong
from tiling.lengths import in_mm
from tiling.notes import DrawnLine
from tiling.pattern import Finding, FindingKind, Pattern, Role
from tiling.reading.roles import with_lines, with_roles
from tiling.recognition.told import in_one_line
from tiling.recognition.understand import understood, with_gaps
from tiling.shapes.chains import crossings
from tiling.shapes.straights import Straight

__all__ = ["AlterOutcome", "Alteration", "Matching", "alter"]


class Matching(Enum):
    """Whether pieces sewn to the altered ones stay as they are or follow by the same amount."""

    LEAVE = "leave"
    FOLLOW = "follow"


@dataclass(frozen=True, slots=True)
class Alteration:
    """An alteration as asked for; lengths in mm.

    Attributes:
        around: change of the finished circumference, None for none.
        longer: change of length at the lengthen lines, None for none.
        to: body measures by name, to be fitted; not together with `around`.
        taper: share of an opening left at the narrow end (0 to 1); None: as the notes say, else 1.
        pieces: ids of the only pieces to alter; empty for all that have lines.
        cut_lines: lines given by hand, to be used instead of the drawing's own; the first point is the wide end.
        places: where to cut in words, to be used instead of the drawing's own lines, with or without `cut_lines`.
        fairing: length on either side of a gap over which edges are faired; None: 50 mm, or more for a larger step.
    """

    around: float | None = None
    longer: float | None = None
    to: Mapping[str, float] = field(default_factory=dict)
    taper: float | None = None
    pieces: tuple[str, ...] = ()
    cut_lines: tuple[Straight, ...] = ()
    fairing: float | None = None
    matching: Matching = Matching.LEAVE
    places: tuple[NamedPlace, ...] = ()


@dataclass(frozen=True, slots=True)
class AlterOutcome:
    """The altered pattern, how the amounts were shared, the seams, and what should be known.

    `pattern.findings` are those of reading; `findings` only those of altering. `altered` names the pieces cut; where
    the drawing names none, they are called as its words say, or counted (``piece-1``). The pattern's notes hold the
    body measures that it fits now.
    """

    pattern: Pattern
    explanation: tuple[Explanation, ...]
    seams: tuple[SeamChange, ...]
    findings: tuple[Finding, ...]
    altered: tuple[str, ...]


def alter(pattern: Pattern, alteration: Alteration, run: Run = Run()) -> AlterOutcome:
    """The pattern cut, spread or overlapped, and its edges trued.

    Args:
        pattern: as read; it stays as it is.
        alteration: what is asked for.
        run: told each cut; asked at every mark whether to go on.

    Raises:
        UsageWrong: nothing or contradictory things are asked for, or an amount is too large for the piece.
        InputUnfit: the drawing has no lines, or lines that can't be cut along.
        Cancelled: by `run`.
    """
    _refuse_contradictions(alteration)
    original, limits = _prepared(pattern, alteration, run)
    plans: list[CutPlan] = []
    if alteration.around is not None:
        plans.append(plan_around(original, alteration.around, limits))
    if alteration.to:
        plans.append(plan_to(original, alteration.to, limits))
    if alteration.longer is not None:
        plans.append(plan_longer(original, alteration.longer, limits))
    cuts = _in_order(cut for plan in plans for cut in plan.cuts)
    explanation = [sentence for plan in plans for sentence in plan.explanation]
    altered, findings = carry_out(original, cuts, alteration.fairing, run)
    if alteration.matching is Matching.FOLLOW:
        altered, followed, more = _follow(original, altered, cuts, alteration.fairing, run)
        cuts, findings = (*cuts, *followed.cuts), (*findings, *more)
        explanation += followed.explanation
    names = tuple(dict.fromkeys(cut.piece for cut in cuts))
    seams = seam_changes(original, altered)
    findings = (
        *(finding for plan in plans for finding in plan.findings),
        *findings,
        *_seam_findings(original, seams, cuts),
    )
    altered = with_measures(original, altered, cuts, alteration.to)
    explanation += measures_in_words(original, altered)
    result = with_room(original, altered, names, run)
    return AlterOutcome(result, tuple(explanation), seams, findings, names)


def _in_order(cuts: Iterable[PlannedCut]) -> tuple[PlannedCut, ...]:
    """Overlaps first, last line first, then spreads: the way back undoes every step in the reverse order."""
    opening: list[PlannedCut] = []
    closing: list[PlannedCut] = []
    for cut in cuts:
        widest = cut.opening.wide or cut.opening.narrow
        (closing if widest < 0 else opening).append(cut)
    return (*reversed(closing), *opening)


def _refuse_contradictions(alteration: Alteration) -> None:
    if alteration.around is None and alteration.longer is None and not alteration.to:
        raise UsageWrong("Nothing is asked for", Remedy(Action.GIVE_ALTERATION))
    if alteration.around is not None and alteration.to:
        what = "A change around the garment and measures to fit can't be given together"
        raise UsageWrong(what, Remedy(Action.AROUND_OR_MEASURES))
    if (
        (alteration.cut_lines or alteration.places)
        and (alteration.around is not None or alteration.to)
        and alteration.longer is not None
    ):
        what = "Lines to cut along serve a change around the garment or a change of its length"
        raise UsageWrong(what, Remedy(Action.ALTER_ONCE_FOR_EACH))
    if any(line.length < 1.0 for line in alteration.cut_lines):
        raise UsageWrong("A line to cut along has no length", Remedy(Action.GIVE_TWO_POINTS))
    if alteration.taper is not None and not 0.0 <= alteration.taper <= 1.0:
        what = f"{alteration.taper:.0%} is not between 0 % and 100 %"
        raise UsageWrong(what, Remedy(Action.CHOOSE_TAPER))
    if alteration.fairing is not None and alteration.fairing < 0:
        raise UsageWrong("a length can't be negative", Remedy(Action.CHOOSE_FAIRING))


def _prepared(pattern: Pattern, alteration: Alteration, run: Run) -> tuple[Pattern, CutLimits]:
    """The pattern with pieces and all lines to cut along, and which of them to keep to."""
    ready = with_roles(pattern, run)
    if not ready.pieces:
        seen = with_gaps(pattern, understood(pattern, run))
        raise InputUnfit(f"{pattern.title}: no piece is found: {in_one_line(seen)}.")
    marks: frozenset[int] | None = None
    if alteration.cut_lines or alteration.places:
        role = Role.LENGTHEN if alteration.longer is not None else Role.GRADING
        given = [line_at(ready, place, role) for place in alteration.places]
        given += [
            DrawnLine(piece, role.value, "", (line.start, line.end))
            for line in alteration.cut_lines
            for piece in _pieces_crossed(ready, line, alteration.pieces)
        ]
        ready = with_lines(ready, given)
        marks = _indices(ready, role, given)
    return ready, CutLimits(alteration.pieces, alteration.taper, marks)


def _indices(pattern: Pattern, role: Role, given: Sequence[DrawnLine]) -> frozenset[int]:
    """The marks that are the lines given by hand."""
    wanted = set()
    for index, mark in enumerate(pattern.marks):
        if mark.tag.role is not role:
            continue
        box = mark.reach().grown(0.1)
        for line in given:
            if line.piece == mark.tag.piece and all(box.holds(p) for p in line.laid):
                wanted.add(index)
    return frozenset(wanted)


def _pieces_crossed(pattern: Pattern, line: Straight, named: Sequence[str]) -> list[str]:
    """The pieces named, else those whose edge the line crosses."""
    if named:
        return [ident for ident in named if any(p.ident == ident for p in pattern.pieces)] or list(named)
    found, nearest = [], pattern.pieces[0].ident
    distance = float("inf")
    for piece in pattern.pieces:
        try:
            outline = piece_geometry(pattern, piece.ident).outline
        except InputUnfit:
            continue
        if crossings(outline, line.start, line.end, closed=True):
            found.append(piece.ident)
        away = min(abs(c - (line.middle.x, line.middle.y)).max() for c in outline)
        if away < distance:
            nearest, distance = piece.ident, away
    # A line that crosses no piece is refused with the nearest piece's name.
    return found or [nearest]


def _follow(
    original: Pattern, altered: Pattern, cuts: tuple[PlannedCut, ...], fairing: float | None, run: Run
) -> tuple[Pattern, CutPlan, list[Finding]]:
    """The pattern in which the partners of every seam that no longer fits follow, by which further cuts, and findings.

    One seam is done after the other.
    """
    made: list[PlannedCut] = []
    findings: list[Finding] = []
    explanation: list[Explanation] = []
    for index in range(len(original.seams)):
        change = seam_changes(original, altered)[index]
        if not change.worse:
            continue
        plan = partner_plan(original, (*cuts, *made), change)
        if not plan.cuts:
            continue
        altered, found = carry_out(altered, plan.cuts, fairing, run)
        made += plan.cuts
        findings += found
        explanation += plan.explanation
    return altered, CutPlan(tuple(made), tuple(explanation)), findings


def _seam_findings(original: Pattern, seams: Sequence[SeamChange], cuts: Sequence[PlannedCut]) -> list[Finding]:
    findings = []
    for change in seams:
        if not change.worse:
            continue
        lead, other = change.after.first, change.after.second
        grew = change.grew
        if not change.first_led:
            lead, other, grew = other, lead, -grew
        advice, remedy = _seam_advice(original, change, cuts, longer=grew > 0)
        text = (
            f"the {change.note.name} seam: {lead} is now {in_mm(abs(grew))} {'longer' if grew > 0 else 'shorter'} "
            f"against {other} than it was (more than {in_mm(TOLERANCE, 0)}){advice}"
        )
        findings.append(Finding(FindingKind.SEAM_LENGTH_CHANGED, text, "seams", remedy))
    return findings


def _seam_advice(
    original: Pattern, change: SeamChange, cuts: Sequence[PlannedCut], *, longer: bool
) -> tuple[str, Remedy | None]:
    """What to do about a seam that no longer fits, as the end of a sentence or as a remedy."""
    partner = " and ".join(partners(change))
    if not partner:
        return "; true both edges by hand.", None
    if would_widen_body(original, change):
        how = "ease the difference in" if longer else "take a smaller amount"
        return f"; keep {partner} as drawn and {how}, or widen {partner} as well by altering them too.", None
    if partner_plan(original, cuts, change).cuts:
        return "", Remedy(Action.ALTER_PARTNER, (partner,))
    return f"; {partner} has no line to cut along there: draw one, or true both edges by hand.", None
