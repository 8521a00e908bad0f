"""A reprint names every page that changed and none that did not; the taped sheet then shows the new drawing."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from calibrate.printer_scale import PageCorrection
from tests.planning.drawings import numbered
from tests.planning.retaped import altered, everything, naive_counts, needless, printed, seen, smock, stale
from tiling.altering.alter import Alteration, alter
from tiling.failures import InputUnfit, UsageWrong
from tiling.marks import line_shape, mark_shape
from tiling.pattern import Label, Line, Pattern, Role, Tag, pieces_of
from tiling.planning.layout import find_pieces
from tiling.planning.papers import paper_named
from tiling.planning.placing import placed
from tiling.planning.plan import JOIN_MARKS, Placement
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.planning.reprint import Depth, Reprint, ReprintOptions, plan_reprint
from tiling.planning.share import share
from tiling.record.plan_record import read_record, record_bytes
from tiling.shapes import Affine, Box, Path, Size
from tiling.style import Colour, Stroke, Style

OPTIONS = ReprintOptions()


def everyday(**amounts: float) -> Pattern:
    """The sample, altered."""
    return alter(smock(), Alteration(**amounts)).pattern  # type: ignore[arg-type]


def named(reprint: Reprint) -> set[str]:
    """Tiles to print."""
    return {*reprint.replace, *reprint.add}


@pytest.mark.parametrize("seed", range(14))
def test_nothing_stale_and_nothing_needless(seed: int) -> None:
    """Random alterations, by an independent render: kept pages are as they were, every named page differs.

    So leaving any named page out leaves the taped sheet wrong. `tests/benchmarks/reprint_pages.py` runs 200.
    """
    sheet, pattern = printed(), altered(random.Random(seed))
    if pattern is None:
        pytest.skip("the alteration is refused")
    reprint = plan_reprint(sheet.record, pattern, OPTIONS)
    box = everything(sheet.record.plan, reprint.plan)
    old, new = seen(sheet.pattern, sheet.record.plan, box), seen(pattern, reprint.plan, box)
    kept = [tile for tile in reprint.plan.tiles if tile.name in reprint.keep]
    printing = [tile for tile in reprint.plan.tiles if tile.name in named(reprint)]
    assert not stale(old, new, kept)
    assert not needless(old, new, printing)
    free = [count for count, clash in naive_counts(sheet, pattern, OPTIONS.slack) if not clash]
    assert len(named(reprint)) <= min(free, default=len(reprint.plan.tiles))


@pytest.mark.parametrize("amounts", [{"longer": 30.0}, {"longer": 60.0}, {"around": 40.0, "longer": 30.0}])
def test_no_piece_is_laid_on_the_words_beside_it(amounts: dict[str, float]) -> None:
    """The sample's key of lines stands above the sleeve: it stays clear, on the sheet as it will lie on the table."""
    sheet = printed()
    reprint = plan_reprint(sheet.record, everyday(**amounts), OPTIONS)
    pattern = placed(everyday(**amounts), reprint.plan.placements)
    pieces = [line_shape(line.path).convex_hull for line in pattern.lines(piece="sleeve", role=Role.CUTTING)]
    words = [mark_shape(mark) for mark in pattern.marks if not mark.tag.piece]
    assert len(pieces) == 1
    assert not any(word.intersects(pieces[0]) for word in words)


def test_the_comparison_sees_a_page_left_out() -> None:
    """The old sheet is stale wherever the reprint names a page: the check above can fail."""
    sheet, pattern = printed(), everyday(around=40.0)
    reprint = plan_reprint(sheet.record, pattern, OPTIONS)
    box = everything(sheet.record.plan, reprint.plan)
    old, new = seen(sheet.pattern, sheet.record.plan, box), seen(pattern, reprint.plan, box)
    wrongly_kept = [tile for tile in reprint.plan.tiles if tile.name in named(reprint)]
    assert stale(old, new, wrongly_kept)


def test_an_unchanged_drawing_prints_nothing() -> None:
    """Every tile is kept."""
    reprint = plan_reprint(printed().record, smock(), OPTIONS)
    assert reprint.nothing_to_print
    assert len(reprint.keep) == len(printed().record.plan.tiles)


def test_a_reprint_of_a_reprint_knows_the_whole_sheet() -> None:
    """Altered twice: the second reprint starts from the record the first one carries, and back again names no more."""
    first = everyday(around=40.0)
    reprint = plan_reprint(printed().record, first, OPTIONS)
    plan = reprint.plan
    between = read_record(record_bytes(plan, placed(first, plan.placements), numbered(plan), printed().record))
    assert {tile.name for tile in between.plan.tiles} == {tile.name for tile in reprint.plan.tiles}
    assert plan_reprint(between, first, OPTIONS).nothing_to_print
    back = plan_reprint(between, smock(), OPTIONS)
    assert named(back) | {*back.remove} >= {*reprint.replace} - {*reprint.remove}


def test_old_names_never_move_and_new_tiles_get_new_ones() -> None:
    """Longer by 50 mm: a printed tile keeps its name and window, whatever is added."""
    reprint = plan_reprint(printed().record, everyday(longer=50.0), OPTIONS)
    windows = {tile.name: tile.window for tile in printed().record.plan.tiles}
    for tile in reprint.plan.tiles:
        if tile.name in windows:
            assert tile.window == windows[tile.name]
        else:
            assert tile.name in reprint.add


def test_a_text_or_a_style_alone_is_a_lesser_change() -> None:
    """Listed, and printed only when all changes are asked for."""
    marks = list(smock().marks)
    at = next(i for i, mark in enumerate(marks) if isinstance(mark, Label))
    label = marks[at]
    assert isinstance(label, Label)
    marks[at] = replace(label, text=label.text[::-1])
    line = next(i for i, mark in enumerate(marks) if isinstance(mark, Line) and mark.style.stroke)
    drawn = marks[line]
    assert isinstance(drawn, Line)
    assert drawn.style.stroke is not None
    red = replace(drawn.style, stroke=replace(drawn.style.stroke, colour=Colour(1.0, 0.0, 0.0)))
    marks[line] = replace(drawn, style=red)
    pattern = replace(smock(), marks=tuple(marks))
    reprint = plan_reprint(printed().record, pattern, OPTIONS)
    assert reprint.nothing_to_print
    assert reprint.lesser
    again = plan_reprint(printed().record, pattern, ReprintOptions(depth=Depth.ALL))
    assert named(again) == {*reprint.lesser}


def test_another_correction_names_every_page_with_the_reason() -> None:
    """The pages taped before came out at another size."""
    correction = ReprintOptions(correction=PageCorrection(0.99, 0.995, "kitchen"))
    reprint = plan_reprint(printed().record, smock(), correction)
    assert not reprint.keep
    assert len(reprint.replace) == len(printed().record.plan.tiles)
    assert "correction" in reprint.every_page_because


def test_a_correction_that_leaves_no_room_is_refused() -> None:
    """The printed windows, a quarter larger, don't fit the paper."""
    with pytest.raises(UsageWrong, match="larger than the page"):
        plan_reprint(printed().record, smock(), ReprintOptions(correction=PageCorrection(1.25, 1.25, "kitchen")))


def test_a_tile_with_nothing_left_on_it_is_taken_away() -> None:
    """The pocket is left out of the new drawing."""
    marks = [mark for mark in smock().marks if mark.tag.piece != "pocket"]
    pattern = replace(smock(), marks=tuple(marks), pieces=pieces_of(marks))
    reprint = plan_reprint(printed().record, pattern, OPTIONS)
    for name in reprint.remove:
        assert name not in {tile.name for tile in reprint.plan.tiles}
    assert named(reprint) | {*reprint.remove}


def test_another_pattern_is_refused() -> None:
    """Nothing of it lies where something was printed."""
    thin = Style(Stroke(0.3))
    marks = [Line(Path.rectangle(Box(10 + i, 10 + i, 207.5 + i, 93.7 - i)), thin, Tag()) for i in range(4)]
    stranger = Pattern("Apron", Size(300, 120), tuple(marks))
    with pytest.raises(InputUnfit, match="another pattern"):
        plan_reprint(printed().record, stranger, OPTIONS)


def test_a_drawing_without_roles_is_laid_back_where_it_was() -> None:
    """Edited elsewhere and saved with another origin: no piece is known, the whole drawing is shifted back."""

    def bare(pattern: Pattern, dx: float) -> Pattern:
        marks = [replace(mark, tag=Tag()).moved(Affine.shift(dx, 3.0)) for mark in pattern.marks]
        return replace(pattern, marks=tuple(marks), pieces=())

    plan = printed().record.plan
    record = read_record(record_bytes(plan, bare(smock(), 0.0), numbered(plan)))
    assert plan_reprint(record, bare(smock(), 17.3), OPTIONS).nothing_to_print


def test_pieces_that_got_names_after_printing_stay_where_they_are() -> None:
    """Printed without roles, then drawn again with them: the same lines, nothing to print."""
    bare = replace(smock(), marks=tuple(replace(mark, tag=Tag()) for mark in smock().marks), pieces=())
    plan = printed().record.plan
    record = read_record(record_bytes(plan, bare, numbered(plan)))
    assert plan_reprint(record, smock(), OPTIONS).nothing_to_print


def test_an_arranged_sheet_keeps_its_arrangement() -> None:
    """Pieces laid anew when printed lie there still: unaltered nothing is printed, altered only what changed."""
    moves = {piece.ident: Affine.shift(40.0 * n, 0.0) for n, piece in enumerate(find_pieces(smock()))}
    placements = tuple(Placement(piece, move) for piece, move in moves.items())
    laid = placed(smock(), placements)
    plan = plan_pages(laid, PlanOptions(paper_named("a4"), placements=placements))
    record = read_record(record_bytes(plan, laid, numbered(plan)))
    same = plan_reprint(record, smock(), OPTIONS)
    assert same.nothing_to_print
    assert {placement.piece for placement in same.plan.placements} == set(moves)
    wider = plan_reprint(record, everyday(around=40.0), OPTIONS)
    assert 0 < len(named(wider)) < len(plan.tiles) / 2


def test_a_sheet_of_shared_paper_is_compared_with_shared_paper() -> None:
    """Pieces printed over one another keep their line patterns: unaltered, nothing is printed."""
    sharing = share(smock())
    plan = plan_pages(sharing.pattern, PlanOptions(paper_named("a4"), placements=sharing.placements))
    record = read_record(record_bytes(replace(plan, shared=True), sharing.pattern, numbered(plan)))
    same = plan_reprint(record, smock(), OPTIONS)
    assert same.nothing_to_print
    assert same.laid is not None
    assert not plan_reprint(record, everyday(around=40.0), OPTIONS).nothing_to_print


def test_pages_that_would_not_meet_the_taped_ones_are_refused() -> None:
    """Printed with join marks that can't be drawn here: nothing is planned but to print all anew."""
    record = printed().record
    stranger = replace(record, plan=replace(record.plan, join_marks=JOIN_MARKS[-1] + 1))
    with pytest.raises(InputUnfit, match=f"join marks of version {JOIN_MARKS[-1] + 1}.*print the whole pattern anew"):
        plan_reprint(stranger, everyday(around=40.0), OPTIONS)
    assert plan_reprint(stranger, smock(), OPTIONS).nothing_to_print


@pytest.mark.parametrize("version", JOIN_MARKS)
def test_new_pages_get_the_marks_of_the_pages_they_meet(version: int) -> None:
    """Whatever marks a new sheet would get."""
    record = printed().record
    older = replace(record, plan=replace(record.plan, join_marks=version))
    assert plan_reprint(older, everyday(around=40.0), OPTIONS).plan.join_marks == version
