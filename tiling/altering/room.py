"""Room on the sheet: an altered piece must not lie on its neighbour, on loose words, nor beyond the sheet."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from calibrate.run import Run
from tiling.altering.piece_geometry import piece_geometry
from tiling.failures import InputUnfit
from tiling.marks import LOOSE, MOST_LOOSE, background, clusters, mark_shape
from tiling.pattern import Line, Mark, Pattern
from tiling.shapes import Affine, Box, Point, Size
from tiling.shapes.regions import polygon_of, ring_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["with_room"]

GAP = 5.0
"""Gap left between a piece that had to move and the others, mm."""

STEP = 5.0
NEAR = 1.0
"""An altered piece nearer than this to another one or to loose marks, mm, is too near, unless it was before."""
_TOUCH = 1.0
"""mm²; pieces drawn with a common edge overlap by no more."""

_FARTHEST = 4000.0
_HAIR = 1e-6
_NEARBY = 60.0


@dataclass(frozen=True, slots=True)
class _Body:
    """What is to be moved: its shape, and the corner that must stay on the sheet (0, 0 and beyond)."""

    shape: BaseGeometry
    corner: Point

    def on_sheet(self, shift: tuple[float, float]) -> bool:
        """Whether it lies there after the shift."""
        return self.corner.x + shift[0] > -_HAIR and self.corner.y + shift[1] > -_HAIR


def with_room(before: Pattern, pattern: Pattern, altered: Collection[str], run: Run = Run()) -> Pattern:
    """The pattern with room made on its sheet.

    Altered pieces are moved off their neighbours, and back onto the sheet, by the shortest way. Loose marks, such as a
    heading or a key of lines, that a piece now comes to lie on move out of its way as groups. The sheet is grown to
    hold all. What lies clear stays exactly where it is.

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
        corner = _corner(before, marks, ident)
        off_sheet = min(corner.x, corner.y) < -_HAIR
        if not off_sheet and not any(_crowds(printed, shapes, ident, other) for other in shapes):
            continue
        back = (max(-corner.x, 0.0), max(-corner.y, 0.0))
        shift = _clear(_Body(shapes[ident], corner), others, run, first=back) or (_FARTHEST, 0.0)
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


def _corner(before: Pattern, marks: Sequence[Mark], ident: str) -> Point:
    """The upper left corner of all the piece's marks, seen from that of the sheet, or from where it was beyond that."""
    there, here = (
        Box.around(_seen(mark) for mark in all_marks if mark.tag.piece == ident) for all_marks in (before.marks, marks)
    )
    if there is None or here is None:
        return Point(0.0, 0.0)
    return here.corner - Point(min(there.x0, 0.0), min(there.y0, 0.0))


def _crowds(before: Mapping[str, BaseGeometry], now: Mapping[str, BaseGeometry], ident: str, other: str) -> bool:
    """Whether the piece now lies on another one, or as good as touches it, and didn't before."""
    if ident == other or now[ident].distance(now[other]) >= NEAR:
        return False
    if ident not in before or other not in before or before[ident].distance(before[other]) >= NEAR:
        return True
    common = before[ident].intersection(before[other]).area
    return bool(now[ident].intersection(now[other]).area > common + _TOUCH)


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
    body = _Body(group, Point(*group.bounds[:2]))
    if any(_nearer(group, way, NEAR) for way in ways):
        shift = _clear(body, [*ways, *others], run, _NEARBY) or shift
    if not any(shift) and any(_nearer(group, other, NEAR) for other in others):
        shift = _clear(body, others, run) or shift
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
    body: _Body,
    others: Sequence[BaseGeometry],
    run: Run,
    farthest: float = _FARTHEST,
    first: tuple[float, float] = (0.0, 0.0),
) -> tuple[float, float] | None:
    """The shortest shift along one axis, after a first one, that lays the body clear of the others and on the sheet."""
    ways = ((0.0, 0.0),) if any(first) else ()
    steps = (STEP * i for i in range(1, int(farthest / STEP)))
    for right, down in (*ways, *((d * x, d * y) for d in steps for x, y in ((1, 0), (0, 1), (-1, 0), (0, -1)))):
        run.check()
        shift = (first[0] + right, first[1] + down)
        if body.on_sheet(shift) and not any(_nearer(_moved(body.shape, shift), other, GAP) for other in others):
            return shift
    return None


def _nearer(shape: Any, other: Any, gap: float) -> bool:
    return bool(shape.distance(other) < gap)


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
