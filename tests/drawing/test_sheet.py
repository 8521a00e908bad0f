"""A drawing written as one full-size PDF page, and read back as objects."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader

from tests.drawing.making import line, pattern_of
from tests.render import render
from tiling.content.artwork import Artwork, Numbering
from tiling.drawing.sheet import full_sheet
from tiling.drawing.sources import sources_of
from tiling.fonts.shaping import plain_font
from tiling.pattern import Label, Line, Mark, Picture
from tiling.shapes import Affine, Box, Path, Point, Size
from tiling.style import Colour, Stroke, Style
from tiling.typefaces import drawn_with

SMALL = Size(60.0, 40.0)
DPI = 254.0


def shown(*marks: Mark) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """The marks on a sheet of 60 x 40 mm, ten pixels to the mm."""
    return render(full_sheet(pattern_of(*marks, size=SMALL)), 0, DPI)


def artwork_of(*marks: Mark) -> Artwork:
    """The sheet, read back by the content room."""
    data = full_sheet(pattern_of(*marks, size=SMALL))
    return Artwork.from_page(PdfReader(BytesIO(data)).pages[0], numbering=Numbering.TAGS)


coordinate = st.floats(1.0, 39.0)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=8))
def test_lines_are_written_where_they_are(points: list[tuple[float, float]]) -> None:
    """To a ten-thousandth of a mm, read back from the page (the promise is a hundredth)."""
    artwork = artwork_of(line(*points))
    (item,) = artwork.items
    assert item.path is not None
    assert np.abs(item.path.points - np.array(points)).max() < 1e-3


def test_every_object_knows_its_mark() -> None:
    """Also where one mark becomes several objects, or none."""
    text = Label("Łódka: Größe", Affine.shift(5.0, 20.0), 4.0)
    marks = [line((1.0, 1.0), (50.0, 30.0)), text, line((2.0, 2.0), (3.0, 3.0))]
    unseen = Line(Path.rectangle(Box(1, 1, 5, 5)), Style())
    numbers = {item.mark for item in artwork_of(*marks, unseen).items}
    assert numbers == {0, 1, 2}


def test_strokes_fills_and_dashes_look_as_asked() -> None:
    """Widths in mm, colours, see-through paint, even-odd holes."""
    wide = Line(Path.polyline([Point(5, 5), Point(55, 5)]), Style(Stroke(2.0)))
    dashed = Line(Path.polyline([Point(5, 12), Point(55, 12)]), Style(Stroke(1.0, dashes=(5.0, 5.0), dash_offset=2.0)))
    grey = Line(Path.rectangle(Box(5, 20, 15, 35)), Style(None, Colour(0.5, 0.5, 0.5), 0.5))
    ring = Line(
        Path.joined([Path.rectangle(Box(25, 20, 45, 38)), Path.rectangle(Box(30, 25, 40, 33))]),
        Style(None, Colour(0, 0, 0), even_odd=True),
    )
    picture = shown(wide, dashed, grey, ring)
    assert picture[40:60, 300].min() == 0
    assert (picture[:100, 300] < 128).sum() == pytest.approx(20, abs=1)
    assert picture[120, 60] < 30 and picture[120, 100] > 225
    assert picture[120, 140] < 30
    assert picture[270, 100] == pytest.approx(255 - 0.5 * 127, abs=3)
    assert picture[220, 270] == 0
    assert picture[290, 350] == 255


def test_text_stands_on_its_baseline_as_wide_as_it_was() -> None:
    """A replaced font is stretched to the width that the source gave it."""
    wide = Label("HHHH", Affine.shift(5.0, 30.0), 10.0, "Helvetica", advance=40.0)
    picture = shown(wide)
    rows, columns = np.where(picture < 128)
    assert rows.max() == pytest.approx(300, abs=2)
    assert rows.min() == pytest.approx(300 - 71.8, abs=3)  # Helvetica's capitals are 0.718 em high (Adobe AFM)
    assert columns.max() - columns.min() == pytest.approx(400 - 20, abs=12)


def test_text_can_be_turned_and_clipped() -> None:
    """Along any baseline; only inside its clip."""
    turned = Label("HHHH", Affine.shift(20.0, 5.0) @ Affine.turn(90.0), 6.0)
    rows, columns = np.where(shown(turned) < 128)
    assert rows.max() - rows.min() > 2 * (columns.max() - columns.min())
    clipped = Label("HHHH", Affine.shift(5.0, 30.0), 10.0, clip=Path.rectangle(Box(0, 0, 12, 40)))
    _, columns = np.where(shown(clipped) < 128)
    assert columns.max() <= 121


def test_a_picture_lies_where_it_is_put() -> None:
    """The unit square, y down, onto the sheet; top row on top."""
    image = Image.new("RGB", (2, 2), "white")
    image.putpixel((0, 0), (0, 0, 0))
    stream = BytesIO()
    image.save(stream, "PNG")
    picture = shown(Picture(stream.getvalue(), Affine(20.0, 0.0, 0.0, 10.0, 5.0, 5.0)))
    assert picture[60, 60] < 60
    assert picture[140, 60] > 200
    assert picture[60, 240] > 200


@pytest.mark.parametrize(
    ("asked", "text", "given_"),
    [
        ("Helvetica", "a", "Helvetica"),
        ("Times-Bold", "a", "Times-Bold"),
        ("DejaVu Sans", "a", "Helvetica"),
        ("Liberation Serif bold italic", "a", "Times-BoldItalic"),
        ("Arial, sans-serif", "a", "Helvetica"),
        ("JetBrains Mono", "a", "Courier"),
        ("Helvetica", "ł", "Helvetica"),
        ("Helvetica-Bold", "Ж", "Helvetica-Bold"),
        ("Helvetica", "שלום", None),
        ("Helvetica", "e\u0301", None),
    ],
)
def test_fonts_are_replaced_by_the_nearest_of_the_standard_ones(asked: str, text: str, given_: str | None) -> None:
    """What runs to the left or piles up is drawn as outlines instead."""
    assert plain_font(asked, text) == (drawn_with(given_) if given_ else None)


def test_what_goes_beyond_the_sheet_is_not_cut_off() -> None:
    """The page written for a drawing's marks is as large as they are."""
    beyond = pattern_of(line((-20.0, -10.0), (90.0, 55.0)), size=SMALL)
    (source,) = sources_of(beyond)
    (item,) = source.artwork.items
    reach = source.to_layout.box(item.reach)
    assert reach.x0 < -20.0 < 90.0 < reach.x1
    assert reach.y0 < -10.0 < 55.0 < reach.y1
