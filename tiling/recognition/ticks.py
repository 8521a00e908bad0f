"""Short lines on and in a piece: notches at its edges, darts into it, buttons and drill holes within it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from tiling.pattern import Role
from tiling.recognition.inside import Inside
from tiling.recognition.near import Near
from tiling.recognition.strands import Strand
from tiling.recognition.understanding import Guess, LineSeen
from tiling.shapes.curves import Array

__all__ = ["buttons_of", "darts_of", "notches_of"]

_ON = 1.2
"""mm; an end so near to an outline was meant to lie on it."""

_LONGEST_NOTCH = 22.0
_SHORTEST_NOTCH = 1.5
_LEG = (20.0, 260.0)
_MOUTH = (4.0, 90.0)
_LARGEST_CROSS = 30.0


def notches_of(inside: Inside, strands: Sequence[Strand]) -> list[LineSeen]:
    """Ticks across an outline or stitching line, and small triangles on one."""
    found = []
    for strand in strands:
        if not _SHORTEST_NOTCH <= max(strand.box.width, strand.box.height) <= _LONGEST_NOTCH:
            continue
        if strand.closed or _is_wedge(strand):
            on = inside.from_rims(strand.line)
            if on.min() <= _ON and strand.length < 3 * _LONGEST_NOTCH and on.max() < _LONGEST_NOTCH:
                found.append(_seen([strand], Role.NOTCH, 0.85, "a small triangle on the outline"))
        elif _is_tick(inside, strand):
            found.append(_seen([strand], Role.NOTCH, 0.9, "a tick across the outline"))
    return found


def _is_tick(inside: Inside, strand: Strand) -> bool:
    placed = inside.said_of([strand], "placement") is not None
    return strand.straight and not strand.filled and not placed and _across(inside, strand)


def _is_wedge(strand: Strand) -> bool:
    """Whether it is an open V: two straight stretches."""
    return not strand.closed and not strand.straight and len(strand.line) == 3


def _across(inside: Inside, strand: Strand) -> bool:
    """Whether a tick has a point on a rim and stands at more than 40 degrees to it there."""
    start, end = strand.line[0], strand.line[-1]
    places = start + np.linspace(0.0, 1.0, 9)[:, None] * (end - start)
    apart = inside.from_rims(places)
    if apart.min() > _ON or apart.max() < 0.35 * strand.length:
        return False
    at = shapely.Point(places[int(apart.argmin())])
    along = inside.rims.intersection(at.buffer(3.0))
    if along.is_empty:
        return False
    rim = shapely.get_coordinates(along)
    step = rim[-1] - rim[0]
    tick = end - start
    sine = abs(step[0] * tick[1] - step[1] * tick[0]) / max(float(np.hypot(*step) * np.hypot(*tick)), 1e-9)
    return bool(sine > np.sin(np.radians(40)))


def darts_of(inside: Inside, strands: Sequence[Strand]) -> list[LineSeen]:
    """Two straight legs that meet at a point in the piece and begin on its edge, or a slim diamond within it."""
    found, taken = [], set()
    for strand in strands:
        if strand.closed and _is_diamond(strand):
            found.append(_seen([strand], Role.PLACEMENT, 0.5, "a slim diamond, perhaps a dart"))
        elif not strand.closed and not strand.filled:
            tip = _v_of(strand)
            if tip is not None and _is_dart(inside, tip, strand.line[0], strand.line[-1]):
                found.append(_dart(inside, [strand]))
                taken.add(id(strand))
    legs = [s for s in strands if s.straight and _LEG[0] <= s.length <= _LEG[1] and id(s) not in taken]
    for one, other in _touching(legs):
        if id(one) in taken or id(other) in taken or one.look != other.look:
            continue
        met = _meeting(one, other)
        if met is not None and _is_dart(inside, *met):
            found.append(_dart(inside, [one, other]))
            taken.update((id(one), id(other)))
    return found


def _touching(legs: Sequence[Strand]) -> list[tuple[Strand, Strand]]:
    """Pairs of strands of which two ends lie together."""
    ends = Near(end for leg in legs for end in leg.line[[0, -1]])
    pairs = {(i // 2, j // 2) for i, j in ends.pairs(1.4).tolist()}
    return [(legs[i], legs[j]) for i, j in sorted(pairs) if i != j]


def _v_of(strand: Strand) -> Array | None:
    """The tip of a strand of two straight legs."""
    if len(strand.line) != 3:
        return None
    return np.asarray(strand.line[1])


def _meeting(one: Strand, other: Strand) -> tuple[Array, Array, Array] | None:
    """Where two legs meet, and their other ends."""
    for a, b in ((0, -1), (-1, 0)):
        for c, d in ((0, -1), (-1, 0)):
            if np.abs(one.line[a] - other.line[c]).max() < 1.0:
                return one.line[a], one.line[b], other.line[d]
    return None


def _is_dart(inside: Inside, tip: Array, first: Array, second: Array) -> bool:
    lengths = [float(np.hypot(*(end - tip))) for end in (first, second)]
    mouth = float(np.hypot(*(second - first)))
    if not all(_LEG[0] <= length <= _LEG[1] for length in lengths) or max(lengths) > 1.2 * min(lengths):
        return False
    if not _MOUTH[0] <= mouth <= min(_MOUTH[1], 0.9 * min(lengths)):
        return False
    off = inside.from_rims(np.array([tip, first, second]))
    return bool(off[0] > 12.0 and off[1:].max() < 3.0)


def _dart(inside: Inside, legs: Sequence[Strand]) -> LineSeen:
    said = inside.said_of(legs, "dart")
    why = f"the text '{said.text}'" if said else "two legs from an edge to a point"
    return _seen(legs, Role.DART, 0.95 if said else 0.85, why)


def _is_diamond(strand: Strand) -> bool:
    """Whether four straight sides enclose something at least three times as long as wide, as large as a dart."""
    if len(strand.line) != 5:
        return False
    box = shapely.MultiPoint(strand.line).minimum_rotated_rectangle
    if not isinstance(box, shapely.Polygon):
        return False  # a line to and fro
    corners = shapely.get_coordinates(box)
    sides = sorted(float(np.hypot(*(corners[k + 1] - corners[k]))) for k in range(2))
    return sides[0] * 3 < sides[1] and sides[0] <= _MOUTH[1] and 60.0 <= sides[1] <= 2 * _LEG[1]


def buttons_of(inside: Inside, strands: Sequence[Strand]) -> list[LineSeen]:
    """Small circles, dots and crosses well within the piece: buttons, buttonholes, drill holes."""
    found = []
    small = [
        s for s in strands if max(s.box.width, s.box.height) <= _LARGEST_CROSS and inside.from_rims(s.line).min() > 2.0
    ]
    taken: set[int] = set()
    bars = [s for s in small if not s.closed and s.straight]
    near = Near((bar.box.centre.x, bar.box.centre.y) for bar in bars)
    for strand in small:
        if strand.closed and id(strand) not in taken and _round(strand):
            centre, around = strand.box.centre, strand.box.grown(6.0)
            within = [bars[k] for k in near.at(centre.x, centre.y, max(around.width, around.height))]
            cross = [bar for bar in within if around.covers(bar.box)]
            group = [strand, *cross]
            found.append(_seen(group, Role.PLAIN, 0.85, "a small circle"))
            taken.update(map(id, group))
    lines = [s for s in small if s.straight and not s.filled and id(s) not in taken]
    for one, other in _crossed(lines):
        if id(one) not in taken and id(other) not in taken:
            found.append(_seen([one, other], Role.PLAIN, 0.8, "a small cross"))
            taken.update((id(one), id(other)))
    return found


def _crossed(lines: Sequence[Strand]) -> list[tuple[Strand, Strand]]:
    """Short lines, two and two, that halve each other at right angles."""
    if len(lines) < 2:
        return []
    ends = np.array([line.line[[0, -1]] for line in lines])
    middles, steps = ends.mean(axis=1), ends[:, 1] - ends[:, 0]
    lengths = np.hypot(*steps.T)
    pairs = Near(middles).pairs(0.15 * float(lengths.max()))
    one, other = pairs.T
    close = np.hypot(*(middles[one] - middles[other]).T) < 0.15 * np.maximum(lengths[one], lengths[other])
    square = np.abs(np.sum(steps[one] * steps[other], axis=1)) < 0.2 * lengths[one] * lengths[other]
    return [(lines[i], lines[j]) for i, j in pairs[close & square].tolist()]


def _round(strand: Strand) -> bool:
    box = strand.box
    area = abs(float(np.sum(strand.line[:-1, 0] * strand.line[1:, 1] - strand.line[1:, 0] * strand.line[:-1, 1]))) / 2
    return 0.8 < box.width / max(box.height, 1e-9) < 1.25 and 0.7 < area / (box.width * box.height) < 0.85


def _seen(strands: Sequence[Strand], role: Role, sure: float, why: str) -> LineSeen:
    return LineSeen(tuple(sorted({strand.mark for strand in strands})), Guess(role, sure, why))
