"""Laying pieces anew: fewer pages or the drawing's own layout, nothing lost, nothing over another."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely

from tests.planning.drawings import (
    SCALES,
    as_pattern,
    instance,
    needed_open_data,
    net_tile_area,
    numbered,
    pattern_of,
    rectangle,
    smock_like,
    stroke,
)
from tiling.failures import InputUnfit, UsageWrong
from tiling.pattern import Label, Line, Pattern, Role, Tag
from tiling.planning.arrange import Arrangement, ArrangeOptions, Turn, arrange
from tiling.planning.layout import find_pieces
from tiling.planning.papers import paper_named
from tiling.planning.placing import placed
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.planning.share import Sharing, share
from tiling.record.plan_record import read_record, record_bytes
from tiling.shapes import Box

A4 = PlanOptions(paper_named("a4"))


def check(before: Pattern, outcome: Arrangement, gap: float, turns: Turn) -> None:
    """Every mark once and rigid; pieces apart; turns allowed; every mark's ink in a printed tile."""
    after = outcome.pattern
    moves = {placement.piece: placement.move for placement in outcome.plan.placements}
    pieces = find_pieces(before)
    assert set(moves) == {piece.ident for piece in pieces}
    shapes = []
    for piece in pieces:
        move = moves[piece.ident]
        assert np.allclose([move.a**2 + move.b**2, move.determinant], 1.0, rtol=0.0, atol=1e-9)
        turned = np.degrees(np.arctan2(move.b, move.a)) % 180
        assert turns is Turn.ANY or min(turned, 180 - turned) < 0.01
        assert turns is not Turn.NONE or move.a > 0
        shapes.append(shapely.transform(piece.outline, move.points))
        for index in piece.marks:
            mark, laid = before.marks[index], after.marks[index]
            if isinstance(mark, Line) and isinstance(laid, Line):
                assert np.allclose(move.points(mark.path.points), laid.path.points, rtol=0.0, atol=1e-6)
    assert all(a.distance(b) >= gap - 0.05 for a, b in combinations(shapes, 2))
    windows = shapely.union_all([shapely.box(*_sides(tile.window)) for tile in outcome.plan.tiles])
    for mark in after.marks:
        if isinstance(mark, Line):
            assert windows.buffer(1e-6).covers(shapely.union_all([shapely.LineString(r) for r in mark.path.flatten()]))


def _sides(box: Box) -> tuple[float, float, float, float]:
    return (box.x0, box.y0, box.x1, box.y1)


@pytest.mark.parametrize("turn", list(Turn))
def test_pieces_scattered_on_a_sheet_are_drawn_together(turn: Turn) -> None:
    """Three pieces and a heading far apart: fewer pages, and the placements give the same pattern again."""
    marks = [rectangle(Box(x, y, x + 150, y + 90)) for x, y in ((10, 10), (600, 400), (300, 900))]
    marks.append(stroke([(800, 800), (830, 800)]))
    scattered = pattern_of(marks)
    outcome = arrange(scattered, A4, ArrangeOptions(turn, seconds=1))
    assert not outcome.reason and len(outcome.plan.tiles) < len(outcome.kept.tiles)
    assert len(outcome.plan.tiles) <= 2
    check(scattered, outcome, 5.0, turn)
    assert outcome.plan.pages_as_drawn == outcome.kept.pages_as_drawn


def test_kept_placements_give_the_same_pages_everywhere() -> None:
    """What another machine found is laid again from the printed file's record, byte for byte the same record."""
    smock = smock_like()
    outcome = arrange(smock, A4, ArrangeOptions(seconds=2))
    assert not outcome.reason
    check(smock, outcome, 5.0, Turn.ANY)
    kept = read_record(record_bytes(outcome.plan, outcome.pattern, numbered(outcome.plan))).plan.placements
    assert kept == outcome.plan.placements
    again = placed(smock, kept)
    plan = plan_pages(again, PlanOptions(A4.paper, placements=kept))
    assert [tile.window for tile in plan.tiles] == [tile.window for tile in outcome.plan.tiles]


def test_the_drawing_is_kept_where_arranging_does_not_help() -> None:
    """One tile can't be bettered; a drawing of open lines has no pieces. Both are said."""
    snug = pattern_of([rectangle(Box(10, 10, 100, 100))])
    outcome = arrange(snug, A4, ArrangeOptions(seconds=1))
    assert outcome.reason and outcome.plan == plan_pages(snug, A4) and outcome.pattern is snug
    assert "needs 1 and was kept" in outcome.reason
    loose = pattern_of([stroke([(0, 0), (400, 10)])])
    outcome = arrange(loose, A4, ArrangeOptions(seconds=1))
    assert "told apart" in outcome.reason


@pytest.mark.parametrize("wish", [ArrangeOptions(gap=4.0), ArrangeOptions(seconds=0)])
def test_too_little_gap_or_time_is_refused(wish: ArrangeOptions) -> None:
    """Pieces closer than 5 mm can't be cut apart."""
    with pytest.raises(UsageWrong, match=r"gap of 4 mm|one second"):
        arrange(smock_like(), A4, wish)


def test_a_roll_gets_shorter() -> None:
    """On a roll the length counts."""
    scattered = pattern_of([rectangle(Box(x, 10, x + 300, 310)) for x in (10, 700, 1500)])
    outcome = arrange(scattered, PlanOptions(paper_named("roll:914mm")), ArrangeOptions(seconds=2))
    assert not outcome.reason and len(outcome.plan.tiles) == 1
    size = outcome.plan.page_size
    assert max(size.width, size.height) < 1000 < max(outcome.kept.page_size.width, outcome.kept.page_size.height)


def test_a_garment_instance_comes_near_the_floor() -> None:
    """Albano at real size on A4, a few seconds: at most 1.35 times total area over net tile area, rounded up.

    The other instances are in `tests/benchmarks/fewest_pages.py`.
    """
    given = instance(needed_open_data(), "albano")
    pattern = as_pattern(given)
    outcome = arrange(pattern, A4, ArrangeOptions(seconds=3))
    area = sum(item.area * item.count for item in given.items) * SCALES["albano"] ** 2
    floor = -(-area // net_tile_area(A4))
    assert not outcome.reason and len(outcome.plan.tiles) <= 1.35 * floor
    check(pattern, outcome, 5.0, Turn.ANY)


def test_like_pieces_share_paper_lined_up_on_their_grainlines() -> None:
    """A back under its front: half the paper, grainlines on one line, another line pattern, titles at line ends."""
    smock = smock_like()
    sharing = share(smock)
    assert [(pair.host, pair.over) for pair in sharing.pairs] == [("front", "back")]
    assert sharing.pairs[0].likeness > 0.8
    grains = [line.path.points for line in sharing.pattern.lines(role=Role.GRAINLINE)]
    assert np.allclose(grains[0][:, 0], grains[1][:, 0], rtol=0.0, atol=1e-6)
    front, back = (sharing.pattern.lines(piece=p, role=Role.CUTTING)[0].style.stroke for p in ("front", "back"))
    assert front and back and front.dashes != back.dashes
    for title in ("Front", "Back"):
        labels = [m for m in sharing.pattern.marks if isinstance(m, Label) and m.text == title]
        assert len(labels) >= 2 and all(label.tag.piece == title.lower() for label in labels)
    boxes = [mark.reach() for mark in sharing.pattern.marks if isinstance(mark, Label)]
    assert not any(a.grown(-0.01).meets(b.grown(-0.01)) for a, b in combinations(boxes, 2))
    without, shared = (len(plan_pages(p, A4).tiles) for p in (smock, sharing.pattern))
    assert shared < without


def test_shared_pieces_are_arranged_as_one() -> None:
    """The placements of all pieces give the shared layout back, from the drawing as read."""
    smock = smock_like()
    sharing = share(smock)
    outcome = arrange(smock, A4, ArrangeOptions(seconds=2), sharing)
    assert len(outcome.plan.tiles) <= len(outcome.kept.tiles) <= len(plan_pages(sharing.pattern, A4).tiles)
    again = sharing.laid(outcome.plan.placements)
    for ours, theirs in zip(again.marks, outcome.pattern.marks, strict=True):
        if isinstance(ours, Line) and isinstance(theirs, Line):
            assert np.allclose(ours.path.points, theirs.path.points, rtol=0.0, atol=1e-6)
    moves = {p.piece: p.move for p in outcome.plan.placements}
    grains = [moves[n].points(smock.lines(n, Role.GRAINLINE)[0].path.points) for n in ("front", "back")]
    along = grains[0][1] - grains[0][0]
    across = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    assert np.allclose((grains[1] - grains[0][0]) @ across, 0.0, rtol=0.0, atol=1e-6)


@pytest.mark.parametrize("top", [0.0, 5000.0])
def test_a_short_grainline_counts_wherever_it_lies(top: float) -> None:
    """0.03 mm are a direction, at 5 m as at the sheet's corner."""
    marks = []
    for number, piece in enumerate(("front", "back")):
        left = 200.0 * number
        marks.append(rectangle(Box(left, top, left + 100, top + 100), tag=Tag(piece)))
        marks.append(stroke([(left + 50, top + 50), (left + 50, top + 50.03)], tag=Tag(piece, Role.GRAINLINE)))
    assert len(share(pattern_of(marks)).pairs) == 1


def test_sharing_is_refused_with_the_reason() -> None:
    """No grainlines, or nothing alike."""
    with pytest.raises(InputUnfit, match="grainline"):
        share(pattern_of([rectangle(Box(0, 0, 100, 100)), rectangle(Box(200, 0, 300, 100))]))
    with pytest.raises(InputUnfit, match="alike"):
        share(smock_like(), likeness=0.99)
    assert isinstance(share(smock_like()), Sharing)


def test_many_full_pieces_are_turned_by_quarters_and_hollow_ones_freely() -> None:
    """Squares settle sooner on quarter turns; hooks nest at any angle; few of either are turned freely."""
    square = shapely.box(0, 0, 100, 100)
    hook = square.difference(shapely.box(20, 20, 100, 100))
    assert Turn.ANY.degrees([square] * 13) == (0.0, 90.0, 180.0, 270.0)
    assert Turn.ANY.degrees([hook] * 13) is None
    assert Turn.ANY.degrees([square] * 12) is None
    assert Turn.HALF.degrees([hook]) == (0.0, 180.0) and Turn.NONE.degrees([hook]) == (0.0,)
