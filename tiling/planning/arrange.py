"""Laying the pieces anew so that fewer pages are printed.

Strips whose height is a whole number of tiles are packed as short as can be, in every way a strip can lie on the
tiles; each packing is judged by what counts, the printed tiles after the exhaustive search for the grid, and the
drawing's own layout is kept unless one of them prints fewer. The search is bounded by time, so another machine may
end differently: the placements go into the plan, and the same placements give the same pages everywhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil, floor, sqrt
from time import monotonic

import numpy as np
from shapely.geometry.base import BaseGeometry

from calibrate.run import Run
from tiling.failures import Action, Remedy, UsageWrong
from tiling.pattern import Pattern
from tiling.planning.fewest import GridAxis
from tiling.planning.layout import find_pieces
from tiling.planning.packing import PackItem, PackOptions, least_height, pack, packable
from tiling.planning.placing import placed
from tiling.planning.plan import Orientation, Placement, PrintPlan, sheet_size
from tiling.planning.planner import PlanOptions, plan_pages, window_of
from tiling.planning.share import Sharing
from tiling.shapes import Affine

__all__ = ["LEAST_GAP", "ArrangeOptions", "Arrangement", "Turn", "arrange"]

LEAST_GAP = 5.0
"""mm between pieces; seam allowances are inside the outline."""

_PLAY = 2.0
"""mm of a strip's height left free, so that its ink lies in whole tiles whatever its fraction of a millimetre."""

_TOLERANCE = 0.3
"""mm by which outlines are simplified, outwards, for packing."""

_READABLE = (0.0, 90.0, 270.0)
"""Turns of headings and keys of lines: aslant they look crooked, upside down they can't be read with the rest."""

_FEW = 12
"""Pieces that may be turned freely."""

_HOLLOW = 0.85
"""Share of their convex hulls below which pieces nest into each other's hollows, so that any turn helps."""


class Turn(StrEnum):
    """How pieces may be turned on paper."""

    ANY = "any"
    HALF = "half"
    NONE = "none"

    def degrees(self, outlines: Sequence[BaseGeometry]) -> tuple[float, ...] | None:
        """The angles to search for these pieces; None for all.

        Among many pieces the search settles sooner on quarter turns, and better in the same time, unless they are
        full of hollows (tried on the textile instances).
        """
        if self is Turn.ANY:
            full = sum(shape.area for shape in outlines) / sum(shape.convex_hull.area for shape in outlines)
            return None if len(outlines) <= _FEW or full < _HOLLOW else (0.0, 90.0, 180.0, 270.0)
        return (0.0, 180.0) if self is Turn.HALF else (0.0,)


@dataclass(frozen=True, slots=True)
class ArrangeOptions:
    """How pieces may be laid: turns, gap in mm, time in whole seconds, and the seed of the search."""

    turn: Turn = Turn.ANY
    gap: float = LEAST_GAP
    seconds: int = 20
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The outcome: what to print, and what was gained.

    Attributes:
        pattern: the pattern as laid out; the one given where arranging didn't help.
        plan: its plan, with the placements.
        kept: the plan of the layout as it was, best grid.
        reason: one sentence for the person where the layout was kept, else empty.
    """

    pattern: Pattern
    plan: PrintPlan
    kept: PrintPlan
    reason: str = ""


@dataclass(frozen=True, slots=True)
class _LengthEstimate:
    """How long a strip becomes: from all pieces' area, mm²; the side of a typical one, mm; how densely they lie.

    `fill` is reached well inside a strip; along both long sides and at its end a quarter of a piece stays empty. It
    starts as a guess and is measured on every packing.
    """

    area: float
    piece: float
    fill: float = 0.9

    def length(self, height: float) -> float:
        """How long a strip of that height should become, mm."""
        return self.area / self.fill / self._inside(height) + self.piece / 4

    def measured(self, height: float, length: float) -> _LengthEstimate:
        """The same with the fill that a packing had."""
        return replace(self, fill=self.area / self._inside(height) / max(length - self.piece / 4, self.piece / 4))

    def _inside(self, height: float) -> float:
        return max(height - self.piece / 4, self.piece / 4)


@dataclass(frozen=True, slots=True)
class _Strip:
    """A strip to pack: its height in mm and in tiles, whether it runs down the layout, and the tiles along it, mm."""

    height: float
    down: bool
    tiles: int
    along: GridAxis

    def promise(self, estimate: _LengthEstimate) -> float:
        """How many tiles it should fill; the last ones across it are often not all needed."""
        along = max((estimate.length(self.height) - self.along.overlap) / self.along.step, 1.0)
        return self.tiles * (along + ceil(along)) / 2


def arrange(
    pattern: Pattern,
    options: PlanOptions,
    wish: ArrangeOptions,
    sharing: Sharing | None = None,
    run: Run = Run(),
) -> Arrangement:
    """Lay the pieces anew for the fewest printed tiles, within the time allowed; never worse than as it was.

    Args:
        pattern: as read.
        options: of the plan; its orientation limits how strips may lie.
        wish: how pieces may be laid.
        sharing: pieces printed over one another, which move as one.
        run: told the seconds gone of those allowed.

    Raises:
        UsageWrong: a gap below `LEAST_GAP`, no time at all, or no room (as `plan_pages`).
        InputUnfit: nothing visible is drawn, or the drawing is too large.
        Cancelled: by `run`.
    """
    if wish.gap < LEAST_GAP:
        raise UsageWrong(f"A gap of {wish.gap:g} mm is too little to cut between; use {LEAST_GAP:g} mm or more.")
    if wish.seconds < 1:
        raise UsageWrong("Arranging needs at least one second", Remedy(Action.SEARCH_A_SECOND))
    shared = sharing.pattern if sharing else pattern
    kept = plan_pages(shared, replace(options, placements=sharing.placements if sharing else ()), run=run)
    pieces = sharing.groups if sharing else find_pieces(pattern)
    if not any(piece.body.area > 0 for piece in pieces):
        reason = "No pieces can be told apart (no roles, and no closed outlines), so the layout was kept."
        return Arrangement(shared, kept, kept, reason)
    turns = wish.turn.degrees([piece.outline for piece in pieces])
    words = _READABLE if wish.turn is Turn.ANY else (0.0,)
    run.check()
    items = [
        PackItem(piece.ident, packable(piece.outline, _TOLERANCE), turns=words if piece.body.is_empty else turns)
        for piece in pieces
    ]
    best: tuple[Pattern, PrintPlan] | None = None
    for placements in _packings(items, options, wish, run):
        final = tuple(sharing.composed(placements) if sharing else placements)
        laid = sharing.laid(final) if sharing else placed(pattern, final)
        plan = plan_pages(laid, replace(options, placements=final), run=run)
        if best is None or _cost(plan) < _cost(best[1]):
            best = (laid, plan)
    if best is None or _cost(best[1]) >= _cost(kept):
        found = f"no layout with fewer than {len(best[1].tiles)} tiles" if best else "no strip wide enough"
        reason = f"Arranging found {found}; the drawing's own layout needs {len(kept.tiles)} and was kept."
        return Arrangement(shared, kept, kept, reason)
    plan = replace(best[1], pages_as_drawn=kept.pages_as_drawn)
    return Arrangement(best[0], plan, kept)


def _cost(plan: PrintPlan) -> tuple[int, float]:
    """Sorts plans, best first: by printed tiles; on a roll then by the paper they take."""
    return (len(plan.tiles), len(plan.tiles) * plan.page_size.width * plan.page_size.height if plan.paper.roll else 0.0)


def _packings(
    items: Sequence[PackItem], options: PlanOptions, wish: ArrangeOptions, run: Run
) -> Iterator[list[Placement]]:
    """Placements on one strip after the other, the most promising first, until the time is up."""
    area = sum(item.area for item in items)
    estimate = _LengthEstimate(area, sqrt(area / len(items)))
    strips = _strips(items, options, estimate)
    # A second settles five pieces, but one strip alone may be an unlucky one.
    each = max(min(ceil(len(items) / 5), wish.seconds // 2), wish.seconds // 8, 1)
    start, tried = monotonic(), Counter[_Strip]()
    run = _telling_seconds(run, start, wish.seconds)
    while strips:
        gone = monotonic() - start
        seconds = min(each, round(wish.seconds - gone))
        if seconds < 1 or (tried and seconds < min(each, 2)):
            return
        strip = min(strips, key=lambda strip: (tried[strip], strip.promise(estimate), strip.height, strip.down))
        turned = [_stood(item) if strip.down else item for item in items]
        pack_options = PackOptions(strip.height, wish.gap, seconds, wish.seed + tried[strip])
        packing = pack(turned, pack_options, run)
        yield [
            Placement(copy.ident, _lying(copy.move, packing.length) if strip.down else copy.move)
            for copy in packing.placed
        ]
        tried[strip] += 1
        estimate = estimate.measured(strip.height, packing.length)


def _stood(item: PackItem) -> PackItem:
    """The item as it lies when the layout is turned a quarter, so that a strip across is one that runs down."""
    return replace(item, outline=Affine.turn(90.0).points(item.outline))


def _lying(move: Affine, length: float) -> Affine:
    """The move on the layout of a piece laid on a strip that is the layout turned by a quarter.

    The strip covers (0, 0) to (length, height); turned back by a quarter it lies above the origin, so it is shifted
    down by its length.
    """
    return Affine.shift(0.0, length) @ Affine.turn(-90.0) @ move @ Affine.turn(90.0)


def _telling_seconds(run: Run, start: float, seconds: int) -> Run:
    """A run that tells every whole second gone since `start`, once, whatever is being done."""
    told = 0

    def tell(_what: str, _done: int, _total: int) -> None:
        nonlocal told
        gone = min(round(monotonic() - start), seconds)
        if gone > told:
            told = gone
            run.tell("Arranging, seconds", gone, seconds)

    return replace(run, tell=tell)


def _strips(items: Sequence[PackItem], options: PlanOptions, estimate: _LengthEstimate) -> list[_Strip]:
    """The ways a strip of whole tiles can lie."""
    strips: dict[tuple[float, bool], _Strip] = {}
    for orientation in options.orientation.choices:
        paper = options.paper if orientation is Orientation.PORTRAIT else options.paper.turned()
        window = window_of(sheet_size(paper), options.margins, options.correction)
        overlap = ceil(options.overlap - 1e-9)
        for down in (False, True):
            if options.paper.roll and down is (orientation is Orientation.LANDSCAPE):
                continue  # a strip along the roll is as high as the roll is wide
            side, other = (window.width, window.height) if down else (window.height, window.width)
            least = max(least_height(_stood(item) if down else item) for item in items) + _PLAY
            first = max(ceil((least - overlap) / (side - overlap)), 1)
            longest = max(float(np.ptp(item.outline, axis=0).max()) for item in items)
            most = max(floor((estimate.area / 0.7 / longest) / (side - overlap)) + 2, first)
            for tiles in range(first, min(most, first + 12) + 1):
                height = tiles * (side - overlap) + overlap - _PLAY
                strips.setdefault((height, down), _Strip(height, down, tiles, GridAxis(floor(other), overlap)))
    return list(strips.values())
