"""What photos of a taped sheet say, in words: what lies wrong, what to lift and move where, what is sewn short."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from calibrate.taped.reading import JoinVerdict
from tiling.lengths import in_cm, in_mm
from tiling.operations.read_taped import ReadTapedResult, summary

if TYPE_CHECKING:
    from calibrate.taped.identity import Identity
    from calibrate.taped.lifts import Lift
    from calibrate.taped.reading import JoinEnd

__all__ = ["TapedWords", "taped_words"]

_MOST_TOLD = 8
_LEAST_MOVE, _LEAST_TURN = 0.3, 0.05
"""mm and degrees; nobody moves taped paper by less."""
_COVERAGE = 2.0


@dataclass(frozen=True, slots=True)
class TapedWords:
    """Sentences without a full stop.

    Attributes:
        summary: how many ends of joins are true, slipped, or can't be told.
        pages: what lies where it doesn't belong.
        lifts: what to lift and move where, in order.
        seams: what is sewn longer or shorter than drawn.
        distances: the diagonals and check lines.
        next_step: which joins nothing is known of, what to photograph, whether to cut.
        size_unknown: whether there are distances whose length no photo tells.
    """

    summary: str
    pages: tuple[str, ...]
    lifts: tuple[str, ...]
    seams: tuple[str, ...]
    distances: tuple[str, ...]
    next_step: tuple[str, ...]
    size_unknown: bool


def taped_words(result: ReadTapedResult) -> TapedWords:
    """All of it."""
    return TapedWords(
        summary(result),
        tuple(_in_place(one) for one in result.reading.identities if not one.right),
        tuple(_lifts(result)),
        tuple(_seams(result)),
        tuple(_spans(result)),
        tuple(_next(result)),
        result.size is None and bool(result.reading.spans),
    )


def _next(result: ReadTapedResult) -> Iterator[str]:
    reading = result.reading
    if result.unseen:
        pairs = [f"{first} to {second}" for first, second in result.unseen]
        yield f"Not told: {', '.join(pairs[:_MOST_TOLD])}{_more(pairs)}"
    unsure = any(end.verdict is JoinVerdict.UNSURE for end in reading.ends)
    if unsure and len(reading.photos) == 1:
        yield "A second photo, from above the opposite long side, tells more"
    if all(end.verdict is JoinVerdict.TRUE for end in reading.ends) and all(one.right for one in reading.identities):
        yield "Cut when you like" if not result.unseen else "Cut when those that are not told are true too"


def _more(lines: list[str]) -> str:
    return f" and {len(lines) - _MOST_TOLD} more" if len(lines) > _MOST_TOLD else ""


def _in_place(one: Identity) -> str:
    if one.missing:
        return f"{one.place} is missing, or hidden"
    if one.found_as in {None, one.place}:
        return f"{one.place} lies upside down"
    return f"Where {one.place} belongs lies {one.found_as}{', upside down' if one.upside_down else ''}"


def _lifts(result: ReadTapedResult) -> Iterator[str]:
    lifts, ends = result.reading.lifts, result.reading.ends
    if any(not one.right for one in result.reading.identities):
        yield "Put these right and photograph the sheet again; then the joins"
        return
    for lift in lifts[:_MOST_TOLD]:
        yield _lift_in_words(lift, ends)
    if len(lifts) > _MOST_TOLD:
        yield f"and {len(lifts) - _MOST_TOLD} more; mend these first and photograph the sheet again"


def _lift_in_words(lift: Lift, ends: tuple[JoinEnd, ...]) -> str:
    """Which tape to lift, which way what is loose then goes, and how well that is known."""
    names, loose = _listed(lift.pages), "it" if len(lift.pages) == 1 else "them"
    apart = [second if first in lift.pages else first for first, second in lift.joins]
    doubt = max(end.doubt for end in ends if (end.first, end.second) in lift.joins)
    x, y = lift.move
    moves = [
        f"{way} by {in_mm(abs(much))}"
        for much, way in ((x, "right" if x > 0 else "left"), (y, "down" if y > 0 else "up"))
        if abs(much) >= _LEAST_MOVE
    ]
    if abs(lift.turn) >= _LEAST_TURN:
        way = "clockwise" if lift.turn > 0 else "against the clock"
        turned = f"turn {loose} {way} by {abs(lift.turn):.1f}°"
    else:
        turned = ""
    doing = f"move {loose} {' and '.join(moves)}" if moves else ""
    done = " and ".join(part for part in (doing, turned) if part) or f"lay {loose} anew"
    return f"Lift {names} from {_listed(tuple(dict.fromkeys(apart)))}, {done} (± {in_mm(_COVERAGE * doubt)})"


def _listed(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _seams(result: ReadTapedResult) -> Iterator[str]:
    """The seams that their joins lengthen or shorten by more than a join may slip."""
    for one in result.reading.seams[:_MOST_TOLD]:
        if abs(one.longer) - _COVERAGE * one.doubt > result.tolerance:
            way = "longer" if one.longer > 0 else "shorter"
            first, last = one.between
            yield (
                f"The {one.seam.name} of {one.seam.piece} is {in_mm(abs(one.longer))} {way} than drawn, between "
                f"{first} and {last}"
            )


def _spans(result: ReadTapedResult) -> Iterator[str]:
    diagonals = result.diagonals
    if len(diagonals) == 2:
        apart = diagonals[0].longer - diagonals[1].longer
        square = "square" if abs(apart) <= 2 * result.tolerance else "not square"
        yield f"The diagonals differ by {in_mm(abs(apart))} more than they should: the sheet is {square}"
    for seen in result.check_lines:
        length = result.length(seen)
        if abs(seen.longer) > _COVERAGE * seen.doubt + result.tolerance:
            way = "longer" if seen.longer > 0 else "shorter"
            yield f"The check line {seen.span.what} is {in_mm(abs(seen.longer))} {way} than drawn"
        if length is not None:
            yield f"The check line {seen.span.what} is {in_cm(length, 2)}, drawn {in_cm(seen.span.length, 2)}"
