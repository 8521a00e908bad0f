"""One cut through a piece: checks the line against the outline and says which side moves, and how.

A cut is drawn as on paper: along the grading or lengthen line from edge to edge. The side with the fold stays where
it is, else the side with the grainline, else the larger one; the other side moves as one rigid body.

How a spread moves. Let N be the narrow end of the cut, W its wide end, L their distance, and h the direction across
the grain, from the side that stays to the side that moves. The side turns about N by the angle that parts both halves
of W by `wide` - `narrow`, counted across the grain, and slides by `narrow` in the direction h turned half as far:

    2 · L · sin(turn / 2) = (wide - narrow) · cos(slant of the cut against the grain).

Both halves of every point between are then parted by its share, in proportion to its distance from N (exactly so
where the cut runs along the grain: the whole move is then one turn about the point where both edges would meet; to
the second order of the turn where it slants). With `narrow` 0 it is a pure V hinged at N; with `narrow` = `wide` the
side slides across the grain without turning.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import asin, degrees

import numpy as np

from tiling.altering.parting import parted
from tiling.altering.piece_geometry import CutKind, CutLine, PieceGeometry
from tiling.failures import InputUnfit, UsageWrong
from tiling.pattern import Line
from tiling.recent import Recent
from tiling.shapes import Affine, Point
from tiling.shapes.chains import Chain, as_point, chains_of, crossings
from tiling.shapes.curves import Array
from tiling.shapes.polylines import nearest_places
from tiling.shapes.regions import area, distance_to, hold, holds, ring_of
from tiling.shapes.rings import MEET
from tiling.shapes.straights import Straight, meeting

__all__ = [
    "Cut",
    "Opening",
    "cut_of",
    "longer_move",
    "position_on_cut",
    "refuse_past_fold",
    "spread_move",
]

_BENT = 1.0
"""mm by which a line to cut along may leave the straight one: a hand's tremor."""

BEYOND = 6.0
"""mm outside the outline within which the cut still parts lines that stick out."""


@dataclass(frozen=True, slots=True)
class Opening:
    """The gap a cut opens (negative: the overlap it makes) at its wide and at its narrow end, mm."""

    wide: float
    narrow: float

    def at(self, share: float) -> float:
        """The gap at a share of the way from the narrow end (0) to the wide end (1)."""
        return self.narrow + share * (self.wide - self.narrow)

    @property
    def largest(self) -> float:
        """The larger of both, without its sign."""
        return max(abs(self.wide), abs(self.narrow))


@dataclass(frozen=True, slots=True)
class Cut:
    """A checked cut.

    Attributes:
        line: the cut from edge to edge; it starts at the wide end.
        staying: the ring (polyline) of the side that stays; `moving`: of the side that moves.
        across: unit vector from the staying to the moving side, across the grain for a spread, along it to lengthen.
    """

    piece: str
    kind: CutKind
    source: CutLine
    line: Straight
    staying: Array
    moving: Array
    across: Point

    @property
    def name(self) -> str:
        """What tells it from the piece's other cuts, in this and later alterations."""
        return self.source.name

    @property
    def moving_hand(self) -> str:
        """On which hand of the drawn line the moving side lies, seen along it: ``left`` or ``right``."""
        direction = self.source.line.direction
        normal = Point(direction.y, -direction.x)
        away = _apart(self.staying, self.moving, self.source.line)
        return "left" if away.dot(normal) > 0 else "right"

    @property
    def made_before(self) -> bool:
        """Whether the piece has been cut along this line before."""
        return self.source.beyond is not None

    def beyond(self, point: Point) -> bool:
        """Whether the point lies on the moving side's hand of the line, however far that goes on."""
        normal = Point(-self.line.direction.y, self.line.direction.x)
        return (point - self.line.start).dot(normal) * self.across.dot(normal) > 0

    def short_of(self, point: Point) -> bool:
        """Whether it lies on the other hand."""
        return not self.beyond(point)

    def passes(self, point: Point) -> bool:
        """Whether the cut passes through the point, to `MEET`."""
        reach = self.reach()
        return distance_to(np.array([(p.x, p.y) for p in (reach.start, reach.end)]), point) <= MEET

    def kept_short(self, chain: Chain) -> bool:
        """Whether a chain that has gone with the moving side reaches across the line to the other hand."""
        return any(self.short_of(as_point(point)) for cubic in chain for point in (cubic[0], cubic[3]))

    def moves(self, point: Point) -> bool:
        """Whether the point lies on the side that moves; points outside both belong to the nearer side."""
        return _on_side(point, self.moving, self.staying)

    def reach(self) -> Straight:
        """The cut with a little to spare at both ends."""
        step = self.line.direction * BEYOND
        return Straight(self.line.start - step, self.line.end + step)


def cut_of(body: PieceGeometry, source: CutLine, kind: CutKind, waist: Point | None = None) -> Cut:
    """Check a cut line against its piece.

    Args:
        body: the piece.
        source: the line.
        kind: what the cut is for.
        waist: a point at the height of the waist, where the drawing shows one; the wide end is the nearer one.

    Raises:
        InputUnfit: the line is bent, misses the piece, touches it, runs along its edge, crosses it twice, cuts its
            fold, or passes through both legs of a dart; or the piece has neither grainline nor fold.
    """
    return _recent.get((body, source), (kind, waist), lambda: _checked(body, source, kind, waist))


_recent: Recent[Cut] = Recent(64)


def _checked(body: PieceGeometry, source: CutLine, kind: CutKind, waist: Point | None) -> Cut:
    where = f"Piece {body.ident}: the {kind.value} {_at(source.line)}"
    if source.line.length < 1.0:
        raise InputUnfit(f"{where} has no length; draw it from edge to edge.")
    if source.bend > _BENT:
        raise InputUnfit(
            f"{where} bends by {source.bend:.0f} mm between its ends, but a cut is straight; draw the line straight "
            "from edge to edge."
        )
    source = replace(source, line=_through_allowance(source.line, body.outline))
    ends, rings = parted(where, body, source)
    grain = _grain_of(where, body, source)
    apart = _apart(rings[0], rings[1], ends)
    if source.moving:
        left = Point(source.line.direction.y, -source.line.direction.x)
        stays = 0 if (apart.dot(left) > 0) is (source.moving == "left") else 1
    else:
        stays = _staying(body, rings, kind)
    across = _across(where, grain, kind, apart if stays == 0 else -apart)
    if kind is CutKind.GRADING and any(_meets(fold, source.line) for fold in body.folds):
        raise InputUnfit(f"{where} passes the fold line; a piece on the fold is widened beside its fold.")
    line = _wide_first(_as_first(source, ends), source.wide, waist)
    return Cut(body.ident, kind, source, line, rings[stays], rings[1 - stays], across)


def _through_allowance(line: Straight, outline: Chain) -> Straight:
    """The line drawn on to the outline where it ends inside, within an allowance's width: on the stitching line."""
    ring, step = ring_of(outline), line.direction * _ALLOWANCE
    ends = []
    for end, ahead in ((line.start, line.start - step), (line.end, line.end + step)):
        met = crossings(outline, end, ahead, closed=True) if holds(ring, end) else []
        ends.append(min((crossing.point for crossing in met), key=end.distance, default=end))
    return Straight(*ends)


def _as_first(source: CutLine, line: Straight) -> Straight:
    """The cut between the edges as they were when it was first made, where fairing has moved them a little since.

    So that a second cut is measured over the same length, and takes back exactly what the first one gave.
    """
    if source.beyond is None:
        return line
    along = source.line.direction
    first = Straight(source.line.start + along * source.beyond[0], source.line.end - along * source.beyond[1])
    near = max(first.start.distance(line.start), first.end.distance(line.end)) < 30.0 or line == source.line
    return first if near else line


def _wide_first(line: Straight, marked: str, waist: Point | None) -> Straight:
    """The line with its wide end first: as marked, else the end nearer the waist, else the upper (or left) end."""
    if marked in {"start", "end"}:
        return line if marked == "start" else Straight(line.end, line.start)
    if waist is not None:
        near = (abs(line.start.y - waist.y), abs(line.end.y - waist.y))
    else:
        near = (line.start.y + 1e-3 * line.start.x, line.end.y + 1e-3 * line.end.x)
    return line if near[0] <= near[1] else Straight(line.end, line.start)


def spread_move(cut: Cut, opening: Opening) -> Affine:
    """The rigid move of the moving side for a spread or an overlap; see the module's text.

    Raises:
        UsageWrong: the cut would open by more than 60 degrees.
    """
    narrow, wide, h = cut.line.end, cut.line.start, cut.across
    grain = Point(-h.y, h.x)
    if (wide - narrow).dot(grain) < 0:
        grain = -grain
    slant = (wide - narrow).unit().dot(grain)
    half = (opening.wide - opening.narrow) * slant / (2 * cut.line.length)
    if abs(half) > 0.5:
        raise UsageWrong(f"Piece {cut.piece}: by that amount the piece would open like a fan; choose a smaller amount.")
    turn = 2 * asin(half)
    towards = 1.0 if grain.cross(h) > 0 else -1.0
    slide = Affine.turn(degrees(turn / 2) * towards).point(h) * opening.narrow
    return Affine.shift(slide.x, slide.y) @ Affine.turn(degrees(turn) * towards, about=narrow)


def longer_move(cut: Cut, amount: float) -> Affine:
    """The move of the moving side along the grain, away from the other for a positive amount."""
    return Affine.shift(cut.across.x * amount, cut.across.y * amount)


def _at(line: Straight) -> str:
    ends = (f"({p.x:.0f}, {p.y:.0f})" for p in (line.start, line.end))
    return "from {} to {} mm".format(*ends)


def _grain_of(where: str, body: PieceGeometry, source: CutLine) -> Point | None:
    """The grain's direction; None for a piece without any role, or a line laid by hand: then the cut itself says."""
    if body.grain is not None and body.grain.length > 1.0:
        return body.grain.direction
    if body.folds:
        return max(body.folds, key=lambda f: f.length).direction
    if body.has_roles and not source.given:
        raise InputUnfit(
            f"{where}: the piece has neither a grainline nor a fold line, so which way it widens is not known; "
            "draw a grainline."
        )
    return None


def _staying(body: PieceGeometry, rings: Sequence[Array], kind: CutKind) -> int:
    """Which ring stays: the one with the fold, else with the grainline, else the larger."""
    holding = [sum(_share_in(ring, fold) * fold.length for fold in body.folds) for ring in rings]
    if abs(holding[0] - holding[1]) < 1e-6 * sum(holding) or kind is CutKind.LENGTHEN or not body.folds:
        holding = [_share_in(ring, body.grain) if body.grain else 0.0 for ring in rings]
    if abs(holding[0] - holding[1]) < 1e-9:
        holding = [area(ring) for ring in rings]
        if abs(holding[0] - holding[1]) < 1e-6 * sum(holding):
            holding = [-float(ring[:, 1].mean()) for ring in rings]
    return 0 if holding[0] >= holding[1] else 1


def _share_in(ring: Array, line: Straight) -> float:
    """The share of a line that lies in the region; a line on its edge counts."""
    start, end = np.array([line.start.x, line.start.y]), np.array([line.end.x, line.end.y])
    places = start + (end - start) * ((np.arange(40)[:, None] + 0.5) / 40)
    return float((hold(ring, places) | (nearest_places(ring, places)[1] < 0.05)).mean())


def _apart(staying: Array, moving: Array, line: Straight) -> Point:
    """The normal of the cut that points to the moving side."""
    normal = Point(-line.direction.y, line.direction.x)
    probe = line.middle + normal * min(0.5, line.length / 100)
    return normal if _on_side(probe, moving, staying) else -normal


def _on_side(point: Point, ring: Array, other: Array) -> bool:
    """Whether the point lies in the ring, or in neither and nearer to it than to the other."""
    if holds(ring, point):
        return True
    return not holds(other, point) and distance_to(ring, point) < distance_to(other, point)


def _across(where: str, grain: Point | None, kind: CutKind, apart: Point) -> Point:
    if grain is None:
        return apart
    way = grain if kind is CutKind.LENGTHEN else Point(-grain.y, grain.x)
    steep = way.dot(apart)
    if abs(steep) < 0.5:
        runs = "across" if kind is CutKind.GRADING else "along"
        raise InputUnfit(
            f"{where} runs more {runs} the grain than it should; turn it, or the grainline, by hand first."
        )
    return way if steep > 0 else -way


def _meets(one: Straight, other: Straight) -> bool:
    """Whether two lines cross well inside both."""
    place = meeting(one, other)
    if place is None:
        return False
    edge = 1.5
    t, u = ((place - line.start).dot(line.direction) / line.length for line in (one, other))
    return edge / one.length < t < 1 - edge / one.length and edge / other.length < u < 1 - edge / other.length


def position_on_cut(cut: Cut, lines: Iterable[Line]) -> float | None:
    """Position on the cut of the first line that crosses it: 0 at its narrow end, 1 at its wide end.

    None where none of them does.
    """
    for line in lines:
        for chain, closed in chains_of(line.path):
            found = crossings(chain, cut.line.start, cut.line.end, closed=closed)
            if found:
                return 1 - found[0].along
    return None


def refuse_past_fold(body: PieceGeometry, cut: Cut, move: Affine) -> None:
    """Refuse a move that carries the moving side over a fold line.

    Raises:
        UsageWrong: it would.
    """
    for fold in body.folds:
        normal = Point(-fold.direction.y, fold.direction.x)
        before = [_off(fold, normal, p) for p in cut.moving]
        side = 1.0 if max(before) >= -min(before) else -1.0
        after = [side * _off(fold, normal, p) for p in move.points(cut.moving)]
        if min(after) < min(side * b for b in before) - 0.01 and min(after) < -0.01:
            raise UsageWrong(
                f"Piece {body.ident}: by that amount the part that moves would pass the fold line; "
                "choose a smaller amount."
            )


def _off(fold: Straight, normal: Point, point: Array) -> float:
    return (Point(float(point[0]), float(point[1])) - fold.start).dot(normal)


_ALLOWANCE = 45.0
"""mm; a line that ends so near to the outline ends on the stitching line, and cuts the allowance too."""
