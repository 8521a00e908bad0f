"""The lay plan: pieces packed on cloth of a given width, and how much of it to buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from calibrate.run import Run
from tiling.cloth.fold_row import FoldRow, comb, fold_rows, grown
from tiling.cloth.lay_pieces import ClothFold, Layers, LayPiece
from tiling.cloth.rules import round_up
from tiling.failures import Action, InputUnfit, PageseamError, Remedy
from tiling.lengths import in_cm
from tiling.planning.packing import PackItem, PackOptions, pack
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import polygon_of

__all__ = ["BuyingStep", "ClothChoice", "Effort", "LaidPiece", "LayPlan", "Nap", "lay"]

_SLACK = 0.02
_COMB = "pieces on the fold"

OVERLAP = 1.0
"""Area of two pieces in common that is still rounding, mm²."""


class Nap(Enum):
    """Whether the cloth has a direction: a pile or a one-way print."""

    NONE = "none"
    ONE_WAY = "one-way"


class BuyingStep(Enum):
    """The step that lengths of cloth are sold in, mm."""

    FIVE_CM = 50.0
    EIGHTH_YARD = 914.4 / 8


@dataclass(frozen=True, slots=True)
class ClothChoice:
    """The cloth: its full width in mm, how it lies, its nap, the share it loses in the wash, and the gap to keep."""

    width: float
    fold: ClothFold = ClothFold.NONE
    nap: Nap = Nap.NONE
    shrinkage: float = 0.0
    gap: float = 3.0
    step: BuyingStep = BuyingStep.FIVE_CM

    @property
    def table_width(self) -> float:
        """The width pieces are laid on: half of it on folded cloth."""
        return self.width / 2 if self.fold is ClothFold.LENGTHWISE else self.width


@dataclass(frozen=True, slots=True, eq=False)
class LaidPiece:
    """A piece at its place on the cloth."""

    piece: LayPiece
    move: Affine

    @property
    def ring(self) -> Array:
        """Its outline on the cloth, mm."""
        return self.move.points(self.piece.ring)


@dataclass(frozen=True, slots=True, eq=False)
class LayPlan:
    """Every piece at its place on the cloth, and the length of cloth they take, mm."""

    cloth: str
    choice: ClothChoice
    laid: tuple[LaidPiece, ...]
    length: float

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


@dataclass(frozen=True, slots=True)
class Effort:
    """Time limit of the search for a shorter lay, s, and the seed it starts from."""

    seconds: float = 10.0
    seed: int = 1


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
    on_fold = [piece for piece in pieces if piece.layers is Layers.ON_FOLD]
    others = [piece for piece in pieces if piece.layers is not Layers.ON_FOLD]
    rows = fold_rows(on_fold, choice.gap, may_turn=choice.nap is Nap.NONE, run=run)
    rows = rows if others else rows[:1]
    share = replace(effort, seconds=effort.seconds / len(rows))
    parts = [run.part("Lay plan", number, len(rows)) for number in range(len(rows))]
    lays = [_packed(row, others, choice, share, part) for row, part in zip(rows, parts, strict=True)]
    laid = min(lays, key=_length)
    start = min((float(place.ring[:, 0].min()) for place in laid), default=0.0)
    laid = [replace(place, move=Affine.shift(-start, 0.0) @ place.move) for place in laid]
    _check(laid, choice)
    return LayPlan(cloth, choice, tuple(laid), _length(laid))


def _length(laid: Sequence[LaidPiece]) -> float:
    """From the first to the last point of any piece along the cloth, mm."""
    if not laid:
        return 0.0
    rings = [place.ring[:, 0] for place in laid]
    return max(float(x.max()) for x in rings) - min(float(x.min()) for x in rings)


def _packed(row: FoldRow, others: Sequence[LayPiece], choice: ClothChoice, effort: Effort, run: Run) -> list[LaidPiece]:
    """The row along the fold, and the other pieces where the packing puts them."""
    teeth = [LaidPiece(piece, move) for piece, move in zip(row.pieces, row.moves, strict=True)]
    if not others:
        return teeth
    if not teeth and sum(piece.across + choice.gap for piece in others) - choice.gap <= choice.table_width:
        return _side_by_side(others, choice.gap)
    turns = (0.0,) if choice.nap is Nap.ONE_WAY else (0.0, 180.0)
    alike: dict[bytes, list[LayPiece]] = {}
    for piece in others:
        alike.setdefault(piece.ring.tobytes(), []).append(piece)
    groups = list(alike.values())
    items = [
        PackItem(str(number), grown(group[0].ring, choice.gap), len(group), turns)
        for number, group in enumerate(groups)
    ]
    # Outlines grown by half the gap may stick out by as much over either edge of the cloth.
    height = choice.table_width + choice.gap
    if teeth:
        items.append(PackItem(_COMB, comb(row, height, choice.gap)))
    options = PackOptions(height, seconds=max(1, round(effort.seconds)), seed=effort.seed)
    moves: dict[str, list[Affine]] = {}
    for packed in pack(items, options, run).placed:
        moves.setdefault(packed.ident, []).append(packed.move)
    if teeth:
        along = Affine.shift(moves[_COMB][0].e, 0.0)
        teeth = [replace(tooth, move=along @ tooth.move) for tooth in teeth]
    down = Affine.shift(0.0, -choice.gap / 2)
    return teeth + [
        LaidPiece(piece, down @ move)
        for number, group in enumerate(groups)
        for piece, move in zip(group, moves[str(number)], strict=True)
    ]


def _side_by_side(pieces: Sequence[LayPiece], gap: float) -> list[LaidPiece]:
    """All across the cloth next to each other: no lay is shorter than its longest piece, so nothing need be sought."""
    laid, y = [], 0.0
    for piece in pieces:
        x0, y0 = (float(low) for low in piece.ring.min(axis=0))
        laid.append(LaidPiece(piece, Affine.shift(-x0, y - y0)))
        y += piece.across + gap
    return laid


def _check_width(cloth: str, pieces: Sequence[LayPiece], choice: ClothChoice) -> None:
    for piece in pieces:
        if piece.across <= choice.table_width + _SLACK:
            continue
        folded = choice.fold is ClothFold.LENGTHWISE
        raise InputUnfit(
            f"piece '{piece.piece}' is {in_cm(piece.across)} wide across the grain and does not fit on the {cloth} "
            f"cloth of {in_cm(choice.width)}{' folded lengthwise' if folded else ''} "
            f"({in_cm(choice.table_width)} to lay on){'' if folded else '; take wider cloth.'}",
            Remedy(Action.WIDER_OR_OPEN_OUT) if folded else None,
        )


def _check(laid: Sequence[LaidPiece], choice: ClothChoice) -> None:
    """No two pieces overlap and none leaves the cloth, whatever the packing says."""
    from shapely import STRtree  # noqa: PLC0415 - shapely is slow to load

    shapes = [polygon_of(place.ring) for place in laid]
    tree = STRtree(shapes)
    for one, other in tree.query(shapes).T:
        if one < other and shapes[one].intersection(shapes[other]).area > OVERLAP:
            names = f"'{laid[one].piece.piece}' and '{laid[other].piece.piece}'"
            what = f"the lay plan puts {names} over each other"
            raise PageseamError(what, Remedy(Action.ANOTHER_SEED_AND_REPORT))
    for place in laid:
        low, high = float(place.ring[:, 1].min()), float(place.ring[:, 1].max())
        if low < -_SLACK * 5 or high > choice.table_width + _SLACK * 5:
            what = f"the lay plan puts '{place.piece.piece}' beyond the cloth"
            raise PageseamError(what, Remedy(Action.ANOTHER_SEED))
