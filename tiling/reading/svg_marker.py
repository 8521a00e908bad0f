"""Marker symbols at the vertices of lines (arrow heads of grainlines, mostly): SVG 2, section 13.7."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import atan2, degrees

import numpy as np
from lxml import etree

from tiling.pattern import FindingKind, Role
from tiling.reading.svg_clips import clip_from, common_clip
from tiling.reading.svg_file import SvgFile, on_sheet
from tiling.reading.svg_guard import local_name
from tiling.reading.svg_paint import reference
from tiling.reading.svg_scene import SvgScene
from tiling.reading.svg_size import fit_into, view_box
from tiling.reading.svg_units import Axis, number
from tiling.shapes import Affine, Box, Path
from tiling.shapes.curves import Array

__all__ = ["MARKED", "markers_of", "vertices"]

MARKED = frozenset({"path", "line", "polyline", "polygon"})
_GRIPS = {"left": 0.0, "top": 0.0, "center": 0.5, "right": 1.0, "bottom": 1.0}
_ENDS = ("start", "mid", "end")


@dataclass(frozen=True, slots=True)
class Vertex:
    """A vertex of a line in user units: which end it is, and the direction there in degrees, clockwise."""

    end: str
    x: float
    y: float
    direction: float

    def turn(self, orient: str | None) -> float:
        """By how many degrees a marker of that ``orient`` is turned here."""
        word = (orient or "0").strip()
        if word == "auto":
            return self.direction
        if word == "auto-start-reverse":
            return self.direction + 180.0 if self.end == "start" else self.direction
        return number(word.removesuffix("deg"), 0.0)


def markers_of(
    file: SvgFile, path: Path, element: etree._Element, scene: SvgScene
) -> Iterator[tuple[etree._Element, SvgScene]]:
    """Each marker to draw on a line: the marker element, and the scene for its content.

    Args:
        file: the file.
        path: the line in user units.
        element: the line's element.
        scene: the line's scene.
    """
    wanted = {end: reference(scene.style.get(f"marker-{end}")) for end in _ENDS}
    if not any(wanted.values()):
        return
    painter = scene.painter.within(scene.style)
    width = scene.length(scene.style.get("stroke-width"), Axis.DIAGONAL, 1.0)
    for vertex in vertices(path):
        ident = wanted[vertex.end]
        target = file.ids.get(ident) if ident else None
        if ident and (target is None or local_name(target) != "marker"):
            file.note(FindingKind.REFERENCE_MISSING, "A line's end mark is not in the file.", element)
        elif target is not None and f"#{ident}" not in scene.followed:
            inner = replace(
                scene,
                painter=painter,
                style=file.style_at(target),
                depth=scene.depth + 1,
                followed=(*scene.followed, f"#{ident}"),
                tag=replace(scene.tag, role=Role.PLAIN, name="", extra=()),
            )
            placed = _placed(file, target, inner, vertex, width)
            if placed is not None:
                yield target, placed


def _placed(file: SvgFile, target: etree._Element, scene: SvgScene, vertex: Vertex, width: float) -> SvgScene | None:
    """The scene of a marker's content at one vertex; `width` is the line's stroke width."""
    w = scene.lengths.length(target.get("markerWidth"), Axis.X, 3.0)
    h = scene.lengths.length(target.get("markerHeight"), Axis.Y, 3.0)
    unit = 1.0 if target.get("markerUnits") == "userSpaceOnUse" else width
    if w <= 0 or h <= 0 or unit <= 0:
        return None
    view = view_box(target) or Box(0.0, 0.0, w, h)
    fit = fit_into(view, Box(0.0, 0.0, w, h), target.get("preserveAspectRatio"))
    rx, ry = target.get("refX", "0").strip(), target.get("refY", "0").strip()
    x = view.x0 + _GRIPS[rx] * view.width if rx in _GRIPS else number(rx, 0.0)
    y = view.y0 + _GRIPS[ry] * view.height if ry in _GRIPS else number(ry, 0.0)
    at_vertex = Affine.shift(vertex.x, vertex.y) @ Affine.turn(vertex.turn(target.get("orient"))) @ Affine.scale(unit)
    to_sheet = scene.to_sheet @ at_vertex @ Affine.scale(fit.a, fit.d) @ Affine.shift(-x, -y)
    clip = scene.clip
    if file.cascade.declared(target).get("overflow", "hidden") not in {"visible", "auto"}:
        window = on_sheet(Path.rectangle(Box(0.0, 0.0, w, h)), to_sheet @ fit.inverse())
        clip = common_clip(clip, clip_from([(window, False)]))
    lengths = replace(scene.lengths, width=view.width, height=view.height)
    return replace(scene, to_sheet=to_sheet, clip=clip, lengths=lengths)


def vertices(path: Path) -> Iterator[Vertex]:
    """The vertices of a path with their directions: the bisector where two segments meet, the tangent at an end."""
    subs = path.subpaths()
    for index, sub in enumerate(subs):
        cubics = list(sub.cubics())
        if not cubics:
            continue
        ways = _directions(cubics)
        into: list[Array | None] = [None, *(end for _, end in ways)]
        out: list[Array | None] = [*(start for start, _ in ways), None]
        if sub.closed:
            into[0], out[-1] = into[-1], out[0]
        points = [cubics[0][0], *(c[3] for c in cubics)]
        last = len(points) - 1
        for i, point in enumerate(points):
            first_of_all, last_of_all = index == 0 and i == 0, index == len(subs) - 1 and i == last
            direction = _between(into[i], out[i])
            at = (float(point[0]), float(point[1]), direction)
            if first_of_all:
                yield Vertex("start", *at)
            elif not last_of_all:
                yield Vertex("mid", *at)
            if last_of_all:
                yield Vertex("end", *at)


def _directions(cubics: Sequence[Array]) -> list[tuple[Array | None, Array | None]]:
    """Each segment's unit tangents at start and end; one without a length goes on as the one before or after it."""
    ways = [(_tangent(cubic, at_end=False), _tangent(cubic, at_end=True)) for cubic in cubics]
    ahead = next((start for start, _ in ways if start is not None), None)
    found = []
    for start, end in ways:
        ahead = ahead if end is None else end
        found.append((ahead, ahead) if start is None else (start, end))
    return found


def _tangent(cubic: Array, *, at_end: bool) -> Array | None:
    """The unit tangent at one end; control points that fall on the end are passed over."""
    order = (cubic[3] - cubic[2], cubic[3] - cubic[1], cubic[3] - cubic[0]) if at_end else cubic[1:] - cubic[0]
    for step in order:
        size = float(np.hypot(*step))
        if size > 1e-12:
            return np.asarray(step / size)
    return None


def _between(into: Array | None, out: Array | None) -> float:
    known = [v for v in (into, out) if v is not None]
    if not known:
        return 0.0
    total = sum(known[1:], known[0])
    if float(np.hypot(*total)) < 1e-9:
        total = known[0]
    return degrees(atan2(float(total[1]), float(total[0])))
