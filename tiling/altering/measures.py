"""Fitting a garment to a person: from body measures to what each grading line opens by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tiling.altering.amounts import (
    CutLimits,
    CutPlan,
    Explanation,
    at_each,
    going_around,
    known_nearest,
    lines_of,
    taper_of,
)
from tiling.altering.carry_out import PlannedCut, waist_of
from tiling.altering.cut import Cut, Opening, cut_of, position_on_cut
from tiling.altering.girths import finished_measure, gains_of
from tiling.altering.piece_geometry import CutKind
from tiling.altering.seams import TOLERANCE
from tiling.altering.shares import closes_on_itself
from tiling.failures import Action, InputUnfit, Remedy, UsageWrong
from tiling.lengths import in_mm
from tiling.pattern import Finding, FindingKind, Pattern

__all__ = ["measures_in_words", "plan_to", "with_measures"]

_ALIKE = 0.3
"""mm by which level lines that were trued may differ from what the notes say, and both be right."""
_CREDIBLE = 0.15
"""Share of a measure by which level lines and notes may differ and the level lines be right: some sizes."""


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
    bodies, lines, left_out = going_around(pattern, limits)
    shares, explanation, findings = {}, [], []
    for number, (name, value) in enumerate(measures.items()):
        now, found = _as_drawn(pattern, name, [body.ident for body in bodies], wide=number == 0)
        change, words = _change(pattern, name, value, now)
        shares[name] = change / lines
        explanation.append(Explanation(f"{words}: {at_each(change / lines, lines)} at the {name}."))
        findings += found
    cuts = []
    for body in bodies:
        for source in lines_of(body, CutKind.GRADING, limits):
            cut = cut_of(body, source, CutKind.GRADING, waist_of(pattern, body.ident))
            opening = _opening_through(pattern, cut, shares, taper_of(pattern, body.ident, limits))
            cuts.append(PlannedCut(body.ident, source.mark, CutKind.GRADING, opening))
            ends = f"{in_mm(opening.wide, signed=True)} at the wide end, {in_mm(opening.narrow, signed=True)}"
            explanation.append(Explanation(f"{body.ident}: {ends} at the narrow end of its grading line."))
    return CutPlan(tuple(cuts), (*dict.fromkeys(explanation), *left_out), tuple(findings))


def _as_drawn(pattern: Pattern, name: str, bodies: Sequence[str], *, wide: bool) -> tuple[float, list[Finding]]:
    """What the garment measures as it is drawn, mm, ease and all, and a finding where notes and drawing contradict.

    The level lines say so where it is clear what is sewn there and the notes give the ease; else the notes, with what
    earlier alterations added.

    Args:
        pattern: with notes.
        name: of the measure.
        bodies: ids of the pieces that go around.
        wide: whether a measure without a level line is taken at the wide ends of the grading lines, else the narrow.
    """
    assert pattern.notes is not None
    notes = pattern.notes
    if name not in notes.drawn_for:
        remedy = known_nearest(name, notes.drawn_for, Action.MEASURE_MEANT, Action.MEASURES_KNOWN)
        raise UsageWrong(f"the pattern's notes hold no measure '{name}'", remedy)
    noted = notes.drawn_for[name] + notes.ease.get(name, 0.0)
    if not pattern.lines(name=name):
        noted += notes.gained.get(name, (0.0, 0.0))[0 if wide else 1]
    measured = finished_measure(pattern, name, bodies) if name in notes.ease else None
    if measured is None or abs(measured - noted) <= _ALIKE:
        return noted, []
    if abs(measured - noted) <= TOLERANCE:
        return measured, []
    believed = abs(measured - noted) <= _CREDIBLE * noted
    taken, left = ("level lines", "the notes") if believed else ("notes", "the level lines")
    text = (
        f"{name}: the notes' measure and ease make {in_mm(noted)}, the level lines of {', '.join(bodies)} "
        f"{in_mm(measured)}; the {taken} were believed, see what is wrong with {left}."
    )
    finding = Finding(FindingKind.NOTES_CONTRADICT_DRAWING, text, notes.file)
    return (measured if believed else noted), [finding]


def _change(pattern: Pattern, name: str, value: float, now: float) -> tuple[float, str]:
    """By how much the body differs from the one it is drawn for, mm, and how that was reckoned in words."""
    assert pattern.notes is not None
    ease = pattern.notes.ease.get(name, 0.0)
    change = value + ease - now
    more = "more" if change >= 0 else "less"
    words = (
        f"{name}: {in_mm(value)} and {in_mm(ease)} ease make {in_mm(value + ease)}, "
        f"drawn {in_mm(now)}, so {in_mm(abs(change))} {more}"
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


def with_measures(
    original: Pattern, altered: Pattern, cuts: Sequence[PlannedCut], asked: Mapping[str, float]
) -> Pattern:
    """The altered pattern with the body measures that it fits now in its notes.

    Those asked for are met; others moved along by what the cuts gained at the height of their level lines. Where the
    drawing has no level line of a measure of the garment (one with ease), what was gained is kept beside it.
    """
    notes = original.notes
    if notes is None or not notes.drawn_for:
        return altered
    gains = gains_of(original, cuts, notes.drawn_for)
    graded = dict.fromkeys(cut.piece for cut in cuts if cut.kind is CutKind.GRADING)
    bodies = [piece for piece in graded if not closes_on_itself(original, piece)]
    drawn_for, gained = dict(notes.drawn_for), dict(notes.gained)
    for name, measure in notes.drawn_for.items():
        if name in asked:
            drawn_for[name] = asked[name]
            gained.pop(name, None)
        elif original.lines(name=name):
            now = _as_drawn(original, name, bodies, wide=True)[0] if bodies else measure + notes.ease.get(name, 0.0)
            drawn_for[name] = now - notes.ease.get(name, 0.0) + gains.levels.get(name, 0.0)
        elif name in notes.ease and (gains.wide or gains.narrow):
            wide, narrow = gained.get(name, (0.0, 0.0))
            gained[name] = (wide + gains.wide, narrow + gains.narrow)
    return replace(altered, notes=replace(notes, drawn_for=drawn_for, gained=gained))


def measures_in_words(original: Pattern, altered: Pattern) -> list[Explanation]:
    """For whom the pattern is drawn now, where that changed."""
    if original.notes is None or altered.notes is None:
        return []
    before, now = original.notes.drawn_for, altered.notes.drawn_for
    was = {name: in_mm(measure) for name, measure in before.items()}
    moved = [f"{name} {is_now} (was {was[name]})" for name in now if (is_now := in_mm(now[name])) != was[name]]
    return [Explanation(f"Drawn for now: {', '.join(moved)}.")] if moved else []
