"""Edges that look as if they were sewn to each other: by what they are called, and by how long they are."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from tiling.recognition.understanding import EdgeSeen, PieceSeen, SeamSeen

__all__ = ["seams_between"]

_SEWN = {"side": 0.9, "shoulder": 0.9, "inseam": 0.9, "crotch": 0.7}
"""How sure it is that edges of the same of these names are sewn together, where they are as long as each other."""

_EASE = 0.03
"""The share by which edges that are sewn plainly may differ in length, or 2 mm."""

_NAMELESS = "edge"
_SAME, _LONG_ENOUGH = 0.5, 60.0
"""mm: by how much the lengths of nameless edges may differ, and from what length on they tell something."""

_CROWD = 6
"""So many nameless edges of one length, in other pieces, say nothing of which is sewn to which."""


@dataclass(frozen=True, slots=True, eq=False)
class _End:
    """An edge that may be one side of a seam; `order` is its place among all of them."""

    length: float
    order: int
    piece: PieceSeen
    edge: EdgeSeen

    @property
    def name(self) -> tuple[str, str]:
        """The piece's and its own."""
        return self.piece.ident, self.edge.name.value


def seams_between(pieces: Sequence[PieceSeen]) -> tuple[SeamSeen, ...]:
    """Seams between the edges of different pieces, the surest first; each edge in one at most."""
    alike: dict[str, list[_End]] = defaultdict(list)
    edges = ((piece, edge) for piece in pieces for edge in piece.edges if not edge.on_fold)
    for order, (piece, edge) in enumerate(edges):
        kind = edge.name.value.rstrip("-0123456789")
        if kind in _SEWN or kind == _NAMELESS:
            alike[kind].append(_End(edge.path.length(), order, piece, edge))
    found = [pair for kind, ends in alike.items() for pair in _pairs(kind, ends)]
    found.sort(key=lambda pair: (-pair[2], pair[0].order))
    return tuple(SeamSeen(one.name, other.name, sure, why) for one, other, sure, why in found)


def _pairs(kind: str, ends: Sequence[_End]) -> list[tuple[_End, _End, float, str]]:
    """Edges of one name with their partners, each the first of a fitting length in another piece that has none yet."""
    by_length = sorted(ends, key=lambda end: (end.length, end.order))
    taken: set[int] = set()
    found = []
    for end in ends:
        if end.order in taken:
            continue
        near = [other for other in _as_long(kind, end, by_length) if other.piece is not end.piece]
        if kind == _NAMELESS and len(near) > _CROWD:
            continue
        near = [other for other in near if other.order > end.order and other.order not in taken]
        if not near:
            continue
        partner = min(near, key=lambda other: other.order)
        taken |= {end.order, partner.order}
        if kind == _NAMELESS:
            found.append((end, partner, 0.5, "they are as long as each other to half a millimetre"))
        else:
            why = f"both are called {kind}, and they are as long as each other"
            found.append((end, partner, _SEWN[kind], why))
    return found


def _as_long(kind: str, end: _End, by_length: Sequence[_End]) -> Sequence[_End]:
    """The edges whose length fits; none for a nameless one that is short."""
    if kind == _NAMELESS:
        if end.length <= _LONG_ENOUGH:
            return ()
        least, most = end.length - _SAME, end.length + _SAME
    else:
        least, most = (
            min(end.length - 2.0, end.length * (1.0 - _EASE)),
            max(end.length + 2.0, end.length / (1.0 - _EASE)),
        )
    first = bisect_left(by_length, least, key=lambda other: other.length)
    last = bisect_right(by_length, most, key=lambda other: other.length)
    return by_length[first:last]
