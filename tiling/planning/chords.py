"""Many paths as straight chords at once, with the tips of their mitred corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tiling.shapes import Op, Path
from tiling.shapes.curves import chord_counts, counted_off
from tiling.shapes.paths import POINTS_OF

__all__ = ["Chords", "Thin", "chords_of", "outlines_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Thin:
    """A stroked path: half its width in mm, and its mitre limit (0: corners are not mitred)."""

    path: Path
    half: float
    mitre_limit: float


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """Straight pieces of strokes from (x0, y0) to (x1, y1), mm, each with half its stroke's width; (n,) each."""

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    half: Floats

    @classmethod
    def joined(cls, parts: Sequence[Chords]) -> Chords:
        """All of them in one."""
        columns = ([getattr(part, name) for part in parts] for name in ("x0", "y0", "x1", "y1", "half"))
        return cls(*(np.concatenate(column) for column in columns))


def chords_of(strokes: Sequence[Thin], tolerance: float) -> Chords:
    """The strokes as chords that lie within `tolerance` of their curves; half widths are enlarged by as much.

    The tip of a mitred corner comes as three chords without width.
    """
    ops = np.concatenate([stroke.path.ops for stroke in strokes])
    points = np.concatenate([stroke.path.points for stroke in strokes])
    lengths = [len(stroke.path.ops) for stroke in strokes]
    x, y, owner = _flattened(ops, points, tolerance)
    begins = ops[owner] == Op.MOVE
    keep = ~begins
    # Chords without length go, but for one straight after a MOVE: it may be all there is, a dot.
    keep[1:] &= (x[1:] != x[:-1]) | (y[1:] != y[:-1]) | begins[:-1]
    to = np.flatnonzero(keep)
    half = np.repeat([stroke.half for stroke in strokes], lengths)
    of = owner[to]
    chords = Chords(x[to - 1], y[to - 1], x[to], y[to], half[of] + tolerance)
    limits = [stroke.mitre_limit for stroke in strokes]
    if max(limits) <= 1:
        return chords
    tips = _mitre_tips(chords, of, ops, np.repeat(limits, lengths), tolerance)
    return Chords.joined([chords, tips]) if len(tips.half) else chords


def outlines_of(rings: Sequence[Floats], tolerance: float) -> Chords:
    """The outlines of fills, each ring closed, as chords without width but `tolerance`."""
    start = np.concatenate(rings)
    end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    return Chords(start[:, 0], start[:, 1], end[:, 0], end[:, 1], np.full(len(start), tolerance))


def _flattened(ops: NDArray[np.uint8], points: Floats, tolerance: float) -> tuple[Floats, Floats, Ints]:
    """Points along all paths in order (a MOVE gives its point): x, y, and the step each belongs to."""
    used = POINTS_OF[ops]
    offset = np.cumsum(used) - used
    first = np.maximum.accumulate(np.where(ops == Op.MOVE, offset, 0))
    target = np.minimum(np.where(ops == Op.CLOSE, first, offset), len(points) - 1)
    curved = np.flatnonzero(ops == Op.CURVE)
    if not len(curved):
        return points[target, 0], points[target, 1], np.arange(len(ops))
    at = offset[curved]
    p0, p1, p2, p3 = (points[at + k] for k in (-1, 0, 1, 2))
    cubic, square, linear = p3 - p0 + 3 * (p1 - p2), 3 * (p0 - 2 * p1 + p2), 3 * (p1 - p0)
    chords = chord_counts(np.stack([p0, p1, p2, p3], axis=1), tolerance)
    count = np.ones(len(ops), dtype=np.intp)
    count[curved] = chords

    owner = np.repeat(np.arange(len(ops)), count)
    which, step = counted_off(chords)
    last = step + 1 == chords[which]
    t = (step + 1) / chords[which]
    bent = ops[owner] == Op.CURVE
    spots = []
    for axis in (0, 1):
        a, b, c, d = (np.ascontiguousarray(v[:, axis])[which] for v in (cubic, square, linear, p0))
        along = ((a * t + b) * t + c) * t + d
        along[last] = p3[:, axis]
        spot = points[target, axis][owner]
        spot[bent] = along
        spots.append(spot)
    return spots[0], spots[1], owner


def _mitre_tips(chords: Chords, of: Ints, ops: NDArray[np.uint8], limit: Floats, tolerance: float) -> Chords:
    """Chords over the part of each mitred corner that lies beyond the round of half the width.

    With directions d and e before and after a corner that turns by w, the tip lies half / cos(w/2) from the corner,
    along d - e, and is drawn where 1 / cos(w/2) is at most the mitre limit (ISO 32000-1, 8.4.3.5).
    """
    before, after = _corners(of, ops)
    wanted = limit[of[before]] > 1
    before, after = before[wanted], after[wanted]
    d = np.column_stack([chords.x1[before] - chords.x0[before], chords.y1[before] - chords.y0[before]])
    e = np.column_stack([chords.x1[after] - chords.x0[after], chords.y1[after] - chords.y0[after]])
    long = np.hypot(*d.T) * np.hypot(*e.T)
    cosine = np.clip((d[:, 0] * e[:, 0] + d[:, 1] * e[:, 1]) / np.where(long > 0, long, 1.0), -1.0, 1.0)
    half_turn = np.sqrt((1 + cosine) / 2)
    half = chords.half[before]
    sharp = (long > 0) & (half_turn * limit[of[before]] >= 1.0) & (half > half_turn * (half + tolerance))
    d, e, half, half_turn, before = (v[sharp] for v in (d, e, half, half_turn, before))
    d = d / np.hypot(*d.T)[:, None]
    e = e / np.hypot(*e.T)[:, None]
    corner = np.column_stack([chords.x1[before], chords.y1[before]])
    out = (d - e) / np.hypot(*(d - e).T)[:, None]
    tip = np.tile(corner + out * (half / half_turn)[:, None], (3, 1))
    side = (half * np.sign(d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]))[:, None]
    shoulders = [corner + side * np.column_stack([v[:, 1], -v[:, 0]]) for v in (d, e)]
    start = np.concatenate([corner, *shoulders])
    return Chords(start[:, 0], start[:, 1], tip[:, 0], tip[:, 1], np.full(len(start), tolerance))


def _corners(of: Ints, ops: NDArray[np.uint8]) -> tuple[Ints, Ints]:
    """Chords before and after each corner: where one step ends and the next of its subpath begins."""
    subpath_of = np.cumsum(ops == Op.MOVE)
    subpath = subpath_of[of]
    before = np.flatnonzero((of[1:] != of[:-1]) & (subpath[1:] == subpath[:-1]))
    # The corner where a closed subpath meets its own start.
    firsts = np.flatnonzero(np.diff(subpath, prepend=-1))
    lasts = np.append(firsts[1:], len(of))[: len(firsts)] - 1
    shut = np.isin(subpath[lasts], subpath_of[ops == Op.CLOSE])
    return np.append(before, lasts[shut]), np.append(before + 1, firsts[shut])
