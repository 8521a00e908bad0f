"""The picture to lay out by: what it shows, in which units, and that it comes out the same each time."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from tests.fonts.embedding import fonts_in
from tiling.cloth.lay_picture import draw_lay, facts, heading, lay_pdf, lay_png
from tiling.cloth.lay_pieces import ClothFold, Layers, LayPiece
from tiling.cloth.lay_plan import BuyingStep, ClothChoice, LaidPiece, LayPlan, Nap
from tiling.cloth.units import Units
from tiling.drawing.pen import RecordingPen
from tiling.shapes import Affine, Box, Size

A4 = Size(210.0, 297.0)
RING = np.array([(0, 0), (600, 0), (600, 300), (0, 300)], dtype=float)


def laid(title: str, x: float, layers: Layers, *, mirrored: bool = False, copies: int = 1) -> LaidPiece:
    """A rectangle 600 x 300 at a place."""
    return LaidPiece(LayPiece("back", title, 1, copies, mirrored, layers, RING), Affine.shift(x, 0.0))


def plan(fold: ClothFold = ClothFold.LENGTHWISE, **choice: object) -> LayPlan:
    """Two pieces on cloth of 140 cm."""
    pieces = (
        laid("Back", 0.0, Layers.ON_FOLD if fold is ClothFold.LENGTHWISE else Layers.SINGLE),
        laid("Sleeve", 610.0, Layers.SINGLE, mirrored=fold is ClothFold.NONE, copies=2),
    )
    return LayPlan("main", ClothChoice(1400.0, fold, **choice), pieces, 1210.0)  # type: ignore[arg-type]


def drawn(made: LayPlan, units: Units = Units.CM) -> RecordingPen:
    """What the picture calls for."""
    pen = RecordingPen()
    draw_lay(pen, made, units, Box(10.0, 20.0, 280.0, 190.0))
    return pen


def texts(pen: RecordingPen) -> list[str]:
    """All that is written."""
    return [call.text for call in pen.calls if call.kind == "text"]


def test_every_piece_is_drawn_once_at_one_scale() -> None:
    """Two closed outlines, 600 to 300, inside the cloth."""
    outlines = [call for call in drawn(plan()).calls if call.kind == "polyline" and call.closed]
    sizes = [
        (max(p.x for p in call.points) - min(p.x for p in call.points),
         max(p.y for p in call.points) - min(p.y for p in call.points))
        for call in outlines
    ]  # fmt: skip
    pieces = [size for size in sizes if size[0] / size[1] == pytest.approx(2.0)]
    assert len(pieces) == 2
    assert pieces[0] == pytest.approx(pieces[1])
    everything = [p for call in outlines for p in call.points]
    assert min(p.x for p in everything) >= 10.0
    assert max(p.x for p in everything) <= 280.0


def test_the_words_say_how_each_piece_lies() -> None:
    """On the fold; upper layer; printed side down."""
    folded, opened = texts(drawn(plan())), texts(drawn(plan(ClothFold.NONE)))
    assert {"Back", "on the fold", "Sleeve", "1 of 2", "fold of the cloth", "both selvedges", "70.0 cm"} <= {*folded}
    assert {"1 of 2, printed side down", "selvedge", "140.0 cm"} <= {*opened}


def test_the_grain_arrow_points_to_the_top_of_the_piece() -> None:
    """To the left as laid, to the right after a half turn."""
    turned = LaidPiece(plan().laid[0].piece, Affine.turn(180) @ Affine.shift(-600.0, -300.0))
    for piece, sign in ((plan().laid[0], -1.0), (turned, 1.0)):
        pen = drawn(LayPlan("main", ClothChoice(1400.0), (piece,), 600.0))
        shaft = max(
            (call for call in pen.calls if call.kind == "line" and call.points[0].y == call.points[1].y),
            key=lambda call: abs(call.points[1].x - call.points[0].x),
        )
        assert np.sign(shaft.points[1].x - shaft.points[0].x) == sign


def test_the_figures_are_in_the_persons_units() -> None:
    """Metres and centimetres, or yards and inches."""
    metric = facts(plan(shrinkage=0.03), Units.CM)
    assert metric[:2] == (
        "length needed 121.0 cm",
        "to buy 1.25 m (3.0 % lost in the wash and rounded up to the next 5 cm)",
    )
    inches = facts(plan(step=BuyingStep.EIGHTH_YARD, nap=Nap.ONE_WAY), Units.INCH)
    assert inches[:2] == ('length needed 47 5/8"', "to buy 1 3/8 yd (rounded up to the next 1/8 yd)")
    assert inches[-1] == "one way only (nap)"
    assert heading(plan(), Units.INCH) == 'main cloth, 55 1/8" wide, folded lengthwise'


@pytest.mark.parametrize(
    ("mm", "words"), [(914.4, "1 yd"), (114.3, "1/8 yd"), (914.4 * 2.75, "2 3/4 yd"), (0.0, "0 yd")]
)
def test_yards_are_written_in_eighths(mm: float, words: str) -> None:
    """As cloth is sold."""
    assert Units.INCH.cloth(mm) == words


def test_the_same_lay_gives_the_same_file() -> None:
    """Byte for byte, PDF and PNG."""
    for draw in (lay_pdf, lay_png):
        assert draw([plan()], "Smock", Units.CM, A4) == draw([plan()], "Smock", Units.CM, A4)


def test_every_font_of_the_lay_plan_is_embedded() -> None:
    """Copy shops ask for it."""
    fonts = fonts_in(lay_pdf([plan()], "Рабочий халат", Units.CM, A4))
    assert fonts and all(fonts.values()), fonts


def test_the_pdf_has_a_page_per_plan_and_the_png_all_of_them() -> None:
    """Pages turned as the cloth needs; the picture as high as all pages together."""
    plans = [plan(), plan(ClothFold.NONE)]
    document = pypdfium2.PdfDocument(lay_pdf(plans, "Smock", Units.CM, A4))
    assert len(document) == 2
    text = document[0].get_textpage().get_text_bounded()
    assert "Lay plan: main cloth, 140.0 cm wide, folded lengthwise" in text
    document.close()
    with Image.open(BytesIO(lay_png(plans, "Smock", Units.CM, A4))) as picture:
        assert picture.height > picture.width
        assert np.asarray(picture).min() < 60


def test_a_title_no_font_can_write_is_replaced_by_the_pieces_id() -> None:
    """Rather a plain id than empty boxes."""
    piece = LaidPiece(LayPiece("back", "後ろ身頃", 1, 1, False, Layers.SINGLE, RING), Affine())
    assert "back" in texts(drawn(LayPlan("main", ClothChoice(1400.0), (piece,), 600.0)))


def test_a_narrow_piece_has_its_words_along_it() -> None:
    """A strip across the cloth: the words are turned."""
    ring = np.array([(0, 0), (40, 0), (40, 900), (0, 900)], dtype=float)
    strip = LaidPiece(LayPiece("band", "Band", 1, 1, False, Layers.SINGLE, ring), Affine())
    made = LayPlan("main", ClothChoice(1400.0), (strip, *plan().laid), 1210.0)
    words = next(call for call in drawn(made).calls if call.text == "Band")
    assert getattr(words.style, "turn", 0.0) == -90.0


def test_a_title_wider_than_its_piece_is_not_cut_short() -> None:
    """A facing 10 cm wide on a small picture: its name stands over the edges."""
    ring = np.array([(0, 0), (100, 0), (100, 300), (0, 300)], dtype=float)
    facing = LaidPiece(LayPiece("facing", "Neck facing", 1, 1, False, Layers.ON_FOLD, ring), Affine.shift(0.0, 0.0))
    pen = RecordingPen()
    made = LayPlan("main", ClothChoice(1400.0, ClothFold.LENGTHWISE), (facing,), 300.0)
    draw_lay(pen, made, Units.CM, Box(0.0, 0.0, 174.0, 60.0))
    assert "Neck facing" in texts(pen)
    assert all(getattr(call.style, "size", 9.0) >= 1.5 for call in pen.calls)
