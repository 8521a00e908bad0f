"""A piece's outline as it is cut, from named lines that meet or from one closed path."""

from __future__ import annotations

import pytest
from shapely import Polygon

from tests.cloth.drafts import front, mark, pattern, rectangle, sleeve
from tiling.cloth.outlines import cut_outline
from tiling.failures import InputUnfit
from tiling.pattern import Line, Role


def test_named_lines_that_meet_become_one_ring() -> None:
    """Four cutting lines and the fold, each starting where the last ended; area by shapely."""
    outline = cut_outline(pattern(front()), "front")
    assert [run.name for run in outline.runs if not run.on_fold] == ["neckline", "shoulder", "armhole", "side", "hem"]
    assert outline.fold is not None
    assert Polygon(outline.ring()).is_valid


def test_lines_drawn_in_any_order_and_direction_still_chain() -> None:
    """The ring is the same when the drawing holds the lines shuffled and turned round."""
    lines = front()
    shuffled = [lines[3], lines[0], lines[5], lines[2], lines[4], lines[1]]
    turned = [*shuffled]
    turned[1] = Line(lines[0].path.reversed(), lines[0].style, lines[0].tag)
    one, other = (Polygon(cut_outline(pattern(m), "front").ring()) for m in (lines[:6], turned))
    assert one.symmetric_difference(other).area < 1e-6


def test_a_closed_path_has_its_fold_set_apart() -> None:
    """A closed outline whose left edge carries a fold line: two runs, one of them on the fold."""
    lines = [
        mark("back", Role.CUTTING, "outline", (0, 0), (200, 0), (200, 300), (0, 300), closed=True),
        mark("back", Role.FOLD, "fold", (0, 0), (0, 300)),
    ]
    outline = cut_outline(pattern(lines), "back")
    assert [run.on_fold for run in outline.runs].count(True) == 1
    assert outline.fold is not None
    assert outline.fold.path.length() == pytest.approx(300.0)


def test_named_lines_over_a_closed_outline_give_its_runs_their_names() -> None:
    """The outline is drawn whole, and its side once more with a name."""
    lines = [
        mark("back", Role.CUTTING, "", (0, 0), (200, 0), (200, 300), (0, 300), closed=True),
        mark("back", Role.CUTTING, "side", (200, 0), (200, 300)),
    ]
    outline = cut_outline(pattern(lines), "back")
    assert {run.name: round(run.path.length()) for run in outline.runs} == {"side": 300, "": 700}


def test_the_largest_closed_line_is_the_outline() -> None:
    """A hole cut in a pocket is not its outline."""
    lines = [
        mark("pocket", Role.CUTTING, "", (50, 50), (60, 50), (60, 60), closed=True),
        mark("pocket", Role.CUTTING, "", (0, 0), (160, 0), (160, 180), (0, 180), closed=True),
    ]
    assert cut_outline(pattern(lines), "pocket").box().width == 160


def test_a_gap_is_refused_with_its_place() -> None:
    """One side missing: the message names piece and spot."""
    with pytest.raises(InputUnfit, match=r"piece 'pocket': its cutting line is open at 160.0, 0.0 mm"):
        cut_outline(pattern([*rectangle("pocket", 160, 180)[:1], *rectangle("pocket", 160, 180)[2:]]), "pocket")


def test_a_piece_without_a_cutting_line_is_refused() -> None:
    """Only a grainline is drawn."""
    lines = [line for line in sleeve() if line.tag.role is not Role.CUTTING]
    with pytest.raises(InputUnfit, match="piece 'sleeve': it has no cutting line"):
        cut_outline(pattern(lines), "sleeve")
