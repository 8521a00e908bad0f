"""Where the paper ends along one side of the sheet, and which other lines there might be its edge.

A straight step in light is the paper's edge only when paper ends there: the same tone all the way from the marks, and
another tone or colour beyond it. What lies in between is told apart by what surrounds it: a line of toner or a rule
and the seam between two sheets have paper on both sides, fog ends with brighter paper beyond, a shadow begins softly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from calibrate.edges import (
    SLOPE_TO_HEIGHT,
    EdgeCriteria,
    EdgeLine,
    Profiles,
    SeenEdge,
    Steps,
    Track,
    edge_on,
    innermost_line,
    profiles,
    slopes,
    steps_in,
    with_depth,
)
from calibrate.run import Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.camera import Mapping
    from calibrate.photo import Photo

_ALIKE = 0.07  # paper on both sides: light beyond over light before, as a share
_TINT = 0.06  # the same for one colour over another
_SHARP = 0.35  # how much of a step lies within the edge filter, below which it is a shadow's
_BEFORE, _AFTER = (-1.8, -0.7), ((0.7, 1.8), (1.6, 2.6))
"""What is looked at on both sides of a line, mm; beyond it twice, since the line may be broad."""
_MOST_LINES = 12
_OVER_NOISE = 4.0  # standard deviations: with lower steps, chance has half the stations agree on a line
_FAINT = 0.015  # the faintest seam between two sheets, as a share of the light
_CLOSE, _CLEARER = 3.0, 1.5  # mm; contrast over contrast
_CERTAIN = 6.0  # standard errors
_CLEAR = 0.9  # mm inside the edge, before which its own blur ends
_HALO = 9.0  # pixels: what sharpening and a JPEG block's ringing reach
_BLOCKS = 18.0  # pixels: where faint lines may be the borders of JPEG blocks that hold the edge
_FEW = 6  # stations
_LEAST_GRID = 8
_APART = 2.2  # mm: a line has two flanks, and a sheet's edge a shadow beside it
_SKEWED = 0.02  # slope of one sheet's edge on another's


@dataclass(frozen=True, slots=True, eq=False)
class SheetSide:
    """The sheet's ``edge`` on one side, and the ``rivals``: lines within it that a sheet on another one would show.

    Beyond a ``brighter`` rival the paper is brighter, as where a printer's fog ends. ``passed`` are all straight lines
    that were passed over on the way to the edge, the rivals among them.
    """

    edge: SeenEdge
    rivals: tuple[SeenEdge, ...] = ()
    brighter: bool = False
    passed: tuple[SeenEdge, ...] = ()


class _Kind(Enum):
    """What a straight line across the stations is."""

    END = "the paper's end"
    LINE = "a line with paper on both sides"
    FOG = "where fog ends and paper is brighter"
    SHADE = "a soft shadow"


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """One side's stations in grey or one colour, and where they stand along the side (n,), mm."""

    pixels: NDArray[np.uint8]
    track: Track
    found: Profiles
    places: Array
    search: EdgeCriteria


def sheet_side(photo: Photo, mapping: Mapping, track: Track, run: Run = Run()) -> SheetSide | None:
    """The paper's end along a track that starts on bare paper within the sheet; None where it can't be made out.

    Raises:
        Cancelled: the run is to end.
    """
    run.check()
    grey = _view(photo.pixels, mapping, track)
    if np.isfinite(grey.found.light[:, 0]).mean() < grey.search.share:
        return None
    colours = [] if photo.colour is None else [_view(photo.colour[..., plane], mapping, track) for plane in range(3)]
    tints = _tints(colours)
    first = _ended(grey, tints)
    if not colours or (first is not None and first.edge.share >= _PLAIN and first.edge.contrast >= _STRONG):
        return first
    middle = grey.found.light[:, grey.found.light.shape[1] // 2]
    if first is None and np.isfinite(middle).mean() < grey.search.share:
        return None  # the picture ends too soon for colours to show more
    found = [] if first is None else [first]
    for view in colours:
        run.check()
        side = _ended(view, tints)
        if side is not None:
            found.append(side)
    return max(found, key=lambda s: s.edge.share * min(s.edge.contrast, 0.5), default=None)


_PLAIN, _STRONG = 0.8, 0.12  # share of the stations and contrast from which grey is good enough


def _view(pixels: NDArray[np.uint8], mapping: Mapping, track: Track) -> _View:
    found = profiles(pixels, mapping, track)
    aside = np.array([-track.ahead[1], track.ahead[0]])
    places = (track.starts - track.starts.mean(axis=0)) @ aside
    search = EdgeCriteria().at(found.pixels_per_mm)
    return _View(pixels, track, found, places, replace(search, least=max(search.least, _OVER_NOISE * _noise(found))))


def _noise(found: Profiles) -> float:
    """How high the steps are that noise makes, as a standard deviation, in parts of the light: grain in dim light."""
    count = found.light.shape[1]
    inner = found.light[:, : count // 3]
    inner = inner[np.isfinite(inner).all(axis=1)]
    if not len(inner):
        return 0.0
    height = slopes(inner) * SLOPE_TO_HEIGHT / np.maximum(np.median(inner, axis=1), 1e-3)[:, None]
    return 1.4826 * float(np.median(np.abs(height)))


def _ended(view: _View, tints: list[Array]) -> SheetSide | None:
    """The first line, going outwards, beyond which there is no paper."""
    steps = steps_in(view.found, view.search.least)
    inner: list[tuple[float, SeenEdge]] = []
    passed: list[SeenEdge] = []
    fogged = False
    for _ in range(_MOST_LINES):
        line = innermost_line(steps, view.places, view.search, nearly=0.0)
        if line is None:
            return None
        edge = edge_on(line, steps, view.places, view.track, view.search.near)
        if edge is None:
            return None
        kind = _kind(view, line, edge.contrast, tints)
        if kind is _Kind.END and _clearer_beyond(view, line, edge, steps, tints):
            kind = _Kind.LINE
        if kind is _Kind.END:
            seams, brighter = _seams(view, line)
            rivals = (*_single(inner), *seams)
            edge = with_depth(edge, 1.0 - _beyond(view, line))
            return SheetSide(edge, rivals, fogged or (brighter and not inner), (*passed, *seams))
        passed.append(edge)
        if kind is _Kind.LINE:
            inner.append((line.level, edge))
        fogged |= kind is _Kind.FOG
        steps = steps.only(steps.along > line.at(view.places[steps.station]) + 4.0 * view.search.near)
    return None


def _clearer_beyond(view: _View, line: EdgeLine, edge: SeenEdge, steps: Steps, tints: list[Array]) -> bool:
    """Whether the paper's end follows so closely that it is what a faint line, a rule beside it, was taken for."""
    further = steps.along - line.at(view.places[steps.station])
    steps = steps.only((further > 4.0 * view.search.near) & (further < _CLOSE))
    following = innermost_line(steps, view.places, view.search, nearly=0.0)
    if following is None:
        return False
    other = edge_on(following, steps, view.places, view.track, view.search.near)
    return (
        other is not None
        and other.contrast > _CLEARER * edge.contrast
        and _kind(view, following, other.contrast, tints) is _Kind.END
    )


def _single(inner: list[tuple[float, SeenEdge]]) -> list[SeenEdge]:
    """The one line on the paper, which may be a seam; several are rules or a pattern, and no seams.

    Each with how far outwards it lies, mm: where on the side it was seen says nothing.
    """
    apart: list[tuple[float, SeenEdge]] = []
    for level, edge in inner:
        # A line's two flanks are one line.
        if not apart or level - apart[-1][0] > _APART:
            apart.append((level, edge))
    return [apart[0][1]] if len(apart) == 1 else []


def _tints(colours: list[_View]) -> list[Array]:
    """Red and blue over green along every station (n, m); empty for a grey photo."""
    if not colours:
        return []
    red, green, blue = (np.maximum(view.found.light, 1e-3) for view in colours)
    return [np.log(red / green), np.log(blue / green)]


def _kind(view: _View, line: EdgeLine, contrast: float, tints: list[Array]) -> _Kind:
    """What a line is, by the light and the colour before it and beyond."""
    light = view.found.light
    before = _beside(view, line, _BEFORE, light)
    ratios = [_median(_beside(view, line, after, light) / np.maximum(before, 1e-3)) for after in _AFTER]
    tints = [one - _beside(view, line, _BEFORE, one)[:, None] for one in tints]
    changes = [[abs(_median(_beside(view, line, after, one))) for one in tints] for after in _AFTER]
    like = [abs(r - 1.0) <= _ALIKE and max(c, default=0.0) <= _TINT for r, c in zip(ratios, changes, strict=True)]
    if any(like) or not np.isfinite(ratios[0]):
        return _Kind.LINE
    if max(changes[0], default=0.0) > _TINT:
        return _Kind.END
    if ratios[0] > 1.0:
        return _Kind.FOG
    return _Kind.END if contrast >= _SHARP * (1.0 - ratios[0]) else _Kind.SHADE


def _beyond(view: _View, line: EdgeLine) -> float:
    """The light beyond a line over that before it, at most 1."""
    before = _beside(view, line, _BEFORE, view.found.light)
    ratio = _median(_beside(view, line, _AFTER[0], view.found.light) / np.maximum(before, 1e-3))
    return min(ratio, 1.0) if np.isfinite(ratio) else 1.0


def _median(values: Array) -> float:
    """The median of the finite ones; NaN where they are few."""
    kept = values[np.isfinite(values)]
    return float(np.median(kept)) if len(kept) >= _FEW else float("nan")


def _beside(view: _View, line: EdgeLine, zone: tuple[float, float], values: Array) -> Array:
    """The mean of values (n, m) on each station within a zone beside a line, mm from it, outwards."""
    depth = view.found.along[None, :] - line.at(view.places)[:, None]
    near = (depth > zone[0]) & (depth < zone[1]) & np.isfinite(values)
    count = near.sum(axis=1)
    total = np.where(near, np.nan_to_num(values), 0.0).sum(axis=1)
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))


def _seams(view: _View, line: EdgeLine) -> tuple[list[SeenEdge], bool]:
    """The one faint straight line inside the edge, and whether it is brighter beyond it; several lines are no seam."""
    height = slopes(view.found.light) * SLOPE_TO_HEIGHT
    last = line.level - max(_CLEAR, _HALO / view.found.pixels_per_mm)
    inside = view.found.along < max(last, view.found.step)
    height = height / np.maximum(np.median(view.found.light[:, inside], axis=1), 1e-3)[:, None]
    grid = np.arange(1.0, last, view.found.step)
    if len(grid) < _LEAST_GRID:
        return [], False
    tried = [(slope, *_stacked(view, height, slope, grid)) for slope in line.slope + np.linspace(-_SKEWED, _SKEWED, 21)]
    slope, mean, strength = max(tried, key=lambda one: float(one[2].max()))
    blocks = grid > line.level - _BLOCKS / view.found.pixels_per_mm
    strength = np.where(blocks, 0.5 * strength, strength)
    places = _peaks(grid, strength)
    if len(places) != 1:
        return [], False
    brighter = bool((mean[strength > 1.0] > 0.0).all())
    points = view.track.starts + (places[0] + slope * view.places)[:, None] * view.track.ahead
    return [SeenEdge(points, view.search.near, _FAINT, 1.0)], brighter


def _stacked(view: _View, height: Array, slope: float, grid: Array) -> tuple[Array, Array]:
    """The mean height of steps along a slanting line at each place, and how strong it is: over 1 is a seam."""
    rows = np.array(
        [np.interp(grid + slope * at, view.found.along, row) for at, row in zip(view.places, height, strict=True)]
    )
    rows = rows[np.isfinite(rows).all(axis=1)]
    if len(rows) < 2 * _FEW:
        return np.zeros(len(grid)), np.zeros(len(grid))
    mean = np.median(rows, axis=0)
    error = rows.std(axis=0) / np.sqrt(len(rows))
    # A soft shadow is a slope over many samples: what the slope is on both sides is taken off.
    reach = max(3, round(0.8 / view.found.step))
    before, after = np.roll(mean, reach), np.roll(mean, -reach)
    before[:reach], after[-reach:] = mean[:reach], mean[-reach:]
    # It stands out from both sides: the halo of the sheet's own edge rises on one.
    apart = np.sign(mean) * (mean - np.where(np.sign(mean) > 0, np.maximum(before, after), np.minimum(before, after)))
    return mean, np.minimum(apart / _FAINT, np.abs(mean) / np.maximum(_CERTAIN * error, 1e-6))


def _peaks(grid: Array, strength: Array) -> list[float]:
    """Places where the strength is over 1, those of one line taken together."""
    found: list[float] = []
    for index in np.flatnonzero(strength > 1.0):
        if not found or grid[index] - found[-1] > _APART:
            found.append(float(grid[index]))
    return found
