"""The search for a short lay on one stretch of cloth: bottom-left and the packing library, the better one closed up.

Places are those of a strip: y from 0, the edge that pieces on the fold lie on. What is found does not depend on the
order in which pieces are drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibrate.run import Cancelled, Run
from tiling.cloth.cloth_choice import Nap
from tiling.cloth.fold_row import comb, fold_rows, grown
from tiling.cloth.lay_pieces import Layers, LayPiece
from tiling.failures import Action, PageseamError, Remedy
from tiling.planning.bottom_left import BottomLeft
from tiling.planning.closing_up import close_up
from tiling.planning.packing import PackItem, PackOptions, pack
from tiling.planning.strip import StripItem, length_of
from tiling.shapes import Affine
from tiling.shapes.curves import Array
from tiling.shapes.regions import area, signed_area

__all__ = ["Effort", "Stretch", "by_length", "quick_length", "shortest"]

_COMB = "pieces on the fold"
_ROWS = 3
"""Rows of fold pieces that the packing library is given."""

_SIMPLE_SHARE = 0.4
"""Share of the time for laying bottom-left …"""

_LONGEST_SIMPLE = 4.0
"""… which after so many seconds seldom finds more."""

_WORK = 1.6e8
"""What laying bottom-left looks at in a second; the work is counted, not timed, so that it ends alike."""

_QUICK = 5e6
_ALIKE = 5.0
"""mm; rows whose pieces start nearer to each other than this are one."""

_GRID = 0.01
"""mm to which outlines are rounded for the search; those themselves are closed up in the end."""

_ASIDE = 0.137
_ABREAST = 5
"""How many roundings of the grid the width is to have room for."""

_NO_SHORTER = 1.001
"""A lay this near to the shortest that can be (as a factor) is left at that."""


@dataclass(frozen=True, slots=True)
class Effort:
    """Time limit of the search for a shorter lay, s, and the seed it starts from."""

    seconds: float = 10.0
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of cloth to lay on: its width between the edges in mm, its nap, the gap between pieces, mm."""

    width: float
    nap: Nap
    gap: float


def shortest(pieces: Sequence[LayPiece], stretch: Stretch, effort: Effort = Effort(), run: Run = Run()) -> list[Affine]:
    """The shortest lay that is found, as the move of each piece.

    Args:
        pieces: each fits on the stretch's width; those on the fold keep to y = 0.
        stretch: what they lie on.
        effort: time limit and seed.
        run: told per cent of the time used.

    Raises:
        PageseamError: no lay was found (a fault of ours).
        Cancelled: by `run`.
    """
    if not pieces:
        return []
    for grid in (_GRID, None):
        if found := _Problem(pieces, stretch, grid).shortest(effort, run):
            return found
    raise PageseamError("no lay plan was found", Remedy(Action.ANOTHER_SEED_AND_REPORT))


def _simple_seconds(effort: Effort) -> float:
    """How long laying bottom-left looks; the rest is the packing library's."""
    return min(effort.seconds * _SIMPLE_SHARE, _LONGEST_SIMPLE)


def quick_length(pieces: Sequence[LayPiece], stretch: Stretch, run: Run = Run()) -> float:
    """The length of a lay found in a moment, to compare ways to cut with, mm."""
    return _Problem(pieces, stretch, _GRID).quick(run) if pieces else 0.0


def by_length(piece: LayPiece) -> tuple[object, ...]:
    """What puts pieces in an order by shape alone, long ones first, whatever order they were drawn in."""
    outline = _item(piece, Nap.NONE, _GRID)[0].outline
    length, across = np.ptp(outline, axis=0).tolist()
    return -length, across, piece.layers, outline.ravel().tolist()


class _Problem:
    """The pieces in an order of their own: large ones first, then by shape, whatever order they came in.

    Searched are their outlines on a grid (`_on_grid`); `fitted` gives what is found to the outlines themselves.
    """

    def __init__(self, pieces: Sequence[LayPiece], stretch: Stretch, grid: float | None) -> None:
        items = [_item(piece, stretch.nap, grid) for piece in pieces]
        self._given = sorted(range(len(items)), key=lambda number: _rank(items[number][0]))
        self.items = [items[number][0] for number in self._given]
        self._exact = [items[number][1] for number in self._given]
        self._stretch = stretch
        # Rounded outlines that fill the width must find room, and so must a piece that is wider by a hair. The packing
        # library gets no more than that piece: half a tenth more made its lays of the shirts longer by 1 to 2 %.
        self._widest = max(stretch.width, *(float(np.ptp(item.outline[:, 1])) for item in self.items))
        self._width = max(stretch.width + _ABREAST * (grid or 0.0), self._widest)
        self._pinned = [number for number, item in enumerate(self.items) if item.pinned]
        self._free = [number for number, item in enumerate(self.items) if not item.pinned]
        self._strip = BottomLeft(self.items, self._width, stretch.gap)

    def shortest(self, effort: Effort, run: Run) -> list[Affine] | None:
        """The shortest lay, as the moves of the pieces as given; None where none of those found fits them."""
        found = self.simple(effort, run)
        if not found or self.length(found[0]) > self.least * _NO_SHORTER:
            left = effort.seconds - _simple_seconds(effort)
            rows = self.rows(found, run)[: max(1, round(left))]
            seconds = max(1, round(left / max(len(rows), 1)))
            for number, row in enumerate(rows):
                packed = self.packed(row, seconds, effort.seed, run.part("Lay plan", number, len(rows)))
                found += [packed] if packed else []
        fitting = (self.fitted(moves, run) for moves in sorted(found, key=self.length))
        return next((moves for moves in fitting if moves), None)

    def fitted(self, moves: Sequence[Affine], run: Run) -> list[Affine] | None:
        """A lay closed up for the outlines themselves, as the moves of the pieces as given."""
        closed = close_up(self._exact, moves, self._stretch.width, self._stretch.gap, run)
        if closed is None:
            return None
        return [move for _, move in sorted(zip(self._given, closed, strict=True), key=lambda pair: pair[0])]

    @property
    def least(self) -> float:
        """No lay is shorter than its longest piece, nor than if the cloth were full, mm."""
        longest = max(float(np.ptp(item.outline[:, 0])) for item in self.items)
        return max(longest, sum(area(item.outline) for item in self.items) / self._stretch.width)

    def length(self, moves: Sequence[Affine]) -> float:
        """How long the lay is, mm."""
        return length_of(self.items, moves)

    def quick(self, run: Run) -> float:
        """The length of a lay found in a moment, mm."""
        return self._strip.search(_QUICK, 1, self._row_orders(run), run)[0].length

    def simple(self, effort: Effort, run: Run) -> list[list[Affine]]:
        """The shortest lays found bottom-left, closed up, shortest first."""
        work = _WORK * _simple_seconds(effort)
        laid = self._strip.search(work, effort.seed, self._row_orders(run), run)
        closed = (self._closed(one.moves, run) for one in laid)
        return sorted((moves for moves in closed if moves), key=self.length)

    def rows(self, found: Sequence[Sequence[Affine]], run: Run) -> list[list[Affine]]:
        """Rows of the pieces on the fold to pack the others around: the shortest, and those of the lays found.

        One empty row where no piece lies on the fold, none where all of them do.
        """
        if not self._pinned:
            return [[]]
        if not self._free:
            return []
        rows = [
            *self._tight_rows(run)[:1],
            *([lay[n] for n in self._pinned] for lay in found),
            *self._tight_rows(run)[1:],
        ]
        different = {tuple(round(move.e / _ALIKE) for move in row): row for row in reversed(rows)}
        return list(reversed(different.values()))[:_ROWS]

    def packed(self, row: Sequence[Affine], seconds: int, seed: int, run: Run) -> list[Affine] | None:
        """The packing library's lay around a row, closed up; None where it failed."""
        gap = self._stretch.gap
        # Outlines grown by half the gap may stick out by as much over either edge of the cloth.
        height = self._widest + gap
        alike: dict[bytes, list[int]] = {}
        for number in self._free:
            alike.setdefault(self.items[number].outline.tobytes(), []).append(number)
        groups = list(alike.values())
        turns = (0.0,) if self._stretch.nap is Nap.ONE_WAY else (0.0, 180.0)
        items = [
            PackItem(str(number), grown(self.items[group[0]].outline, gap), len(group), turns)
            for number, group in enumerate(groups)
        ]
        if row:
            rings = [move.points(self.items[n].outline) for n, move in zip(self._pinned, row, strict=True)]
            items.append(PackItem(_COMB, comb(rings, height, gap)))
        try:
            placed = pack(items, PackOptions(height, seconds=seconds, seed=seed), run).placed
        except Cancelled:
            raise
        except PageseamError:
            return None  # The simple lay stands.
        moves: dict[str, list[Affine]] = {}
        for packed in placed:
            moves.setdefault(packed.ident, []).append(Affine.shift(0.0, -gap / 2) @ packed.move)
        found = dict(
            zip(self._pinned, [Affine.shift(moves[_COMB][0].e, 0.0) @ m for m in row] if row else [], strict=True)
        )
        for number, group in enumerate(groups):
            found.update(zip(group, moves[str(number)], strict=True))
        return self._closed([found[number] for number in range(len(self.items))], run)

    def _closed(self, moves: Sequence[Affine], run: Run) -> list[Affine] | None:
        return close_up(self.items, moves, self._width, self._stretch.gap, run)

    def _tight_rows(self, run: Run) -> list[list[Affine]]:
        """The shortest rows along the fold."""
        if self._known_rows is None:
            pinned = [self.items[number] for number in self._pinned]
            self._known_rows = fold_rows(pinned, self._stretch.gap, _ROWS, run) if pinned else []
        return self._known_rows

    _known_rows: list[list[Affine]] | None = None

    def _row_orders(self, run: Run) -> list[list[int]]:
        """Those rows first, the other pieces by size."""
        return [
            [*(n for _, n in sorted((m.e, n) for n, m in zip(self._pinned, row, strict=True))), *self._free]
            for row in self._tight_rows(run)
        ]


def _item(piece: LayPiece, nap: Nap, grid: float | None) -> tuple[StripItem, StripItem]:
    """The piece's outline as it is searched with, and itself; both begin at the same corner however it was drawn."""
    ring = piece.ring if signed_area(piece.ring) > 0 else piece.ring[::-1]
    rough = ring if grid is None else _on_grid(ring, grid)
    first = -int(np.lexsort((rough[:, 1], rough[:, 0]))[0])
    pinned = piece.layers is Layers.ON_FOLD
    # End for end on the fold a piece is its mirror image.
    other = Affine(a=-1.0) if pinned else Affine.turn(180.0)
    facings = (Affine(),) if nap is Nap.ONE_WAY else (Affine(), other)
    searched, itself = (StripItem(np.roll(outline, first, axis=0), facings, pinned) for outline in (rough, ring))
    return searched, itself


def _on_grid(ring: Array, grid: float) -> Array:
    """Corners rounded, so that a drawing's rounding errors don't send the search another way.

    Drawings have few decimals: a little aside, their numbers don't lie where rounding goes either way.
    """
    return np.asarray(np.round((ring + grid * _ASIDE) / grid) * grid)


def _rank(item: StripItem) -> tuple[float, bool, list[float]]:
    return -round(area(item.outline), 1), item.pinned, item.outline.ravel().tolist()
