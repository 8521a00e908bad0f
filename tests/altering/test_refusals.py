"""What can't be cut is refused with the reason and what to do."""

from __future__ import annotations

import os
from itertools import chain, repeat
from pathlib import Path as FilePath

import numpy as np
import pytest
from shapely import LinearRing, Polygon

from calibrate.run import Cancelled, Run
from tests.altering.drawings import half_skirt, line, pattern_of, rectangle, ring, through
from tests.drawings import drawing_at
from tiling.altering.alter import Alteration, Matching, alter
from tiling.altering.named_places import NamedPlace
from tiling.failures import InputUnfit, PageseamError, UsageWrong
from tiling.notes import DrawnLine, Notes
from tiling.pattern import FindingKind, Line, Mark, Pattern, Role
from tiling.reading.roles import with_roles
from tiling.shapes import Box, Path, Point
from tiling.shapes.straights import Straight

OPEN_DATA = FilePath(
    os.environ.get("PAGESEAM_OPEN_DATA", FilePath(__file__).resolve().parents[2] / "../shared/open-data")
)
OUTLINES = [OPEN_DATA / "garment-svg" / name for name in ("lraglan.svg", "ltshirt.svg")]


def cut(*ends: tuple[float, float]) -> tuple[Straight, ...]:
    """One cut line."""
    return (Straight(Point(*ends[0]), Point(*ends[1])),)


def without(marks: list[Mark], *roles: Role) -> list[Mark]:
    """The marks without those of some roles."""
    return [mark for mark in marks if mark.tag.role not in roles]


@pytest.mark.parametrize(
    ("ends", "message"),
    [
        (((320, 50), (320, 800)), "misses the piece"),
        (((50, 50), (90, 90)), "misses the piece"),
        (((250, 50), (250, 100)), "touches the piece at one point"),
        (((60, 140), (140, 60)), "touches the piece"),
        (((300, 50), (300, 800)), "runs along the edge"),
        (((250, 300), (250, 800)), "ends inside the piece"),
        (((250, 300), (250, 400)), "ends inside the piece"),
        (((50, 400), (400, 410)), "runs more across the grain"),
        (((99, 99.5), (300, 750)), "passes the fold|touches|ends inside|runs"),
    ],
)
def test_a_line_that_is_no_cut_is_refused(ends: tuple[tuple[float, float], ...], message: str) -> None:
    """Missing, touching, along an edge, ending inside, without length, across the grain."""
    with pytest.raises(InputUnfit, match=message):
        alter(pattern_of(without(rectangle(), Role.GRADING)), Alteration(around=20.0, cut_lines=cut(*ends)))


def test_a_line_that_crosses_twice_is_refused() -> None:
    """A piece with a bay: the line leaves it and enters again."""
    bay = through(
        (100, 100), (300, 100), (300, 700), (100, 700), (100, 500), (260, 500), (260, 300), (100, 300), closed=True
    )
    marks = [line("panel", Role.CUTTING, bay), line("panel", Role.GRAINLINE, through((280, 120), (280, 680)))]
    with pytest.raises(InputUnfit, match=r"crosses the piece more than once \(4 times"):
        alter(pattern_of(marks), Alteration(around=20.0, cut_lines=cut((200, 50), (200, 800))))


def test_an_open_outline_is_refused_with_its_gap() -> None:
    """The gap is named, in mm, with its place."""
    marks = rectangle()
    marks[0] = line("panel", Role.CUTTING, through((100, 100), (300, 100), (300, 700), (108, 700)))
    with pytest.raises(InputUnfit, match=r"outline is open, with a gap of 8\.0 mm at x = 108\.0 mm, y = 700\.0 mm"):
        alter(pattern_of(marks), Alteration(around=20.0))


def test_a_fold_line_may_close_the_outline() -> None:
    """A cutting line that ends at the fold on both sides is an outline together with it."""
    marks = rectangle()
    marks[0] = line("panel", Role.CUTTING, through((100, 100), (300, 100), (300, 700), (100, 700)))
    after = alter(pattern_of(marks), Alteration(around=20.0)).pattern
    assert after.lines(role=Role.CUTTING)[0].path.bounds().width == pytest.approx(210.0)


def test_a_piece_without_grainline_or_fold_is_refused() -> None:
    """Which way is around would be a guess."""
    marks = without(rectangle(), Role.GRAINLINE, Role.FOLD)
    with pytest.raises(InputUnfit, match="neither a grainline nor a fold line"):
        alter(pattern_of(marks), Alteration(around=20.0))


def test_a_line_laid_by_hand_says_itself_which_way_a_piece_without_grainline_grows() -> None:
    """Who points at a place has said where; the piece grows across that line."""
    marks = without(rectangle(), Role.GRAINLINE, Role.FOLD, Role.GRADING)
    by_hand = Alteration(longer=20.0, places=(NamedPlace("panel", 200.0, "top"),))
    after = alter(pattern_of(marks), by_hand).pattern.lines(role=Role.CUTTING)[0].path.bounds()
    assert (after.width, after.height) == pytest.approx((200.0, 620.0))


def test_a_grading_line_across_the_fold_is_refused() -> None:
    """A piece on the fold is widened beside it."""
    marks = without(rectangle(), Role.GRADING)
    marks = without(marks, Role.FOLD)
    marks.append(line("panel", Role.FOLD, through((100, 400), (300, 400))))
    marks.append(line("panel", Role.GRADING, through((250, 95), (250, 705))))
    with pytest.raises(InputUnfit, match="passes the fold line"):
        alter(pattern_of(marks), Alteration(around=20.0))


def test_no_outline_at_all_is_refused() -> None:
    """Only a grading line."""
    with pytest.raises(InputUnfit, match="no outline to cut"):
        alter(pattern_of([line("p", Role.GRADING, through((0, 0), (0, 9)))]), Alteration(around=20.0))


def test_no_lines_to_cut_along_are_refused() -> None:
    """The message says how to give one."""
    with pytest.raises(InputUnfit, match=r"no piece has a grading line; .* give it by hand"):
        alter(pattern_of(without(rectangle(), Role.GRADING)), Alteration(around=20.0))
    with pytest.raises(InputUnfit, match="Piece panel has no lengthen line"):
        alter(pattern_of(without(rectangle(), Role.LENGTHEN)), Alteration(longer=20.0, pieces=("panel",)))


@pytest.mark.parametrize(
    ("alteration", "message"),
    [
        (Alteration(), "Nothing is asked for"),
        (Alteration(around=1.0, to={"hip": 1000.0}), "can't be given together"),
        (Alteration(around=1.0, taper=1.5), "not between 0 % and 100 %"),
        (Alteration(around=1.0, fairing=-1.0), "can't be negative"),
        (Alteration(around=1.0, cut_lines=cut((9, 9), (9, 9))), "has no length"),
        (Alteration(around=1.0, longer=1.0, cut_lines=cut((1, 1), (2, 2))), "alter once for each"),
        (Alteration(around=1.0, pieces=("panle",)), "did you mean the piece panel"),
        (Alteration(around=1.0, pieces=("x",)), "there are the pieces panel"),
    ],
)
def test_contradictions_are_refused(alteration: Alteration, message: str) -> None:
    """Wrong use, found before anything is cut."""
    with pytest.raises(UsageWrong, match=message):
        alter(pattern_of(rectangle()), alteration)


def test_more_than_50_mm_at_a_line_is_a_finding() -> None:
    """About two sizes: the shape, not only the size, should change."""
    outcome = alter(pattern_of(rectangle()), Alteration(around=104.0))
    assert [f.kind for f in outcome.findings] == [FindingKind.SPREAD_LARGE]
    assert "52.0 mm at one grading line is more than 50 mm" in outcome.findings[0].text
    assert not alter(pattern_of(rectangle()), Alteration(around=99.0)).findings


def test_a_fan_is_refused() -> None:
    """A short cut opened by more than it is long."""
    with pytest.raises(UsageWrong, match=r"like a fan|inside out"):
        alter(pattern_of(rectangle()), Alteration(around=2000.0, taper=0.0))


def test_a_part_that_would_pass_the_fold_is_refused() -> None:
    """40 mm beside the fold, the cut: what moves may come up to the fold, not over it."""
    marks = without(rectangle(), Role.GRADING)
    marks.append(line("panel", Role.GRADING, through((140, 95), (140, 705)), "width"))
    with pytest.raises(UsageWrong, match="would pass the fold line"):
        alter(pattern_of(marks), Alteration(around=-100.0))
    assert alter(pattern_of(marks), Alteration(around=-60.0)).altered == ("panel",)


def test_pieces_are_found_by_their_outlines() -> None:
    """Closed outlines that lie in no other are pieces; what lies in them belongs to them; a frame is none."""
    marks = [
        line("", Role.PLAIN, through((0, 0), (900, 0), (900, 900), (0, 900), closed=True)),
        line("", Role.PLAIN, Path.rectangle(Box(100, 100, 300, 700))),
        line("", Role.PLAIN, Path.rectangle(Box(120, 300, 180, 360))),
        line("", Role.PLAIN, Path.rectangle(Box(500, 100, 700, 700))),
        line("", Role.PLAIN, through((520, 200), (640, 600))),
    ]
    found = with_roles(pattern_of(marks))
    assert {p.ident: p.marks for p in found.pieces} == {"piece-1": (1, 2), "piece-2": (3, 4)}


def test_lines_given_in_the_notes_are_cut_along() -> None:
    """A drawing without roles: the notes say where the grading line is, and how its piece is called."""
    marks = [line("", Role.PLAIN, Path.rectangle(Box(100, 100, 300, 700)))]
    notes = Notes(lines=(DrawnLine("panel", "grading-line", "width", (Point(250, 90), Point(250, 710))),))
    before = Pattern("test", pattern_of(marks).size, tuple(marks), notes=notes)
    after = alter(before, Alteration(around=20.0)).pattern
    assert after.lines(piece="panel", role=Role.CUTTING)[0].path.bounds().width == pytest.approx(220.0)
    again = alter(after, Alteration(around=-20.0))
    assert again.altered == ("panel",)
    assert len(again.pattern.lines(role=Role.GRADING)) == 1
    assert again.pattern.lines(role=Role.CUTTING)[0].path.bounds().width == pytest.approx(200.0, abs=1e-6)


@pytest.mark.parametrize("back", [-20.0, 15.0])
def test_a_line_given_by_hand_twice_is_one_line(back: float) -> None:
    """The altered drawing has it already: the second amount is not shared over it and its copy."""
    marks = [mark for mark in half_skirt() if mark.tag.role is not Role.GRADING]
    by_hand = cut((225.0, 90.0), (225.0, 720.0))
    once = alter(pattern_of(marks), Alteration(around=20.0, cut_lines=by_hand)).pattern
    twice = alter(once, Alteration(around=back, cut_lines=by_hand))
    assert len(twice.pattern.lines(role=Role.GRADING)) == 1
    assert "each of 2 grading lines" in twice.explanation[0].text


def test_a_grown_piece_moves_off_its_neighbour() -> None:
    """No piece lies on another afterwards, and the sheet holds all."""
    marks = [*rectangle("left"), *rectangle("right", 315.0)]
    after = alter(pattern_of(marks), Alteration(around=80.0, pieces=("left",))).pattern
    shapes = [Polygon(ring(after.lines(piece=p, role=Role.CUTTING)[0].path)) for p in ("left", "right")]
    assert shapes[0].intersection(shapes[1]).area < 1.0
    assert np.allclose(shapes[1].bounds, (315, 100, 515, 700))


def test_the_sheet_grows_with_the_pieces() -> None:
    """What passes the edge makes the sheet larger."""
    marks = rectangle("panel", 1790.0)
    after = alter(pattern_of(marks), Alteration(around=60.0)).pattern
    assert after.size.width == pytest.approx(2030.0, abs=1e-6)
    assert after.size.height == 2000.0


@pytest.mark.parametrize("path", OUTLINES, ids=lambda p: p.stem)
@pytest.mark.parametrize("around", [20.0, -12.0])
def test_real_outlines_without_roles_are_altered(path: FilePath, around: float) -> None:
    """Garment outlines drawn elsewhere, cut upright through the first piece: wider by the amount at every height."""
    if not path.is_file():
        pytest.skip(f"open data not found at {path}; see PAGESEAM_OPEN_DATA")
    before = with_roles(drawing_at(path))
    first = before.pieces[0].ident
    box = before.lines(piece=first)[0].path.bounds()
    x = box.centre.x + 8.0
    alteration = Alteration(around=around, cut_lines=cut((x, box.y0 - 5), (x, box.y1 + 5)), fairing=6.0)
    outcome = alter(before, alteration)
    rings = [outline(p, first) for p in (before, outcome.pattern)]
    assert LinearRing(rings[1]).is_simple
    sizes = [Polygon(r).bounds for r in rings]
    assert (sizes[1][2] - sizes[1][0]) - (sizes[0][2] - sizes[0][0]) == pytest.approx(around, abs=0.01)
    other = before.pieces[1].ident
    if around < 0:
        assert np.array_equal(outline(before, other), outline(outcome.pattern, other))


def outline(pattern: Pattern, piece: str) -> np.ndarray:
    """The first closed line of a piece as a ring."""
    return ring(pattern.lines(piece=piece)[0].path)


def test_words_and_signs_move_whole() -> None:
    """A notch on the moving side keeps its shape; one that straddles the cut is not torn."""
    notch = line("skirt", Role.NOTCH, through((222, 130), (232, 130)))
    moved = line("skirt", Role.NOTCH, through((310, 300), (320, 300)))
    marks = [*half_skirt(), notch, moved]
    after = alter(pattern_of(marks), Alteration(around=20.0)).pattern
    ends = [m for m in after.marks if isinstance(m, Line) and m.tag.role is Role.NOTCH]
    assert ends[1].path.points[0, 0] == pytest.approx(320.0)
    assert all(e.path.length() == pytest.approx(10.0) for e in ends)


def test_every_refusal_is_ours() -> None:
    """A failure of altering carries an exit code, and never a piece half cut."""
    before = pattern_of(rectangle())
    with pytest.raises(PageseamError):
        alter(before, Alteration(around=-400.0, matching=Matching.FOLLOW))
    assert before.marks == pattern_of(before.marks).marks


def test_an_alteration_ends_when_it_is_called_off() -> None:
    """At whichever question the answer is yes, from the first to the last: never a result, always `Cancelled`."""
    marks = [*rectangle("left"), *rectangle("right", 315.0)]
    asked = 0

    def count() -> bool:
        nonlocal asked
        asked += 1
        return False

    alteration = Alteration(around=80.0, longer=30.0)
    told: list[tuple[str, int, int]] = []
    alter(pattern_of(marks), alteration, Run(lambda *step: told.append(step), count))
    assert told == [("Cut", number, 4) for number in range(4)]
    assert asked > len(marks)
    for limit in (1, 2, asked // 2, asked):
        answers = chain(repeat(False, limit - 1), repeat(True))
        with pytest.raises(Cancelled):
            alter(pattern_of(marks), alteration, Run(cancelled=answers.__next__))
