"""What lies in and on one piece, as the places where its lines can be looked up: the ground for telling roles."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from tiling.recognition.families import Family
from tiling.recognition.scene import Scene
from tiling.recognition.strands import FLAT, Ring, Strand
from tiling.recognition.texts import TextSeen
from tiling.shapes import Path
from tiling.shapes.curves import Array
from tiling.words import Words

__all__ = ["Inside", "of_families"]

_NOTCH_REACH = 12.0
"""mm; a notch may stick out of its outline by so much."""

_FARTHEST = 90.0
"""mm; no allowance is wider."""

_BESIDE = 25.0
"""mm; a text farther from a line doesn't speak of it."""


@dataclass(frozen=True, eq=False)
class Inside:
    """One piece with the strands and texts that lie in it or on its outline.

    Attributes:
        family: its rings.
        strands: those that are in none of its rings.
        texts: those whose middle lies in its outline.
        words: of the drawing's languages.
        marks: all drawn lines and texts that lie in it, those of other sizes too.
        seams: those of the strands that are stitching lines, once they are known.
    """

    family: Family
    strands: tuple[Strand, ...]
    texts: tuple[TextSeen, ...]
    words: Words
    marks: frozenset[int] = frozenset()
    seams: tuple[Strand, ...] = ()

    @property
    def outline(self) -> Ring:
        """Its outermost line."""
        return self.family.outline

    @cached_property
    def rims(self) -> shapely.MultiLineString:
        """The outline, the stitching lines and the other sizes' outlines, as lines."""
        rings = [self.outline, *([self.family.stitching] if self.family.stitching else []), *self.family.sizes]
        return shapely.MultiLineString([*(ring.line for ring in rings), *(strand.line for strand in self.seams)])

    def from_outline(self, points: Array) -> Array:
        """The distances from (n, 2) points to the outline, mm."""
        return np.asarray(shapely.distance(shapely.points(points), self._boundary))

    def from_rims(self, points: Array) -> Array:
        """The distances from (n, 2) points to the nearest of the rims, mm."""
        return np.asarray(shapely.distance(shapely.points(points), self.rims))

    def outwards(self, edge: Path) -> float | None:
        """How far the outline lies outside an edge, at right angles to it: the median along its middle half, mm.

        The edge runs clockwise on the page. None where nothing lies outside it.
        """
        line = edge.flatten(FLAT)[0]
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        found = []
        for place in np.linspace(0.25, 0.75, 9) * along[-1]:
            at, ahead = (np.array([np.interp(p, along, line[:, k]) for k in (0, 1)]) for p in (place, place + 0.5))
            step = (ahead - at) / max(float(np.hypot(*(ahead - at))), 1e-9)
            ray = shapely.LineString([at, at + _FARTHEST * np.array([step[1], -step[0]])])
            met = self._boundary.intersection(ray)
            if not met.is_empty:
                found.append(float(met.distance(shapely.Point(at))))
        return float(np.median(found)) if found else None

    @cached_property
    def _boundary(self) -> shapely.LineString:
        boundary = shapely.LineString(self.outline.line)
        shapely.prepare(boundary)
        return boundary

    @cached_property
    def spoken(self) -> dict[int, list[TextSeen]]:
        """The texts that stand beside each strand (by its place in `strands`), the nearest strand of each text."""
        lines = [(k, shapely.LineString(s.line)) for k, s in enumerate(self.strands) if s.length > 8.0 and not s.filled]
        found: dict[int, list[TextSeen]] = {}
        for text in self.texts:
            box = shapely.box(text.box.x0, text.box.y0, text.box.x1, text.box.y1)
            apart = [(float(line.distance(box)), k) for k, line in lines]
            nearest, k = min(apart, default=(np.inf, -1))
            if nearest <= _BESIDE:
                found.setdefault(k, []).append(text)
        return found

    def said_of(self, strands: Iterable[Strand], subject: str) -> TextSeen | None:
        """A text beside one of the strands that says a word for the subject."""
        wanted = {id(strand) for strand in strands}
        return next(
            (
                text
                for k, texts in self.spoken.items()
                if id(self.strands[k]) in wanted
                for text in texts
                if self.words.says(text.text, subject)
            ),
            None,
        )


def of_families(families: Sequence[Family], scene: Scene) -> list[Inside]:
    """Every strand and text with the smallest piece that it lies in, or on whose outline it ends."""
    if not families:
        return []
    polygons = [family.outline.polygon for family in families]
    order = sorted(range(len(families)), key=lambda k: families[k].outline.area)
    used = {id(s) for family in families for ring in _rings(family) for s, _ in ring.strands}
    free = [strand for strand in scene.strands if id(strand) not in used]
    home = _homes([shapely.LineString(strand.line) for strand in free], polygons, order)
    spots = _homes([shapely.Point(text.middle.x, text.middle.y) for text in scene.texts], polygons, order)
    found = []
    for index, family in enumerate(families):
        others = _of_other_sizes(family)
        within = [strand for strand, k in zip(free, home, strict=True) if k == index]
        # Where the outer size has no lines of its own, those of another one speak for all.
        own = tuple([strand for strand in within if not others & set(strand.look[:2])] or within)
        said = tuple(text for text, k in zip(scene.texts, spots, strict=True) if k == index)
        marks = {strand.mark for strand in within} | {mark for text in said for mark in text.marks}
        marks |= {mark for ring in (*_rings(family), *family.inner) for mark in ring.marks}
        found.append(Inside(family, own, said, scene.words, frozenset(marks)))
    return found


def _of_other_sizes(family: Family) -> set[object]:
    """The layers, or else the looks, that only the outlines of other sizes have: what is drawn so is theirs."""
    rings = [family.outline, *family.sizes]
    for place in (0, 1):
        values = [ring.look[place] for ring in rings]
        if len(set(values)) == len(values):
            return set(values[1:])
    return set()


def _rings(family: Family) -> list[Ring]:
    stitching = [family.stitching] if family.stitching is not None else []
    return [family.outline, *stitching, *family.sizes, *family.again]


def _homes(shapes: Sequence[shapely.Geometry], polygons: Sequence[shapely.Geometry], order: Sequence[int]) -> list[int]:
    """For each shape the first region in order that holds it, or, of short ones, that it touches; else -1."""
    homes = [-1] * len(shapes)
    if not shapes:
        return homes
    tree = shapely.STRtree(shapes)
    for index in order:
        region = polygons[index]
        shapely.prepare(region)
        around = region.buffer(1.0)
        for k in tree.query(region.buffer(2.0), predicate="intersects"):
            if homes[k] >= 0:
                continue
            shape = shapes[k]
            if region.covers(shape) or _mostly_in(shape, region, around):
                homes[k] = index
    return homes


def _mostly_in(shape: shapely.Geometry, region: shapely.Geometry, around: shapely.Geometry) -> bool:
    """Whether a shape lies in a region, `around` being all that is within a millimetre of it, or touches it."""
    length = float(shape.length)
    if length == 0.0:
        return False
    inside = float(around.intersection(shape).length)
    return inside > 0.7 * length or (length < 3 * _NOTCH_REACH and inside > 0.0 and region.distance(shape) < 1.2)
