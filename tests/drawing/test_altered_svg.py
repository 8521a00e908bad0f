"""A pattern written as SVG: read again it is the same pattern, and other programs see the same lines."""

from __future__ import annotations

import base64
import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tiling.drawing.altered_svg import svg_bytes
from tiling.files.inputs import read_input
from tiling.fonts.shaping import Direction
from tiling.pattern import Label, Layer, Line, Pattern, Picture, Role, Tag, pieces_of
from tiling.reading.svg import read_svg
from tiling.shapes import Affine, Box, Path, PathBuilder, Point, Size
from tiling.style import Colour, Stroke, Style

SIDE = 500.0
place = st.floats(30, SIDE - 30)
share = st.integers(0, 255).map(lambda v: v / 255)
colours = st.builds(Colour, share, share, share)
opacity = st.sampled_from([1.0, 0.5, 0.25])
names = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=12).map(
    lambda text: " ".join(text.split())
)
PNG = io.BytesIO()
Image.new("RGB", (2, 3), "red").save(PNG, "PNG")


@st.composite
def paths(draw):
    """One or two subpaths of lines and curves, open or closed."""
    build = PathBuilder()
    for _ in range(draw(st.integers(1, 2))):
        build.move(draw(place), draw(place))
        for _ in range(draw(st.integers(1, 4))):
            if draw(st.booleans()):
                build.line(draw(place), draw(place))
            else:
                build.curve(*(draw(place) for _ in range(6)))
        if draw(st.booleans()):
            build.close()
    return build.path()


strokes = st.builds(
    Stroke, st.floats(0.06, 3), colours, st.sampled_from([(), (3.0, 1.0), (5.0, 1.0, 0.5, 1.0)]),
    st.sampled_from([0.0, 1.25]), st.integers(0, 2), st.integers(0, 2), st.just(4.0), opacity,
)  # fmt: skip
styles = st.builds(Style, strokes, st.none() | colours, opacity, st.booleans()).map(
    lambda style: style if style.fill is not None else replace(style, fill_opacity=1.0, even_odd=False)
)
tags = st.builds(
    Tag, st.sampled_from(["", "front", "back yoke", "3 <&> \"'"]), st.sampled_from(list(Role)), names,
    st.sampled_from(["", "Size 10", "a/b & c"]), st.just(""),
    st.sampled_from([(), (("wide", "start"),), (("a-b", "x & y"), ("wide", "end"))]),
)  # fmt: skip
lines = st.builds(Line, paths(), styles, tags, st.none() | paths().filter(lambda p: p.closed and len(p) > 3))
turns = st.builds(
    lambda degrees, size, x, y: Affine.shift(x, y) @ Affine.turn(degrees) @ Affine.scale(size),
    st.floats(-180, 180), st.sampled_from([1.0, 2.5]), st.floats(200, 300), st.floats(200, 300),
)  # fmt: skip
labels = st.builds(
    Label, st.sampled_from(["Front", "cut 2", "a  b ", "<&>"]), turns, st.floats(2, 9),
    st.sampled_from(["Helvetica", "Times-BoldItalic", "Courier-Oblique", "Helvetica-Bold"]),
    colours, st.just(0.0), opacity, tags,
)  # fmt: skip
pictures = st.builds(lambda at, tag: Picture(PNG.getvalue(), at @ Affine.scale(30, 20), 0.5, tag), turns, tags)


def pattern_of(marks, **more):
    """A pattern of these marks on a square sheet."""
    return Pattern("Potting smock", Size(SIDE, SIDE), tuple(marks), pieces_of(marks), **more)


def again(pattern, folder: FilePath):
    """The pattern written and read."""
    file = folder / "written.svg"
    file.write_bytes(svg_bytes(pattern))
    return read_svg(read_input(file))


def same_tag(one, other):
    """All but the id, which is given out once only."""
    return replace(one, ident="") == replace(other, ident="")


@settings(
    deadline=None, max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(st.lists(st.one_of(lines, lines, labels, pictures), min_size=1, max_size=6))
def test_what_is_written_is_read_back(tmp_path, marks):
    """Every mark in order, its geometry to 0.001 mm, its style, piece, role, name, layer and data."""
    # Left out: marks that their clip hides wholly, for they leave no ink and are not read.
    marks = [m for m in marks if m.clip is None or m.path.hull.common(m.clip.hull)]
    # So do strokes without a length whose ends are cut off, and others are read as the dots they are.
    marks = [m for m in marks if not isinstance(m, Line) or all(sub.length() > 0 for sub in m.path.subpaths())]
    if not marks:
        return
    pattern = pattern_of(marks)
    read = again(pattern, tmp_path)
    assert read.size == pattern.size
    assert len(read.marks) == len(marks)
    for one, other in zip(marks, read.marks, strict=True):
        assert type(one) is type(other)
        assert same_tag(one.tag, other.tag)
        if isinstance(one, Line):
            assert np.array_equal(one.path.ops, other.path.ops)
            assert np.abs(one.path.points - other.path.points).max() < 0.001
            assert (one.clip is None) == (other.clip is None)
            same_style(one.style, other.style)
        elif isinstance(one, Label):
            assert (one.text, one.font) == (other.text, other.font)
            for point in (Point(0, 0), Point(10, 0), Point(0, -1)):
                there, here = other.at.point(point * other.size), one.at.point(point * one.size)
                assert there.distance(here) < 0.001
        else:
            assert one.data == other.data
            assert all(one.at.point(c).distance(other.at.point(c)) < 0.001 for c in (Point(0, 0), Point(1, 1)))
    assert svg_bytes(pattern) == svg_bytes(pattern)


def same_style(one, other):
    """To the digits that are written."""
    assert (one.fill, one.even_odd) == (other.fill, other.even_odd)
    assert one.fill_opacity == pytest.approx(other.fill_opacity, abs=1e-3)
    first, second = one.stroke, other.stroke
    assert (first.colour, first.dashes, first.cap, first.join) == (
        second.colour,
        second.dashes,
        second.cap,
        second.join,
    )
    assert first.width == pytest.approx(second.width, abs=1e-4)
    if first.dashes:
        assert first.dash_offset == second.dash_offset


def line(tag):
    """A square with that tag."""
    return Line(Path.rectangle(Box(10, 10, 90, 90)), Style(Stroke(0.5)), tag)


def test_the_file_states_its_true_size_and_keeps_curves():
    """Width, height and view box in mm, for any editor; a cubic stays one C step."""
    build = PathBuilder()
    build.move(10, 20)
    build.curve(11, 12, 13.00004, 14, 15, 16)
    tree = ET.fromstring(svg_bytes(pattern_of([Line(build.path(), Style(Stroke(0.3)))])))
    assert (tree.get("width"), tree.get("height"), tree.get("viewBox")) == ("500mm", "500mm", "0 0 500 500")
    assert tree.find("{*}path").get("d") == "M10 20 C11 12 13 14 15 16"


def test_a_piece_in_several_layers_stays_one_piece(tmp_path):
    """Drawing order is kept, and no id is given twice."""
    tags = [Tag("front", layer="a"), Tag("back", layer="a"), Tag("front", layer="b"), Tag("front"), Tag("back")]
    pattern = pattern_of([line(tag) for tag in tags], layers=(Layer("a"), Layer("b")))
    content = svg_bytes(pattern)
    ids = [e.get("id") for e in ET.fromstring(content).iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    read = again(pattern, tmp_path)
    assert [mark.tag.piece for mark in read.marks] == [tag.piece for tag in tags]
    assert [piece.marks for piece in read.pieces] == [(0, 2, 3), (1, 4)]
    assert read.layers == (Layer("a"), Layer("b"))


def test_odd_ids_and_titles_survive(tmp_path):
    """Spaces, quotes, digits first, repeated ids."""
    tags = [Tag('1 a"b', ident="x"), Tag('1 a"b', ident="x"), Tag("1-a-b", ident="2nd"), Tag("ж", ident="ж")]
    pattern = pattern_of([line(tag) for tag in tags])
    pieces = tuple(replace(piece, title=f"<{piece.ident}> & co") for piece in pattern.pieces)
    read = again(replace(pattern, pieces=pieces), tmp_path)
    assert [(p.ident, p.title) for p in read.pieces] == [(p.ident, p.title) for p in pieces]
    assert read.marks[0].tag.ident == "x"


def test_control_characters_and_direction_marks_are_left_out():
    """The file is XML, and turns nobody's writing round."""
    mark = Label("a\x00b\u202ec\x1b", Affine.shift(50, 50), 5.0, tag=Tag("p\x07", name="n\x01"))
    content = svg_bytes(replace(pattern_of([mark]), title="t\x02\u200f"))
    assert not any(c in content.decode() for c in "\x00\x01\x02\x07\x1b\u202e\u200f")
    assert ET.fromstring(content).find(".//{*}text").text == "abc"


def test_a_line_of_no_width_is_drawn_fine_and_one_without_ink_is_kept(tmp_path):
    """PDF's finest line is none in SVG; an invisible cutting line still means something."""
    fine = Line(Path.rectangle(Box(1, 1, 9, 9)), Style(Stroke(0.0)))
    unseen = Line(Path.rectangle(Box(1, 1, 9, 9)), Style(), Tag("front", Role.CUTTING))
    read = again(pattern_of([fine, unseen]), tmp_path)
    assert read.marks[0].style.stroke.width == 0.05
    assert read.marks[1].tag.role is Role.CUTTING


def test_clips_of_turned_marks_lie_on_the_sheet(tmp_path):
    """A label's clip is not turned with it."""
    clip = Path.rectangle(Box(40, 40, 60, 60))
    label = Label("wide text", Affine.shift(50, 50) @ Affine.turn(90), 9.0, advance=40, clip=clip)
    read = again(pattern_of([label, replace(label, text="again")]), tmp_path)
    assert read.marks[0].clip.hull == Box(40, 40, 60, 60)
    content = svg_bytes(pattern_of([label, replace(label, text="again")])).decode()
    assert content.count("<clipPath") == 1


def test_pictures_travel_inside_the_file():
    """As data, with their own kind."""
    content = svg_bytes(pattern_of([Picture(PNG.getvalue(), Affine.scale(50))]))
    image = ET.fromstring(content).find(".//{*}image")
    kind, _, data = image.get("{http://www.w3.org/1999/xlink}href").partition(";base64,")
    assert (kind, base64.b64decode(data)) == ("data:image/png", PNG.getvalue())


def test_text_of_any_script_stays_text(tmp_path):
    """Written as it was, and at the same place when it is read again, also where it runs to the left."""
    texts = [("חלק קדמי", Direction.LEFTWARDS), ("קמיע", Direction.RIGHTWARDS), ("前片", Direction.RIGHTWARDS)]
    marks = [
        Label(text, Affine.shift(100.0, 100.0 + 50 * k), 9.0, advance=9.0, direction=way)
        for k, (text, way) in enumerate(texts)
    ]
    read = again(pattern_of(marks), tmp_path)
    assert [(mark.text, mark.direction) for mark in read.marks] == texts
    for one, other in zip(marks, read.marks, strict=True):
        assert one.at.point(Point(0, 0)).distance(other.at.point(Point(0, 0))) < 0.001
