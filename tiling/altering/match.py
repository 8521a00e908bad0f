"""Altering the partner: the piece on the other side of a seam follows by what was opened across the seam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tiling.altering.amounts import CutPlan, Explanation
from tiling.altering.carry_out import PlannedCut, cut_in, waist_of
from tiling.altering.cut import Cut, Opening, cut_of, position_on_cut
from tiling.altering.piece_geometry import CutKind, piece_geometry
from tiling.altering.seams import SeamChange, named_lines
from tiling.altering.shares import closes_on_itself
from tiling.lengths import in_mm
from tiling.notes import LineRef
from tiling.pattern import Pattern

__all__ = ["partner_plan", "partners", "would_widen_body"]


@dataclass(frozen=True, slots=True)
class _Meeting:
    """A cut that crosses a named line, with its place on the cut: 0 at the narrow end, 1 at the wide end."""

    cut: Cut
    place: float


def partners(change: SeamChange) -> tuple[str, ...]:
    """The pieces that would have to follow: those on the side that changed less, and not on the other as well."""
    sides = (change.note.first, change.note.second) if change.first_led else (change.note.second, change.note.first)
    leading = {ref.piece for ref in sides[0]}
    return tuple(dict.fromkeys(ref.piece for ref in sides[1] if ref.piece not in leading))


def would_widen_body(original: Pattern, change: SeamChange) -> bool:
    """Whether the change leads from a circumference of its own (a sleeve) to pieces that go around the body.

    To follow, those would have to be widened by as much as the seam needs all along their grading lines.
    """
    sides = (change.note.first, change.note.second) if change.first_led else (change.note.second, change.note.first)
    leading, following = ({ref.piece for ref in side} for side in sides)
    return any(closes_on_itself(original, piece) for piece in leading) and not any(
        closes_on_itself(original, piece) for piece in following
    )


def partner_plan(original: Pattern, done: Sequence[PlannedCut], change: SeamChange) -> CutPlan:
    """The cuts by which the seam's unaltered pieces follow; none where they have no lines across the seam.

    A body doesn't follow its sleeve: see `would_widen_body`.

    What was opened along one side of the seam is summed over the cuts that cross it; the other side gets the same,
    in equal parts at each of its own lines of the same kind.
    """
    cuts: list[PlannedCut] = []
    explanation: list[Explanation] = []
    for kind in CutKind:
        altered = {plan.piece for plan in done if plan.kind is kind}
        openings = [_total_opening(original, done, side, kind) for side in (change.note.first, change.note.second)]
        for side, missing in (
            (change.note.first, openings[1] - openings[0]),
            (change.note.second, openings[0] - openings[1]),
        ):
            free = tuple(ref for ref in dict.fromkeys(side) if ref.piece not in altered)
            if kind is CutKind.GRADING and would_widen_body(original, change):
                continue
            meetings = [m for ref in free for m in _meetings(original, ref, kind)]
            if not meetings or abs(missing) < 1e-6:
                continue
            each = missing / len(meetings)
            for meeting in meetings:
                opening = _at_place(original, meeting, each)
                cuts.append(PlannedCut(meeting.cut.piece, meeting.cut.source.mark, kind, opening))
            names = ", ".join(dict.fromkeys(m.cut.piece for m in meetings))
            count = len(meetings)
            lines = f"1 {kind.value}" if count == 1 else f"each of {count} {kind.value}s"
            verb = "follow" if len({m.cut.piece for m in meetings}) > 1 else "follows"
            follows = f"{names} {verb} at the {change.note.name} seam: {in_mm(each, signed=True)} at {lines}."
            explanation.append(Explanation(follows))
            break
    return CutPlan(tuple(cuts), tuple(explanation))


def _total_opening(pattern: Pattern, done: Sequence[PlannedCut], side: Sequence[LineRef], kind: CutKind) -> float:
    """By how much the cuts made so far open the named lines all told, mm."""
    total = 0.0
    for plan in done:
        if plan.kind is not kind:
            continue
        _, cut = cut_in(pattern, plan)
        for ref in side:
            if ref.piece == plan.piece:
                place = position_on_cut(cut, named_lines(pattern, ref))
                total += plan.opening.at(place) if place is not None else 0.0
    return total


def _meetings(pattern: Pattern, ref: LineRef, kind: CutKind) -> list[_Meeting]:
    body = piece_geometry(pattern, ref.piece)
    found = []
    for line in body.cut_lines[kind]:
        cut = cut_of(body, line, kind, waist_of(pattern, ref.piece))
        place = position_on_cut(cut, named_lines(pattern, ref))
        if place is not None:
            found.append(_Meeting(cut, place))
    return found


def _at_place(pattern: Pattern, meeting: _Meeting, amount: float) -> Opening:
    """The opening that has the amount at the seam, tapered as the piece's notes say (else parallel)."""
    if meeting.cut.kind is CutKind.LENGTHEN:
        return Opening(amount, amount)
    taper = pattern.note(meeting.cut.piece).taper
    taper = 1.0 if taper is None else taper
    share = taper + (1 - taper) * meeting.place
    if share < 0.2:
        taper, share = 1.0, 1.0
    return Opening(amount / share, taper * amount / share)
