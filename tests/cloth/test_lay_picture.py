"""The picture to lay out by: what it shows, in which units, and that it comes out the same each time."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from shapely import Polygon

from tests.fonts.embedding import fonts_in
from tiling.cloth.cloth_choice import BuyingStep, ClothChoice, ClothFold, Nap
from tiling.cloth.lay_picture import _GRAIN, draw_lay, facts, heading, key, lay_pdf, lay_png, lay_size
from tiling.cloth.lay_pieces import Layers, LayPiece
from tiling.cloth.lay_plan import LaidPiece, LayPlan, lay
from tiling.cloth.lay_search import Effort
from tiling.cloth.units import Units
from tiling.drawing.lettering import text_width
from tiling.drawing.pen import Ink, RecordingPen, Type
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
    assert {"Back", "on the fold", "Sleeve", "1 of 2, upper layer", "fold of the cloth", "both selvedges"} <= {*folded}
    assert "70.0 cm" in folded
    assert {"1 of 2, printed side down", "selvedge", "140.0 cm"} <= {*opened}


def test_the_key_says_which_way_the_cloth_lies() -> None:
    """In every lay, folded or not."""
    folded = " ".join(key(plan(), Units.CM))
    assert "The cloth lies double, right sides together, so that its wrong side is seen." in folded
    assert "'upper layer'" in folded
    opened = " ".join(key(plan(ClothFold.NONE), Units.CM))
    assert "The cloth lies in one layer, right side up." in opened
    assert "Darker pieces lie printed side down." in opened
    both = " ".join(key(replace(plan(), opened_at=605.0), Units.CM))
    assert "right sides together" in both and "Where it is opened out it lies in one layer, right side up." in both
    assert "it would take" not in both
    shorter = " ".join(key(replace(plan(), opened_at=605.0, if_folded=1966.0), Units.CM))
    assert "Folded all along, with every half on the fold, it would take 196.6 cm." in shorter
    assert heading(replace(plan(), opened_at=605.0), Units.CM).endswith(
        "right sides together, opened out from 60.5 cm on"
    )
    assert "adhesive side up" in heading(replace(plan(ClothFold.NONE), cloth="interfacing"), Units.CM)


def test_the_arrow_points_as_the_pieces_arrow_does() -> None:
    """To the cut end as laid, away from it after a half turn; across the picture or down it."""
    turned = replace(plan().laid[0], move=Affine.turn(180) @ Affine.shift(-600.0, -300.0))
    for piece, sign in ((plan().laid[0], -1.0), (turned, 1.0)):
        for box, across in ((Box(0.0, 0.0, 280.0, 100.0), True), (Box(0.0, 0.0, 60.0, 280.0), False)):
            pen = RecordingPen()
            draw_lay(pen, LayPlan("main", ClothChoice(600.0), (piece,), 1100.0), Units.CM, box)
            arrows = [call.points for call in pen.calls if call.kind == "line" and call.style == _GRAIN]
            tail, tip = max(arrows, key=lambda ends: ends[0].distance(ends[1]))
            step = (tip.x - tail.x, tip.y - tail.y) if across else (tip.y - tail.y, tip.x - tail.x)
            assert (np.sign(step[0]), step[1]) == (sign, pytest.approx(0.0, abs=1e-9))


def crowd(count: int, fold: ClothFold, opened_at: float | None = None) -> LayPlan:
    """Many pieces of all sizes in rows, with long titles."""
    random = np.random.default_rng(count)
    pieces, x, y, row = [], 0.0, 0.0, 0.0
    for number in range(count):
        length, width = random.uniform(20, 420), random.uniform(15, 260)
        if y + width > 690.0:
            x, y, row = x + row + 5.0, 0.0, 0.0
        ring = np.array([(0, 0), (length, random.uniform(0, width / 2)), (length * 0.8, width), (0, width * 0.7)])
        title = f"Upper collar of the left side {number}" if number % 3 else f"Cuff {number}"
        piece = LayPiece(f"p{number}", title, 1, 2, number % 4 == 0, Layers.SINGLE, ring)
        pieces.append(LaidPiece(piece, Affine.shift(x, y)))
        y, row = y + width + 5.0, max(row, length)
    return LayPlan("main", ClothChoice(1400.0, fold), tuple(pieces), x + row, opened_at)


def rooms_of(pen: RecordingPen) -> list[tuple[str, Polygon]]:
    """What is written, and the room of its letters, from a little above the baseline to the height of small letters."""
    rooms = []
    for call in pen.calls:
        if call.kind == "text":
            style = call.style
            assert isinstance(style, Type)
            width = text_width(call.text, style.size, style.face)
            start = -width * style.anchor.value
            letters = np.array([(start, -0.6), (start + width, -0.6), (start + width, -0.05), (start, -0.05)])
            letters[:, 1] *= style.size
            move = Affine.shift(call.points[0].x, call.points[0].y) @ Affine.turn(style.turn)
            rooms.append((call.text, Polygon(move.points(letters))))
    return rooms


@pytest.mark.parametrize(
    "box", [Box(10.0, 20.0, 280.0, 190.0), Box(18.0, 40.0, 192.0, 270.0), Box(0.0, 0.0, 150.0, 110.0)]
)
@pytest.mark.parametrize("made", [crowd(4, ClothFold.NONE), crowd(30, ClothFold.LENGTHWISE), crowd(60, ClothFold.NONE),
                                  crowd(9, ClothFold.LENGTHWISE, 0.0)])  # fmt: skip
def test_no_words_stand_over_others_and_none_off_the_page(made: LayPlan, box: Box) -> None:
    """Letters by their widths, overlaps by shapely; each piece is named, on itself or in the list below."""
    pen = RecordingPen()
    assert draw_lay(pen, made, Units.CM, box) <= box.y1 + 1e-6
    rooms = rooms_of(pen)
    for number, (text, room) in enumerate(rooms):
        x0, y0, x1, y1 = room.bounds
        assert x0 >= box.x0 - 0.5 and y0 >= box.y0 - 0.5 and x1 <= box.x1 + 0.5 and y1 <= box.y1 + 0.5, text
        for other, there in rooms[:number]:
            assert room.intersection(there).area < 0.05, (text, other)
    said = " ".join(text for text, _ in rooms)
    for laid_ in made.laid:
        words = laid_.piece.title.split()
        assert laid_.piece.title in said or all(word in said for word in words)


def test_a_lay_fills_the_room_it_is_drawn_in() -> None:
    """A long lay on an upright page runs down it, at twice the size and more."""
    made, upright = replace(plan(), length=3000.0), Box(0.0, 0.0, 174.0, 250.0)
    pen = RecordingPen()
    draw_lay(pen, made, Units.CM, upright)
    outline = max((call for call in pen.calls if call.kind == "polyline" and call.closed),
                  key=lambda call: max(p.y for p in call.points) - min(p.y for p in call.points))  # fmt: skip
    assert max(p.y for p in outline.points) - min(p.y for p in outline.points) > 230.0


def test_hollows_are_left_white() -> None:
    """A circle skirt's waist: filled as paper, outlined, and no words in it."""
    t = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    circle = np.stack([np.cos(t), np.sin(t)], axis=1)
    skirt = LayPiece("skirt", "Skirt", 1, 1, False, Layers.SINGLE, 650 + 650 * circle, (650 + 120 * circle,))
    pen = RecordingPen()
    draw_lay(pen, LayPlan("main", ClothChoice(1400.0), (LaidPiece(skirt, Affine()),), 1300.0), Units.CM,
             Box(0.0, 0.0, 250.0, 180.0))  # fmt: skip
    skirt_fill, waist_fill = [call for call in pen.calls if call.kind == "fill"]
    assert (skirt_fill.style, waist_fill.style) == (Ink(0.95), Ink(1.0))
    waist = Polygon([(p.x, p.y) for p in waist_fill.points])
    assert all(room.disjoint(waist) for text, room in rooms_of(pen) if text == "Skirt")
    assert sum(Polygon([(p.x, p.y) for p in call.points]).equals(waist) for call in pen.calls
               if call.kind == "polyline" and call.closed) == 1  # fmt: skip


def test_cloth_opened_out_is_drawn_from_both_selvedges() -> None:
    """Folded up to 60 cm, then twice as wide; the fold goes on as a crease."""
    pen = drawn(replace(plan(), opened_at=605.0))
    said = texts(pen)
    assert {"fold of the cloth", "selvedge, cloth opened out", "both selvedges", "70.0 cm", "140.0 cm"} <= {*said}
    cloth = next(call for call in pen.calls if call.kind == "polyline" and call.closed and len(call.points) == 6)
    corners = Polygon([(p.x, p.y) for p in cloth.points])
    x0, y0, x1, y1 = corners.bounds
    assert corners.area == pytest.approx((x1 - x0) * (y1 - y0) * (1 - 605.0 / 1250.0 / 2), rel=1e-6)


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
    assert heading(plan(), Units.INCH) == 'main cloth, 55 1/8" wide, folded lengthwise, right sides together'


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
    assert "Lay plan: main cloth, 140.0 cm wide, folded lengthwise, right sides together" in text
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
    made = LayPlan("main", ClothChoice(1400.0), (strip, *plan().laid), 2210.0)
    words = next(call for call in drawn(made).calls if call.text == "Band")
    assert getattr(words.style, "turn", 0.0) == -90.0


def test_a_piece_too_small_for_its_name_bears_a_number() -> None:
    """A facing 10 cm wide on a small picture; the list below says what the number stands for."""
    ring = np.array([(0, 0), (100, 0), (100, 300), (0, 300)], dtype=float)
    facing = LaidPiece(LayPiece("facing", "Neck facing", 1, 1, False, Layers.ON_FOLD, ring), Affine.shift(0.0, 0.0))
    pen = RecordingPen()
    made = LayPlan("main", ClothChoice(1400.0, ClothFold.LENGTHWISE), (facing,), 6000.0)
    draw_lay(pen, made, Units.CM, Box(0.0, 0.0, 174.0, 60.0))
    assert {"1", "1 Neck facing (on the fold)"} <= {*texts(pen)}
    assert all(getattr(call.style, "size", 9.0) >= 1.4 for call in pen.calls)


def test_cloth_much_wider_than_long_stands_in_half_a_page_where_its_words_find_room() -> None:
    """One piece of interfacing does; sixty small ones fill the page, so that they can be told apart."""
    room = Size(180.0, 220.0)
    small = lay("interfacing", [_rectangle("facing", 300.0, 200.0)], ClothChoice(1400.0), Effort(1.0))
    assert lay_size(small, room) == Size(180.0, 110.0)
    many = [_rectangle(f"a long name of piece {n}", 120.0 - n, 50.0) for n in range(60)]
    assert lay_size(lay("main", many, ClothChoice(900.0), Effort(1.0)), room) == room


def _rectangle(ident: str, length: float, across: float) -> LayPiece:
    ring = np.array([(0.0, 0.0), (length, 0.0), (length, across), (0.0, across)])
    return LayPiece(ident, ident, 1, 1, False, Layers.SINGLE, ring)
