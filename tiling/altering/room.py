"""Room on the sheet: an altered piece must not lie on its neighbour, nor beyond the sheet."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tiling.altering.anatomy import anatomy
from tiling.failures import InputUnfit
from tiling.pattern import Line, Mark, Pattern
from tiling.shapes import Affine, Box, Size
from tiling.shapes.regions import ring_of

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = ["with_room"]

GAP = 5.0
"""What is left between a piece that had to move and the others, mm."""

STEP = 5.0
_FARTHEST = 4000.0


def with_room(pattern: Pattern, altered: Collection[str]) -> Pattern:
    """The pattern with altered pieces moved off their neighbours, by the shortest way, and the sheet grown to hold all.

    Pieces that lie clear stay exactly where they are.
    """
    shapes = _shapes(pattern)
    marks: list[Mark] = list(pattern.marks)
    for ident in (piece.ident for piece in pattern.pieces if piece.ident in altered and piece.ident in shapes):
        others = [shape for other, shape in shapes.items() if other != ident]
        shift = _clear(shapes[ident], others)
        if shift is None:
            continue
        move = Affine.shift(*shift)
        marks = [mark.moved(move) if mark.tag.piece == ident else mark for mark in marks]
        shapes[ident] = _moved(shapes[ident], shift)
    return _grown(pattern, marks, altered)


def _shapes(pattern: Pattern) -> dict[str, Polygon]:
    from shapely import Polygon  # noqa: PLC0415 - heavy, and only needed here

    shapes = {}
    for piece in pattern.pieces:
        try:
            outline = anatomy(pattern, piece.ident).outline
        except InputUnfit:
            continue  # A group without a closed outline takes no room.
        shapes[piece.ident] = Polygon(ring_of(outline, 0.2)).buffer(0)
    return shapes


def _clear(shape: Polygon, others: Sequence[Polygon]) -> tuple[float, float] | None:
    """The shortest shift along one axis that frees the piece; None where it lies clear and on the sheet."""
    x0, y0, *_ = shape.bounds
    if x0 >= 0 and y0 >= 0 and not any(_overlap(shape, other, 0.0) for other in others):
        return None
    steps = int(_FARTHEST / STEP)
    for distance in (STEP * i for i in range(1, steps)):
        for shift in ((distance, 0.0), (0.0, distance), (-distance, 0.0), (0.0, -distance)):
            moved = _moved(shape, shift)
            x0, y0, *_ = moved.bounds
            if x0 >= 0 and y0 >= 0 and not any(_overlap(moved, other, GAP) for other in others):
                return shift
    return (_FARTHEST, 0.0)


def _overlap(shape: Any, other: Any, gap: float) -> bool:
    if gap:
        return bool(shape.distance(other) < gap)
    return bool(shape.intersection(other).area > 1.0)


def _moved(shape: Polygon, shift: tuple[float, float]) -> Polygon:
    from shapely.affinity import translate  # noqa: PLC0415

    moved: Polygon = translate(shape, *shift)
    return moved


def _grown(pattern: Pattern, marks: Sequence[Mark], altered: Collection[str]) -> Pattern:
    """The sheet made larger to the right and below where altered pieces pass its edge."""
    result = pattern.with_marks(marks)
    around = Box.around(_seen(mark) for mark in marks if mark.tag.piece in altered)
    if around is None or (around.x1 <= pattern.size.width and around.y1 <= pattern.size.height):
        return result
    size = Size(max(pattern.size.width, around.x1 + GAP), max(pattern.size.height, around.y1 + GAP))
    sheets = result.sheets
    if len(sheets) == 1:
        place = sheets[0].place
        sheets = (replace(sheets[0], place=Box(place.x0, place.y0, size.width, size.height)),)
    return replace(result, size=size, sheets=sheets)


def _seen(mark: Mark) -> Box:
    """A box around the mark; of a line around its middle, not its ink."""
    return mark.path.hull if isinstance(mark, Line) else mark.reach()
