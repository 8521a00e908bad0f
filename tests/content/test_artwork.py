"""What a page is made of: kinds, reach, style, layers, and what is left behind."""

from __future__ import annotations

import io
import zlib

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, IndirectObject, NameObject, NumberObject, StreamObject

from tests.content.pages import artwork_of, assert_gives_back, first_page, form, obj, pdf_of, stream, tiles_of
from tests.content.test_cut_gives_back import CLOSED, DASHES, FADE, FONTS, STATES, TEXT, WAVES
from tests.render import render
from tiling.content import Artwork, ItemKind, LayerChoice, Numbering
from tiling.content import streams as content_streams
from tiling.content.layers import layer_entries
from tiling.failures import InputUnfit
from tiling.shapes import Box
from tiling.style import Colour

MM = 25.4 / 72


@pytest.mark.parametrize(
    ("content", "page"),
    [(WAVES, {}), (CLOSED, {}), (DASHES, {"/Rotate": 90}), (STATES, {}), (TEXT, {}), (TEXT, {"/UserUnit": 2.0})],
    ids=["waves", "closed", "turned dashes", "states", "text", "large text"],
)
def test_no_ink_lies_outside_an_items_reach(content, page):
    pdf = pdf_of(content, FONTS, page)
    artwork = artwork_of(pdf)
    sheet = Box(0, 0, artwork.size.width, artwork.size.height)
    for item in artwork.items:
        alone = artwork.cut(sheet, only={item.mark})
        single = Artwork.from_page(first_page(pdf))
        single.drawn = [artwork.drawn[item.index]]
        single.reaches = artwork.reaches[[item.index]]
        picture = render(tiles_of(pdf, single, [sheet]), 0, 144)
        inked = np.argwhere(picture < 250)
        assert alone
        if not len(inked):
            continue
        (y0, x0), (y1, x1) = inked.min(axis=0), inked.max(axis=0) + 1
        pixel = sheet.width / picture.shape[1]
        reach = item.reach.grown(1.5 * pixel)
        assert reach.x0 <= x0 * pixel
        assert reach.y0 <= y0 * pixel
        assert x1 * pixel <= reach.x1
        assert y1 * pixel <= reach.y1


def test_a_paths_geometry_and_style_in_millimetres():
    artwork = artwork_of(
        pdf_of(b"q 2 0 0 2 10 10 cm 1 0 0 RG 3 w [4 2] 1 d 1 J 2 j 0 0 m 10 20 l 20 0 30 0 40 5 c S Q")
    )
    (item,) = artwork.items
    assert item.kind is ItemKind.PATH
    assert item.path is not None
    expected = [[10, 190], [30, 150], [50, 190], [70, 190], [90, 180]]
    assert item.path.points == pytest.approx(np.array(expected) * MM)
    stroke = item.style.stroke
    assert stroke is not None
    assert stroke.width == pytest.approx(6 * MM)
    assert stroke.dashes == pytest.approx((8 * MM, 4 * MM))
    assert stroke.dash_offset == pytest.approx(2 * MM)
    assert (stroke.cap, stroke.join, stroke.colour) == (1, 2, Colour(1, 0, 0))
    assert item.style.fill is None


def test_reach_is_limited_by_the_clip():
    artwork = artwork_of(pdf_of(b"q 50 50 20 20 re W n 0 0 300 200 re f Q"))
    box = artwork.items[0].reach
    assert (box.x0, box.x1) == pytest.approx((50 * MM, 70 * MM), abs=0.11)


@pytest.mark.parametrize(
    ("content", "ink"),
    [
        (b"1 g 0 0 99 99 re f", False),
        (b"0.5 g 0 0 99 99 re f", True),
        (b"1 1 1 RG 0 0 m 99 99 l S", False),
        (b"0 0 0 0 k 0 0 99 99 re f", False),
        (b"BT 3 Tr /F1 9 Tf (x) Tj ET", False),
        (b"BT /F1 9 Tf 9 9 Td (x) Tj ET", True),
    ],
)
def test_what_leaves_no_ink(content, ink):
    assert [item.leaves_ink for item in artwork_of(pdf_of(content, FONTS)).items] == [ink]


def test_text_says_what_it_says():
    """The advance is that of the standard font's metrics: 'Hip' is 722 + 222 + 556 units wide (Helvetica's AFM)."""
    artwork = artwork_of(pdf_of(b"BT /F1 20 Tf 30 40 Td (Hip) Tj ET", FONTS))
    run = artwork.items[0].text
    assert run is not None
    assert (run.text, run.font) == ("Hip", "Helvetica")
    assert run.size == pytest.approx(20 * MM)
    assert run.advance == pytest.approx(1.5 * 20 * MM)
    assert (run.matrix[4], run.matrix[5]) == pytest.approx((30 * MM, 160 * MM))


def test_marks_are_numbered_by_tags_on_sheets_of_our_own():
    pdf = pdf_of(b"/Mark7 BMC 0 0 m 9 9 l S 5 5 9 9 re f EMC 0 0 m 50 9 l S /Mark2 BMC 0 0 m 9 9 l S EMC")
    tagged = Artwork.from_page(first_page(pdf), numbering=Numbering.TAGS)
    assert [item.mark for item in tagged.items] == [7, 7, -1, 2]
    assert [item.mark for item in artwork_of(pdf).items] == [0, 1, 2, 3]
    sheet = Box(0, 0, 1000, 1000)
    assert tagged.cut(sheet, only={7}).count(b"\nS") == 1
    assert tagged.cut(sheet, only=()) == b""


def test_a_window_gets_only_what_touches_it():
    lines = b"".join(b"0 %d m 300 %d l S " % (y, y) for y in range(0, 200, 2))
    artwork = artwork_of(pdf_of(b"0.5 w " + lines))
    assert artwork.cut(Box(0, 10, 20, 20)).count(b"S") in range(14, 22)
    assert artwork.cut(Box(-50, -50, -20, -20)) == b""
    assert artwork.cut([Box(0, 0, 1, 1), Box(0, 60, 1, 61)]).count(b"S") < 20


def test_operators_that_were_superseded_and_empty_frames_are_left_out():
    content = b"q 1 w 2 w 3 w 1 0 0 RG q q Q Q 0 0 1 RG 0 0 m 30 30 l S Q q 5 0 0 5 0 0 cm 0.3 g Q 7 w"
    assert artwork_of(pdf_of(content, page={"/MediaBox": [-99, -99, 300, 300]})).whole().split() == (
        b"3 w 0 0 1 RG 0 0 m 30 30 l S".split()
    )


def layered(content: bytes, config: dict[str, object], **extra: object) -> bytes:
    groups = [{"/Type": "/OCG", "/Name": name} for name in (b"lines", b"size 1", b"size 2")]
    usage = {"/Print": {"/PrintState": "/OFF"}}
    made = [obj(group) for group in groups]
    made[2][NameObject("/Usage")] = obj(usage)
    named = {f"/L{index}": one for index, one in enumerate(made)}
    either = {"/Type": "/OCMD", "/OCGs": [made[1], made[2]], **extra}
    place = {key: [made[i] for i in value] if isinstance(value, list) else value for key, value in config.items()}
    if "/AS" in config:
        place["/AS"] = [{"/Event": "/Print", "/Category": ["/Print"], "/OCGs": [made[2]]}]
    form_in_layer = form(b"5 w 10 10 m 290 10 l S", OC=made[1])
    return pdf_of(
        content,
        {"/Properties": {**named, "/Either": either}, "/XObject": {"/Fm": form_in_layer}},
        catalogue={"/OCProperties": {"/OCGs": made, "/D": place}},
    )


def choice_for(pdf: bytes, picked: tuple[str, ...] = ()) -> LayerChoice:
    reader = first_page(pdf).pdf
    assert reader is not None
    return LayerChoice.of(layer_entries(reader.root_object), picked)


LAYERS = b"""
0 0 m 9 0 l S /OC /L0 BDC 1 0 0 RG 0 10 m 9 10 l S EMC /OC /L1 BDC 0 20 m 9 20 l S /OC /L0 BDC 0 30 m 9 30 l S EMC EMC
/OC /L2 BDC 0 0 1 RG 0 40 m 9 40 l S EMC /OC /Either BDC 0 50 m 9 50 l S EMC 0 60 m 9 60 l S /Fm Do
"""


def drawn_layers(pdf: bytes, picked: tuple[str, ...] = ()) -> list[int]:
    artwork = artwork_of(pdf, choice_for(pdf, picked))
    return sorted(round((200 - item.path.points[0][1] / MM) / 10) for item in artwork.items if item.path is not None)


@pytest.mark.parametrize(
    ("config", "picked", "seen"),
    [
        ({}, (), [0, 1, 1, 2, 3, 4, 5, 6]),
        ({"/OFF": [1]}, (), [0, 1, 4, 5, 6]),
        ({"/OFF": [1, 2]}, (), [0, 1, 6]),
        ({"/BaseState": "/OFF"}, (), [0, 6]),
        ({"/BaseState": "/OFF", "/ON": [1]}, (), [0, 1, 2, 5, 6]),
        ({"/AS": True}, (), [0, 1, 1, 2, 3, 5, 6]),
        ({"/OFF": [1, 2]}, ("size 1",), [0, 1, 2, 5, 6]),
        ({}, ("lines", "size 1"), [0, 1, 1, 2, 3, 5, 6]),
    ],
)
def test_layers_as_the_file_or_the_person_wants_them(config, picked, seen):
    """BaseState, ON, OFF and AS (ISO 32000-1, table 101); nested content shows when all around it does (8.11.3.2);
    an XObject's own /OC counts (table 95).
    """
    assert drawn_layers(layered(LAYERS, config), picked) == seen


def test_state_set_in_a_hidden_layer_still_holds_after_it():
    artwork = artwork_of(layered(LAYERS, {"/OFF": [2]}), choice_for(layered(LAYERS, {"/OFF": [2]})))
    last = next(item for item in artwork.items if item.path is not None and item.path.points[0][1] < 50)
    assert last.style.stroke is not None
    assert last.style.stroke.colour == Colour(0, 0, 1)


@pytest.mark.parametrize(
    ("policy", "off", "seen"),
    [
        ("/AnyOn", [1], True), ("/AnyOn", [1, 2], False), ("/AllOn", [1], False), ("/AllOn", [], True),
        ("/AnyOff", [1], True), ("/AnyOff", [], False), ("/AllOff", [1], False), ("/AllOff", [1, 2], True),
    ],
)  # fmt: skip
def test_membership_policies(policy, off, seen):
    """ISO 32000-1, table 99."""
    pdf = layered(LAYERS, {"/OFF": off}, **{"/P": policy})
    assert (5 in drawn_layers(pdf)) is seen


def test_visibility_expressions_come_before_the_policy():
    """ISO 32000-1, 8.11.2.2: VE overrides OCGs and P."""
    one, two = {"/Type": "/OCG", "/Name": b"one"}, {"/Type": "/OCG", "/Name": b"two"}
    one, two = obj(one), obj(two)
    member = {"/Type": "/OCMD", "/OCGs": one, "/P": "/AllOff", "/VE": ["/And", one, ["/Not", ["/Or", two]]]}
    for off, seen in (([], 0), ([two], 1), ([one, two], 0)):
        pdf = pdf_of(
            b"/OC /M BDC 0 0 m 99 99 l S EMC", {"/Properties": {"/M": member}},
            catalogue={"/OCProperties": {"/OCGs": [one, two], "/D": {"/OFF": off}}},
        )  # fmt: skip
        assert len(artwork_of(pdf, choice_for(pdf)).items) == seen


def test_a_hidden_layer_inside_a_form_that_stays_one_object_is_taken_out():
    layer = obj({"/Type": "/OCG", "/Name": b"hidden"})
    inner = form(
        b"0 g 20 20 80 80 re f /OC /L BDC 0.5 g 120 20 80 80 re f EMC 0 0 1 rg 60 60 80 80 re f",
        Group={"/S": "/Transparency"}, Resources={"/Properties": {"/L": layer}},
    )  # fmt: skip
    resources = {"/XObject": {"/Fm": inner}, "/ExtGState": {"/Half": {"/ca": 0.5}}}
    catalogue = {"/OCProperties": {"/OCGs": [layer], "/D": {"/OFF": [layer]}}}
    pdf = pdf_of(b"/Half gs /Fm Do", resources, catalogue=catalogue)
    assert assert_gives_back(pdf, artwork_of(pdf, choice_for(pdf))) > 500


def all_keys(value: object, seen: set[int] | None = None) -> set[str]:
    seen = seen if seen is not None else set()
    value = value.get_object() if isinstance(value, IndirectObject) else value
    if id(value) in seen:
        return set()
    seen.add(id(value))
    if isinstance(value, DictionaryObject):
        return set(value).union(*(all_keys(value.raw_get(key), seen) for key in value))
    return set().union(*(all_keys(one, seen) for one in value)) if isinstance(value, list) else set()


def test_nothing_but_content_travels():
    """Actions, metadata, structure, optional content and external references of the source stay behind."""
    extras = {
        "/Metadata": stream(b"secret"), "/PieceInfo": {"/X": {"/Private": 1}}, "/StructParents": 3, "/OPI": {"/A": 1},
        "/Ref": {"/F": b"other.pdf", "/Page": 0}, "/LastModified": b"D:2020",
    }  # fmt: skip
    kept = form(b"/Im Do 0 0 9 9 re f", Group={"/S": "/Transparency"}, Resources={"/XObject": {}})
    image = stream(b"\x00", Type="/XObject", Subtype="/Image", Width=1, Height=1, BitsPerComponent=8,
                   ColorSpace="/DeviceGray")  # fmt: skip
    for holder in (kept, image):
        for key, value in extras.items():
            holder[NameObject(key)] = obj(value)
    font = {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica", "/Metadata": stream(b"secret")}
    resources = {
        "/XObject": {"/Fm": kept, "/Im": image, "/Unused": stream(b"", Subtype="/Image")},
        "/ExtGState": {"/Half": {"/ca": 0.5}},
        "/Font": {"/F1": font, "/F2": font | {"/BaseFont": "/Courier"}},
    }
    artwork = artwork_of(pdf_of(b"/Im Do BT /F1 9 Tf 9 9 Td (x) Tj ET /Half gs /Fm Do", resources))
    artwork.whole()
    keys = all_keys(artwork.resources)
    assert not keys & {*extras, "/OC", "/F2", "/Unused"}
    writer = PdfWriter()
    writer._add_object(artwork.resources.clone(writer))
    out = io.BytesIO()
    writer.write(out)
    assert b"secret" not in out.getvalue()
    assert "/Im" in artwork.resources["/XObject"]


def test_a_flate_bomb_is_refused(monkeypatch):
    monkeypatch.setattr(content_streams, "MAX_DECODED", 2_000_000)
    bomb = StreamObject()
    bomb._data = zlib.compress(b"0 0 m 9 9 l S " * 1_000_000)
    bomb[NameObject("/Filter")] = NameObject("/FlateDecode")
    page = first_page(pdf_of(b""))
    page[NameObject("/Contents")] = bomb
    with pytest.raises(InputUnfit, match="larger than 2 million bytes"):
        Artwork.from_page(page)


def test_forms_that_multiply_are_refused(monkeypatch):
    monkeypatch.setattr("tiling.content.nesting.MOST_READ", 300_000)
    inner = form(b"0 0 m 9 9 l S")
    for _ in range(8):
        inner = form(b"/In Do " * 10, Resources={"/XObject": {"/In": inner}})
    with pytest.raises(InputUnfit, match="nested forms"):
        artwork_of(pdf_of(b"/Fm Do", {"/XObject": {"/Fm": inner}}))


def test_a_damaged_stream_gives_what_comes_before_the_damage():
    packed = zlib.compress(b"".join(b"%d 0 m %d 99 l S " % (i, i + 7 * i % 13) for i in range(3000)))
    broken = StreamObject()
    broken._data = packed[: len(packed) // 2]
    broken[NameObject("/Filter")] = NameObject("/FlateDecode")
    page = first_page(pdf_of(b"", page={"/MediaBox": [0, 0, 4000, 100]}))
    page[NameObject("/Contents")] = broken
    artwork = Artwork.from_page(page)
    assert len(artwork.items) > 500
    assert artwork.repairs == ("damaged stream",)


@pytest.mark.parametrize("page", [{"/UserUnit": 0}, {"/MediaBox": [0, 0, 1e15, 100]}])
def test_pages_without_a_usable_size_are_refused(page):
    with pytest.raises(InputUnfit):
        artwork_of(pdf_of(WAVES, page=page))


def test_deep_nesting_and_many_frames_end():
    deep = b"q 1 0 0 1 0.001 0 cm " * 3000 + b"0 0 m 99 99 l S " + b"Q " * 3000
    artwork = artwork_of(pdf_of(deep + b"[" * 5000 + b"((((" + b"<<" * 3000))
    assert len(artwork.items) == 1


coordinate = st.integers(-50, 350).map(float) | st.floats(0, 300).map(lambda v: round(v, 3))
point = st.tuples(coordinate, coordinate)


def joined(*values: float) -> bytes:
    return b" ".join(b"%g" % value for value in values)


segment = st.one_of(
    point.map(lambda p: joined(*p) + b" l"),
    st.tuples(point, point, point).map(lambda t: joined(*t[0], *t[1], *t[2]) + b" c"),
    st.tuples(point, point).map(lambda t: joined(*t[0], *t[1]) + b" v"),
    st.tuples(point, point).map(lambda t: joined(*t[0], *t[1]) + b" y"),
    point.map(lambda p: joined(*p) + b" m"),
    st.just(b"h"),
)
paint = st.sampled_from([b"S", b"S", b"S", b"s", b"f", b"f*", b"B", b"b*"])
path = st.tuples(point, st.lists(segment, min_size=1, max_size=9), paint).map(
    lambda t: joined(*t[0]) + b" m " + b" ".join(t[1]) + b" " + t[2]
)
state = st.sampled_from(
    [
        b"1 w", b"6 w", b"0.3 w", b"1 0 0 RG", b"0.4 g", b"0 0 1 rg", b"0 G", b"[5 3] 2 d", b"[] 0 d", b"0 J", b"2 J",
        b"1 J", b"0 j", b"1 j", b"2 j", b"3 M", b"/Half gs", b"/Full gs", b"1 0 0 1 20 -10 cm", b"q", b"Q",
        b"0.9 0.2 -0.2 0.9 10 10 cm", b"0.5 0 0 2 0 0 cm", b"30 30 200 120 re W n",
        b"20 100 m 150 190 l 280 30 l h W* n", b"BT /F1 20 Tf 30 60 Td (ab) Tj 10 20 Td (cd) Tj ET", b"/Fm Do",
    ]
)  # fmt: skip


@settings(max_examples=60, deadline=None, phases=[Phase.generate], suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(path, state), min_size=3, max_size=25))
def test_any_stream_of_operators_comes_back(operators):
    """Whatever the order of states, frames, clips and paths, tiles show what the source shows."""
    resources = {
        "/XObject": {"/Fm": form(b"3 w 10 10 m 100 150 l 200 20 l S 0.6 g 40 40 30 30 re f", (0, 0, 180, 120))},
        "/ExtGState": {"/Half": {"/CA": 0.5, "/ca": 0.6}, "/Full": {"/CA": 1, "/ca": 1}},
        **FONTS,
    }
    assert_gives_back(pdf_of(b"\n".join(operators), resources), soft=True)


def test_shading_reaches_as_far_as_its_clip():
    artwork = artwork_of(pdf_of(b"q 50 50 100 100 re W n /Sh sh Q", {"/Shading": {"/Sh": FADE}}))
    (item,) = artwork.items
    assert item.kind is ItemKind.SHADING
    assert item.reach.width == pytest.approx(100 * MM, abs=0.3)


def test_rotate_is_read_as_a_multiple_of_ninety():
    page = first_page(pdf_of(WAVES))
    page[NameObject("/Rotate")] = NumberObject(90)
    assert Artwork.from_page(page).size.width == pytest.approx(200 * MM)
