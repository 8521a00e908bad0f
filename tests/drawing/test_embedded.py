"""Fonts in what is written: all embedded, and letters that are still letters where they can be."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from pypdf import PdfReader

from calibrate.printer_scale import PageCorrection
from tests.drawing.making import job_of, line, pattern_of
from tests.fonts.embedding import fonts_in
from tests.fonts.making import make_font
from tests.render import render
from tiling.drawing.pdf import write_pages
from tiling.drawing.sheet import full_sheet
from tiling.drawing.testpage import test_page as made_page
from tiling.fonts.shaping import Direction
from tiling.pattern import Label, Pattern
from tiling.planning.papers import paper_named
from tiling.shapes import Affine, Size

FONTS = ["Helvetica", "Times-BoldItalic", "Courier-Bold", "Meadow Sans-Bold"]


def drawing(title: str = "Рабочий халат") -> Pattern:
    """A frame and words in several faces and scripts."""
    words = [Label("Mitte 12 Ж", Affine.shift(60.0, 60.0 + 30 * k), 9.0, font) for k, font in enumerate(FONTS)]
    hebrew = Label("חלק", Affine.shift(60.0, 300.0), 9.0)
    return pattern_of(line((10, 10), (390, 10), (390, 490), (10, 490), (10, 10)), *words, hebrew, title=title)


@pytest.mark.parametrize("what", ["pages", "drawing", "test page"])
def test_every_font_is_embedded(what: str) -> None:
    """Copy shops ask for it; the test of the booklet is beside it."""
    correction = PageCorrection()
    makers = {
        "pages": lambda: write_pages(job_of(drawing())),
        "drawing": lambda: full_sheet(drawing()),
        "test page": lambda: made_page(paper_named("a4"), correction),
    }
    fonts = fonts_in(makers[what]())
    assert fonts and all(fonts.values()), fonts


def test_a_font_that_is_not_embedded_is_seen() -> None:
    """The base font that a canvas begins with unless told otherwise."""
    from reportlab.pdfgen.canvas import Canvas

    stream = BytesIO()
    canvas = Canvas(stream)
    canvas.drawString(9, 9, "a")
    canvas.save()
    assert fonts_in(stream.getvalue()) == {"/Helvetica": False}


def test_letters_of_the_fonts_carried_along_stay_text() -> None:
    """Read back by PDFium, in the drawing and in the header of every page."""
    document = pypdfium2.PdfDocument(write_pages(job_of(drawing())))
    texts = [page.get_textpage().get_text_bounded() for page in document]
    document.close()
    assert "Mitte 12 Ж" in " ".join(" ".join(texts).split())
    assert all("Рабочий халат" in text for text in texts)


def test_a_shaped_label_stands_where_it_was_put_as_wide_as_it_was(font_folder: Path) -> None:
    """A box of 600 by 500 thousandths of the em, at 10 mm, stretched to the advance that the source gave."""
    make_font(font_folder / "east.ttf", "Meadow East", {"布": (600, 500)})
    label = Label("布布", Affine.shift(10.0, 30.0), 10.0, advance=24.0)
    picture = render(full_sheet(Pattern("", Size(60.0, 40.0), (label,))), dpi=254.0)
    rows, columns = np.where(picture < 128)
    assert (rows.min(), rows.max() + 1) == (pytest.approx(250, abs=1), pytest.approx(300, abs=1))
    assert (columns.min(), columns.max() + 1) == (pytest.approx(100, abs=1), pytest.approx(340, abs=1))


def test_a_title_in_any_script_heads_every_page(font_folder: Path) -> None:
    """Its letters have ink on the first page, the map and each tile; the same job gives the same bytes."""
    bare = write_pages(job_of(drawing("布")))
    make_font(font_folder / "east.ttf", "Meadow East", {"布": (600, 500)})
    from tests.conftest import forget

    forget()
    one = write_pages(job_of(drawing("布")))
    forget()
    assert write_pages(job_of(drawing("布"))) == one
    for page in range(len(PdfReader(BytesIO(one)).pages)):
        assert (render(one, page, 100.0) < 100).sum() > (render(bare, page, 100.0) < 100).sum(), page


def test_a_label_keeps_the_way_it_runs(font_folder: Path) -> None:
    """The same letters, the exclamation mark on the other side."""
    letters = {"א": (500, 100), "ב": (500, 200), "!": (500, 700)}
    make_font(font_folder / "h.ttf", "Meadow", letters)
    pictures = []
    for direction in (Direction.RIGHTWARDS, Direction.LEFTWARDS):
        label = Label("אב!", Affine.shift(10.0, 30.0), 10.0, "Meadow", direction=direction)
        pictures.append(render(full_sheet(Pattern("", Size(60.0, 40.0), (label,))), dpi=25.4) < 128)
    tall = [np.where(picture[24])[0] for picture in pictures]
    assert tall[0].min() >= 19 and tall[1].max() <= 15
