"""Find a card's four edges: the edges of its upper side, which lies a card's thickness over the sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from calibrate.cardplace import FRAME_INSIDE, FRAME_OUTSIDE, Stripes, stripes_along
from calibrate.edges import EdgeCriteria, SeenEdge, Sighted, Track, clearest_edge, light_at, profiles, straight_edge
from calibrate.rectangle import SIDES
from calibrate.rim import Beside, Blur, blur_of, moved, rim_in
from calibrate.run import Run

if TYPE_CHECKING:
    from calibrate.area import Area
    from calibrate.arrays import Array
    from calibrate.camera import Mapping, Raised
    from calibrate.photo import Photo
    from calibrate.references import Reference

_ENDS = 1.6
# Light of a card's side over that of paper: its core is as white as paper, from memory, but an upright side is lit
# by half the sky and by what the page throws back.
_CORE = 0.5
_UNSURE = 0.04  # mm: a rim known no better is looked for on the other ground too
_SEARCH = EdgeCriteria(least=0.06, share=0.5, tilt=0.06)
_FRAME = EdgeCriteria(least=0.3, share=0.7, tilt=0.06)
_WALL = 0.25  # mm beyond a wall's foot, from where another line is no part of it
_LEAST_BEYOND = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A card on the sheet: the plane of its upper side and the edges found in it, by side.

    ``square_corners`` is how many of its corners are seen not to be rounded.
    """

    top: Raised
    edges: dict[str, SeenEdge]
    square_corners: int = 0


def card_top(mapping: Mapping, place: Area, card: Reference) -> Raised:
    """The plane of the upper side of a card that lies around ``place``, its outline on the page."""
    x, y = place.x + place.width / 2, place.y + place.height / 2
    outline = np.array(
        [[x + dx * place.width / 2, y + dy * place.height / 2] for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
    )
    return mapping.lying_on(x, y, outline, card.thickness)


def card_edges(photo: Photo, mapping: Mapping, place: Area, card: Reference, run: Run = Run()) -> Laid:
    """Look for a card around ``place``, its outline on the page.

    Raises:
        Cancelled: the run is to end.
    """
    top = card_top(mapping, place, card)
    edges = {}
    for side in SIDES:
        found = _side_edge(photo, top, side_of(top, place, side, card.thickness), run)
        if found is not None:
            edges[side] = found
    if len(edges) < len(SIDES):
        return Laid(top, edges)
    return Laid(top, edges, _square_corners(photo, top, edges))


class Ground(Enum):
    """What a card's rim is seen against."""

    BLACK = "black stripes"
    PAPER = "bare paper between them"


@dataclass(frozen=True, slots=True, eq=False)
class CardSide:
    """One side of a card's outline and the stripes beside it, as seen in the plane of the card's top.

    ``ahead`` points out of the card; ``lean`` is by how much, in mm of that plane, what is printed on the
    sheet is seen shifted; ``level`` is where the outline lies along ``ahead``.
    """

    ahead: Array
    lean: Array
    level: float
    stripes: Stripes

    def stations(self, ground: Ground) -> Array:
        """Page points (n, 2) on the outline, three to each stripe of a kind."""
        middles = np.array(self.stripes.black if ground is Ground.BLACK else self.stripes.paper)
        along = (middles[:, None] + np.array([-0.27, 0.0, 0.27]) * self.stripes.width).ravel()
        across = np.full(len(along), self.level * self.ahead.sum())
        return np.column_stack([across, along] if self.ahead[0] else [along, across])

    def track(self, ground: Ground) -> Track:
        """Where the rim is looked for: across the stripes, short of where they end."""
        outward = float(self.lean @ self.ahead)
        aside = self.lean - outward * self.ahead
        inside = FRAME_INSIDE - 0.4 - max(outward, 0.0)
        starts = self.stations(ground) + aside - inside * self.ahead
        return Track(starts, self.ahead, inside + FRAME_OUTSIDE + outward - 0.5)

    def frame(self, ground: Ground) -> Track:
        """Across the outer ends of the stripes, in the page's own plane; they end after _ENDS mm."""
        return Track(self.stations(ground) + (FRAME_OUTSIDE - _ENDS) * self.ahead, self.ahead, 2 * _ENDS)


def side_of(top: Raised, place: Area, side: str, thickness: float) -> CardSide:
    """One side of the outline of a card that lies around ``place``."""
    ahead = np.array({"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, -1.0), "bottom": (0.0, 1.0)}[side])
    edge = {"left": place.x, "right": place.right, "top": place.y, "bottom": place.bottom}[side]
    upright = side in {"left", "right"}
    middle = (edge, place.y + place.height / 2) if upright else (place.x + place.width / 2, edge)
    stripes = stripes_along(place.y, place.height) if upright else stripes_along(place.x, place.width)
    return CardSide(ahead, _lean(top, np.array([middle]), thickness), edge * float(ahead.sum()), stripes)


def _lean(top: Raised, point: Array, thickness: float) -> Array:
    """By how much what lies under a point (1, 2) on the sheet is seen shifted in the plane of the top, mm."""
    at = top.project(point)
    jacobian = np.column_stack([(top.project(point + step) - at)[0] for step in np.eye(2)])
    return np.asarray(np.linalg.solve(jacobian, (top.lowered(thickness).project(point) - at)[0]))


def _side_edge(photo: Photo, top: Raised, side: CardSide, run: Run) -> SeenEdge | None:
    """The rim along one side, on the black stripes where it stands out there, else on bare paper.

    On black no shadow shows, so it is preferred unless the card is nearly as dark. Where the one leaves doubt,
    the other is asked.
    """
    found: list[tuple[float, Ground, Sighted]] = []
    for ground, weight in ((Ground.BLACK, 2.0), (Ground.PAPER, 1.0)):
        sighted = clearest_edge(photo, top, side.track(ground), _SEARCH, run)
        if sighted is not None and ground is Ground.BLACK:
            sighted = _outermost(sighted, top, side)
        if sighted is not None:
            worth = weight * sighted.edge.share * min(sighted.edge.contrast, 0.4)
            found.append((worth, ground, sighted))
    if not found:
        return None
    found.sort(key=lambda one: -one[0])
    rims = (_on_rim(sighted, top, side, ground, run) for _, ground, sighted in found)
    first = next(rims)
    if first.bias <= _UNSURE:
        return first
    return _surer(first, next(rims, first), side.ahead)


def _outermost(sighted: Sighted, top: Raised, side: CardSide) -> Sighted:
    """The last clear line before the black: a card's printed frame ends within its rim, its wall just beyond it."""
    track = side.track(Ground.BLACK)
    along = np.array([-track.ahead[1], track.ahead[0]])
    wall = max(float(side.lean @ side.ahead), 0.0) + _WALL
    while True:
        slope, level = np.polyfit(sighted.edge.points @ along, sighted.edge.points @ track.ahead, 1)
        passed = level + slope * (track.starts @ along) - track.starts @ track.ahead + wall
        reach = track.reach - float(passed.max())
        if reach < _LEAST_BEYOND:
            return sighted
        beyond = Track(track.starts + passed[:, None] * track.ahead, track.ahead, reach)
        edge = straight_edge(sighted.pixels, top, beyond, _FRAME)
        if edge is None:
            return sighted
        sighted = replace(sighted, edge=edge)


def _surer(first: SeenEdge, second: SeenEdge, ahead: Array) -> SeenEdge:
    """Of a rim in doubt and the same on the other ground the surer, if they agree; half their distance is doubt."""
    along = np.array([-ahead[1], ahead[0]])
    slope, level = np.polyfit(first.points @ along, first.points @ ahead, 1)
    apart = abs(float(np.mean(second.points @ ahead - level - slope * (second.points @ along))))
    if second.bias >= first.bias or apart > 3.0 * float(np.hypot(first.bias, second.bias)):
        return first
    return replace(second, bias=float(np.hypot(second.bias, apart / 2)))


def _on_rim(found: Sighted, top: Raised, side: CardSide, ground: Ground, run: Run) -> SeenEdge:
    """Move an edge to where the rim lies under wall and shadow."""
    run.check()
    edge, track = found.edge, side.track(ground)
    light = profiles(found.pixels, top, track)
    pixel = 1.0 / light.pixels_per_mm
    blur = blur_of(profiles(found.pixels, top.mapping, side.frame(Ground.BLACK)), _ENDS, pixel)
    along = np.array([-track.ahead[1], track.ahead[0]])
    slope, level = np.polyfit(edge.points @ along, edge.points @ track.ahead, 1)
    rough = level + slope * (track.starts @ along) - track.starts @ track.ahead
    room = track.reach - float(np.median(rough)) + 0.5 - 3.0 * pixel
    paper = profiles(found.pixels, top.mapping, side.frame(Ground.PAPER)).light
    wall = _CORE * float(np.nanmedian(paper)) if np.isfinite(paper).any() else None
    beside = Beside(float(side.lean @ side.ahead), room, wall)
    rim = rim_in(light, rough, beside, blur or Blur(pixel), run)
    return moved(edge, track.ahead, rim) if rim is not None else replace(edge, bias=2.0 * pixel)


def _square_corners(photo: Photo, top: Raised, edges: dict[str, SeenEdge]) -> int:
    """How many corners are square: the card is seen where a rounded corner would show the surround."""
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
            clear = abs(outer - inner) > 0.15 * max(outer, inner)
            count += int(clear and abs(spot - inner) < 0.25 * abs(outer - inner))
    return count


def _crossing(upright: SeenEdge, level: SeenEdge) -> Array:
    """Where an upright and a level edge meet."""
    b, a = np.polyfit(upright.points[:, 1], upright.points[:, 0], 1)
    d, c = np.polyfit(level.points[:, 0], level.points[:, 1], 1)
    y = (c + d * a) / (1.0 - d * b)
    return np.array([a + b * y, y])
