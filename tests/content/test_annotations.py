"""Annotations: those that print come out as viewers print them, and nothing of the others does.

PDFium is the independent reader: it puts appearances where ISO 32000-2, 12.5.5, says (`FPDFPage_Flatten`), and makes
up its own for shapes, ink and marked text without one (`FPDF_ANNOT`).
"""

from __future__ import annotations

import ctypes
import io
from collections import Counter

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from pypdf import PdfReader
from pypdf.generic import BooleanObject, NameObject, TextStringObject

from tests.content.pages import form, obj, pdf_of, stream, tiles_of
from tests.render import ALIKE, compare, render
from tiling.content import Artwork
from tiling.content.annotations import Overlay, overlay_of
from tiling.content.layers import LayerChoice, layer_entries
from tiling.shapes import Box

HELVETICA = {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica"}
PRINTS = 4
TWELVE, TWENTY = b"/Helv 12 Tf 0 g", b"/Helv 20 Tf 0 g"
AREA, BOX, ROW, SMALL = (40, 40, 260, 160), (50, 50, 250, 150), (50, 90, 250, 110), (0, 0, 9, 9)
QUAD = [50, 120, 250, 120, 50, 100, 250, 100]
TURNED = form(b"3 w 0 0 m 40 20 l S", (0, 0, 50, 25), Matrix=[0, 1, -1, 0, 7, 3])
ARROW = form(b"1 0 0 RG 6 w 0 0 m 40 20 l S 0 0 1 rg 30 5 12 6 re f", (0, 0, 50, 25))


def note(kind, rect, *, flags=PRINTS, **more):
    return {"/Type": "/Annot", "/Subtype": f"/{kind}", "/Rect": list(rect), "/F": flags,
            **{f"/{key}": value for key, value in more.items()}}  # fmt: skip


def annotated(*notes, content=b"9 9 m 20 9 l S", page=None, catalogue=None):
    return pdf_of(content, {"/Font": {"/F1": HELVETICA}}, {"/Annots": list(notes), **(page or {})}, catalogue)


def read(pdf, choice=None) -> tuple[Artwork, Overlay]:
    reader = PdfReader(io.BytesIO(pdf))
    overlay = overlay_of(reader.pages[0], reader.root_object)
    choice = choice or LayerChoice.of(layer_entries(reader.root_object))
    return Artwork.from_page(reader.pages[0], layers_shown=choice, overlay=overlay), overlay


def ours(pdf, choice=None) -> np.ndarray:
    artwork, _ = read(pdf, choice)
    tiles = tiles_of(pdf, artwork, [Box(0.0, 0.0, artwork.size.width, artwork.size.height)], whole=artwork.needs_whole)
    return render(tiles, 0, 144)


def flattened(pdf) -> np.ndarray:
    """What PDFium prints: with every annotation whose Print flag is set made part of the page."""
    document = pypdfium2.PdfDocument(pdf)
    assert pdfium.FPDFPage_Flatten(document[0], pdfium.FLAT_PRINT) != pdfium.FLATTEN_FAIL
    out = io.BytesIO()
    document.save(out)
    return render(out.getvalue(), 0, 144)


def made_up_by_pdfium(pdf) -> np.ndarray:
    """The page with annotations as PDFium prints them, those without an appearance as it thinks fit."""
    document = pypdfium2.PdfDocument(pdf)
    page = document[0]
    across, down = (round(2 * side) for side in page.get_size())
    bitmap = pypdfium2.PdfBitmap.new_native(across, down, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, across, down)
    move, clip = pdfium.FS_MATRIX(2, 0, 0, 2, 0, 0), pdfium.FS_RECTF(0, 0, across, down)
    flags = pdfium.FPDF_ANNOT | pdfium.FPDF_PRINTING
    pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page, ctypes.byref(move), ctypes.byref(clip), flags)
    return np.array(bitmap.to_numpy(), copy=True).reshape(down, across).astype(np.float64)


@pytest.mark.parametrize(
    "notes",
    [
        [note("Stamp", (50, 40, 150, 90), AP={"/N": ARROW})],
        [note("Stamp", (150, 90, 50, 40), AP={"/N": TURNED})],
        [note("FreeText", (20, 20, 120, 60), AP={"/N": form(b"BT /F1 14 Tf 4 9 Td (cut 2) Tj ET", (0, 0, 100, 40),
                                                             Resources={"/Font": {"/F1": HELVETICA}})})],
        [note("Link", (20, 120, 120, 160), AP={"/N": ARROW})],
        [note("Link", (20, 120, 120, 160), AP={"/N": stream(b"3 w 0 0 m 40 20 l S", BBox=[0, 0, 50, 25])})],
        [note("Widget", (20, 120, 120, 160), FT="/Btn", AS="/Yes", AP={"/N": {"/Yes": ARROW, "/Off": form(b"")}}),
         note("Widget", (180, 120, 280, 160), FT="/Btn", AS="/Off", AP={"/N": {"/Yes": ARROW}}),
         note("Widget", (180, 20, 280, 60), FT="/Btn", V="/Yes", AP={"/N": {"/Yes": ARROW}})],
        [note("Highlight", (9, 9, 200, 100), AP={"/N": form(b"/G gs 1 1 0 rg 0 0 200 100 re f", (0, 0, 200, 100),
                                                            Resources={"/ExtGState": {"/G": {"/BM": "/Multiply"}}})})],
    ],
    ids=["stamp", "turned", "text", "link", "not said to be a form", "boxes to tick", "blended"],
)  # fmt: skip
@pytest.mark.parametrize("turn", [0, 90])
def test_appearances_are_printed_where_the_standard_puts_them(notes, turn):
    """On the page, in the state the annotation is in."""
    pdf = annotated(*notes, page={"/Rotate": turn})
    shown = ours(pdf)
    assert compare(shown, flattened(pdf)) <= ALIKE
    assert np.abs(shown - render(pdf, 0, 144)).max() > 20, "without its annotations the page looks otherwise"


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_annotations_that_stay_upright_do_so_about_their_upper_left_corner(turn):
    """The flag NoRotate (table 167)."""
    pdf = annotated(note("Stamp", (110, 60, 160, 90), flags=PRINTS | 16, AP={"/N": ARROW}), page={"/Rotate": turn})
    assert compare(ours(pdf), made_up_by_pdfium(pdf)) <= ALIKE


def test_the_page_s_own_content_leaves_annotations_where_they_are():
    """Whatever state, matrix or clip the content ends in, and however many q it leaves open."""
    content = b"0.5 0 0 0.5 70 30 cm 5 w 1 0 0 RG 0 0 100 100 re W n 0 0 m 90 90 l S q 2 0 0 2 0 0 cm"
    pdf = annotated(note("Stamp", (50, 40, 250, 190), AP={"/N": ARROW}), content=content)
    assert compare(ours(pdf), made_up_by_pdfium(pdf)) <= ALIKE


@pytest.mark.parametrize(
    "flags", [0, 1, 2, 2 | 4, 32], ids=["on screen", "invisible", "hidden", "hidden, printing", "no view"]
)
def test_what_does_not_print_stays_out(flags):
    """Print must be set and Hidden not (table 167); what a viewer shows on the screen all the same is counted."""
    pdf = annotated(note("Line", (50, 40, 250, 190), flags=flags, L=[50, 40, 250, 190], AP={"/N": ARROW}))
    assert compare(ours(pdf), render(pdf, 0, 144)) <= ALIKE
    assert read(pdf)[1].screen_only == (Counter() if flags & (2 | 32) else Counter(Line=1))


def test_popups_and_empty_fields_are_nobody_s_business():
    overlay = read(annotated(note("Popup", (0, 0, 99, 99)), note("Widget", (0, 0, 99, 20), FT="/Tx")))[1]
    assert (overlay.content, overlay.screen_only, overlay.undrawn) == (b"", Counter(), Counter())


def test_what_each_viewer_draws_as_it_likes_is_counted():
    """Icons and rubber stamps that the file has no picture of (12.5.6.4, 12.5.6.12), and ticks."""
    overlay = read(annotated(note("Text", (0, 0, 20, 20)), note("Stamp", (0, 0, 99, 40)), note("Stamp", (0, 0, 99, 80)),
                             note("Widget", SMALL, FT="/Btn", AS="/Yes")))[1]  # fmt: skip
    assert (overlay.content, overlay.undrawn) == (b"", Counter(Text=1, Stamp=2, Widget=1))


def test_what_is_left_off_an_annotation_that_is_drawn_is_counted() -> None:
    """Captions and clouds (ISO 32000-2, tables 178 and 169): the line and the box are there, these are not."""
    words = TextStringObject("10 cm")
    line = note("Line", (10, 10, 90, 30), L=[10, 20, 90, 20], Cap=BooleanObject(True), Contents=words)
    cloud = note("Square", (10, 40, 90, 80), BE={"/S": "/C", "/I": 1})
    plain = note("Line", (10, 90, 90, 99), L=[10, 95, 90, 95], Contents=words)
    _, overlay = read(annotated(line, cloud, plain))
    assert overlay.undrawn == Counter({"caption of a Line": 1, "cloudy border": 1})
    assert overlay.content.count(b" Do") == 3


def test_an_annotation_belongs_to_its_layer():
    groups = [obj({"/Type": "/OCG", "/Name": name}) for name in (b"size 8", b"size 10")]
    notes = [
        note("Stamp", (20 + 99 * k, 40, 99 + 99 * k, 90), AP={"/N": ARROW}, OC=one) for k, one in enumerate(groups)
    ]
    pdf = annotated(*notes, catalogue={"/OCProperties": {"/OCGs": groups, "/D": {"/OFF": [groups[1]]}}})
    artwork, _ = read(pdf)
    assert {item.layer for item in artwork.items} == {"", "size 8"}
    assert all(item.reach.x1 < 110 * 25.4 / 72 for item in artwork.items)


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("Square", {"C": [0, 0, 1], "BS": {"/W": 4}}),
        ("Square", {"C": [0.2], "IC": [1, 0.5, 0], "BS": {"/W": 6, "/S": "/D", "/D": [12, 6]}}),
        ("Circle", {"C": [0, 0, 0, 1], "IC": [0.5], "Border": [0, 0, 3]}),
        ("Ink", {"C": [1, 0, 0], "BS": {"/W": 3}, "InkList": [[60, 50, 100, 150, 180, 60], [200, 60, 210, 140]]}),
        ("Highlight", {"C": [1, 1, 0], "QuadPoints": [60, 120, 200, 120, 60, 100, 200, 100]}),
        ("Highlight", {"C": [0, 1, 1], "CA": 0.5, "QuadPoints": [60, 120, 200, 120, 60, 100, 200, 100]}),
    ],
)  # fmt: skip
def test_shapes_without_an_appearance_look_as_pdfium_makes_them_up(kind, more):
    pdf = annotated(note(kind, (50, 40, 250, 160), **more), content=b"BT /F1 20 Tf 70 104 Td (on the fold) Tj ET")
    shown, theirs = ours(pdf), made_up_by_pdfium(pdf)
    assert (theirs < 200).sum() > 300
    assert np.mean(np.abs(shown - theirs) > 60) < 0.004, "edges may lie elsewhere by a part of a pixel"
    assert np.abs(shown - render(pdf, 0, 144)).max() > 20


@pytest.mark.parametrize(
    ("made", "inked", "blank"),
    [
        (note("Line", AREA, L=[50, 50, 250, 150], BS={"/W": 4}), [(50, 50), (150, 100), (249, 149)], [(150, 130)]),
        (note("Line", AREA, L=[50, 100, 250, 100], BS={"/W": 2}, LE=["/Circle", "/ClosedArrow"]),
         [(56, 100), (50, 94), (240, 104)], [(50, 108.5), (262, 100)]),
        (note("Line", AREA, L=[50, 100, 250, 100], LL=20, LLE=10, BS={"/W": 2}),
         [(150, 80), (50, 90), (250, 75)], [(150, 100), (50, 60)]),
        (note("Square", AREA, RD=[10, 20, 30, 40], BS={"/W": 4}),
         [(50, 90), (150, 60), (230, 90), (150, 120)], [(45, 90), (150, 90)]),
        (note("Polygon", AREA, Vertices=[50, 50, 250, 50, 150, 150], IC=[0.5], BS={"/W": 3}),
         [(150, 50), (150, 80), (100, 100)], [(60, 120)]),
        (note("PolyLine", AREA, Vertices=[50, 50, 250, 50, 150, 150], BS={"/W": 3}),
         [(150, 50), (200, 100)], [(150, 80), (100, 100)]),
        (note("Underline", AREA, QuadPoints=QUAD), [(150, 101.6)], [(150, 110)]),
        (note("StrikeOut", AREA, QuadPoints=QUAD), [(150, 109)], [(150, 115)]),
        (note("Link", BOX, Border=[0, 0, 4]), [(52, 100), (150, 52)], [(150, 100)]),
        (note("Widget", BOX, FT="/Tx", MK={"/BC": [0], "/BG": [0.5]}, BS={"/W": 4}), [(52, 100), (150, 100)], []),
    ],
    ids=["line", "endings", "leaders", "square", "polygon", "polyline", "underline", "strikeout", "link", "field"],
)  # fmt: skip
def test_what_pdfium_makes_up_nothing_for_has_ink_where_its_numbers_say(made, inked, blank):
    """ISO 32000-2, 12.5.6: places in user space, leaders clockwise of the line; endings of six widths (from memory)."""
    picture = ours(annotated(made, content=b""))
    dark = picture < 200
    for x, y in inked:
        assert dark[round(400 - 2 * y) - 1 : round(400 - 2 * y) + 1, round(2 * x) - 1 : round(2 * x) + 1].any(), (x, y)
    for x, y in blank:
        assert not dark[round(400 - 2 * y), round(2 * x)], (x, y)


def test_the_endings_of_a_dashed_line_are_drawn_whole():
    """The dashes are the line's (table 168)."""
    dashed = note("PolyLine", AREA, Vertices=[100, 100, 200, 100], BS={"/W": 4, "/S": "/D", "/D": [6]}, LE=["/Circle"])
    dark = ours(annotated(dashed, content=b"")) < 200
    angles = np.linspace(0.3, 2 * np.pi - 0.3, 60)
    assert all(dark[round(200 - 24 * np.sin(a)), round(200 + 24 * np.cos(a))] for a in angles)


@pytest.mark.parametrize(
    ("made", "place"),
    [
        (note("FreeText", BOX, DA=TWENTY, Contents=b"Cut two"), (52, 125, 122, 150)),
        (note("FreeText", BOX, DA=TWENTY, Q=2, Contents=b"Cut two"), (178, 125, 249, 150)),
        (note("FreeText", (50, 50, 130, 150), DA=TWENTY, Contents=b"Cut two of the lining"), (52, 50, 129, 150)),
        (note("Widget", ROW, FT="/Tx", DA=b"/Helv 0 Tf 0 g", V="Größe 44 · Ч".encode()), (52, 92, 120, 108)),
        (note("Widget", BOX, FT="/Tx", Ff=4096, DA=TWELVE, V=b"pocket\nbelt"), (52, 115, 92, 150)),
        (note("Widget", ROW, FT="/Tx", Ff=1 << 24, MaxLen=4, DA=TWELVE, V=b"HHHH"), (70, 92, 230, 108)),
        (note("Widget", ROW, FT="/Ch", Ff=1 << 17, DA=TWELVE, V=b"b",
              Opt=[[b"a", b"calico"], [b"b", b"linen"]]), (52, 92, 84, 108)),
        (note("Widget", BOX, FT="/Ch", DA=TWELVE, Opt=[b"calico", b"linen"]), (52, 115, 90, 150)),
        (note("Widget", ROW, FT="/Btn", Ff=1 << 16, DA=TWELVE, MK={"/CA": b"HHHH"}), (128, 92, 172, 108)),
    ],
    ids=["text", "to the right", "wrapped", "field", "lines", "comb", "choice", "list", "button"],
)  # fmt: skip
def test_text_of_boxes_and_fields_is_written_inside_them(made, place):
    """Its ink fills the place where the words must be, of the size that the default appearance says (12.7.4.3)."""
    made = {**made, "/BS": {"/W": 0}}
    dark = ours(annotated(made, content=b"")) < 200
    rows, columns = np.nonzero(dark)
    x0, x1, y0, y1 = columns.min() / 2, columns.max() / 2, 200 - rows.max() / 2, 200 - rows.min() / 2
    left, low, right, high = place
    assert left - 1 <= x0 <= x1 <= right + 1
    assert low - 1 <= y0 <= y1 <= high + 1
    assert x1 - x0 > 0.75 * (right - left - 2)


@pytest.mark.parametrize("anew", [True, False])
def test_fields_are_made_anew_where_the_file_asks_for_it(anew):
    """NeedAppearances (table 224): what a program filled in is shown, and not the picture from before."""
    field = note("Widget", ROW, FT="/Tx", V=b"linen", DA=TWELVE, AP={"/N": form(b"0 0 50 20 re f", (0, 0, 200, 20))})
    artwork, _ = read(annotated(field, content=b"", catalogue={"/AcroForm": {"/NeedAppearances": anew}}))
    assert [len(item.path.ops) > 50 for item in artwork.items] == [anew]


def test_damaged_annotations_are_passed_over():
    """Rectangles of three numbers, appearances that are none, lists of anything."""
    notes = [note("Line", (0, 0, 9)), note("Stamp", SMALL, AP={"/N": 7}), note("Ink", SMALL, InkList=[7, [1]]),
             note("Polygon", SMALL, Vertices="/None"), note("Line", SMALL, L=[1, "/Two", None, 4, 5]),
             note("Square", (0, 0, 0, 0)), note("Widget", SMALL, FT="/Tx", V=stream(b"lines"), DA=7),
             note("Widget", SMALL, FT="/Ch", Opt=[7, [], [b"a"]], V=[], TI="/x"),
             note("Stamp", SMALL, AP={"/N": form(b"", (0, 0, 0, 0))}),
             note("FreeText", SMALL, Contents=b"x" * 9999, DA=b"/F 1e9 Tf"), 7, {"/Subtype": 7}]  # fmt: skip
    artwork, _ = read(annotated(*notes))
    assert artwork.items
    field = obj(note("Widget", SMALL, FT="/Tx"))
    del field["/FT"]
    field[NameObject("/Parent")] = field
    assert overlay_of(obj({"/Annots": [field]}), obj({})).content == b""
