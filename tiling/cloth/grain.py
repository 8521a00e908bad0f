"""The grain of a piece, and which way along it the nap runs: as its arrow points, or else as the drawing stands.

An arrow with a head at one end says a direction. One with heads at both ends, or none, says a line only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from tiling.outlines import PieceOutline
from tiling.pattern import Finding, FindingKind, Line, Pattern, Role
from tiling.shapes import Point
from tiling.shapes.chains import chains_of
from tiling.shapes.curves import Array
from tiling.shapes.polylines import nearest_places
from tiling.shapes.straights import Straight, longest_stretch

__all__ = ["Grain", "GrainBasis", "grain_findings", "grains_of"]

_BESIDE = 0.3
"""mm beside the shaft from which a point is no longer on it."""

_HEAD = 0.6
"""A head is at most this share of its shaft long …"""

_LARGEST_HEAD = 40.0
"""… and no longer than this, mm."""

_NEAR = 2.0
"""mm; what is drawn no farther from the shaft's end belongs to it."""


class GrainBasis(StrEnum):
    """What a piece's grain was taken from."""

    ARROW = "the arrowhead of its grainline"
    LINE = "its grainline, top of the drawing first"
    FOLD = "its fold line"
    UPRIGHT = "the drawing's upright"


@dataclass(frozen=True, slots=True)
class Grain:
    """A piece's grain, pointing the way of the nap, and what it was taken from."""

    line: Straight
    basis: GrainBasis


def grains_of(pattern: Pattern, outlines: Sequence[PieceOutline]) -> dict[str, Grain]:
    """The grain of each piece by its id.

    A piece without an arrowhead runs as those with one do where these agree (down the drawing, say), else up.
    """
    grains = {outline.piece: _grain(pattern, outline) for outline in outlines}
    arrows = [grain.line for grain in grains.values() if grain.basis is GrainBasis.ARROW]
    if arrows and all(arrow == arrow.downwards() for arrow in arrows):
        grains = {
            piece: grain if grain.basis is GrainBasis.ARROW else replace(grain, line=grain.line.downwards())
            for piece, grain in grains.items()
        }
    return grains


def grain_findings(pattern: Pattern, outlines: Sequence[PieceOutline]) -> Iterator[Finding]:
    """One for each piece without a grainline: what was taken in its place."""
    for outline in outlines:
        basis = _grain(pattern, outline).basis
        if basis in {GrainBasis.FOLD, GrainBasis.UPRIGHT}:
            yield Finding(
                FindingKind.GRAINLINE_MISSING,
                f"no grainline is drawn; it is laid with {basis.value} along the selvedge. Draw a grainline to say "
                "otherwise.",
                f"piece '{outline.piece}'",
            )


def _grain(pattern: Pattern, outline: PieceOutline) -> Grain:
    """As drawn, up the drawing where no arrowhead says which way."""
    lines = pattern.lines(piece=outline.piece)
    shaft = longest_stretch(line.path for line in lines if line.tag.role is Role.GRAINLINE)
    if shaft is not None:
        heads = [_has_head(lines, shaft), _has_head(lines, Straight(shaft.end, shaft.start))]
        if heads == [True, False]:
            return Grain(Straight(shaft.end, shaft.start), GrainBasis.ARROW)
        if heads == [False, True]:
            return Grain(shaft, GrainBasis.ARROW)
        return Grain(_upwards(shaft), GrainBasis.LINE)
    fold = longest_stretch([outline.fold.path]) if outline.fold else None
    if fold is not None:
        return Grain(_upwards(fold), GrainBasis.FOLD)
    return Grain(Straight(Point(0.0, 1.0), Point(0.0, 0.0)), GrainBasis.UPRIGHT)


def _upwards(line: Straight) -> Straight:
    down = line.downwards()
    return Straight(down.end, down.start)


def _has_head(lines: Sequence[Line], shaft: Straight) -> bool:
    """Whether an arrowhead is drawn at the shaft's start: something wider behind its foremost point than there.

    A bar across the end is as wide in front; feathers reach out beyond the shaft with their widest places.
    """
    start = np.array([shaft.start.x, shaft.start.y])
    back = np.array([shaft.direction.x, shaft.direction.y])
    across = np.array([-back[1], back[0]])
    most = min(_HEAD * shaft.length, _LARGEST_HEAD)
    drawn = [points for line in lines for points in _strokes(line)]
    near = [
        places
        for points in drawn
        for places in [np.stack([(points - start) @ back, (points - start) @ across], axis=1)]
        if np.abs(places).max() <= most and _distance(places) <= _NEAR
    ]
    if not near:
        return False
    along, beside = np.vstack(near).T
    wide = np.abs(beside) > max(_BESIDE, 0.5 * float(np.abs(beside).max()))
    if not wide.any():
        return False
    return bool(float(along[wide].min()) - min(float(along.min()), 0.0) > 0.3 * float(np.abs(beside).max()))


def _strokes(line: Line) -> Iterator[Array]:
    """What may be part of an arrowhead: each segment of the grainline's own open lines, and other shapes whole."""
    if line.tag.role not in {Role.GRAINLINE, Role.PLAIN}:
        return
    for chain, closed in chains_of(line.path):
        if closed or line.tag.role is Role.PLAIN:
            yield np.vstack([chain[0][:1], *(cubic[3:] for cubic in chain)])
        else:
            yield from (cubic[[0, 3]] for cubic in chain)


def _distance(places: Array) -> float:
    """From the shaft's end, at (0, 0), to the polyline through the places."""
    return float(nearest_places(places, np.zeros((1, 2)))[1][0])
