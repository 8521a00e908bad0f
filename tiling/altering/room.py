"""Room on the sheet: an altered piece must not lie on its neighbour, on loose words, nor beyond the sheet."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from calibrate.run import Run
from tiling.altering.piece_geometry import piece_geometry
from tiling.failures import InputUnfit
from tiling.marks import LOOSE, MOST_LOOSE, background, clusters, mark_shape
from tiling.pattern import Line, Mark, Pattern
from tiling.shapes import Affine, Box, Size
from tiling.shapes.regions import polygon_of, ring_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["with_room"]

GAP = 5.0
"""Gap left between a piece that had to move and the others, mm."""

STEP = 5.0
NEAR = 1.0
"""An altered piece nearer than this to loose marks, mm, is too near."""

_FARTHEST = 4000.0
_NEARBY = 60.0


def with_room(before: Pattern, pattern: Pattern, altered: Collection[str], run: Run = Run()) -> Pattern:
    """The pattern with room made on its sheet.

    Altered pieces are moved off their neighbours by the shortest way. Loose marks, such as a heading or a key of
    lines, that a piece now comes to lie on move out of its way as groups. The sheet is grown to hold all. What lies
    clear stays exactly where it is.

    Args:
        before: the pattern before it was altered: what lay under or around a piece there may do so further.
        pattern: the altered pattern.
        altered: ids of the pieces cut.
        run: asked at every piece and loose group, and every step of the search for room, whether to go on.
    """
    printed, shapes = _shapes(before), _shapes(pattern)
    marks: list[Mark] = list(pattern.marks)
    groups = _loose_groups(pattern, list(printed.values()))
    loose = {group: _together(pattern, group) for group in groups}
    for ident in (piece.ident for piece in pattern.pieces if piece.ident in altered and piece.ident in shapes):
        others = [shape for other, shape in shapes.items() if other != ident]
        if _lies_clear(shapes[ident], others, 0.0):
            continue
        shift = _clear(shapes[ident], others, run) or (_FARTHEST, 0.0)
        _move(marks, [index for index, mark in enumerate(marks) if mark.tag.piece == ident], shift)
        shapes[ident] = _moved(shapes[ident], shift)
    ways = [_way(printed[ident], shape) for ident, shape in shapes.items() if ident in altered and ident in printed]
    moved = {index for index, mark in enumerate(marks) if mark.tag.piece in altered}
    for group in groups:
        run.check()
        others = [*shapes.values(), *(shape for other, shape in loose.items() if other != group)]
        shift = _out_of_the_way(loose[group], ways, others, run)
        if any(shift):
            _move(marks, group, shift)
            loose[group] = _moved(loose[group], shift)
            moved.update(group)
    return _grown(pattern, marks, moved)


def _way(before: BaseGeometry, after: BaseGeometry) -> BaseGeometry:
    """The area that the altered piece may cover in a reprint: as it is now, or with one side where it was before."""
    from shapely import unary_union  # noqa: PLC0415

    here, there = after.bounds, before.bounds
    x_shifts, y_shifts = ({0.0, *(there[side] - here[side] for side in sides)} for sides in ((0, 2), (1, 3)))
    return unary_union([_moved(after, (x, y)) for x in sorted(x_shifts) for y in sorted(y_shifts)])


def _out_of_the_way(
    group: BaseGeometry, ways: Sequence[BaseGeometry], others: Sequence[BaseGeometry], run: Run
) -> tuple[float, float]:
    """By how much loose marks move: out of every way where that is near, else off the pieces as they lie."""
    shift = (0.0, 0.0)
    if any(_overlap(group, way, NEAR) for way in ways):
        shift = _clear(group, [*ways, *others], run, _NEARBY) or shift
    if not any(shift) and any(_overlap(group, other, NEAR) for other in others):
        shift = _clear(group, others, run) or shift
    return shift


def _move(marks: list[Mark], which: Sequence[int], shift: tuple[float, float]) -> None:
    move = Affine.shift(*shift)
    for index in which:
        marks[index] = marks[index].moved(move)


def _loose_groups(pattern: Pattern, pieces: Sequence[BaseGeometry]) -> list[tuple[int, ...]]:
    """Marks of no piece that lay beside the pieces before, by their index; those near each other in one group."""
    loose = [index for index, mark in enumerate(pattern.marks) if not mark.tag.piece]
    if len(loose) > MOST_LOOSE:
        return []
    shapes = {index: mark_shape(pattern.marks[index]) for index in loose}
    free = [index for index in loose if not shapes[index].is_empty and not background(shapes[index], pieces, NEAR)]
    return [tuple(free[k] for k in cluster) for cluster in clusters([shapes[index] for index in free], LOOSE)]


def _together(pattern: Pattern, group: Sequence[int]) -> BaseGeometry:
    """The area that a group covers, 0.5 mm around its lines."""
    from shapely import unary_union  # noqa: PLC0415

    return unary_union([mark_shape(pattern.marks[index]).buffer(0.5) for index in group])


def _shapes(pattern: Pattern) -> dict[str, BaseGeometry]:
    shapes = {}
    for piece in pattern.pieces:
        try:
            outline = piece_geometry(pattern, piece.ident).outline
        except InputUnfit:
            continue  # A group without a closed outline takes no room.
        shapes[piece.ident] = polygon_of(ring_of(outline, 0.2))
    return shapes


def _clear(
    shape: BaseGeometry, others: Sequence[BaseGeometry], run: Run, farthest: float = _FARTHEST
) -> tuple[float, float] | None:
    """The shortest shift along one axis after which the shape lies clear of the others and on the sheet."""
    for distance in (STEP * i for i in range(1, int(farthest / STEP))):
        run.check()
        for shift in ((distance, 0.0), (0.0, distance), (-distance, 0.0), (0.0, -distance)):
            if _lies_clear(_moved(shape, shift), others, GAP):
                return shift
    return None


def _lies_clear(shape: BaseGeometry, others: Sequence[BaseGeometry], gap: float) -> bool:
    """Whether the shape lies on the sheet and off the others; without a gap they may touch."""
    x0, y0, *_ = shape.bounds
    return bool(x0 >= 0 and y0 >= 0) and not any(_overlap(shape, other, gap) for other in others)


def _overlap(shape: Any, other: Any, gap: float) -> bool:
    if gap:
        return bool(shape.distance(other) < gap)
    return bool(shape.intersection(other).area > 1.0)


def _moved(shape: Any, shift: tuple[float, float]) -> Any:
    from shapely.affinity import translate  # noqa: PLC0415

    return translate(shape, *shift)


def _grown(pattern: Pattern, marks: Sequence[Mark], changed: Collection[int]) -> Pattern:
    """The sheet made larger to the right and below where changed marks pass its edge."""
    result = pattern.with_marks(marks)
    around = Box.around(_seen(marks[index]) for index in sorted(changed))
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
