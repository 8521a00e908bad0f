"""Edges that look as if they were sewn to each other: by what they are called, and by how long they are."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from tiling.recognition.understanding import EdgeSeen, PieceSeen, SeamSeen

__all__ = ["seams_between"]

_SEWN = {"side": 0.9, "shoulder": 0.9, "inseam": 0.9, "crotch": 0.7}
"""How sure it is that edges of the same of these names are sewn together, where they are as long as each other."""

_EASE = 0.03
"""The share by which edges that are sewn plainly may differ in length."""


def seams_between(pieces: Sequence[PieceSeen]) -> tuple[SeamSeen, ...]:
    """Seams between the edges of different pieces, the surest first; each edge in one at most."""
    edges = [(piece, edge) for piece in pieces for edge in piece.edges if not edge.on_fold]
    length = {id(edge): edge.path.length() for _, edge in edges}
    found = []
    for (piece, edge), (other_piece, other) in combinations(edges, 2):
        if piece is other_piece:
            continue
        sure, why = _likely(edge, other, length[id(edge)], length[id(other)])
        if sure > 0:
            found.append(SeamSeen((piece.ident, edge.name.value), (other_piece.ident, other.name.value), sure, why))
    taken: set[tuple[str, str]] = set()
    kept = []
    for seam in sorted(found, key=lambda seam: -seam.sure):
        if seam.first not in taken and seam.second not in taken:
            kept.append(seam)
            taken.update((seam.first, seam.second))
    return tuple(kept)


def _likely(edge: EdgeSeen, other: EdgeSeen, length: float, other_length: float) -> tuple[float, str]:
    name, other_name = (one.name.value.rstrip("-0123456789") for one in (edge, other))
    off = abs(length - other_length)
    sewn = _SEWN.get(name, 0.0) if name == other_name else 0.0
    if sewn and off <= max(2.0, _EASE * max(length, other_length)):
        return sewn, f"both are called {name}, and they are as long as each other"
    if name == other_name == "edge" and length > 60.0 and off < 0.5:
        return 0.5, "they are as long as each other to half a millimetre"
    return 0.0, ""
