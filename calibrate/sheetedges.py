"""Find the sheet's own four edges."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from calibrate.edges import Track, profiles
from calibrate.rectangle import SIDES
from calibrate.run import Run
from calibrate.sheetsides import SheetSide, sheet_side
from calibrate.target import MARKER, SADDLE, Target, tick_spines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibrate.arrays import Array
    from calibrate.camera import Mapping
    from calibrate.photo import Photo

_INSIDE = 17.0  # where the search starts, mm inside the field's edge: inside the marks along it
_BEYOND = 0.16  # how far beyond the field's edge it goes, as a share of the field (a scale of 0.80 needs 0.125)
_STATIONS = 96
_FAR_OUT, _PAPER = 0.7, 0.85  # share of a track; of the paper's light


def sheet_edges(
    photo: Photo, mapping: Mapping, target: Target, seen: Sequence[int], run: Run = Run()
) -> dict[str, SheetSide]:
    """The sheet's edges that can be made out, by side. ``seen`` are the indices of the saddles found.

    Raises:
        Cancelled: the run is to end.
    """
    found = {}
    for side in SIDES:
        ended = sheet_side(photo, mapping, _track(target, side, seen), run)
        if ended is not None:
            found[side] = ended
    return found


def goes_on(photo: Photo, mapping: Mapping, target: Target, side: str) -> bool:
    """Whether there is paper, and no table, far beyond the page's edge on a side."""
    track = _track(target, side, range(len(target.saddles)))
    light = profiles(photo.pixels, mapping, track).light
    count = light.shape[1]
    inner = np.nanmedian(light[:, : count // 10]) if np.isfinite(light[:, : count // 10]).any() else np.nan
    outer = light[:, int(count * _FAR_OUT) :]
    return bool(np.isfinite(outer).mean() > 0.5 and np.nanmean(outer > _PAPER * inner) > 0.5)


def _track(target: Target, side: str, seen: Sequence[int]) -> Track:
    """Stations along a side between the marks, from inside the sheet outwards.

    Where a print came out so large that the outermost marks fell off the sheet, the search starts further in.
    """
    field = target.field
    ahead = -np.array(tick_spines(field)[side].inward)
    upright = side in {"left", "right"}
    length, depth = (field.height, field.width) if upright else (field.width, field.height)
    own = {"left": "l", "right": "e", "top": "t", "bottom": "b"}[side]
    outermost = [s for i, s in enumerate(target.saddles) if s.name[0] == own]
    missing = outermost and not any(target.saddles[i].name[0] == own for i in seen)
    inside = max(_INSIDE, 0.12 * depth) if missing else _INSIDE
    along = _free(length, 0.04 * length, _busy(target, side, upright))
    across = np.full(len(along), inside)
    if side == "right":
        across = field.width - across
    if side == "bottom":
        across = field.height - across
    starts = np.column_stack([across, along] if upright else [along, across])
    return Track(starts, ahead, inside + _BEYOND * depth)


def _busy(target: Target, side: str, upright: bool) -> list[tuple[float, float]]:
    """Stretches of a side where a mark lies in the way: (middle, half width), mm along the side."""
    field = target.field
    at = tick_spines(field)[side].outer_end
    busy = [(at[1] if upright else at[0], 5.0)]
    middles = [(m.x, m.y, MARKER / 2) for m in target.markers] + [(s.x, s.y, SADDLE) for s in target.saddles]
    for x, y, half in middles:
        depth = {"left": x, "top": y, "right": field.width - x, "bottom": field.height - y}[side]
        if depth < _INSIDE + half:
            busy.append((y if upright else x, half + 1.0))
    return busy


def _free(length: float, margin: float, busy: list[tuple[float, float]]) -> Array:
    along = np.linspace(margin, length - margin, _STATIONS)
    free = np.ones(len(along), bool)
    for middle, half in busy:
        free &= np.abs(along - middle) > half
    return along[free]
