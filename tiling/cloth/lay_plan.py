"""The lay plan: pieces laid on cloth of a given width, and how much of it to buy."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from calibrate.run import Run
from tiling.cloth.cloth_choice import Band, ClothChoice, ClothFold
from tiling.cloth.lay_pieces import Layers, LayPiece
from tiling.cloth.lay_search import Effort, Stretch, by_length, quick_length, shortest
from tiling.cloth.rules import round_up
from tiling.failures import Action, InputUnfit, PageseamError, Remedy
from tiling.lengths import in_cm
from tiling.planning.closing_up import clearances
from tiling.shapes import Affine
from tiling.shapes.curves import Array

__all__ = ["LaidPiece", "LayPlan", "lay"]

_SLACK = 0.02

OVERLAP = 1.0
"""Area of two pieces in common that is still rounding, mm²."""

_WORTH_OPENING = 50.0
"""mm of cloth that must be saved for folded cloth to be opened out without need …"""

_WORTH_UNFOLDING = 10.0
"""… and for a piece to be laid whole on the upper layer in place of its half on the fold."""

_MOST_TRIED = 12
"""Pieces for which another way to cut them is tried."""


@dataclass(frozen=True, slots=True, eq=False)
class LaidPiece:
    """A piece at its place on the cloth."""

    piece: LayPiece
    move: Affine

    @property
    def ring(self) -> Array:
        """Its outline on the cloth, mm."""
        return self.move.points(self.piece.ring)

    @property
    def hollows(self) -> tuple[Array, ...]:
        """The outlines of what is cut out of it."""
        return tuple(self.move.points(hollow) for hollow in self.piece.hollows)

    @property
    def face_down(self) -> bool:
        """Whether the paper lies printed side down."""
        return self.piece.mirrored != (self.move.determinant < 0)

    @property
    def arrow(self) -> float:
        """1.0 where its grain's arrow points along the cloth's length, -1.0 where it points back to the cut end."""
        return self.piece.arrow * (1.0 if self.move.a > 0 else -1.0)


@dataclass(frozen=True, slots=True, eq=False)
class LayPlan:
    """Every piece at its place on the cloth, and the length of cloth they take, mm.

    Folded cloth is opened out from x = `opened_at` on, where that is not None: what lies beyond is cut from one layer,
    and y = 0 stays the cloth's middle. `if_folded` is the length it would take folded all along, where it is opened
    out for no other reason than that this is shorter.
    """

    cloth: str
    choice: ClothChoice
    laid: tuple[LaidPiece, ...]
    length: float
    opened_at: float | None = None
    if_folded: float | None = None

    @property
    def use(self) -> float:
        """Area of the cut pieces over the area of the cloth they lie on."""
        if not self.length:
            return 0.0
        return sum(laid.piece.cloth_area for laid in self.laid) / (self.choice.width * self.length)

    @property
    def buy(self) -> float:
        """The length to buy, mm: need / (1 - shrinkage), rounded up to the buying step."""
        return round_up(self.length / (1.0 - self.choice.shrinkage), self.choice.step.value)


def lay(
    cloth: str, pieces: Sequence[LayPiece], choice: ClothChoice, effort: Effort = Effort(), run: Run = Run()
) -> LayPlan:
    """Pack the pieces on the cloth.

    Args:
        cloth: the cloth's name in the notes.
        pieces: what to lay, see `tiling.cloth.lay_pieces`.
        choice: the cloth; the fold must be the one the pieces were made for.
        effort: time limit and seed.
        run: told per cent of the time used.

    Raises:
        InputUnfit: a piece is wider than the cloth.
        PageseamError: the packing overlaps (a fault of ours; nothing is given).
        Cancelled: by `run`.
    """
    _check_width(cloth, pieces, choice)
    ways = list(_ways(pieces, choice, run))
    share = replace(effort, seconds=effort.seconds / len(ways))
    plans = [
        _laid(cloth, way, choice, share, run.part("Lay plan", number, len(ways))) for number, way in enumerate(ways)
    ]
    plan = min(plans, key=lambda plan: plan.length)
    if plan.opened_at is not None:
        plan = replace(plan, if_folded=min((one.length for one in plans if one.opened_at is None), default=None))
    _check(plan)
    copies = Counter(laid.piece.piece for laid in plan.laid)
    numbers: Counter[str] = Counter()
    laid = []
    for place in plan.laid:
        numbers[place.piece.piece] += 1
        piece = replace(place.piece, copy=numbers[place.piece.piece], copies=copies[place.piece.piece])
        laid.append(replace(place, piece=piece))
    return replace(plan, laid=tuple(laid))


def _stretch(band: Band, choice: ClothChoice) -> Stretch:
    return Stretch(band.width, choice.nap, choice.gap)


def _laid(cloth: str, pieces: Sequence[LayPiece], choice: ClothChoice, effort: Effort, run: Run) -> LayPlan:
    """The pieces cut one way: first those on the cloth as it lies, then those where it is opened out."""
    first = [piece for piece in pieces if piece.layers is not Layers.OPENED]
    after = [piece for piece in pieces if piece.layers is Layers.OPENED]
    sections = [(section, band) for section, band in ((first, choice.band), (after, choice.opened_band)) if section]
    laid: list[LaidPiece] = []
    length, opened_at = 0.0, None
    for number, (section, band) in enumerate(sections):
        share = replace(effort, seconds=effort.seconds * len(section) / len(pieces))
        moves = shortest(section, _stretch(band, choice), share, run.part("Lay plan", number, len(sections)))
        if section is after:
            opened_at = length + choice.gap / 2 if length else 0.0
            length += choice.gap if length else 0.0
        at = Affine.shift(length, band.low)
        laid += [LaidPiece(piece, at @ move) for piece, move in zip(section, moves, strict=True)]
        length = max(float(place.ring[:, 0].max()) for place in laid)
    return LayPlan(cloth, choice, tuple(laid), length, opened_at)


def _ways(pieces: Sequence[LayPiece], choice: ClothChoice, run: Run) -> list[list[LayPiece]]:
    """The ways to cut the pieces that are worth a search: as they come, and as a quick look says is shorter.

    Where cloth is opened out anyway, what fits is cut from there. Where it isn't, it must be worth it.
    """
    band, opened = _stretch(choice.band, choice), _stretch(choice.opened_band, choice)

    def length(way: Sequence[LayPiece]) -> float:
        parts = [[p for p in way if p.layers is not Layers.OPENED], [p for p in way if p.layers is Layers.OPENED]]
        lengths = [quick_length(part, stretch, run) for part, stretch in zip(parts, (band, opened), strict=True)]
        return sum(lengths) + (choice.gap if all(lengths) else 0.0)

    way = list(pieces)
    forced = any(piece.layers is Layers.OPENED for piece in way)
    tried = [piece for piece in pieces if piece.opened and (forced or piece.layers is Layers.ON_FOLD)]
    if not tried:
        return [way]
    now = length(way)
    for piece in sorted(tried, key=by_length)[:_MOST_TRIED]:
        for instead, worth in _instead(piece, choice, forced=forced):
            other = [p for old in way for p in (instead if old is piece else (old,))]
            if (then := length(other)) < now - worth:
                way, now = other, then
                break
    # One alone may save nothing where two lie abreast.
    all_opened = [p for old in pieces for p in (old.opened if any(old is one for one in tried) else (old,))]
    if not forced and len(tried) > 1 and length(all_opened) < now - _WORTH_OPENING:
        way = all_opened
    return [way] if way == list(pieces) else [list(pieces), way]


def _instead(piece: LayPiece, choice: ClothChoice, *, forced: bool) -> Iterator[tuple[tuple[LayPiece, ...], float]]:
    """Other ways to cut a piece, and how much each must save, mm."""
    yield piece.opened, 1.0 if forced else _WORTH_OPENING
    if piece.layers is Layers.ON_FOLD and piece.opened[0].across <= choice.band.width:
        yield tuple(replace(whole, layers=Layers.SINGLE) for whole in piece.opened), _WORTH_UNFOLDING


def _check_width(cloth: str, pieces: Sequence[LayPiece], choice: ClothChoice) -> None:
    for piece in pieces:
        band = choice.opened_band if piece.layers is Layers.OPENED else choice.band
        if piece.across <= band.width + _SLACK:
            continue
        folded = choice.fold is ClothFold.LENGTHWISE and piece.layers is not Layers.OPENED
        raise InputUnfit(
            f"piece '{piece.piece}' is {in_cm(piece.across)} wide across the grain and does not fit on the {cloth} "
            f"cloth of {in_cm(choice.width)}{' folded lengthwise' if folded else ''} "
            f"({in_cm(max(band.width, 0.0))} to lay on{' between the selvedges' if choice.selvedge else ''})"
            f"{'' if folded else '; take wider cloth.'}",
            Remedy(Action.WIDER_OR_OPEN_OUT) if folded else None,
        )


def _check(plan: LayPlan) -> None:
    """No two pieces overlap or come nearer than the gap, and none leaves the cloth, whatever the search says.

    Raises:
        PageseamError: they do.
    """
    laid, choice = plan.laid, plan.choice
    for one, other, apart, common in clearances([place.ring for place in laid], choice.gap):
        if common > OVERLAP or apart < choice.gap - _SLACK:
            names = f"'{laid[one].piece.piece}' and '{laid[other].piece.piece}'"
            near = "over each other" if common > OVERLAP else f"{apart:.1f} mm from each other"
            raise PageseamError(f"the lay plan puts {names} {near}", Remedy(Action.ANOTHER_SEED_AND_REPORT))
    for place in laid:
        opened = place.piece.layers is Layers.OPENED
        band = choice.opened_band if opened else choice.band
        start = (plan.opened_at or 0.0) if opened else 0.0
        low, high = place.ring.min(axis=0), place.ring.max(axis=0)
        if (low[1] < band.low - _SLACK or high[1] > band.high + _SLACK
                or low[0] < start - _SLACK or high[0] > plan.length + _SLACK):  # fmt: skip
            what = f"the lay plan puts '{place.piece.piece}' beyond the cloth"
            raise PageseamError(what, Remedy(Action.ANOTHER_SEED))
