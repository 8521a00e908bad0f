"""Find a card's four edges: the edges of its upper side, which lies a card's thickness over the sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from calibrate.edges import Edge, Search, Sighted, Track, clearest_edge, light_at, profiles
from calibrate.rectangle import SIDES
from calibrate.rim import Beside, Blur, blur_of, moved, rim_in
from calibrate.target import FRAME_INSIDE, FRAME_OUTSIDE

if TYPE_CHECKING:
    from calibrate.arrays import Array
    from calibrate.camera import Mapping, Raised
    from calibrate.photo import Photo
    from calibrate.references import Reference
    from calibrate.target import Area

_INSIDE = FRAME_INSIDE - 0.4
_BEYOND = FRAME_OUTSIDE - 0.5
_CLEAR = 8.5  # corners are round and carry the outline
_STATIONS = 80
_SEARCH = Search(least=0.06, share=0.5, tilt=0.06)


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A card on the sheet: the plane of its upper side and the edges found in it, by side.

    ``round_corners`` is how many of its corners are seen to be cut by their rounding.
    """

    top: Raised
    edges: dict[str, Edge]
    round_corners: int = 0


def card_top(mapping: Mapping, place: Area, card: Reference) -> Raised:
    """The plane of the upper side of a card that lies around ``place``, its outline on the page."""
    x, y = place.x + place.width / 2, place.y + place.height / 2
    outline = np.array(
        [[x + dx * place.width / 2, y + dy * place.height / 2] for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
    )
    return mapping.lying_on(x, y, outline, card.thickness)


def card_edges(photo: Photo, mapping: Mapping, place: Area, card: Reference) -> Laid:
    """Look for a card around ``place``, its outline on the page."""
    top = card_top(mapping, place, card)
    edges = {}
    for side in SIDES:
        track = track_of(place, side)
        found = clearest_edge(photo, top, track, _SEARCH)
        if found is not None:
            edges[side] = _on_rim(found, top, track, card.thickness)
    if len(edges) < len(SIDES):
        return Laid(top, edges)
    return Laid(top, edges, _round_corners(photo, top, edges))


def _on_rim(found: Sighted, top: Raised, track: Track, thickness: float) -> Edge:
    """Move an edge to where the rim lies under wall and shadow."""
    edge = found.edge
    light = profiles(found.pixels, top, track)
    pixel = 1.0 / light.pixels_per_mm
    frame = Track(track.starts + (_INSIDE + FRAME_OUTSIDE - 1.6) * track.ahead, track.ahead, 3.2)
    blur = blur_of(profiles(found.pixels, top.mapping, frame), 1.6, pixel)
    beside = np.array([-track.ahead[1], track.ahead[0]])
    slope, level = np.polyfit(edge.points @ beside, edge.points @ track.ahead, 1)
    rough = level + slope * (track.starts @ beside) - track.starts @ track.ahead
    wall = float(np.mean(_wall(top, edge.points, track.ahead, thickness)))
    room = _INSIDE + FRAME_OUTSIDE - float(np.median(rough)) - 3.0 * pixel
    rim = rim_in(light, rough, Beside(wall, room), blur or Blur(pixel))
    return moved(edge, track.ahead, rim) if rim is not None else replace(edge, bias=2.0 * pixel)


def _round_corners(photo: Photo, top: Raised, edges: dict[str, Edge]) -> int:
    """How many corners are rounded: where a square corner would be card, the surround is seen."""
    count = 0
    for across in ("left", "right"):
        for down in ("top", "bottom"):
            corner = _crossing(edges[across], edges[down])
            inward = np.array([1.0 if across == "left" else -1.0, 1.0 if down == "top" else -1.0])
            # 0.75 mm in from both sides lies 0.8 mm outside a rounding of 3.18 mm, well inside a square corner.
            spots = corner + np.array([0.75, -1.2, 2.6])[:, None] * inward
            aside = corner + np.array([[4.5, -1.0], [-1.0, 4.5], [4.5, 1.2], [1.2, 4.5]]) * inward
            light = light_at(photo.pixels, top.project(np.concatenate([spots, aside])))
            if not np.isfinite(light).all():
                continue
            spot, outer = light[0], light[3:5].mean()
            inner = np.array([light[2], light[5], light[6]]).mean()
            count += int(abs(spot - inner) > 0.5 * abs(outer - inner))
    return count


def _crossing(upright: Edge, level: Edge) -> Array:
    """Where an upright and a level edge meet."""
    b, a = np.polyfit(upright.points[:, 1], upright.points[:, 0], 1)
    d, c = np.polyfit(level.points[:, 0], level.points[:, 1], 1)
    y = (c + d * a) / (1.0 - d * b)
    return np.array([a + b * y, y])


def _wall(top: Raised, points: Array, ahead: Array, thickness: float) -> Array:
    """How far beyond the rim the foot of the wall is seen, mm in the plane of the top; negative where hidden."""
    rim, beyond = top.project(points), top.project(points + ahead)
    foot = top.lowered(thickness).project(points)
    out = beyond - rim
    return np.asarray(((foot - rim) * out).sum(axis=1) / (out**2).sum(axis=1))


def track_of(place: Area, side: str) -> Track:
    """Stations along one side of a card's outline, from inside to outside."""
    upright = side in {"left", "right"}
    start, length = (place.y, place.height) if upright else (place.x, place.width)
    along = np.linspace(start + _CLEAR, start + length - _CLEAR, _STATIONS)
    ahead: Array = np.array(
        {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, -1.0), "bottom": (0.0, 1.0)}[side]
    )
    level = {"left": place.x, "right": place.right, "top": place.y, "bottom": place.bottom}[side]
    across = np.full(len(along), level)
    starts = np.column_stack([across, along] if upright else [along, across]) - _INSIDE * ahead
    return Track(starts, ahead, _INSIDE + _BEYOND)
