"""Whether a line parts a piece in two, and the refusal where it doesn't."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tiling.altering.darts import Dart
from tiling.altering.piece_geometry import CutLine, PieceGeometry
from tiling.failures import InputUnfit
from tiling.shapes import Point
from tiling.shapes.chains import Chain, Crossing, crossings, split_at
from tiling.shapes.curves import Array
from tiling.shapes.regions import distance_between, distance_to, holds, ring_of
from tiling.shapes.straights import Straight, meeting

__all__ = ["parted"]

SLACK = 1.0
"""A cut line may stop this far short of the edge (mm) and still reach it."""

_LARGE = 1e5
"""mm; larger than any piece."""


def parted(where: str, body: PieceGeometry, source: CutLine) -> tuple[Straight, list[Array]]:
    """The line from edge to edge, and the rings of both sides.

    Where the piece was cut along it before, what truing made of its edges may cross it once more; then all that lies
    on either hand of the line is a side.

    Raises:
        InputUnfit: the line doesn't part the piece in two.
    """
    step = source.line.direction * SLACK
    long = Straight(source.line.start - step, source.line.end + step)
    found = crossings(body.outline, long.start, long.end, closed=True)
    if source.beyond is not None and len(found) > 2:
        return source.line, _hands(source.line)
    if source.beyond is None:
        _refuse_through_dart(where, body.darts, long)
        _refuse_along_edge(where, body.outline, long)
    _refuse_unfit(where, body.outline, long, found)
    rings = [ring_of(part) for part in split_at(body.outline, found, closed=True)]
    ends = [_at_seam(body.darts, long, c.point) for c in sorted(found, key=lambda c: c.along)]
    return Straight(ends[0], ends[1]), rings


def _hands(line: Straight) -> list[Array]:
    """Large squares on both hands of the line."""
    on = line.direction * _LARGE
    aside = Point(-on.y, on.x)
    first, last = line.middle - on, line.middle + on
    corners = ([first, last, last + way, first + way, first] for way in (aside, -aside))
    return [np.array([(p.x, p.y) for p in ring]) for ring in corners]


def _refuse_through_dart(where: str, darts: Sequence[Dart], line: Straight) -> None:
    for dart in darts:
        if dart.met_legs(line) > 1:
            raise InputUnfit(
                f"{where} passes through both legs of the dart with its point at x = {dart.point.x:.0f} mm, "
                f"y = {dart.point.y:.0f} mm, which could not be sewn then; move it past the dart's point, beside the "
                "dart, or so that it runs into the dart's open end."
            )


def _at_seam(darts: Sequence[Dart], line: Straight, end: Point) -> Point:
    """The end of a cut that runs into a dart cut out of the piece: at the seam, where the dart is open."""
    for dart in darts:
        place = None if dart.diamond else meeting(dart.mouth, line)
        if place is not None and any(distance_to(leg, end) < 0.05 for leg in dart.legs):
            return place
    return end


def _refuse_along_edge(where: str, outline: Chain, line: Straight) -> None:
    p = np.array([line.start.x, line.start.y])
    along = np.array([line.direction.x, line.direction.y])
    across = np.array([-along[1], along[0]])
    for cubic in outline:
        reach = (cubic - p) @ along
        common = min(reach.max(), line.length) - max(reach.min(), 0.0)
        if np.abs((cubic - p) @ across).max() < 0.05 and common > 2 * SLACK + 0.5:
            raise InputUnfit(f"{where} runs along the edge of the piece; move it inside, from edge to edge.")


def _refuse_unfit(where: str, outline: Chain, line: Straight, found: Sequence[Crossing]) -> None:
    if len(found) == 2:
        if found[0].point.distance(found[1].point) < 3.0:
            raise InputUnfit(f"{where} only touches the piece at a corner; draw it through the piece.")
        return
    if len(found) > 2:
        raise InputUnfit(
            f"{where} crosses the piece more than once ({len(found)} times over its edge); "
            "draw it so that it enters and leaves once."
        )
    ring = ring_of(outline)
    step = line.direction * SLACK
    drawn = (line.start + step, line.middle, line.end - step)
    if any(holds(ring, point) and distance_to(ring, point) > 0.05 for point in drawn):
        raise InputUnfit(f"{where} ends inside the piece; draw it right through, from edge to edge.")
    if distance_between(ring, np.array([(p.x, p.y) for p in (line.start, line.end)])) < 0.1:
        raise InputUnfit(f"{where} touches the piece at one point only; draw it through the piece, from edge to edge.")
    raise InputUnfit(f"{where} misses the piece; draw it through the piece, from edge to edge.")
