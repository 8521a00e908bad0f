"""Darts and pleats as drawn: two legs that are sewn on each other, so that what lies between them is taken away.

A dart is known by its lines' role or name, or by its shape: two legs of the same length that meet at a sharp point
inside the piece and end at its edge, or a long diamond. A pleat is known by name only. The limits are common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tiling.cloth.words import is_dart, is_pleat
from tiling.pattern import Line, Role
from tiling.shapes.chains import chains_of
from tiling.shapes.curves import Array
from tiling.shapes.polylines import nearest_places

__all__ = ["FINE", "Dart", "darts_among", "darts_of_ring", "length_of", "sharp_pairs"]

FINE = 0.005
"""mm; how finely lines are flattened to find places on them."""

_MEET = 0.5
_CORNER = 20.0
_SHARP = 120.0
"""Degrees that a line turns at the point of a dart, at least."""

_ALIKE, _ALIKE_SHARE = 5.0, 0.05
_LEAST_LEG = 25.0
_REACH = 45.0
"""mm; a leg ends no farther from the cutting line: the widest allowance that is usual."""


@dataclass(frozen=True, slots=True, eq=False)
class Dart:
    """One dart or pleat: all its lines as (n, 2) polylines, mm.

    `legs` are the two that open at the edge, each from there inwards; None for a diamond.
    """

    word: str
    lines: tuple[Array, ...]
    legs: tuple[Array, Array] | None = None


def darts_among(lines: Sequence[Line], edge: Array | None) -> tuple[tuple[Dart, ...], frozenset[int]]:
    """The darts and pleats among the lines of a piece.

    Args:
        lines: all of them.
        edge: the cutting line as a ring that repeats its start; None where the piece has none: only names tell then.

    Returns:
        The darts, and which of the lines (by index) are parts of one and of nothing else.
    """
    named = [i for i, line in enumerate(lines) if _word(line)]
    found = list(_by_name([lines[i] for i in named], edge))
    used = set(named)
    if edge is None:
        return tuple(found), frozenset(used)
    rest = [i for i, line in enumerate(lines) if line.tag.role is Role.STITCHING and i not in used]
    for run in _joined([sub for i in rest for sub in _polylines(lines[i])]):
        found += _by_shape(run, edge)
    legs = [line for dart in found for line in dart.lines]
    for i in rest:
        own = np.vstack(_polylines(lines[i]) or [np.full((1, 2), np.inf)])
        if legs and np.min([nearest_places(leg, own)[1] for leg in legs], axis=0).max() < _MEET:
            used.add(i)
    return tuple(found), frozenset(used)


def darts_of_ring(ring: Array) -> list[Dart]:
    """The darts that are cut out of a closed outline (which repeats its start): sharp hollows with legs alike."""
    return [dart for dart in sharp_pairs(ring) if _lies_outside(ring, dart)]


def _lies_outside(ring: Array, dart: Dart) -> bool:
    from shapely import Point, Polygon  # noqa: PLC0415 - heavy, and loaded when used

    assert dart.legs is not None
    one, other = dart.legs
    return not Polygon(ring).contains(Point(*((one[0] + other[0]) / 2 * 0.5 + one[-1] * 0.5)))


def length_of(line: Array) -> float:
    """Arc length of a polyline, mm."""
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def _corners_of(line: Array) -> list[tuple[int, float]]:
    """The polyline's points at which it turns by more than 20 degrees, with the turn; a ring's start counts as 0."""
    steps = np.diff(line, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    places = np.flatnonzero(lengths > 1e-9)
    units = steps[places] / lengths[places, None]
    if len(units) and _is_ring(line):
        units, places = np.vstack([units[-1:], units]), np.concatenate([[-1], places])
    turns = np.degrees(np.arccos(np.clip((units[:-1] * units[1:]).sum(axis=1), -1.0, 1.0)))
    return [(int(places[i + 1]), float(turns[i])) for i in np.flatnonzero(turns > _CORNER)]


def _is_ring(line: Array) -> bool:
    return bool(np.abs(line[0] - line[-1]).max() < _MEET) and len(line) > 3


def _polylines(line: Line) -> list[Array]:
    return [sub.flatten(FINE)[0] for sub in line.path.subpaths() if chains_of(sub)]


def _joined(runs: Sequence[Array]) -> list[Array]:
    """The polylines, those end to end that alone meet there."""
    left = [run for run in runs if not _is_ring(run)]
    whole = [run for run in runs if _is_ring(run)]
    ends = np.array([end for run in left for end in (run[0], run[-1])]).reshape(-1, 2)
    while left:
        run = left.pop()
        for turned in (False, True):
            run = run[::-1] if turned else run
            while not _is_ring(run) and int((np.linalg.norm(ends - run[-1], axis=1) < _MEET).sum()) == 2:
                index = next((i for i, one in enumerate(left) if _meets(one, run[-1])), None)
                if index is None:
                    break
                one = left.pop(index)
                run = np.vstack([run, (one if np.linalg.norm(one[0] - run[-1]) < _MEET else one[::-1])[1:]])
        whole.append(run)
    return whole


def _meets(run: Array, point: Array) -> bool:
    return bool(min(np.linalg.norm(run[0] - point), np.linalg.norm(run[-1] - point)) < _MEET)


def sharp_pairs(run: Array) -> Iterator[Dart]:
    """Each sharp corner of the run with its two legs, where they are alike, from their ends to the point."""
    corners = _corners_of(run)
    ring = _is_ring(run)
    nodes = [at for at, _ in corners] if ring else [0, *(at for at, _ in corners), len(run) - 1]
    for at, turn in corners:
        i = nodes.index(at)
        if turn < _SHARP or len(nodes) < 3:
            continue
        before, after = nodes[i - 1], nodes[(i + 1) % len(nodes)]
        one, other = _stretch(run, before, at), _stretch(run, at, after)[::-1]
        if _alike(length_of(one), length_of(other)) and length_of(one) > _LEAST_LEG:
            yield Dart("dart", (one, other), (one, other))


def _stretch(run: Array, first: int, last: int) -> Array:
    """From one index to another, round the end of a ring if need be."""
    return run[first : last + 1] if first < last else np.vstack([run[first:], run[1 : last + 1]])


def _alike(one: float, other: float) -> bool:
    return abs(one - other) <= max(_ALIKE, _ALIKE_SHARE * max(one, other))


def _by_shape(run: Array, edge: Array) -> Iterator[Dart]:
    diamond = _diamond(run)
    if diamond is not None:
        yield diamond
        return
    for dart in sharp_pairs(run):
        assert dart.legs is not None
        one, other = dart.legs
        far = nearest_places(edge, np.array([one[0], other[0], one[-1]]))[1]
        # An edge that comes to a point (a neckline) has its point as near to the cutting line as its ends.
        if max(far[:2]) <= _REACH and far[2] > max(0.3 * length_of(one), *far[:2]):
            yield dart


def _diamond(run: Array) -> Dart | None:
    """A closed line that is sharp at two points with the same way round on either side; None for any other."""
    corners = _corners_of(run) if _is_ring(run) else []
    sharp = [at for at, turn in corners if turn >= _SHARP]
    if len(sharp) != 2 or len(corners) > 4:
        return None
    halves = _stretch(run, sharp[0], sharp[1]), _stretch(run, sharp[1], sharp[0])
    return Dart("dart", halves) if _alike(*map(length_of, halves)) and length_of(halves[0]) > _LEAST_LEG else None


def _word(line: Line) -> str:
    """``dart`` or ``pleat`` where the line's role or name says so, else an empty text."""
    if line.tag.role is Role.DART:
        return "pleat" if is_pleat(line.tag.name) else "dart"
    if line.tag.role not in {Role.STITCHING, Role.PLACEMENT}:
        return ""
    return "dart" if is_dart(line.tag.name) else "pleat" if is_pleat(line.tag.name) else ""


def _by_name(lines: Sequence[Line], edge: Array | None) -> Iterator[Dart]:
    """Chains with a sharp corner are darts; lines without one are taken in pairs, as they lie along the edge."""
    for word in ("dart", "pleat"):
        own = [line for line in lines if _word(line) == word]
        single = []
        for run in _joined([sub for line in own for sub in _polylines(line)]):
            pair = max(sharp_pairs(run), key=lambda dart: length_of(dart.lines[0]), default=None)
            diamond = _diamond(run)
            if diamond is not None:
                yield diamond
            elif pair is not None:
                yield Dart(word, pair.lines, pair.legs)
            else:
                single.append(_inwards(run, edge))
        yield from _in_pairs(word, single, edge)


def _inwards(run: Array, edge: Array | None) -> Array:
    if edge is None:
        return run
    first, last = nearest_places(edge, run[[0, -1]])[1]
    return run if first <= last else run[::-1]


def _in_pairs(word: str, runs: list[Array], edge: Array | None) -> Iterator[Dart]:
    if edge is not None:
        runs = sorted(runs, key=lambda run: float(nearest_places(edge, run[:1])[0][0]))
    if len(runs) == 3:
        runs = [runs[0], runs[2]]  # The one between them is where the cloth is folded.
    for one, other in list(pairwise(runs))[::2]:
        yield Dart(word, (one, other), (one, other))
