"""The pieces of a drawing as things that can be laid anew: each with everything on it, as one outline.

Pieces are known by their roles, or found: closed outlines that lie apart from each other, with all that lies in them
or touches them. What belongs to no piece (a heading, a key of lines) is gathered into loose groups that move as one.
Every mark belongs to exactly one of them, so nothing is lost when they are laid anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from tiling.failures import Action, InputUnfit, Remedy
from tiling.marks import FLATNESS, LOOSE, clusters, mark_shape
from tiling.outlines import LEAST_PIECE, outermost
from tiling.pattern import Line, Mark, Pattern
from tiling.planning.plan import Placement
from tiling.recent import Recent
from tiling.shapes import Affine, Box

__all__ = ["LayoutPiece", "find_pieces", "moves_of"]

TOUCH = 0.2
"""mm; ends of lines that meet this closely belong together."""

MOST_MARKS = 5_000
"""Marks among which pieces are told apart."""

MOST_CORNERS = 100_000
"""Corners of lines that touch each other, up to which open lines are joined to outlines."""


@dataclass(frozen=True, slots=True, eq=False)
class LayoutPiece:
    """Something that moves as one.

    Attributes:
        ident: the piece's id; ``piece-1`` … for found ones, ``loose-1`` … for marks of no piece.
        title: for people.
        marks: indices into the pattern's marks.
        outline: a polygon without holes that holds all its ink, mm.
        body: the closed outline alone; empty for loose marks.
    """

    ident: str
    title: str
    marks: tuple[int, ...]
    outline: BaseGeometry
    body: BaseGeometry


def find_pieces(pattern: Pattern) -> tuple[LayoutPiece, ...]:
    """The pieces, in the drawing's order where roles name them, else from the top left; then the loose groups.

    A drawing of more than `MOST_MARKS` marks without roles is left as one loose group: it is no sheet of outlines.
    """
    return _recent.get((pattern,), None, lambda: _pieces(pattern))


_recent: Recent[tuple[LayoutPiece, ...]] = Recent(4)
"""One drawing is planned for paper after paper."""


def _pieces(pattern: Pattern) -> tuple[LayoutPiece, ...]:
    if not pattern.pieces and len(pattern.marks) > MOST_MARKS:
        return (_piece("loose-1", "", range(len(pattern.marks)), pattern.marks, ()),)
    shapes = [mark_shape(mark) for mark in pattern.marks]
    groups, titles = (_named if pattern.pieces else _found)(pattern, shapes)
    taken = {index for group in groups.values() for index in group}
    loose = _loose_groups([index for index in range(len(shapes)) if index not in taken], shapes)
    pieces = [_piece(ident, titles.get(ident, ident), group, pattern.marks, shapes) for ident, group in groups.items()]
    for number, group in enumerate(loose, start=1):
        pieces.append(_piece(f"loose-{number}", "", group, pattern.marks, shapes))
    return tuple(pieces)


def moves_of(pattern: Pattern, placements: Sequence[Placement]) -> dict[int, Affine]:
    """For each mark that is laid anew (index into the marks), its move.

    Raises:
        InputUnfit: the placements are of another drawing; the message names the pieces that don't fit.
    """
    pieces = {piece.ident: piece for piece in find_pieces(pattern)}
    wanted = {placement.piece for placement in placements}
    missing, unplaced = sorted(wanted - set(pieces)), sorted(set(pieces) - wanted)
    if missing or unplaced:
        parts = [f"it has no piece '{missing[0]}'"] if missing else []
        parts += [f"its piece '{unplaced[0]}' has no place there"] if unplaced else []
        raise InputUnfit(
            f"{pattern.source}: the places kept in the printed file are of another drawing: {' and '.join(parts)}",
            Remedy(Action.ARRANGE_ANEW),
        )
    return {index: placement.move for placement in placements for index in pieces[placement.piece].marks}


def _named(pattern: Pattern, shapes: Sequence[BaseGeometry]) -> tuple[dict[str, list[int]], dict[str, str]]:
    """Pieces by roles; marks without a piece that lie in one or touch it go with it."""
    groups = {piece.ident: list(piece.marks) for piece in pattern.pieces}
    titles = {piece.ident: piece.title for piece in pattern.pieces}
    bodies = {ident: _body([shapes[index] for index in group]) for ident, group in groups.items()}
    free = [index for index, mark in enumerate(pattern.marks) if not mark.tag.piece]
    _attach(free, shapes, bodies, groups)
    return groups, titles


def _found(pattern: Pattern, shapes: Sequence[BaseGeometry]) -> tuple[dict[str, list[int]], dict[str, str]]:
    """Closed outlines that lie apart, from the top left, each with what lies in it."""
    lines = [index for index, mark in enumerate(pattern.marks) if isinstance(mark, Line) and mark.style.leaves_ink]
    bodies = []
    for cluster in clusters([shapes[index] for index in lines], TOUCH):
        group = [lines[k] for k in cluster]
        body = _body([shapes[index] for index in group])
        if body.area >= LEAST_PIECE:
            bodies.append((body, group))
    hosts = outermost([body for body, _ in bodies])
    for host, (_, group) in zip(hosts, bodies, strict=True):
        if bodies[host][1] is not group:
            bodies[host][1].extend(group)
    outer = [pair for number, pair in enumerate(bodies) if hosts[number] == number]
    outer.sort(key=lambda pair: (round(pair[0].bounds[1]), pair[0].bounds[0]))
    groups = {f"piece-{number}": group for number, (_, group) in enumerate(outer, start=1)}
    taken = {index for group in groups.values() for index in group}
    free = [index for index in range(len(shapes)) if index not in taken]
    _attach(free, shapes, {ident: body for ident, (body, _) in zip(groups, outer, strict=True)}, groups)
    return groups, {ident: ident.replace("-", " ") for ident in groups}


def _attach(
    free: Sequence[int],
    shapes: Sequence[BaseGeometry],
    bodies: Mapping[str, BaseGeometry],
    groups: dict[str, list[int]],
) -> None:
    """Give each free mark to the smallest piece it lies in or touches."""
    idents = sorted(bodies, key=lambda ident: (bodies[ident].area, ident))
    if not idents or not free:
        return
    tree = shapely.STRtree([shapes[index] for index in free])
    left = set(free)
    for ident in idents:
        if bodies[ident].is_empty:
            continue
        for k in sorted(tree.query(bodies[ident].buffer(TOUCH), predicate="intersects").tolist()):
            if free[k] in left:
                left.discard(free[k])
                groups[ident].append(free[k])


def _loose_groups(free: Sequence[int], shapes: Sequence[BaseGeometry]) -> list[list[int]]:
    filled = [index for index in free if not shapes[index].is_empty]
    if len(filled) > MOST_MARKS:
        return [filled]
    return [[filled[k] for k in cluster] for cluster in clusters([shapes[index] for index in filled], LOOSE)]


def _body(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """The area that lines enclose together, holes filled; empty where they enclose none."""
    lines = [shape for shape in shapes if shape.geom_type.endswith("LineString")]
    if sum(int(shapely.get_num_coordinates(line)) for line in lines) > MOST_CORNERS:
        # Finding every crossing would take minutes; outlines that are closed by themselves must do.
        runs = [run for line in lines for run in shapely.get_parts(line).tolist() if run.is_ring]
        return _filled(shapely.unary_union([shapely.Polygon(run).buffer(0) for run in runs]))
    noded = shapely.unary_union(lines)
    # Ends that nearly meet are joined by snapping to a grid of hundredths.
    noded = shapely.set_precision(noded, 0.01) if not noded.is_empty else noded
    parts = shapely.get_parts(noded).tolist()
    return _filled(shapely.unary_union(list(shapely.get_parts(shapely.polygonize(parts)))))


def _filled(shape: BaseGeometry) -> BaseGeometry:
    polygons = [
        shapely.Polygon(part.exterior) for part in shapely.get_parts(shape).tolist() if part.geom_type == "Polygon"
    ]
    return shapely.unary_union(polygons)


def _piece(
    ident: str, title: str, group: Iterable[int], marks: Sequence[Mark], shapes: Sequence[BaseGeometry]
) -> LayoutPiece:
    indices = tuple(sorted(group))
    if len(indices) > MOST_MARKS:
        around = Box.around(marks[index].reach() for index in indices) or Box(0.0, 0.0, 1.0, 1.0)
        outline = shapely.box(around.x0, around.y0, around.x1, around.y1)
        return LayoutPiece(ident, title, indices, outline, shapely.Polygon())
    body = _body([shapes[index] for index in indices])
    beyond: list[Any] = [body]
    for index in indices:
        mark, shape = marks[index], shapes[index]
        stroke = mark.style.stroke if isinstance(mark, Line) else None
        width = stroke.width / 2 if stroke else 0.0
        if width or not body.covers(shape):
            beyond.append(shape.buffer(width + FLATNESS, quad_segs=2))
    whole = shapely.unary_union(beyond)
    reach = 1.0
    while whole.geom_type != "Polygon" and reach < 100.0:
        # Bridge what lies a little apart, such as a label beside its piece; concave corners stay otherwise as they are.
        closed = whole.buffer(reach).buffer(-reach)
        whole = shapely.unary_union([whole, closed])
        reach *= 2
    outline = _filled(whole if whole.geom_type == "Polygon" else whole.convex_hull)
    return LayoutPiece(ident, title, indices, outline, body)
