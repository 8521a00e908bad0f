"""Which square millimetres of a drawing carry ink: the raster on which every shift of the grid is counted.

A cell is the open square from (i, j) to (i+1, j+1) mm on the layout. It is inked when anything visible meets it:

* a stroke: all points within half its width of its path (as if its ends were round), and the tips of its mitres;
  dashes count as drawn through;
* a fill: its inside and its edge; white paint leaves no ink, and hides none;
* a label or picture: its whole reach;
* all of it only inside the mark's clip (cell by cell);
* nothing of helper lines: no page is printed for their sake.

Curves are replaced by chords that lie within `TOLERANCE` of them, and strokes are widened by as much: a cell that
carries ink is never missed, and one that is counted has ink within twice `TOLERANCE` of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from math import ceil, floor, isfinite

import numpy as np
from numpy.typing import NDArray

from calibrate.run import Run
from tiling.failures import Action, InputUnfit, Remedy
from tiling.helper_lines import is_helper
from tiling.pattern import Label, Line, Mark, Pattern
from tiling.planning.cells import fill_cells, stroke_cells
from tiling.planning.chords import Thin, chords_of, outlines_of
from tiling.shapes import Box, Op, Path
from tiling.style import Stroke, Style

__all__ = ["LARGEST_RASTER", "TOLERANCE", "Raster", "occupancy", "raster_of"]

TOLERANCE = 0.03
"""mm; far below any line width."""

LARGEST_RASTER = 50_000_000
"""Cells, that is 50 m² of drawing: seven metres square. Beyond it the size is surely a mistake."""

MOST_LINE = 100e6
"""mm of line, 100 km, measured along the axes from point to point: a large nest of patterns has some hundred metres."""

THIN = 1.0
"""Strokes up to this width, mm, are rasterised from their middle line; wider ones as filled outlines."""

_BATCH = 512
"""Paths flattened at once, or chords of a wide stroke."""

Cells = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Raster:
    """Inked cells: `cells[j, i]` is the square millimetre whose top left corner lies at (x0 + i, y0 + j)."""

    x0: int
    y0: int
    cells: Cells

    @property
    def box(self) -> Box:
        """What the raster covers, mm."""
        height, width = self.cells.shape
        return Box(self.x0, self.y0, self.x0 + width, self.y0 + height)

    @property
    def empty(self) -> bool:
        """Whether no cell is inked."""
        return not self.cells.any()

    def trimmed(self) -> Raster:
        """The raster cut down to the rows and columns between the first and the last inked ones."""
        rows, columns = np.flatnonzero(self.cells.any(axis=1)), np.flatnonzero(self.cells.any(axis=0))
        if not len(rows):
            return Raster(self.x0, self.y0, self.cells[:0, :0])
        top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
        return Raster(self.x0 + int(left), self.y0 + int(top), self.cells[top:bottom, left:right])

    def inked(self, box: Box) -> bool:
        """Whether any cell of a box on whole millimetres carries ink."""
        x, y = round(box.x0) - self.x0, round(box.y0) - self.y0
        x1, y1 = round(box.x1) - self.x0, round(box.y1) - self.y0
        return bool(self.cells[max(y, 0) : max(y1, 0), max(x, 0) : max(x1, 0)].any())


@dataclass(slots=True)
class _Ink:
    """Visible marks under one clip, sorted by how they are rasterised."""

    clip: Path | None
    thin: list[Thin] = field(default_factory=list)
    wide: list[tuple[Path, Stroke]] = field(default_factory=list)
    fills: list[tuple[Path, bool]] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)

    def add(self, mark: Mark) -> None:
        if not isinstance(mark, Line):
            self.boxes.append(mark.reach())
            return
        style, stroke = mark.style, mark.style.stroke
        if _fills(style):
            self.fills.append((mark.path, style.even_odd))
        if stroke is None or stroke.colour.is_white or stroke.opacity <= 0:
            return
        if stroke.width <= THIN:
            self.thin.append(Thin(mark.path, stroke.width / 2, stroke.miter_limit if stroke.join == 0 else 0.0))
        else:
            self.wide.append((mark.path, stroke))

    def paths(self) -> Iterator[Path]:
        """Every path whose line is walked along."""
        yield from (stroke.path for stroke in self.thin)
        yield from (path for path, _ in self.wide)
        yield from (path for path, _ in self.fills)

    def reach(self) -> Box | None:
        """A box that holds it all; None when there is nothing. Not a number where any coordinate isn't."""
        thin = max((s.half * max(s.mitre_limit, 1.0) for s in self.thin), default=0.0)
        wide = max((s.width / 2 * max(s.miter_limit, 1.0) for _, s in self.wide), default=0.0)
        boxes = list(self.boxes)
        for paths, grow in (
            ([path for path, _ in self.fills], 0.0),
            ([stroke.path for stroke in self.thin], thin),
            ([path for path, _ in self.wide], wide),
        ):
            if paths:
                points = np.concatenate([path.points for path in paths])
                (x0, x1), (y0, y1) = ((float(v.min()), float(v.max())) for v in (points[:, 0], points[:, 1]))
                boxes.append(Box(x0, y0, x1, y1).grown(grow))
        # The least of 1 and not-a-number depends on their order; a broken box must not get lost among sound ones.
        broken = next((box for box in boxes if not _finite(box)), None)
        return broken or Box.around(boxes)


def occupancy(pattern: Pattern, run: Run = Run()) -> Raster:
    """The inked cells of the whole drawing, trimmed to them.

    Raises:
        InputUnfit: nothing visible, a coordinate that is no number, or more drawing or line than any pattern has.
        Cancelled: by `run`.
    """
    raster = raster_of(pattern.marks, pattern.source, run)
    if raster.empty:
        raise InputUnfit(f"{pattern.source}: nothing visible is drawn, so there is nothing to print.")
    return raster


def raster_of(marks: Iterable[Mark], source: str, run: Run = Run()) -> Raster:
    """The inked cells of some marks, trimmed to them; without rows or columns where nothing is visible.

    `source` names the drawing in messages.

    Raises:
        InputUnfit: a coordinate that is no number, or more drawing or line than any pattern has.
        Cancelled: by `run`.
    """
    groups = _groups(marks)
    reaches = [(group, group.reach()) for group in groups]
    if not all(_finite(box) for _, box in reaches if box):
        raise InputUnfit(f"{source}: a coordinate is not a finite number; repair the drawing.")
    whole = Box.around(box for group, reach in reaches if (box := _clipped(reach, group.clip)) is not None)
    if whole is None:
        return Raster(0, 0, np.zeros((0, 0), dtype=np.bool_))
    _check_size(source, whole)
    _check_length(source, groups)
    x0, y0 = floor(whole.x0) - 2, floor(whole.y0) - 2
    cells = np.zeros((ceil(whole.y1) + 2 - y0, ceil(whole.x1) + 2 - x0), dtype=np.bool_)
    for group, reach in reaches:
        if group.clip is None or (_upright(group.clip) and reach is not None and _clipped(reach, group.clip) == reach):
            _paint(cells, group, x0, y0, run)
        else:
            _paint_clipped(cells, group, x0, y0, run)
    return Raster(x0, y0, cells).trimmed()


def _groups(marks: Iterable[Mark]) -> list[_Ink]:
    """The visible marks by clip; equal upright clips are one."""
    groups: dict[object, _Ink] = {None: _Ink(None)}
    known: dict[int, object] = {}
    seen: dict[int, bool] = {}
    for mark in marks:
        if isinstance(mark, Line):
            style = mark.style
            shown = seen.get(id(style))
            if shown is None:
                shown = seen[id(style)] = style.leaves_ink
            if not shown or is_helper(mark.tag) or not len(mark.path.points):
                continue
        elif mark.opacity <= 0 or (isinstance(mark, Label) and (mark.colour.is_white or not mark.text.strip())):
            continue
        clip, key = mark.clip, None
        if clip is not None:
            if id(clip) not in known:
                known[id(clip)] = clip.hull if _upright(clip) else id(clip)
            key = known[id(clip)]
        group = groups.get(key)
        if group is None:
            group = groups[key] = _Ink(clip)
        group.add(mark)
    return list(groups.values())


def _fills(style: Style) -> bool:
    return style.fill is not None and not style.fill.is_white and style.fill_opacity > 0


def _clipped(reach: Box | None, clip: Path | None) -> Box | None:
    if reach is None or clip is None:
        return reach
    return reach.common(clip.hull) if len(clip.points) else None


def _finite(box: Box) -> bool:
    return all(isfinite(side) for side in (box.x0, box.y0, box.x1, box.y1))


def _check_size(source: str, whole: Box) -> None:
    if (whole.width + 4) * (whole.height + 4) > LARGEST_RASTER:
        raise InputUnfit(
            f"{source}: the drawing reaches over {whole.width / 1000:,.6g} x {whole.height / 1000:,.6g} m, more than "
            f"{LARGEST_RASTER / 1e6:g} m²",
            Remedy(Action.REMOVE_FAR_OR_STATE_SIZE),
        )


def _check_length(source: str, groups: Iterable[_Ink]) -> None:
    """Refuse more line than a person could cut out in a life, before every millimetre of it is walked along."""
    paths = [path for group in groups for path in group.paths()]
    if not paths:
        return
    steps = np.abs(np.diff(np.concatenate([path.points for path in paths]), axis=0)).sum(axis=1)
    steps[np.cumsum([len(path.points) for path in paths])[:-1] - 1] = 0.0
    if steps.sum() > MOST_LINE:
        raise InputUnfit(
            f"{source}: holds {steps.sum() / 1e6:,.0f} km of lines, more than {MOST_LINE / 1e6:g}",
            Remedy(Action.REMOVE_OR_PRINT_PART),
        )


def _upright(clip: Path) -> bool:
    points = clip.points
    if len(points) not in {4, 5} or np.any(clip.ops == Op.CURVE):
        return False
    corners = {(float(x), float(y)) for x, y in points}
    return len(corners) == 4 and len({x for x, _ in corners}) == 2 and len({y for _, y in corners}) == 2


def _paint_clipped(cells: Cells, group: _Ink, x0: int, y0: int, run: Run) -> None:
    """Paint marks that share a clip: what they ink, where the clip lets it through (cell by cell)."""
    clip = group.clip
    window = _clipped(group.reach(), clip)
    if clip is None or window is None:
        return
    left, top = max(floor(window.x0), x0), max(floor(window.y0), y0)
    right, bottom = min(ceil(window.x1), x0 + cells.shape[1]), min(ceil(window.y1), y0 + cells.shape[0])
    if left >= right or top >= bottom:
        return
    let = np.zeros((bottom - top, right - left), dtype=np.bool_)
    rings = clip.flatten(TOLERANCE)
    fill_cells(let, rings, (left, top), even_odd=False)
    stroke_cells(let, outlines_of(rings, TOLERANCE), (left, top))
    inked = np.zeros_like(let)
    _paint(inked, group, left, top, run)
    cells[top - y0 : bottom - y0, left - x0 : right - x0] |= inked & let


def _paint(cells: Cells, group: _Ink, x0: int, y0: int, run: Run) -> None:
    """Set the cells the group inks, without regard to its clip; parts outside the array are left out."""
    run.check()
    for box in group.boxes:
        _paint_box(cells, box, x0, y0)
    edges: list[Floats] = []
    for path, even_odd in group.fills:
        run.check()
        rings = path.flatten(TOLERANCE)
        edges.extend(rings)
        if min(path.hull.width, path.hull.height) > 1:
            fill_cells(cells, rings, (x0, y0), even_odd=even_odd)
    for path, stroke in group.wide:
        run.check()
        _paint_wide(cells, path, stroke, x0, y0)
    if edges:
        stroke_cells(cells, outlines_of(edges, TOLERANCE), (x0, y0))
    for first in range(0, len(group.thin), _BATCH):
        run.check()
        stroke_cells(cells, chords_of(group.thin[first : first + _BATCH], TOLERANCE), (x0, y0))


def _paint_box(cells: Cells, box: Box, x0: int, y0: int) -> None:
    top, bottom = max(floor(box.y0) - y0, 0), max(ceil(box.y1) - y0, 0)
    left, right = max(floor(box.x0) - x0, 0), max(ceil(box.x1) - x0, 0)
    cells[top:bottom, left:right] = True


def _paint_wide(cells: Cells, path: Path, stroke: Stroke, x0: int, y0: int) -> None:
    """Fill what a stroke wider than `THIN` sweeps, chord by chord and corner by corner, many at once.

    Shapes that overlap all wind the same way, so that together they fill their union; making that union first would
    take time with the square of the crossings.
    """
    for run in path.flatten(TOLERANCE):
        for first in range(0, max(len(run) - 1, 1), _BATCH):
            # One chord more than the batch, for the corner between the two.
            rings = _swept(run[first : first + _BATCH + 2], stroke)
            fill_cells(cells, rings, (x0, y0), even_odd=False)
            stroke_cells(cells, outlines_of(rings, TOLERANCE), (x0, y0))
        if stroke.join == 0 and len(run) > 3 and np.array_equal(run[0], run[-1]):
            rings = _swept(np.stack([run[-2], run[0], run[1]]), stroke)
            fill_cells(cells, rings, (x0, y0), even_odd=False)
            stroke_cells(cells, outlines_of(rings, TOLERANCE), (x0, y0))


def _swept(run: Floats, stroke: Stroke) -> list[Floats]:
    """The outlines of the chords of a run of points as if their ends were round, and of the mitres between them."""
    import shapely  # noqa: PLC0415  (rare, and heavy)

    reach = stroke.width / 2 + TOLERANCE
    if len(run) == 1:
        shapes = shapely.buffer(shapely.points(run), reach, quad_segs=32)
    else:
        shapes = shapely.buffer(shapely.linestrings(np.stack([run[:-1], run[1:]], axis=1)), reach, quad_segs=32)
    corners = np.stack([run[:-2], run[1:-1], run[2:]], axis=1) if stroke.join == 0 and len(run) > 2 else run[:0]
    # A line that goes back where it came from has no mitre; GEOS 3.14 would take it for a ring.
    corners = corners[[not np.array_equal(a, c) for a, _, c in corners]] if len(corners) else corners
    if len(corners):
        limit = max(stroke.miter_limit, 1.0)
        mitred = shapely.buffer(shapely.linestrings(corners), reach, join_style="mitre", mitre_limit=limit)
        shapes = np.concatenate([shapes, mitred])
    rings = shapely.get_rings(shapely.normalize(shapes))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    return list(np.split(points, np.flatnonzero(np.diff(ring)) + 1))
