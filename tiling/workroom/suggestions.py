"""What was recognised but is said neither by the drawing nor by its notes: each as a text and the changes that say it.

The page offers them; accepted, they are written into the notes by `tiling.workroom.noted`.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot
from typing import TYPE_CHECKING, Any, TypeGuard, TypeVar

from tiling.notes import CutAs, Notes
from tiling.pattern import Pattern, Role
from tiling.recognition.starter_notes import edge_role, place_of, place_on
from tiling.recognition.told import role_words

if TYPE_CHECKING:
    from tiling.guesses import Guess
    from tiling.recognition.understanding import EdgeSeen, LineSeen, PieceSeen, SeamSeen, Understanding
    from tiling.shapes import Point

__all__ = ["suggestions"]

T = TypeVar("T")

_OFFERED = (Role.LENGTHEN, Role.GRADING, Role.PLACEMENT, Role.DART)
"""Lines worth saying; folds, grainlines and notches are found again each time."""
_CERTAIN = 0.999
_SEWN = 0.7
_SAME = 0.06
"""mm between two places that are one; places are written in tenths of a mm."""
_CUT = {CutAs.SINGLE: "as it is drawn", CutAs.PAIR: "in pairs, the second mirrored", CutAs.FOLD: "on the fold"}


def suggestions(pattern: Pattern, understanding: Understanding) -> list[dict[str, Any]]:
    """What to offer, as ``{text, why, changes}``; see `tiling.workroom.noted.edited` for the changes."""
    notes = pattern.notes or Notes()
    found: list[dict[str, Any]] = []
    for piece in understanding.pieces:
        if not piece.outline.role.stands:
            continue
        found += _of_piece(piece, notes)
        found += (one for edge in piece.edges for one in _of_edge(piece, edge, notes))
        found += (one for line in piece.lines for one in _of_line(pattern, piece, line, notes))
    found += (one for seam in understanding.seams for one in _of_seam(seam, notes))
    return found


def _of_piece(piece: PieceSeen, notes: Notes) -> Iterator[dict[str, Any]]:
    said = notes.pieces.get(piece.ident)
    change: dict[str, Any] = {}
    if _is_open(piece.copies) and not (said and said.copies):
        change["copies"] = piece.copies.value
    if _is_open(piece.cut) and not (said and said.cut):
        change["cut"] = piece.cut.value.value
    if _is_open(piece.cloth) and not said:
        change["cloth"] = piece.cloth.value
    is_new = said is None and _is_open(piece.outline.role)
    if not change and not is_new:
        return
    title = piece.title.value or piece.ident
    how = [
        f"cut {piece.copies.value}" if piece.copies else "",
        _CUT[piece.cut.value] if piece.cut and piece.cut.stands else "",
        f"from {piece.cloth.value} cloth" if piece.cloth else "",
    ]
    if is_new:
        place = place_on(piece.ring)
        change["at"] = [place.x, place.y]
    if said is None:
        change["title"] = title
    yield {
        "text": f"{title}{' is a piece' if is_new else ''}: {', '.join(filter(None, how)) or 'nothing says how many'}",
        "why": (piece.copies or piece.outline.role).why,
        "changes": [{"kind": "piece", "id": piece.ident, **change}],
    }


def _of_edge(piece: PieceSeen, edge: EdgeSeen, notes: Notes) -> Iterator[dict[str, Any]]:
    name = edge.name.value
    if edge.on_fold or not _is_open(edge.name) or name.startswith("edge-") or _is_named(notes, piece.ident, name):
        return
    yield {
        "text": f"{piece.title.value or piece.ident}: its {name}",
        "why": edge.name.why,
        "changes": [_line(piece, edge_role(piece, edge), name, place_on(edge.path))],
    }


def _of_line(pattern: Pattern, piece: PieceSeen, line: LineSeen, notes: Notes) -> Iterator[dict[str, Any]]:
    role = line.role.value
    place = place_of(pattern, line)
    if place is None or role not in _OFFERED or not line.role.stands or not _is_open(line.role):
        return
    if any(one.laid and hypot(one.laid.x - place.x, one.laid.y - place.y) < _SAME for one in notes.pointed):
        return
    yield {
        "text": f"{piece.title.value or piece.ident}: a {role_words(role)}{f', {line.name}' if line.name else ''}",
        "why": line.role.why,
        "changes": [_line(piece, role, line.name, place)],
    }


def _of_seam(seam: SeamSeen, notes: Notes) -> Iterator[dict[str, Any]]:
    first, second = ".".join(seam.first), ".".join(seam.second)
    named = [{str(ref) for ref in (*one.first, *one.second)} for one in notes.seams]
    if seam.sure >= _SEWN and not any({first, second} <= refs for refs in named):
        yield {
            "text": f"{first} is sewn to {second}",
            "why": seam.why,
            "changes": [{"kind": "seam", "first": [first], "second": [second]}],
        }


def _is_open(guess: Guess[T] | None) -> TypeGuard[Guess[T]]:
    return guess is not None and guess.stands and guess.sure < _CERTAIN


def _is_named(notes: Notes, piece: str, name: str) -> bool:
    return (piece, name) in {(one.piece, one.name) for one in notes.pointed} | {
        (one.piece, one.name) for one in notes.lines
    }


def _line(piece: PieceSeen, role: Role, name: str, place: Point) -> dict[str, Any]:
    return {"kind": "line", "piece": piece.ident, "role": role.value, "name": name, "at": [place.x, place.y]}
