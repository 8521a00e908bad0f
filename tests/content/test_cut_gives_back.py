"""Tiles cut from a page show, pixel by pixel, what PDFium shows of the source there."""

from __future__ import annotations

import pytest
from pypdf.generic import DictionaryObject

from tests.content.pages import artwork_of, assert_gives_back, form, grid, obj, pdf_of, stream, tiles_of
from tests.render import ALIKE, compare, render

HELVETICA = {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica"}
FONTS = {"/Font": {"/F1": HELVETICA}}

WAVES = b"""
2 w 0 0 1 RG 10 100 m 60 190 110 10 160 100 c 210 190 260 10 290 100 c S
0.5 w 1 0 0 RG 20 20 m 280 20 l 280 180 l 20 180 l s
8 w 0 J 0 j 4 M 0.4 g 30 150 m 80 190 l 90 120 l 200 160 l S
1 J 1 j 0 0.5 0 RG 250 30 m 290 90 v 280 150 260 170 y S
0.9 0.9 0.2 rg 0 G 1 w 100 60 80 40 re B
0 0.6 0.6 rg 200 120 m 260 120 l 230 170 l h 215 130 m 245 130 l 230 150 l h f*
"""

DASHES = b"""
1.5 w [12 5 3] 4 d 5 150 m 60 195 120 105 180 150 c 220 180 260 120 295 150 c S
[6 3] 0 d 0.8 w 10 10 m 100 60 l 190 10 l 290 60 l 290 100 l 10 100 l S
[0 4] 0 d 1 J 2 w 10 30 m 290 30 l S
[9 4] 2 d 0 J 40 60 m 120 60 l 120 95 l 40 95 l h S
"""

CLOSED = b"""
6 w 0 j 10 M
20 20 m 100 20 l 140 20 l 200 20 l 280 20 l 280 100 l 280 180 l 200 180 l 100 180 l 20 180 l 20 100 l h S
1 j 60 60 m 100 50 140 55 150 60 c 200 70 220 80 240 100 c 220 120 200 130 150 140 c 100 140 80 120 60 100 c h S
2 w 150 100 m 150 100 l S 1 J 170 100 m 170 100 l S 180 100 m h S
"""

STATES = b"""
q 1 0 0 1 20 20 cm 0.5 g q 0.7071 0.7071 -0.7071 0.7071 60 10 cm 0 0 60 30 re f Q
q 10 10 40 40 re W n 3 w 0 0 m 60 60 l S 0 60 m 60 0 l S Q
q 2 0 0 0.5 0 0 cm 4 w 40 100 m 120 100 l 120 250 l S Q
1 0 0 rg 150 20 40 40 re f Q
q 230 100 m 290 100 l 260 160 l h W* n 0 0 1 rg 200 80 100 100 re f 1 g 240 110 30 20 re f Q
0 0 0 0.5 k 200 150 20 20 re f 0.3 i /Perceptual ri 0 0.3 0 0 K 5 w 10 190 m 290 190 l S
"""

TEXT = b"""
BT /F1 18 Tf 20 160 Td (Front, on the fold) Tj 0 -24 Td (cut 1) Tj 40 0 Td (A) Tj (B) Tj 0 0 1 rg (C) Tj ET
BT 2 Tc 5 Tw 80 Tz 14 TL /F1 12 Tf 1 0 0 1 150 120 Tm (one line) Tj
T* (next \\(two\\) \\101) Tj (third) ' 1 3 (fourth) " ET
0 Tc 0 Tw 100 Tz
BT 0.866 0.5 -0.5 0.866 30 20 Tm /F1 20 Tf [(Turn) -300 <6564> 200 (up)] TJ 5 Ts (raised) Tj 0 Ts ET
BT 1 Tr 0.5 w 1 0 0 RG /F1 40 Tf 130 20 Td (outline) Tj 2 Tr 0 0 TD (o) Tj ET
BT 3 Tr /F1 30 Tf 10 100 Td (unseen) Tj ET
"""


@pytest.mark.parametrize(
    "content",
    [b"[40 20] -30 d 3 w 5 100 m 290 100 l 290 20 l S", b"/G gs 3 w 5 100 m 290 100 l 290 20 l S"],
    ids=["operator", "graphics state"],
)
def test_dashes_may_begin_before_the_line_does(content):
    """A negative phase grows by twice the sum of the dashes until it is none (ISO 32000-2, 8.4.3.6); PDFium knows that.

    What is written has a phase that no viewer reads otherwise (MuPDF takes a negative one for a longer first dash).
    """
    pdf = pdf_of(content, {"/ExtGState": {"/G": {"/D": [[40, 20], -30]}}})
    artwork = artwork_of(pdf)
    assert_gives_back(pdf, artwork)
    assert artwork.items[0].style.stroke.dash_offset == pytest.approx(90 * 25.4 / 72)
    assert all(b"] -" not in artwork.cut(window) for window in grid(artwork, 3, 2))


@pytest.mark.parametrize(("name", "charset"), [("纸样", "utf-8"), ("纸样", "gbk"), ("patrón", "latin-1")])
@pytest.mark.parametrize("mode", ["/Normal", "/Multiply"], ids=["drawn anew", "kept whole"])
def test_resources_are_found_by_names_in_any_letters(name, charset, mode):
    """A name is bytes (ISO 32000-2, 7.3.5); programs write their own alphabet's, and PDFium compares bytes."""
    plain = b"/" + name.encode(charset)
    ascii_ = "/" + "x" * (len(plain) - 1)
    resources = {"/ExtGState": {"/Gs": {"/BM": mode}}, "/XObject": {ascii_: form(b"0 0 80 80 re f")}}
    content = b"/Gs gs 1 0 0 rg " + plain + b" Do 1 0 0 1 99 20 cm " + plain + b" Do"
    outer = form(content, Resources=resources, Group={"/S": "/Transparency"})
    pdf = pdf_of(plain + b" Do", {"/XObject": {ascii_: outer}}).replace(ascii_.encode(), plain)
    assert_gives_back(pdf)


@pytest.mark.parametrize("content", [WAVES, DASHES, CLOSED, STATES], ids=["waves", "dashes", "closed", "states"])
def test_paths_come_back_exactly(content):
    assert assert_gives_back(pdf_of(content)) > 500


def test_dashes_go_on_where_the_source_has_them():
    """The dash phase at a cut is the arc length from the subpath's start (ISO 32000-1, 8.4.3.6), so no dash moves."""
    zigzag = b" ".join(b"%d %d l" % (5 + i, 100 + i % 7) for i in range(1, 290))
    pdf = pdf_of(b"[7 4] 3 d 1 w 5 100 m " + zigzag + b" S")
    artwork = artwork_of(pdf)
    assert_gives_back(pdf, artwork)
    for window in grid(artwork, 3, 1):
        assert len(artwork.cut(window)) < artwork.content_size * 0.6


def test_text_stays_text_and_comes_back():
    pdf = pdf_of(TEXT, FONTS)
    artwork = artwork_of(pdf)
    assert assert_gives_back(pdf, artwork) > 500
    assert b"Front, on the fold" in artwork.whole()


@pytest.mark.parametrize("rotate", [0, 90, 180, 270, -90, 450, 990, -450])
@pytest.mark.parametrize("unit", [None, 2.5])
def test_turned_and_scaled_pages_come_back(rotate, unit):
    """/Rotate may be negative or above 360, /UserUnit scales (ISO 32000-1, tables 30 and 31)."""
    page = {"/Rotate": rotate} if unit is None else {"/Rotate": rotate, "/UserUnit": unit}
    pdf = pdf_of(WAVES + TEXT, FONTS, page)
    artwork = artwork_of(pdf)
    k = 25.4 / 72 * (unit or 1.0)
    expected = (200 * k, 300 * k) if rotate % 180 else (300 * k, 200 * k)
    assert (artwork.size.width, artwork.size.height) == pytest.approx(expected)
    assert_gives_back(pdf, artwork)


@pytest.mark.parametrize(
    "boxes",
    [
        {"/MediaBox": [-50, -20, 250, 180]},
        {"/MediaBox": [300, 200, 0, 0]},
        {"/CropBox": [40, 30, 260, 170]},
        {"/CropBox": [40, 30, 900, 170], "/Rotate": 90},
        {"/CropBox": [-100, -100, 150, 150], "/UserUnit": 1.7},
        {"/CropBox": [900, 900, 950, 950]},
    ],
    ids=["negative", "swapped", "cropped", "beyond", "below", "disjoint"],
)
def test_boxes_of_all_kinds(boxes):
    """The visible page is CropBox within MediaBox (ISO 32000-1, 14.11.2); corners come in any order (7.9.5)."""
    if boxes.get("/CropBox") == [900, 900, 950, 950]:
        artwork = artwork_of(pdf_of(WAVES, page=boxes))
        assert artwork.size.width == pytest.approx(300 * 25.4 / 72)
        return
    assert_gives_back(pdf_of(WAVES, page=boxes))


def test_what_lies_beyond_the_visible_page_stays_hidden():
    content = b"0.5 g -50 -50 100 100 re f 1 w 250 100 m 600 100 l S 400 400 m 500 500 l S"
    pdf = pdf_of(content, page={"/CropBox": [20, 20, 280, 180], "/MediaBox": [-100, -100, 600, 600]})
    artwork = artwork_of(pdf)
    assert artwork.beyond == 1
    shown = render(tiles_of(pdf, artwork, grid(artwork, 1, 1, 500)), 0, 144)
    expected = render(pdf, 0, 144)
    assert compare(shown, expected) < 3


def nested(depth: int, content: bytes, **keys: object) -> DictionaryObject:
    inner = form(content, Resources=FONTS, **keys)
    for level in range(depth):
        inner = form(
            b"q 0.9 0.1 -0.1 0.9 5 5 cm 0.%d g 2 w /In Do Q 5 w 0 0 m 40 0 l S" % (level + 2),
            (0, 0, 280, 190),
            Matrix=[1, 0.05, 0, 1, 3, 2],
            Resources={"/XObject": {"/In": inner}, **FONTS},
        )
    return inner


def test_nested_forms_are_drawn_object_by_object():
    """Forms take over the graphics state, clip to BBox and move by Matrix (ISO 32000-1, 8.10)."""
    pdf = pdf_of(b"1 0 0 RG /Fm Do 1 0 0 1 40 -30 cm /Fm Do", {"/XObject": {"/Fm": nested(4, STATES + TEXT)}})
    artwork = artwork_of(pdf)
    assert_gives_back(pdf, artwork, soft=True)
    assert "/XObject" not in artwork.resources
    small = artwork.cut(grid(artwork, 12, 12, 0)[0])
    assert len(small) < len(artwork.whole()) / 3


def test_two_resources_of_one_name_are_kept_apart():
    other = form(
        b"BT /F1 30 Tf 20 40 Td (serif) Tj ET",
        Resources={"/Font": {"/F1": {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Times-Italic"}}},
    )
    pdf = pdf_of(b"BT /F1 30 Tf 20 140 Td (sans) Tj ET /Fm Do BT /F1 30 Tf 120 140 Td (sans) Tj ET",
                 {"/XObject": {"/Fm": other}, **FONTS})  # fmt: skip
    assert_gives_back(pdf)
    assert len(artwork_of(pdf).resources["/Font"]) == 2


def test_a_form_without_resources_uses_the_pages():
    """Older files rely on it (ISO 32000-1, 7.8.3, note on obsolete practice)."""
    assert assert_gives_back(pdf_of(b"/Fm Do", {"/XObject": {"/Fm": form(TEXT)}, **FONTS})) > 300


ALPHA = {
    "/ExtGState": {
        "/Half": {"/ca": 0.4, "/CA": 0.5},
        "/Wide": {"/LW": 6, "/LC": 1, "/D": [[8, 8], 0]},
        "/Full": {"/ca": 1.0, "/CA": 1.0},
        "/Mult": {"/BM": "/Multiply"},
    }
}


def test_opacity_and_blending_object_by_object():
    content = (
        WAVES + b"q /Half gs " + WAVES + b" Q /Mult gs 0 1 1 rg 30 30 200 100 re f /Half gs 60 60 200 100 re f"
        b" /Full gs /Wide gs 10 10 m 290 190 l S"
    )
    pdf = pdf_of(content, ALPHA)
    assert not artwork_of(pdf).needs_whole
    assert_gives_back(pdf)


GROUP = {"/S": "/Transparency"}


def test_an_opaque_group_is_drawn_object_by_object():
    pdf = pdf_of(b"/Fm Do", {"/XObject": {"/Fm": form(WAVES, Group=GROUP)}})
    artwork = artwork_of(pdf)
    assert len(artwork.items) > 4
    assert_gives_back(pdf, artwork)


def test_a_see_through_group_is_drawn_as_one():
    """Its objects don't show through each other (ISO 32000-1, 11.4.5)."""
    inner = form(b"0 g 50 50 80 80 re f 1 0 0 rg 90 90 80 80 re f", (40, 40, 180, 180), Group=GROUP)
    pdf = pdf_of(b"/Half gs /Fm Do", {"/XObject": {"/Fm": inner}, **ALPHA})
    artwork = artwork_of(pdf)
    assert [item.kind for item in artwork.items] == ["other"]
    assert_gives_back(pdf, artwork)


def test_pictures_and_inline_images():
    image = stream(bytes(range(0, 256, 4)), Type="/XObject", Subtype="/Image", Width=8, Height=8,
                   BitsPerComponent=8, ColorSpace="/DeviceGray")  # fmt: skip
    content = (
        b"q 100 20 -20 100 40 40 cm /Im Do Q q 60 0 0 60 200 100 cm BI /W 4 /H 4 /BPC 8 /CS /G ID "
        + b"\x00\xffEI\x80\x10\x20 EI  \x40\x00\xff\x10"
        + b" EI Q 5 w 0 0 m 300 200 l S"
    )
    pdf = pdf_of(content, {"/XObject": {"/Im": image}})
    assert [item.kind for item in artwork_of(pdf).items] == ["picture", "picture", "path"]
    assert_gives_back(pdf, soft=True)


FADE = {
    "/ShadingType": 2,
    "/ColorSpace": "/DeviceRGB",
    "/Coords": [0, 0, 300, 0],
    "/Function": {"/FunctionType": 2, "/Domain": [0, 1], "/C0": [1, 0, 0], "/C1": [0, 0, 1], "/N": 1},
    "/Extend": [True, True],
}


def test_shadings_fill_their_clip():
    assert_gives_back(pdf_of(b"q 50 50 200 100 re W n /Sh sh Q 1 w 0 0 m 300 200 l S", {"/Shading": {"/Sh": FADE}}))


def test_patterns_are_shown_whole():
    """A pattern lies relative to its parent content stream, not to the CTM (ISO 32000-1, 8.7.3.1)."""
    tiling_pattern = stream(b"0 0 1 rg 0 0 6 6 re f", Type="/Pattern", PatternType=1, PaintType=1, TilingType=1,
                     BBox=[0, 0, 10, 10], XStep=10, YStep=10, Matrix=[1, 0.2, 0, 1, 3, 4], Resources={})  # fmt: skip
    faded = {"/Type": "/Pattern", "/PatternType": 2, "/Shading": FADE}
    content = b"/Pattern cs /P1 scn 20 20 150 100 re f /P2 scn 150 90 m 280 100 l 250 190 l h f"
    pdf = pdf_of(content, {"/Pattern": {"/P1": tiling_pattern, "/P2": faded}})
    artwork = artwork_of(pdf)
    assert artwork.reasons == ("patterns",)
    assert_gives_back(pdf, artwork)


def test_soft_masks_are_shown_whole():
    mask = form(b"1 g 80 50 120 100 re f", (0, 0, 300, 200), Group={"/S": "/Transparency", "/CS": "/DeviceGray"})
    states = {"/Sm": {"/SMask": {"/S": "/Luminosity", "/G": mask}}, "/Off": {"/SMask": "/None"}}
    content = b"q 1 0 0 1 10 0 cm /Sm gs 0.2 g 0 0 300 200 re f /Off gs 1 0 0 rg 5 5 40 40 re f Q 0 0 m 99 99 l S"
    pdf = pdf_of(content, {"/ExtGState": states})
    artwork = artwork_of(pdf)
    assert artwork.reasons == ("soft masks",)
    assert_gives_back(pdf, artwork)


def test_text_as_a_clip_is_shown_whole():
    content = (
        b"q BT 7 Tr /F1 80 Tf 20 60 Td (CUT) Tj ET 1 0 0 rg 0 0 300 100 re f 0 0 1 rg 0 100 300 100 re f Q "
        b"q BT 5 Tr 1 w /F1 40 Tf 20 140 Td (rim) Tj ET 0 1 0 rg 0 0 300 150 re f Q 0 G 2 w 0 0 m 300 200 l S"
    )
    pdf = pdf_of(content, FONTS)
    artwork = artwork_of(pdf)
    assert artwork.reasons == ("text used as a clip",)
    assert_gives_back(pdf, artwork)


def type3(box: list[int]) -> dict[str, object]:
    square = stream(b"750 0 0 0 750 750 d1 0 0 750 750 re f")
    return {
        "/Type": "/Font", "/Subtype": "/Type3", "/FontBBox": box, "/FontMatrix": [0.001, 0, 0, 0.001, 0, 0],
        "/CharProcs": {"/A": square}, "/FirstChar": 97, "/LastChar": 97, "/Widths": [1000], "/Resources": {},
        "/Encoding": {"/Type": "/Encoding", "/Differences": [97, "/A"]},
    }  # fmt: skip


@pytest.mark.parametrize("box", [[0, 0, 750, 750], [0, 0, 0, 0]], ids=["boxed", "boundless"])
def test_type_3_fonts(box):
    """Glyphs are content themselves; an all-zero FontBBox says nothing (ISO 32000-1, 9.6.5)."""
    pdf = pdf_of(b"BT /T3 40 Tf 0 0.5 1 rg 30 60 Td (aa) Tj 90 30 Td (a a) Tj ET", {"/Font": {"/T3": type3(box)}})
    assert assert_gives_back(pdf) > 500


def test_colour_spaces_and_separations():
    tint = {"/FunctionType": 2, "/Domain": [0, 1], "/C0": [0, 0, 0, 0], "/C1": [0, 1, 1, 0], "/N": 1}
    spaces = {
        "/Spot": ["/Separation", "/Red", "/DeviceCMYK", tint],
        "/Cal": ["/CalRGB", {"/WhitePoint": [0.95, 1, 1.09]}],
        "/Table": ["/Indexed", "/DeviceRGB", 1, b"abcdef"],
    }
    content = (
        b"/Spot cs 0.7 scn 10 10 80 80 re f /Spot CS 1 SCN 8 w 20 150 m 280 150 l S /Cal cs 0.2 0.8 0.3 sc "
        b"100 10 80 80 re f 0.9 0.1 0.3 sc 150 60 80 80 re f /Table cs 1 sc 210 20 60 60 re f"
        b" /DeviceCMYK cs 0 0 1 0.2 scn 240 100 40 40 re f"
    )
    assert_gives_back(pdf_of(content, {"/ColorSpace": spaces}))


@pytest.mark.parametrize(
    "content",
    [
        [b"2 w 10 10 m 100", b"100 l S 0.5 g 50 50", b"100 60 re f"],
        [b"q q 1 0 0 1 20 20 cm 2 w 0 0 m 100 100 l S"],
        [b"Q Q 2 w 0 0 m 100 100 l S Q q 3 w 10 90 m 200 90 l S Q EMC Q 50 20 m 200 20 l S"],
        [b"/A BMC 2 w 0 0 m 100 100 l S EMC EMC /B /C BDC 5 w 100 0 m 100 100 l S"],
        [b"2 w % note 1 2 m ( \n10 %x\n10 m 200 % (\n 150 l S"],
        [b"4 w 10 20 m 100 20 l l 200 100 l S junk 3 3 nonsense 20 150 m 280 150 l S"],
        [b"BT /F1 20 Tf 20 50 Td (a (nested) \\) string) Tj 0 30 Td (line\\\nbreak) Tj"],
        [b"2 w 10 10 100 50 re 150 60 l 200 160 l S 0 0 1 rg 20 100 m 90 100 l 60 160 l h 120 160 l 150 110 l f"],
        [b"2\x00w\x0010\x0010\x00m\x00100\x00100\x00l\x00S"],
    ],
    ids=["split", "open", "extra", "marked", "comments", "unknown", "strings", "after-close", "nul"],
)
def test_malformed_content_is_read_as_viewers_read_it(content):
    assert assert_gives_back(pdf_of(content, FONTS)) > 50


@pytest.mark.parametrize("odd", [b"--5", b"1.2.3", b"5-3", b"+-7", b".", b"4-", b"-"])
def test_numbers_readers_disagree_about_never_lose_the_line(odd):
    """A path with such a number is taken to reach anywhere, and is carried as it was written."""
    content = b"2 w 10 100 m " + odd + b" 20 l 200 120 l S 20 50 m 250 50 l S"
    pdf = pdf_of(content)
    assert_gives_back(pdf)


def test_names_with_coded_characters():
    """#20 in a name is a space (ISO 32000-1, 7.3.5)."""
    pdf = pdf_of(b"BT /F#20x 40 Tf 30 60 Td (Name) Tj ET /G#23 gs 9 w 0 0 m 99 9 l S",
                 {"/Font": {"/F x": HELVETICA}, "/ExtGState": {"/G#": {"/CA": 0.4}}})  # fmt: skip
    artwork = artwork_of(pdf)
    assert artwork.missing == ()
    assert_gives_back(pdf, artwork)


def test_missing_resources_are_told_and_the_rest_is_drawn():
    pdf = pdf_of(b"/No gs /Nothing Do /P scn /S sh BT /F9 20 Tf 9 9 Td (x) Tj ET 5 w 0 0 1 RG 10 90 m 290 90 l S", {})
    artwork = artwork_of(pdf)
    assert len(artwork.missing) == 5
    assert assert_gives_back(pdf, artwork, most=255) > 100


def test_forms_that_draw_themselves_end():
    loop = form(b"/Me Do 5 w 0 0 m 200 200 l S")
    loop[next(iter(obj({"/Resources": 0})))] = obj({"/XObject": {"/Me": loop}})
    artwork = artwork_of(pdf_of(b"/Me Do", {"/XObject": {"/Me": loop}}))
    assert artwork.repairs == ("a form that draws itself",)
    assert len(artwork.items) == 1


def test_the_comparison_sees_half_a_millimetre_and_a_dropped_line():
    whole = render(pdf_of(WAVES), 0, 150)
    half = 0.5 / 25.4 * 72
    shifted = render(pdf_of(b"1 0 0 1 %f 0 cm" % half + WAVES), 0, 150)
    dropped = render(pdf_of(WAVES.replace(b"0.5 w 1 0 0 RG 20 20 m 280 20 l 280 180 l 20 180 l s", b"0.5 w")), 0, 150)
    quarter_pixel = render(pdf_of(b"1 0 0 1 %f 0 cm" % (72 / 150 / 4) + WAVES), 0, 150)
    assert compare(whole, quarter_pixel) < ALIKE < min(compare(whole, shifted), compare(whole, dropped))


def test_the_tile_check_fails_when_a_tile_loses_an_object(monkeypatch):
    pdf = pdf_of(WAVES)
    artwork = artwork_of(pdf)
    artwork.reaches[2] = (500.0, 500.0, 500.0, 500.0)
    with pytest.raises(AssertionError, match="differs"):
        assert_gives_back(pdf, artwork)


def _bare(content, **keys):
    """A form without resources, a transparent group."""
    made = form(content, (0, 0, 300, 200), Group={"/S": "/Transparency", "/CS": "/DeviceCMYK"}, **keys)
    assert "/Resources" not in made
    return made


def test_forms_without_resources_use_those_around_them():
    """ISO 32000-2, 7.8.3: drawn whole or object by object, within another one, and as a soft mask's group."""
    spot = ["/Separation", "/Meadow", "/DeviceRGB", {"/FunctionType": 2, "/Domain": [0, 1], "/N": 1,
            "/C0": [1, 1, 1], "/C1": [0, 0.4, 0.2]}]  # fmt: skip
    band = b"/Spot cs 1 scn 10 90 270 30 re f"
    resources = {
        "/ColorSpace": {"/Spot": spot},
        "/ExtGState": {
            "/Dark": {"/BM": "/Multiply"},
            "/Soft": {"/SMask": {"/S": "/Luminosity", "/G": _bare(b"/Spot cs 0 scn 0 0 150 200 re f")}},
            "/Hard": {"/SMask": "/None"},
        },
        "/XObject": {"/Band": _bare(band), "/Outer": _bare(b"q 1 0 0 1 0 -60 cm /Band Do Q")},
    }
    for use in (b"/Band Do", b"/Dark gs /Band Do", b"/Outer Do", b"/Dark gs /Outer Do",
                b"/Soft gs 0.2 g 0 0 300 60 re f /Hard gs /Band Do"):  # fmt: skip
        assert assert_gives_back(pdf_of(b"0.8 g 0 100 300 60 re f " + use, resources)) > 5000


def test_a_colour_space_of_a_device_goes_on_in_the_colour_before():
    """PDFium keeps a device's colour through CS and cs, other programs begin at black: each shows what it showed."""
    for space in (b"/DeviceGray CS /DeviceGray cs", b"/DeviceRGB CS /DeviceRGB cs"):
        for colour in (b"0 0 0 RG 0 0 0 rg", b"0 0.6 0 RG 0 0.6 0 rg"):
            assert_gives_back(
                pdf_of(b"9 w 1 0 0 RG 1 0 0 rg 10 10 m 290 20 l S " + colour + b" " + space
                       + b" 20 40 m 280 90 l S 20 110 150 40 re f 0 1 0 RG 20 170 m 290 180 l S")
            )  # fmt: skip
