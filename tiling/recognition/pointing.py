"""What the notes say of drawn lines, at a place, on a layer or in a colour, put over what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from tiling.lengths import in_cm
from tiling.notes import CutAs, PointedLine
from tiling.pattern import Line, Pattern, Role
from tiling.recognition.told import role_words
from tiling.recognition.understanding import TOLD, EdgeSeen, Guess, LineSeen, PieceSeen, Understanding
from tiling.shapes import Box, Path, Point

__all__ = ["NEAR", "PlaceUnclear", "corrected", "told_alone"]

NEAR = 2.0
"""mm; a line that passes so near to a place is meant by it."""

_SAME = 0.3
"""mm; lines that pass this near to each other there and run alike are one to the eye."""

_OUTLINES = frozenset({Role.CUTTING, Role.STITCHING, Role.FOLD})


class PlaceUnclear(ValueError):
    """A place that hits no line, or several, or a look that no line has; `line` is what the notes say."""

    def __init__(self, line: PointedLine, words: str) -> None:
        super().__init__(words)
        self.line = line


@dataclass(frozen=True, slots=True, eq=False)
class _Target:
    """A line that can be meant: of a piece, one of its outline's edges, its whole outline, or a line in it."""

    piece: int
    path: Path
    edge: EdgeSeen | None = None
    mark: int = -1


def corrected(pattern: Pattern, seen: Understanding, pointers: Sequence[PointedLine]) -> Understanding:
    """What was seen, with what the notes say of it put over it, in their order.

    A pointer with a piece's name and the role of a cutting line, and no name of its own, names the piece whose outline
    passes there; one with a name names the edge between two corners. All others say what one line is.

    Raises:
        PlaceUnclear: no line passes within `NEAR` mm of a place, or several do; or no line is on the layer or of the
            colour.
    """
    pieces = list(seen.pieces)
    for pointer in pointers:
        if pointer.at is None:
            _by_look(pattern, pieces, pointer)
        else:
            target = _target(pattern, pieces, pointer)
            pieces[target.piece] = _said(pieces[target.piece], target, pointer)
    return replace(seen, pieces=tuple(pieces))


def told_alone(seen: Understanding) -> Understanding:
    """Only what the notes say of lines: for a drawing that says itself what its pieces and lines are."""
    pieces = [
        replace(
            piece,
            lines=tuple(line for line in piece.lines if line.role.why == TOLD),
            edges=tuple(edge for edge in piece.edges if edge.name.why == TOLD),
        )
        for piece in seen.pieces
    ]
    return replace(seen, pieces=tuple(pieces))


def _target(pattern: Pattern, pieces: Sequence[PieceSeen], pointer: PointedLine) -> _Target:
    at = pointer.laid
    assert at is not None
    here = shapely.Point(at.x, at.y)
    found = sorted(
        ((_distance(target.path, here), k, target) for k, target in enumerate(_targets(pattern, pieces, pointer))),
        key=lambda one: one[:2],
    )
    where = f"{in_cm(at.x)} from the left and {in_cm(at.y)} from the top"
    near = [one for one in found if one[0] <= NEAR]
    if not near:
        far = sorted(((_apart(target.path, here), k, target) for _, k, target in found), key=lambda one: one[:2])
        nearest = [f"; the nearest, {_words(pieces, target)}, is {off:.0f} mm off" for off, _, target in far[:1]]
        raise PlaceUnclear(pointer, f"no line passes {where}{''.join(nearest)}")
    first = near[0][2]
    others = [target for _, _, target in near[1:] if not _alike(first.path, target.path, here)]
    if others:
        words = f"{_words(pieces, first)} and {_words(pieces, others[0])}"
        raise PlaceUnclear(pointer, f"more than one line passes {where}: {words}; point where only one is")
    return first


def _targets(pattern: Pattern, pieces: Sequence[PieceSeen], pointer: PointedLine) -> list[_Target]:
    """The lines that a pointer of its kind can mean."""
    found: list[_Target] = []
    whole = pointer.role == Role.CUTTING and not pointer.name
    edges = pointer.role in _OUTLINES and not whole
    for k, piece in enumerate(pieces):
        if whole:
            found.append(_Target(k, piece.ring))
        if edges:
            found += [_Target(k, edge.path, edge) for edge in piece.edges]
        if not whole:
            own = set(piece.outline.marks) | {mark for edge in piece.edges for mark in edge.marks if edges}
            found += [
                _Target(k, sub, mark=index)
                for index in piece.marks()
                if index not in own and isinstance(mark := pattern.marks[index], Line)
                for sub in mark.path.subpaths()
                if len(sub) > 1
            ]
    return found


def _distance(path: Path, here: shapely.Point) -> float:
    box = path.hull.grown(NEAR + 30.0)
    if not box.holds(Point(here.x, here.y)):
        off = box.apart(Box(here.x, here.y, here.x, here.y))
        return off + NEAR + 30.0
    return _apart(path, here)


def _apart(path: Path, here: shapely.Point) -> float:
    apart = [float(shapely.LineString(line).distance(here)) for line in path.flatten(0.1) if len(line) > 1]
    return min(apart, default=float("inf"))


def _alike(one: Path, other: Path, here: shapely.Point) -> bool:
    """Whether two lines run together there: a fill and its stroke, a fold drawn over an outline."""
    around = here.buffer(4 * NEAR)
    lines = [shapely.MultiLineString([li for li in path.flatten(0.1) if len(li) > 1]).intersection(around)
             for path in (one, other)]  # fmt: skip
    return all(not line.is_empty for line in lines) and float(shapely.hausdorff_distance(*lines)) < 2 * _SAME


def _words(pieces: Sequence[PieceSeen], target: _Target) -> str:
    piece = pieces[target.piece]
    if target.edge is not None:
        return f"the edge '{target.edge.name.value}' of {piece.title.value}"
    if target.mark < 0:
        return f"the outline of {piece.title.value}"
    line = next((line for line in piece.lines if target.mark in line.marks), None)
    return f"a {role_words(line.role.value) if line is not None else 'line'} in {piece.title.value}"


def _said(piece: PieceSeen, target: _Target, pointer: PointedLine) -> PieceSeen:
    """The piece with what a pointer says of the line it means."""
    if target.edge is not None:
        return _of_edge(piece, target.edge, pointer)
    if target.mark < 0:
        sure = LineSeen(piece.outline.marks, Guess(Role.CUTTING, 1.0, TOLD))
        return replace(piece, ident=pointer.piece or piece.ident, outline=sure)
    return _of_lines(piece, [target.mark], pointer)


def _of_edge(piece: PieceSeen, edge: EdgeSeen, pointer: PointedLine) -> PieceSeen:
    on_fold = pointer.role == Role.FOLD
    name = Guess(pointer.name or ("fold" if on_fold else edge.name.value), 1.0, TOLD)
    edges = tuple(replace(one, name=name, on_fold=on_fold) if one is edge else one for one in piece.edges)
    cut = Guess(CutAs.FOLD, 1.0, TOLD) if on_fold else piece.cut
    widths = tuple(replace(one, edge=name.value) if one.edge == edge.name.value else one for one in piece.allowances)
    return replace(piece, edges=edges, cut=cut, allowances=widths)


def _of_lines(piece: PieceSeen, marks: Sequence[int], pointer: PointedLine) -> PieceSeen:
    """What was seen as one thing with a pointed mark is what the notes say; the other things stay."""
    meant = [line for line in piece.lines if set(line.marks) & set(marks)]
    whole = tuple(sorted({mark for line in meant for mark in line.marks} | set(marks)))
    named = pointer.name or next((line.name for line in meant if line.name), "")
    told = LineSeen(whole, Guess(Role(pointer.role), 1.0, TOLD), named)
    return replace(piece, lines=(*(line for line in piece.lines if line not in meant), told))


def _by_look(pattern: Pattern, pieces: list[PieceSeen], pointer: PointedLine) -> None:
    """Lines of a layer or colour: given a role each where it lies, or a piece's name to the outline among them."""
    meant = {index for index, mark in enumerate(pattern.marks) if isinstance(mark, Line) and _looks(mark, pointer)}
    if not meant:
        there = sorted({mark.tag.layer for mark in pattern.marks if mark.tag.layer})
        known = f"; its layers are {', '.join(there[:12])}" if pointer.layer and there else ""
        what = f"the layer '{pointer.layer}'" if pointer.layer else f"the colour {pointer.colour}"
        raise PlaceUnclear(pointer, f"nothing is drawn on {what}{known}")
    if pointer.piece:
        own = [k for k, piece in enumerate(pieces) if set(piece.outline.marks) <= meant]
        if own and pointer.role in {"", Role.CUTTING}:
            largest = max(own, key=lambda k: pieces[k].place.width * pieces[k].place.height)
            pieces[largest] = replace(pieces[largest], ident=pointer.piece)
            return
    for k, piece in enumerate(pieces):
        marks = sorted(meant & set(piece.marks()) - set(piece.outline.marks))
        if marks and pointer.piece in {"", piece.ident} and pointer.role:
            for mark in marks:
                piece = _of_lines(piece, [mark], pointer)  # noqa: PLW2901 - one after the other
            pieces[k] = piece


def _looks(line: Line, pointer: PointedLine) -> bool:
    if pointer.layer and line.tag.layer != pointer.layer:
        return False
    if not pointer.colour:
        return True
    stroke = line.style.stroke
    if stroke is None:
        return False
    wanted = np.array([int(pointer.colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    drawn = np.array([stroke.colour.red, stroke.colour.green, stroke.colour.blue])
    return bool(np.abs(drawn - wanted).max() < 1.5 / 255)
