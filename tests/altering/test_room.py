"""Loose marks: a heading or a key of lines is no piece, and no altered piece comes to lie on it."""

from __future__ import annotations

import pytest
from shapely import Polygon

from tests.altering.drawings import line, pattern_of, rectangle, ring, through
from tests.planning.retaped import smock
from tiling.altering.alter import Alteration, alter
from tiling.drawing.altered_svg import svg_bytes
from tiling.marks import mark_shape
from tiling.pattern import Label, Mark, Pattern, Role
from tiling.proof.altered_svg import prove_altered
from tiling.shapes import Affine, Box, Path

EVERYDAY = [
    Alteration(longer=30.0),
    Alteration(longer=60.0),
    Alteration(around=40.0, longer=30.0),
    Alteration(longer=25.0, pieces=("sleeve",)),
]


def words(x: float, y: float) -> Label:
    """A loose text of about 80 x 15 mm, its baseline at the place."""
    return Label("Potting smock", Affine.shift(x, y), 10.0, advance=80.0)


def loose(pattern: Pattern) -> list[Mark]:
    """Marks of no piece, in drawing order."""
    return [mark for mark in pattern.marks if not mark.tag.piece]


def outlines(pattern: Pattern) -> list[Polygon]:
    """The pieces' cutting lines as areas."""
    return [Polygon(ring(mark.path)) for mark in pattern.lines(role=Role.CUTTING)]


def covered(pattern: Pattern) -> bool:
    """Whether any piece lies on any loose mark."""
    return any(mark_shape(mark).intersects(area) for mark in loose(pattern) for area in outlines(pattern))


def test_words_beside_a_piece_that_grows_move_out_of_its_way_as_a_group() -> None:
    """A text and the line of its key, 10 mm beside a piece that grows by 40 mm, keep their places to each other."""
    key = line("", Role.PLAIN, through((310, 320), (390, 320)))
    before = pattern_of([*rectangle(), words(310.0, 300.0), key])
    after = alter(before, Alteration(around=80.0)).pattern
    assert not covered(after)
    (text, stroke), (text_before, stroke_before) = loose(after), loose(before)
    shift = stroke.reach().corner - stroke_before.reach().corner
    assert shift.norm > 0
    assert (text.reach().corner - text_before.reach().corner).distance(shift) < 1e-9


def test_words_that_lie_clear_stay() -> None:
    """Two metres of free sheet lie between."""
    before = pattern_of([*rectangle(), words(1000.0, 300.0)])
    after = alter(before, Alteration(around=80.0)).pattern
    assert loose(after)[0].reach() == loose(before)[0].reach()


def test_what_lay_under_or_around_a_piece_stays() -> None:
    """A frame around the sheet, a base line that crosses the piece and words drawn on it are background."""
    frame = line("", Role.PLAIN, through((20, 20), (330, 20), (330, 780), (20, 780), closed=True))
    base = line("", Role.PLAIN, through((0, 400), (900, 400)))
    before = pattern_of([*rectangle(), frame, base, words(150.0, 300.0)])
    after = alter(before, Alteration(around=80.0)).pattern
    assert [mark.reach() for mark in loose(after)] == [mark.reach() for mark in loose(before)]


def test_words_give_way_to_a_piece_that_has_to_move() -> None:
    """Pushed off its neighbour, the piece comes to where the words were."""
    before = pattern_of([*rectangle("left"), *rectangle("right", 315.0), words(420.0, 60.0), words(320.0, 760.0)])
    after = alter(before, Alteration(around=80.0, pieces=("left",))).pattern
    assert not covered(after)
    one, other = outlines(after)
    assert one.intersection(other).area < 1.0


@pytest.mark.parametrize("alteration", EVERYDAY, ids=str)
def test_no_piece_of_the_sample_comes_to_lie_on_its_key(alteration: Alteration) -> None:
    """The sample's key of lines stands close above the sleeve."""
    assert not covered(alter(smock(), alteration).pattern)


def panel(ident: str, box: Box) -> Mark:
    """A piece that is a rectangle."""
    return line(ident, Role.CUTTING, Path.rectangle(box), "edge")


@pytest.mark.parametrize("longer", [*range(75, 87), 0.3])
def test_nothing_of_a_piece_ends_up_above_the_sheet(longer: float) -> None:
    """The lower part stays, so the upper one, its lines to cut along and its notches go up to the edge and beyond it.

    What is written is read back at the same size, on a sheet that holds all.
    """
    band = panel("waistband", Box(100.0, 710.0, 500.0, 780.0))
    stray = line("panel", Role.NOTCH, through((1, 1), (1, 5)))
    for marks in ([*rectangle(), band], [*rectangle(), band, stray]):
        lifted = [mark.moved(Affine.shift(0.0, -20.0)) if mark is not stray else mark for mark in marks]
        after = alter(pattern_of(lifted), Alteration(longer=float(longer))).pattern
        assert min(mark.reach().y0 for mark in after.marks) > -1.0
        prove_altered(svg_bytes(after), after)
        one, other = outlines(after)
        assert one.intersection(other).area < 1.0


def test_pieces_that_come_to_touch_are_not_clear() -> None:
    """Grown by just the gap that was between them, the one moves off; a common edge that was drawn so may stay."""
    right = panel("right", Box(310.0, 100.0, 500.0, 700.0))
    one, other = outlines(alter(pattern_of([*rectangle("left"), right]), Alteration(around=20.0)).pattern)
    assert one.distance(other) >= 5.0
    below = panel("below", Box(100.0, 700.0, 300.0, 900.0))
    one, other = outlines(alter(pattern_of([*rectangle("above"), below]), Alteration(around=20.0)).pattern)
    assert one.distance(other) == 0.0 and one.bounds[:2] == pytest.approx((100.0, 100.0))
