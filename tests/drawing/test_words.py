"""Lettering, columns of words, free places."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tiling.drawing.flow import TextRole, Words, set_columns, set_words
from tiling.drawing.lettering import Face, font_for, shortened, text_width, wrapped
from tiling.drawing.pen import RecordingPen
from tiling.drawing.spots import Spots
from tiling.fonts.shaping import missing_glyphs
from tiling.planning.occupancy import Raster
from tiling.shapes import Box, Point, Size
from tiling.typefaces import fits_winansi


def test_widths_are_those_of_the_standard_font() -> None:
    """Helvetica's space is 278, its H 722 thousandths of the em (Adobe AFM, as shipped with reportlab)."""
    assert text_width("H H", 10.0) == pytest.approx((722 + 278 + 722) / 100)


def test_european_texts_are_written_by_the_embedded_font() -> None:
    """Euro and dashes, Polish, Cyrillic; Chinese needs a font of the machine."""
    assert fits_winansi("12 € – ½")
    assert font_for("Łódka", Face.BOLD) == font_for("Bow", Face.BOLD) == "PageseamSans-Bold"
    assert missing_glyphs("Größe Łódka Фартук ⅜″") == ""
    assert font_for("园艺") is None
    assert missing_glyphs("园艺 smock 园") == "园艺"


@given(st.text(alphabet="abc DEF", max_size=80), st.floats(5.0, 60.0))
@settings(max_examples=60, deadline=None)
def test_wrapped_lines_fit_and_lose_no_word_that_fits(text: str, width: float) -> None:
    """Words longer than a line are shortened, all others kept in order."""
    lines = wrapped(text, 3.0, width)
    assert all(text_width(one, 3.0) <= width or one == "…" for one in lines)
    if all(text_width(word, 3.0) <= width for word in text.split()):
        assert " ".join(lines).split() == text.split()


def test_a_shortened_text_ends_with_an_ellipsis() -> None:
    """Only where it would not fit."""
    assert shortened("Potting smock", 3.0, 100.0) == "Potting smock"
    short = shortened("Potting smock for everybody who sows", 3.0, 20.0)
    assert short.endswith("…")
    assert text_width(short, 3.0) <= 20.0


def test_words_shrink_to_fit_their_box_all_columns_alike() -> None:
    """The fuller column decides for both."""
    pen = RecordingPen()
    few, many = [Words(TextRole.BODY, "one")], [Words(TextRole.BODY, "a line of words")] * 14
    ends = set_columns(pen, [(few, Box(0, 0, 50, 60)), (many, Box(60, 0, 110, 60))])
    assert ends[1] <= 60.0
    assert len({call.style.size for call in pen.calls}) == 1  # type: ignore[union-attr]


def test_steps_stand_beside_their_numbers() -> None:
    """The number at the margin, the text indented, on one baseline."""
    pen = RecordingPen()
    set_words(pen, [Words(TextRole.STEP, "Print this page first.", "1")], Box(10, 10, 90, 40))
    number, text = pen.calls
    assert number.text == "1"
    assert number.points[0].x == 10.0 < text.points[0].x
    assert number.points[0].y == text.points[0].y


def test_the_best_spot_covers_least_ink_and_is_nearest() -> None:
    """Counted by hand on a small raster."""
    cells = np.zeros((40, 60), dtype=np.bool_)
    cells[:, :20] = True
    spots = Spots(Raster(100, 200, cells))
    within, size = Box(100, 200, 160, 240), Size(20.0, 10.0)
    spot = spots.best(within, size, Point(100.0, 200.0))
    assert spot is not None
    assert spot.free
    assert spot.box == Box(120, 200, 140, 210)
    taken = spots.without([Box(115, 195, 150, 240)]).best(within, size, Point(100.0, 200.0))
    assert taken is not None
    assert not taken.free
    assert spots.best(Box(100, 200, 110, 205), size, Point(0, 0)) is None


@given(st.integers(0, 39), st.integers(0, 59), st.integers(-8, 30), st.integers(-8, 50))
@settings(max_examples=60, deadline=None)
def test_a_spot_is_free_only_when_no_inked_cell_meets_it(row: int, column: int, y: int, x: int) -> None:
    """One inked square millimetre anywhere, one box anywhere."""
    cells = np.zeros((40, 60), dtype=np.bool_)
    cells[row, column] = True
    box = Box(float(x), float(y), float(x + 12), float(y + 9))
    spot = Spots(Raster(0, 0, cells)).best(box, Size(12.0, 9.0), box.corner)
    assert spot is not None
    assert spot.free == (not (x - 1 < column < x + 12 and y - 1 < row < y + 9))
