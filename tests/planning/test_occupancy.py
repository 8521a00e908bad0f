"""Ink by the square millimetre: never missed, never claimed where there is none."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.planning.drawings import THIN, pattern_of, rectangle, stroke
from tiling.failures import InputUnfit
from tiling.pattern import Label, Line, Picture
from tiling.planning.occupancy import TOLERANCE, Raster, occupancy
from tiling.shapes import Affine, Box, Path, PathBuilder, Point
from tiling.style import Colour, Stroke, Style

BLACK, WHITE = Colour(0, 0, 0), Colour(1, 1, 1)
coordinate = st.floats(-15, 25, allow_nan=False).map(lambda v: round(v, 3))


@st.composite
def paths(draw: st.DrawFn) -> Path:
    """A few straight and curved segments."""
    build = PathBuilder()
    build.move(draw(coordinate), draw(coordinate))
    for _ in range(draw(st.integers(1, 4))):
        if draw(st.booleans()):
            build.line(draw(coordinate), draw(coordinate))
        else:
            build.curve(*(draw(coordinate) for _ in range(6)))
    if draw(st.booleans()):
        build.close()
    return build.path()


def inked_where(raster: Raster, shape: shapely.Geometry, least: float) -> tuple[int, int]:
    """How many cells around the raster meet the shape but aren't inked, and the other way round (beyond `least`)."""
    left, top = raster.x0 - 3, raster.y0 - 3
    height, width = (n + 6 for n in raster.cells.shape)
    cells = np.zeros((height, width), dtype=bool)
    cells[3:-3, 3:-3] = raster.cells
    ys, xs = np.mgrid[top : top + height, left : left + width]
    boxes = shapely.box(xs, ys, xs + 1, ys + 1)
    meets = shapely.area(shapely.intersection(boxes, shape)) > 1e-9
    near = shapely.distance(boxes, shape) < least
    return int((meets & ~cells).sum()), int((cells & ~near).sum())


@settings(max_examples=60, deadline=None)
@given(paths(), st.sampled_from([0.1, 0.3, 0.5, 1.0, 1.6, 4.0]))
def test_a_round_stroke_inks_the_cells_it_meets(path: Path, width: float) -> None:
    """Against shapely: no cell that the stroke meets is missed, none is inked that lies off it."""
    raster = occupancy(pattern_of([Line(path, Style(Stroke(width, join=1)))]))
    # Chord by chord: GEOS 3.14 loses part of a closed line that is small for its width.
    chords = [shapely.LineString(run[k : k + 2]) for run in path.flatten(0.002) for k in range(len(run) - 1)]
    shape = shapely.union_all([chord.buffer(width / 2 - 0.002, quad_segs=32) for chord in chords])
    missed, made_up = inked_where(raster, shape, 3 * TOLERANCE)
    assert (missed, made_up) == (0, 0)


@pytest.mark.parametrize(
    "style",
    [Style(Stroke(0.4)), Style(Stroke(3.0)), Style(fill=BLACK), Style(fill=BLACK, even_odd=True)],
    ids=["thin", "wide", "filled", "even-odd"],
)
def test_a_long_line_is_inked_part_by_part(monkeypatch: pytest.MonkeyPatch, style: Style) -> None:
    """The same cells whether many or few are met at once; memory does not grow with the length of line."""
    build = PathBuilder()
    build.move(0, 0)
    for step in range(1, 300):
        build.line(step * 37 % 97 + 0.3, step * 53 % 89 + 0.6)
    pattern = pattern_of([Line(build.path(), style)])
    whole = occupancy(pattern)
    monkeypatch.setattr("tiling.planning.cells._MOST_MET", 300)
    parted = occupancy(pattern)
    assert parted.box == whole.box
    assert np.array_equal(parted.cells, whole.cells)


def test_more_line_than_any_pattern_has_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Told with its length; from the end of one line to the start of the next there is none."""
    monkeypatch.setattr("tiling.planning.occupancy.MOST_LINE", 3e6)
    far = [stroke([(0, y), (900, y)]) for y in range(3000)]
    with pytest.raises(InputUnfit, match="holds 3 km of lines, more than 3;"):
        occupancy(pattern_of([*far, *far[:500]]))
    assert not occupancy(pattern_of(far)).empty


@settings(max_examples=40, deadline=None)
@given(paths(), st.booleans())
def test_a_fill_inks_its_inside(path: Path, even_odd: bool) -> None:
    """Against shapely's even-odd and wound interiors (by the winding number of a grid of points)."""
    raster = occupancy(pattern_of([Line(path, Style(fill=BLACK, even_odd=even_odd))]))
    ring = path.flatten(0.002)[0]
    edges = shapely.LineString(np.vstack([ring, ring[:1]]))
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(edges)]))
    inside = [face for face in faces if _winding(ring, face.representative_point()) % (2 if even_odd else 10**9)]
    shape = shapely.union_all([*inside, edges]) if inside else edges
    missed, made_up = inked_where(raster, shape, 3 * TOLERANCE)
    assert (missed, made_up) == (0, 0)


def _winding(ring: np.ndarray, point: shapely.Point) -> int:
    """How often the closed ring turns around the point."""
    angles = np.unwrap(np.arctan2(*(np.vstack([ring, ring[:1]]) - (point.x, point.y)).T[::-1]))
    return round((angles[-1] - angles[0]) / (2 * np.pi))


@pytest.mark.parametrize("limit", [1.0, 4.0, 10.0])
def test_the_tip_of_a_mitred_corner_counts_within_the_limit(limit: float) -> None:
    """A corner of 20 degrees has a mitre 5.76 half widths long (1 / sin 10 degrees): drawn at limit 10 only."""
    top = (50.5, 10.5)
    path = Path.polyline([Point(40.5, 67.21), Point(*top), Point(60.5, 67.21)])
    raster = occupancy(pattern_of([Line(path, Style(Stroke(1.0, miter_limit=limit)))]))
    tip = 0.5 / np.sin(np.arctan2(10, 56.71))
    assert raster.y0 == (int(np.floor(10.5 - tip)) if limit == 10.0 else 9)
    closed = Path.polyline([Point(*top), Point(60.5, 67.21), Point(40.5, 67.21)], closed=True)
    assert occupancy(pattern_of([Line(closed, Style(Stroke(1.0, miter_limit=limit)))])).y0 == raster.y0


def test_what_leaves_no_ink_does_not_count() -> None:
    """White paint, no paint, a transparent stroke and blank text are invisible."""
    box = Path.rectangle(Box(100, 100, 120, 120))
    marks = [
        rectangle(Box(10, 10, 20, 20)),
        Line(box, Style(fill=WHITE)),
        Line(box, Style()),
        Line(box, Style(Stroke(1.0, opacity=0.0))),
        Line(box, Style(fill=BLACK, fill_opacity=0.0)),
        Label("  ", Affine.shift(150, 150), 5.0, advance=30),
        Label("white", Affine.shift(150, 150), 5.0, colour=WHITE, advance=30),
    ]
    assert occupancy(pattern_of(marks)).box == Box(9, 9, 21, 21)


def test_texts_and_pictures_count_with_their_place() -> None:
    """A label's reach and a picture's box are inked whole."""
    label = Label("hem", Affine.shift(10, 20), 5.0, advance=12.0)
    raster = occupancy(pattern_of([label, Picture(b"", Affine(30, 0, 0, 20, 100, 50))]))
    assert raster.inked(Box(100, 50, 130, 70)) and raster.cells[-20:, -30:].all()
    assert raster.inked(Box(15, 17, 16, 18)) and not raster.inked(Box(60, 30, 90, 45))


def test_a_clip_limits_what_counts() -> None:
    """Upright clips and others; a clip that holds the mark changes nothing; one far off leaves nothing."""
    line = stroke([(0, 50.5), (200, 50.5)])
    clipped = Line(line.path, line.style, clip=Path.rectangle(Box(40, 0, 60, 100)))
    assert occupancy(pattern_of([clipped])).box == Box(40, 50, 60, 51)
    diamond = Path.polyline([Point(50, 20), Point(80, 50), Point(50, 80), Point(20, 50)], closed=True)
    raster = occupancy(pattern_of([Line(Path.rectangle(Box(0, 0, 100, 100)), Style(fill=BLACK), clip=diamond)]))
    assert raster.inked(Box(48, 48, 52, 52)) and not raster.inked(Box(21, 21, 30, 30))
    whole = Line(line.path, line.style, clip=Path.rectangle(Box(-10, -10, 300, 300)))
    assert occupancy(pattern_of([whole])).box == occupancy(pattern_of([line])).box
    off = Line(line.path, line.style, clip=Path.rectangle(Box(0, 200, 10, 210)))
    with pytest.raises(InputUnfit, match="nothing visible"):
        occupancy(pattern_of([off]))


def test_a_dot_counts() -> None:
    """A line without length draws a dot with round ends."""
    assert occupancy(pattern_of([stroke([(5.5, 5.5), (5.5, 5.5)])])).box == Box(5, 5, 6, 6)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 1e9])
def test_a_coordinate_far_off_is_refused(bad: float) -> None:
    """Nothing is allocated for a drawing of a thousand kilometres."""
    with pytest.raises(InputUnfit, match=r"finite|reaches over"):
        occupancy(pattern_of([stroke([(0, 0), (bad, 10), (5, bad)])]))
    with pytest.raises(InputUnfit, match=r"finite|reaches over"):
        occupancy(pattern_of([rectangle(Box(0, 0, 9, 9), Style(fill=BLACK)), stroke([(0, 0), (bad, 10)])]))


def test_nothing_visible_is_refused() -> None:
    """An empty drawing has no pages."""
    with pytest.raises(InputUnfit, match="nothing visible"):
        occupancy(pattern_of([]))
    assert THIN.leaves_ink
