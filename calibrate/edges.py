"""Find straight edges in a photo to a fraction of a pixel, in the page's own millimetres.

Brightness is turned back into linear light first: blur happens in light, so the middle of a blurred edge is
where the light is half way, not where the file's coded numbers are (that alone would make a white sheet on a
dark table a third of a pixel too wide on each side).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from calibrate.run import Run

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from calibrate.arrays import Array, Index, Mask
    from calibrate.camera import Chart
    from calibrate.photo import Photo

_SMOOTH = 1.2  # standard deviation of the edge filter, pixels
_STEP = 0.5  # sampling along a profile, pixels
_LEAST_NEAR = 0.06
SLOPE_TO_HEIGHT = float(np.sqrt(2 * np.pi)) * _SMOOTH / _STEP
"""The height of a sharp step over its steepest slope, as `slopes` gives it."""


def _linear() -> Array:
    """Linear light for each of 256 codes (IEC 61966-2-1, sRGB)."""
    code = np.arange(256) / 255.0
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


_LIGHT = _linear()


_GAMMA = 2.2  # near enough to sRGB's curve
_LEAST_BLUR, _MOST_BLUR = 0.5, 4.0


def tone_shift(edge: SeenEdge) -> float:
    """How far an edge moves, pixels, where a picture was blurred in coded values and is taken as blurred in light."""
    dark = max(1.0 - min(edge.depth or edge.contrast, 1.0), 0.0)
    middle = ((1.0 + dark ** (1.0 / _GAMMA)) / 2.0) ** _GAMMA
    return abs(float(ndtri((middle - dark) / max(1.0 - dark, 1e-3)))) * edge.blur


def with_depth(edge: SeenEdge, depth: float) -> SeenEdge:
    """The edge with its whole step in light, and so with its blur: the softer it is, the lower its steepest slope."""
    softer = max(depth / max(edge.contrast, 1e-3), 1.0)
    blur = _SMOOTH * float(np.sqrt(softer**2 - 1.0))
    return replace(edge, depth=depth, blur=float(np.clip(blur, _LEAST_BLUR, _MOST_BLUR)))


def light_at(pixels: NDArray[np.uint8], points: Array) -> Array:
    """Linear light (0 to 1) at points (..., 2) in pixels, between pixels by bilinear interpolation.

    Points outside the picture give NaN.
    """
    height, width = pixels.shape
    x, y = points[..., 0], points[..., 1]
    inside = (x >= 0) & (y >= 0) & (x < width - 1) & (y < height - 1)
    x, y = np.where(inside, x, 0.0), np.where(inside, y, 0.0)
    left, top = x.astype(int), y.astype(int)
    fx, fy = x - left, y - top
    above = _LIGHT[pixels[top, left]] * (1 - fx) + _LIGHT[pixels[top, left + 1]] * fx
    below = _LIGHT[pixels[top + 1, left]] * (1 - fx) + _LIGHT[pixels[top + 1, left + 1]] * fx
    return np.where(inside, above * (1 - fy) + below * fy, np.nan)


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Where an edge is looked for: from ``starts`` (n, 2), page mm, along ``ahead`` (2,) for ``reach`` mm."""

    starts: Array
    ahead: Array
    reach: float


@dataclass(frozen=True, slots=True)
class EdgeCriteria:
    """What counts as an edge: steps of at least ``least`` (of the light there), on ``share`` of the stations.

    ``tilt`` is the steepest slope of the line, ``near`` how close to it a step must lie, mm.
    """

    least: float = 0.08
    share: float = 0.5
    tilt: float = 0.035
    near: float = 0.10

    def at(self, pixels_per_mm: float) -> EdgeCriteria:
        """The same with ``near`` fit for a resolution."""
        return replace(self, near=max(_LEAST_NEAR, min(self.near, 1.3 / pixels_per_mm)))


@dataclass(frozen=True, slots=True, eq=False)
class SeenEdge:
    """A straight edge: ``points`` (n, 2) on it in page mm, their ``scatter`` about its line in mm.

    ``contrast`` is the step in light over the brightest there, as its steepest slope shows it, ``depth`` the whole step
    where that is known, else 0, and ``blur`` the standard deviation of its spread in pixels; ``share`` is the part of
    the track's stations on it; ``bias`` how far the whole edge may be off, mm (1 sigma).
    """

    points: Array
    scatter: float
    contrast: float
    share: float
    bias: float = 0.0
    depth: float = 0.0
    blur: float = 1.0

    @property
    def noise(self) -> float:
        """Standard deviation of the edge's position, mm."""
        return self.scatter / float(np.sqrt(max(len(self.points) - 2, 1)))

    @property
    def ends(self) -> Array:
        """The two ends (2, 2) of its line, in page mm."""
        middle = self.points.mean(axis=0)
        _, _, axes = np.linalg.svd(self.points - middle, full_matrices=False)
        along = (self.points - middle) @ axes[0]
        return np.array([middle + along.min() * axes[0], middle + along.max() * axes[0]])


@dataclass(frozen=True, slots=True, eq=False)
class Profiles:
    """Light along each station of a track: ``light`` (n, m), at ``along`` (m,) mm from the starts."""

    light: Array
    along: Array
    step: float
    pixels_per_mm: float


def profiles(pixels: NDArray[np.uint8], chart: Chart, track: Track) -> Profiles:
    """Sample a track's stations, half a pixel apart."""
    n = len(track.starts)
    ends = np.concatenate([track.starts, track.starts + track.reach * track.ahead])
    seen = chart.project(ends)
    per_mm = float(np.median(np.linalg.norm(seen[n:] - seen[:n], axis=1))) / track.reach
    step = _STEP / max(per_mm, 0.5)
    along = np.arange(0.0, track.reach, step)
    page = track.starts[:, None, :] + along[None, :, None] * track.ahead
    found = chart.project(page.reshape(-1, 2)).reshape(page.shape)
    return Profiles(light_at(pixels, found), along, step, per_mm)


def slopes(light: Array) -> Array:
    """The derivative of each row, smoothed by a Gaussian, per sample; NaN where the picture ends."""
    sigma = _SMOOTH / _STEP
    half = int(np.ceil(3.5 * sigma))
    t = np.arange(-half, half + 1, dtype=float)
    kernel = t * np.exp(-(t**2) / (2 * sigma**2))
    kernel /= (kernel * t).sum()
    padded = np.pad(light, ((0, 0), (half, half)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1, axis=1)
    return np.asarray(windows @ kernel)


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """Sharp steps of light, each value (k,): the ``station``, how far ``along`` it, mm, and the ``height``.

    The height is signed, in parts of the brightest light at the station: the steepest slope times the filter's width.
    """

    station: Index
    along: Array
    height: Array

    def only(self, which: Mask) -> Steps:
        """Those of the steps that are marked (k,)."""
        return Steps(self.station[which], self.along[which], self.height[which])


def steps_in(found: Profiles, least: float) -> Steps:
    """All sharp steps that are at least ``least`` high, in parts of the brightest light at their station."""
    whole = np.isfinite(found.light).all(axis=1)
    bright = np.ones(len(found.light))
    bright[whole] = np.percentile(found.light[whole], 90, axis=1)
    # Stations that leave the picture: one by one, and none that lies outside altogether.
    for cut in np.flatnonzero(~whole & np.isfinite(found.light).any(axis=1)):
        bright[cut] = np.nanpercentile(found.light[cut], 90)
    slope = slopes(found.light)
    size = np.abs(slope)
    height = slope * SLOPE_TO_HEIGHT / np.maximum(bright, 1e-3)[:, None]
    inner = size[:, 1:-1]
    with np.errstate(invalid="ignore"):
        peak = (inner > size[:, :-2]) & (inner >= size[:, 2:]) & (np.abs(height[:, 1:-1]) > least)
    station, column = np.nonzero(peak)
    column = column + 1
    before, at, after = size[station, column - 1], size[station, column], size[station, column + 1]
    shift = 0.5 * (before - after) / np.minimum(before - 2 * at + after, -1e-12)
    return Steps(station, found.along[column] + np.clip(shift, -0.5, 0.5) * found.step, height[station, column])


@dataclass(frozen=True, slots=True)
class EdgeLine:
    """A straight line across a track: ``level + slope * place`` mm along the station at ``place``."""

    level: float
    slope: float

    def at(self, place: Array) -> Array:
        """How far along their stations the line lies at places (n,), mm."""
        return np.asarray(self.level + self.slope * place)


def innermost_line(steps: Steps, places: Array, search: EdgeCriteria, *, nearly: float = 0.85) -> EdgeLine | None:
    """The innermost straight line that many stations have a step on; ``places`` (n,) of the stations in mm.

    Every slope that could matter is tried; of the lines with at least ``search.share`` of the stations, and
    ``nearly`` as many as the best one, the innermost is taken.
    """
    n = len(places)
    station, along = steps.station, steps.along
    if len(station) < search.share * n:
        return None
    place = places[station]
    slopes_tried = int(np.ceil(2 * search.tilt * np.abs(places).max() / search.near)) | 1
    found: list[tuple[float, int, float]] = []
    for b in np.linspace(-search.tilt, search.tilt, slopes_tried):
        level = np.sort(along - b * place)
        counts = np.searchsorted(level, level + 2 * search.near, side="right") - np.arange(len(level))
        enough = counts >= search.share * n
        found += [(float(at), int(count), float(b)) for at, count in zip(level[enough], counts[enough], strict=True)]
    if not found:
        return None
    most = max(count for _, count, _ in found)
    first = min(at for at, count, _ in found if count >= nearly * most)
    # Around the innermost line, the slope on which most stations lie.
    at, _, b = max((f for f in found if f[0] < first + 4 * search.near), key=lambda f: (f[1], -abs(f[2])))
    members = np.abs(along - b * place - at - search.near) <= search.near
    if len(set(station[members].tolist())) < search.share * n:
        return None
    return EdgeLine(float(np.median((along - b * place)[members])), b)


def straight_edge(
    pixels: NDArray[np.uint8], chart: Chart, track: Track, search: EdgeCriteria | None = None
) -> SeenEdge | None:
    """The first straight edge along a track; None where there is none or the picture ends before it."""
    found = profiles(pixels, chart, track)
    search = (search or EdgeCriteria()).at(found.pixels_per_mm)
    steps = steps_in(found, search.least)
    side = np.array([-track.ahead[1], track.ahead[0]])
    places = (track.starts - track.starts.mean(axis=0)) @ side
    line = innermost_line(steps, places, search)
    if line is None:
        return None
    return edge_on(line, steps, places, track, search.near)


@dataclass(frozen=True, slots=True, eq=False)
class Sighted:
    """An edge and the picture (grey, or one colour of it) in which it stands out."""

    edge: SeenEdge
    pixels: NDArray[np.uint8]


_PLAIN = 0.8  # share of the stations ...
_STRONG = 0.12  # ... and contrast from which grey is good enough


def clearest_edge(
    photo: Photo, chart: Chart, track: Track, search: EdgeCriteria | None = None, run: Run = Run()
) -> Sighted | None:
    """The edge in the grey picture or, where grey shows it poorly, in the colour that shows it best.

    Raises:
        Cancelled: the run is to end.
    """
    run.check()
    grey = straight_edge(photo.pixels, chart, track, search)
    if photo.colour is None or (grey is not None and grey.share >= _PLAIN and grey.contrast >= _STRONG):
        return None if grey is None else Sighted(grey, photo.pixels)
    found = [] if grey is None else [Sighted(grey, photo.pixels)]
    for plane in range(3):
        run.check()
        pixels = photo.colour[..., plane]
        edge = straight_edge(pixels, chart, track, search)
        if edge is not None:
            found.append(Sighted(edge, pixels))
    return max(found, key=lambda s: s.edge.share * min(s.edge.contrast, 0.5), default=None)


def edge_on(line: EdgeLine, steps: Steps, places: Array, track: Track, near: float) -> SeenEdge | None:
    """The edge through the steps near a line, the line refined; None where there are too few."""
    steps = steps.only(np.abs(steps.along - line.at(places[steps.station])) < 2 * near)
    if len(steps.station) < 6:
        return None
    along, place = steps.along, places[steps.station]
    keep = np.ones(len(place), bool)
    scatter = near
    for _ in range(6):
        slope, level = np.polyfit(place[keep], along[keep], 1)
        miss = along - level - slope * place
        scatter = max(1.4826 * float(np.median(np.abs(miss[keep]))), 1e-4)
        keep = np.abs(miss) < 3.0 * scatter
        if keep.sum() < 6:
            return None
    steps = steps.only(keep)
    points = track.starts[steps.station] + steps.along[:, None] * track.ahead
    return SeenEdge(
        points,
        float(np.std(miss[keep])) + 1e-4,
        float(np.median(np.abs(steps.height))),
        len(set(steps.station.tolist())) / len(places),
    )
