"""Spreads and overlaps are exact: widths at every height, areas, rigid parts, and back again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, Polygon, hausdorff_distance
from shapely.affinity import rotate, translate

from tests.altering.drawings import (
    FOLD,
    HEIGHTS,
    half_skirt,
    line,
    notes_of,
    pattern_of,
    rectangle,
    ring,
    through,
    trapezium,
)
from tiling.altering.alter import Alteration, AlterOutcome, alter
from tiling.notes import CutAs, Notes, PieceNote
from tiling.pattern import Line, Mark, Pattern, Role
from tiling.shapes import Affine, Path
from tiling.shapes import Point as At
from tiling.shapes.straights import Straight

SHAPES = {"rectangle": rectangle, "trapezium": trapezium, "half-skirt": half_skirt}
CUT = {"rectangle": (250.0, 100.0, 700.0), "trapezium": (230.0, 100.0, 700.0), "half-skirt": (225.0, None, None)}


def level_lengths(pattern: Pattern) -> dict[float, float]:
    """Lengths of the level lines by height."""
    found = {}
    for mark in pattern.lines(role=Role.PLACEMENT):
        found[float(mark.tag.name.removeprefix("level-"))] = mark.path.length()
    return found


def ends_of_cut(shape: str) -> tuple[float, float]:
    """Heights of the wide (upper) and the narrow end of the cut, found with shapely."""
    marks = SHAPES[shape]()
    x = CUT[shape][0]
    outline = LineString(ring(marks[0].path))
    meets = outline.intersection(LineString([(x, 0), (x, 900)]))
    heights = sorted(point.y for point in meets.geoms)
    return heights[0], heights[-1]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("around", [40.0, -30.0, 12.5, 90.0])
@pytest.mark.parametrize("taper", [0.0, 0.35, 1.0])
def test_the_circumference_changes_at_every_height_by_exactly_the_tapered_amount(
    shape: str, around: float, taper: float
) -> None:
    """To 0.01 mm: each level line, followed over the cut, is longer by its share of the opening."""
    before = pattern_of(SHAPES[shape]())
    after = alter(before, Alteration(around=around, taper=taper)).pattern
    old, new = level_lengths(before), level_lengths(after)
    wide, narrow = ends_of_cut(shape)
    each = around / 2  # one piece on the fold: two layers
    for height, length in old.items():
        share = taper + (1 - taper) * (narrow - height) / (narrow - wide)
        assert new[height] - length == pytest.approx(each * share, abs=0.01), height


@pytest.mark.parametrize("around", [40.0, -30.0])
def test_a_slanting_grading_line_widens_by_the_same_at_every_height(around: float) -> None:
    """Parallel spreads slide across the grain, so a horizontal section measures the amount exactly (shapely)."""
    marks = trapezium()
    marks = [m for m in marks if m.tag.role is not Role.GRADING]
    marks.append(line("gore", Role.GRADING, through((210, 96), (262, 704)), "width"))
    before = pattern_of(marks)
    after = alter(before, Alteration(around=around, taper=1.0, fairing=0.0)).pattern
    for height in HEIGHTS:
        widths = [section(p, height) for p in (before, after)]
        assert widths[1] - widths[0] == pytest.approx(around / 2, abs=0.01)


def section(pattern: Pattern, height: float) -> float:
    """Width of the cut piece at a height."""
    outline = Polygon(ring(pattern.lines(role=Role.CUTTING)[0].path))
    return outline.intersection(LineString([(0, height), (2000, height)])).length


def test_a_slanting_v_opens_by_its_share_across_the_grain() -> None:
    """The gap between the edges of a slanting cut, taken across the grain, is the tapered amount to 0.02 mm."""
    from tiling.altering.cut import Opening, cut_of, spread_move
    from tiling.altering.piece_geometry import CutKind, piece_geometry

    marks = [m for m in trapezium() if m.tag.role is not Role.GRADING]
    marks.append(line("gore", Role.GRADING, through((210, 96), (262, 704)), "width"))
    body = piece_geometry(pattern_of(marks), "gore")
    cut = cut_of(body, body.cut_lines[CutKind.GRADING][0], CutKind.GRADING)
    move = spread_move(cut, Opening(12.0, 3.0))
    edge = [move.point(p) for p in (cut.line.start, cut.line.end)]
    for height in HEIGHTS:
        gap = at_height(edge, height) - at_height([cut.line.start, cut.line.end], height)
        share = (cut.line.end.y - height) / (cut.line.end.y - cut.line.start.y)
        assert gap == pytest.approx(3.0 + 9.0 * share, abs=0.02)


def at_height(ends: list[At], y: float) -> float:
    """The x of the line through two points at a height."""
    (a, b) = ends
    return a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y)


@pytest.mark.parametrize("taper", [0.0, 0.5, 1.0])
def test_the_area_grows_by_the_gap(taper: float) -> None:
    """Unfaired, the spread rectangle is both rigid parts and the gap between them (areas by shapely)."""
    after = alter(pattern_of(rectangle()), Alteration(around=40.0, taper=taper, fairing=0.0)).pattern
    stays = Polygon([(100, 100), (250, 100), (250, 700), (100, 700)])
    part = Polygon([(250, 100), (300, 100), (300, 700), (250, 700)])
    turn = np.degrees(2 * np.arcsin(20 * (1 - taper) / (2 * 600)))
    moved = translate(rotate(part, turn, origin=(250, 700)), 20 * taper, 0)
    corners = list(moved.exterior.coords)
    gap = Polygon([(250, 100), corners[0], corners[3], (250, 700)])
    expected = stays.area + part.area + gap.area
    assert Polygon(ring(after.lines(role=Role.CUTTING)[0].path)).area == pytest.approx(expected, abs=0.5)


def test_the_area_shrinks_by_the_overlap() -> None:
    """A parallel overlap of 15 mm takes 15 mm by the height off the rectangle."""
    after = alter(pattern_of(rectangle()), Alteration(around=-30.0)).pattern
    area = Polygon(ring(after.lines(role=Role.CUTTING)[0].path)).area
    assert area == pytest.approx(600 * (200 - 15), abs=1e-6)


@pytest.mark.parametrize("around", [60.0, -40.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_rigid_parts_keep_every_length(shape: str, around: float) -> None:
    """What lies on one side moves as one body: all distances between its points stay; the other side stays put."""
    before = pattern_of(SHAPES[shape]())
    after = alter(before, Alteration(around=around, taper=0.2)).pattern
    pairs = [(a.path.points, b.path.points) for a, b in zip(lines_of(before), lines_of(after), strict=True)]
    sides = [(a, b) for a, b in pairs if len(a) == len(b) and not np.allclose(a, b)]
    fixed = [1 for a, b in pairs if len(a) == len(b) and np.allclose(a, b, atol=0)]
    assert fixed
    for old, new in sides:
        if old[:, 0].min() > 260:  # right of every cut
            assert distances(new) == pytest.approx(distances(old), abs=1e-9)


def lines_of(pattern: Pattern) -> list[Line]:
    """All line marks."""
    return [mark for mark in pattern.marks if isinstance(mark, Line)]


def distances(points: np.ndarray) -> np.ndarray:
    """All distances between points."""
    return np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1)).ravel()


def test_front_and_back_on_the_fold_make_four_lines() -> None:
    """Common practice, no source: an inch overlapped on front and back takes four inches off the hip."""
    marks = [*rectangle("front"), *rectangle("back", 600.0)]
    notes = notes_of([PieceNote(ident, copies=1, cut=CutAs.FOLD) for ident in ("front", "back")])
    outcome = alter(pattern_of(marks, notes), Alteration(around=-4 * 25.4))
    assert [*map(str, outcome.explanation)] == ["101.6 mm less around: 25.4 mm overlapped at each of 4 grading lines."]
    for piece in ("front", "back"):
        assert width_of(outcome.pattern, piece) == pytest.approx(200 - 25.4, abs=1e-6)


@pytest.mark.parametrize(
    ("copies", "cut", "layers"), [(1, "single", 1), (2, "pair", 2), (2, "single", 2), (1, "fold", 2)]
)
def test_each_cut_layer_counts(copies: int, cut: str, layers: int) -> None:
    """A piece cut twice counts twice, one on the fold counts twice; the words name the count."""
    notes = notes_of([PieceNote("panel", copies=copies, cut=CutAs(cut))])
    outcome = alter(pattern_of(rectangle(), notes), Alteration(around=40.0))
    words = "40.0 mm at 1 grading line." if layers == 1 else "20.0 mm at each of 2 grading lines."
    assert words in outcome.explanation[0].text
    assert width_of(outcome.pattern, "panel") == pytest.approx(200 + 40 / layers, abs=1e-6)


def width_of(pattern: Pattern, piece: str) -> float:
    """Width of the cutting line's box."""
    return pattern.lines(piece=piece, role=Role.CUTTING)[0].path.bounds().width


@pytest.mark.parametrize("longer", [25.0, -25.0])
def test_lengthening_moves_along_the_grain(longer: float) -> None:
    """All of the amount, along the grain; widths stay, and the fold and the grading line stay in line."""
    before = pattern_of(half_skirt())
    after = alter(before, Alteration(longer=longer)).pattern
    old, new = (p.lines(role=Role.CUTTING)[0].path.bounds() for p in (before, after))
    assert new.height - old.height == pytest.approx(longer, abs=1e-6)
    assert new.width == pytest.approx(old.width, abs=1e-6)
    fold = after.lines(role=Role.FOLD)[0].path
    assert len(fold.points) == 2
    assert np.allclose(fold.points[:, 0], 100.0, atol=1e-9)
    cut = after.lines(role=Role.GRADING)[0].path
    assert len(cut.points) == 2
    assert np.allclose(cut.points[:, 0], 225.0, atol=1e-9)
    assert cut.length() == pytest.approx(620 + longer, abs=0.01)


def away(before: Pattern, after: Pattern, cut: LineString, reach: float) -> float:
    """How far the outline after lies from the outline before, farther than `reach` from the cut; mm."""
    rings = [ring(p.lines(role=Role.CUTTING)[0].path) for p in (before, after)]
    worst = 0.0
    for points, other in ((rings[0], LineString(rings[1])), (rings[1], LineString(rings[0]))):
        for x, y in points:
            if cut.distance(Point(x, y)) > reach:
                worst = max(worst, other.distance(Point(x, y)))
    return worst


@settings(max_examples=12, deadline=None)
@given(
    shape=st.sampled_from(sorted(SHAPES)),
    amount=st.floats(2.0, 80.0),
    taper=st.floats(0.0, 1.0),
    fairing=st.floats(5.0, 40.0),
)
def test_spread_then_overlap_gives_the_first_drawing_back(
    shape: str, amount: float, taper: float, fairing: float
) -> None:
    """+x then -x: everything farther from the cut than the fairing is where it was, to 0.05 mm."""
    before = pattern_of(SHAPES[shape]())
    once = alter(before, Alteration(around=amount, taper=taper, fairing=fairing)).pattern
    back = alter(once, Alteration(around=-amount, taper=taper, fairing=fairing)).pattern
    x = CUT[shape][0]
    cut = LineString([(x, 0), (x, 900)])
    assert away(before, back, cut, 2 * fairing + amount) < 0.05
    for old, new in zip(before.lines(role=Role.PLACEMENT), back.lines(role=Role.PLACEMENT), strict=True):
        assert np.abs(new.path.points[[0, -1]] - old.path.points[[0, -1]]).max() < 0.05


@settings(max_examples=8, deadline=None)
@given(amount=st.floats(2.0, 60.0), fairing=st.floats(5.0, 40.0))
def test_longer_then_shorter_gives_the_first_drawing_back(amount: float, fairing: float) -> None:
    """The same for the lengthen line."""
    before = pattern_of(half_skirt())
    once = alter(before, Alteration(longer=amount, fairing=fairing)).pattern
    back = alter(once, Alteration(longer=-amount, fairing=fairing)).pattern
    assert away(before, back, LineString([(0, 450), (900, 450)]), 2 * fairing + amount) < 0.05


@settings(max_examples=10, deadline=None)
@given(
    degrees=st.floats(-180, 180),
    mirror=st.sampled_from([1.0, -1.0]),
    around=st.floats(-30, 60),
    longer=st.floats(-40, 40),
    taper=st.floats(0, 1),
)
def test_a_turned_piece_is_altered_alike(
    degrees: float, mirror: float, around: float, longer: float, taper: float
) -> None:
    """Turning or mirroring the piece on the sheet, then altering it, is altering it, then turning: to 1e-6 mm.

    Where an edge is straight to a hair, rounding decides whether it is joined straight or faired: to 0.05 mm then.
    """
    move = Affine.turn(degrees, about=At(300, 400)) @ Affine.scale(mirror, 1.0) @ Affine.shift(-2000, 0)
    move = Affine.shift(6000, 6000) @ move
    marks = [
        replace(m, tag=replace(m.tag, extra=(("wide", "start"),))) if m.tag.role is Role.GRADING else m
        for m in half_skirt()
    ]
    asked = Alteration(around=around, longer=longer, taper=taper)
    plain = alter(pattern_of(marks), asked).pattern
    turned = alter(pattern_of([mark.moved(move) for mark in marks]), asked).pattern
    for old, new in zip(plain.marks, turned.marks, strict=True):
        expected = old.path.moved(move)
        if np.array_equal(expected.ops, new.path.ops):
            assert np.allclose(expected.points, new.path.points, atol=1e-6), old.tag.name
        else:
            lines = [MultiLineString([run for run in p.flatten() if len(run) > 1]) for p in (expected, new.path)]
            assert hausdorff_distance(*lines, densify=0.02) < 0.05, old.tag.name


def test_repeated_runs_add_up() -> None:
    """Two runs of 20 mm are one of 40 mm: the lines to cut along are kept in the altered drawing."""
    before = pattern_of(rectangle())
    twice = alter(alter(before, Alteration(around=20.0)).pattern, Alteration(around=20.0)).pattern
    once = alter(before, Alteration(around=40.0)).pattern
    assert width_of(twice, "panel") == pytest.approx(width_of(once, "panel"), abs=1e-6)
    assert level_lengths(twice) == pytest.approx(level_lengths(once), abs=1e-6)


def test_a_piece_may_have_several_grading_lines() -> None:
    """Two lines in a piece cut once: half at each."""
    marks: list[Mark] = [m for m in rectangle() if m.tag.role not in {Role.GRADING, Role.FOLD}]
    marks += [line("panel", Role.GRADING, through((x, 95), (x, 705))) for x in (180, 260)]
    outcome = alter(pattern_of(marks), Alteration(around=20.0))
    assert "10.0 mm at each of 2 grading lines" in outcome.explanation[0].text
    assert width_of(outcome.pattern, "panel") == pytest.approx(220.0, abs=1e-6)


def test_the_wide_end_is_marked_or_nearer_the_waist() -> None:
    """A mark in the drawing wins, then the notes, then the end nearer the line named waist, then the upper one."""

    def widths(marks: list[Mark], notes: Notes | None = None) -> tuple[float, float]:
        lengths = level_lengths(alter(pattern_of(marks, notes), Alteration(around=20.0, taper=0.0)).pattern)
        return lengths[120.0], lengths[680.0]

    plain = rectangle()
    assert widths(plain)[0] > widths(plain)[1]
    waist = [*plain, line("panel", Role.STITCHING, through((100, 690), (300, 690)), "waist")]
    assert widths(waist)[0] < widths(waist)[1]
    noted = notes_of([PieceNote("panel", wide_end="start", cut=FOLD)])
    assert widths(waist, noted)[0] > widths(waist, noted)[1]
    marked = [m for m in waist if m.tag.role is not Role.GRADING]
    marked.append(line("panel", Role.GRADING, through((250, 95), (250, 705)), "width", "end"))
    assert widths(marked, noted)[0] < widths(marked, noted)[1]


def test_a_cut_line_given_by_hand_serves_where_the_drawing_has_none() -> None:
    """The first point is the wide end; the line is kept in the drawing for the next time."""
    marks = [m for m in rectangle() if m.tag.role in {Role.CUTTING, Role.GRAINLINE, Role.PLACEMENT}]
    cut = Straight(At(250, 720), At(250, 80))
    outcome: AlterOutcome = alter(pattern_of(marks), Alteration(around=10.0, taper=0.0, cut_lines=(cut,)))
    lengths = level_lengths(outcome.pattern)
    assert lengths[680.0] > lengths[120.0] + 9
    again = alter(outcome.pattern, Alteration(around=-10.0, taper=0.0)).pattern
    assert level_lengths(again) == pytest.approx(level_lengths(pattern_of(marks)), abs=0.05)


def test_nothing_else_is_touched() -> None:
    """Marks of other pieces and marks without a piece are the same objects."""
    other = [*rectangle("other", 900.0), line("", Role.PLAIN, through((5, 5), (50, 5)))]
    before = pattern_of([*rectangle("panel"), *other])
    after = alter(before, Alteration(around=20.0, pieces=("panel",))).pattern
    kept = after.marks[len(before.marks) - len(other) :]
    assert all(a is b for a, b in zip(kept, other, strict=True))
    assert isinstance(after.lines(piece="other", role=Role.CUTTING)[0].path, Path)
