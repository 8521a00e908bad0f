"""Groups, copies, nested drawings, clips, markers, layers, pieces and roles."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
from PIL import Image

from tiling.failures import InputUnfit
from tiling.pattern import FindingKind, Layer, Picture, Role
from tiling.reading import svg_walk

INK = 'stroke="#000" fill="none"'


def boxes(pattern):
    """Corners of every line."""
    return [tuple(round(v, 6) for v in (b.x0, b.y0, b.x1, b.y1)) for b in (m.path.bounds() for m in pattern.marks)]


def test_groups_move_and_style_what_is_in_them(drawn):
    """Transforms multiply from the outside in."""
    pattern = drawn(
        f'<g transform="translate(10 0)" {INK}><a><g transform="scale(2)"><path d="M1 1L2 2"/></g></a>'
        '<rect transform="rotate(90 5 5)" width="4" height="10"/></g>'
    )
    assert boxes(pattern) == [(12, 2, 14, 4), (10, 0, 20, 4)]


def test_a_thousand_different_faults_are_not_a_thousand_findings(drawn):
    """The first ones of a kind are told; the rest are counted."""
    body = "".join(f'<path {INK} d="M1 1L2 {"0" * i}2 x"/>' for i in range(200))
    findings = drawn(body).findings
    assert len(findings) == 26
    assert findings[-1].where.endswith("and 174 more")


def test_copies_are_drawn_in_their_place_with_their_own_style(drawn):
    """use: x, y, transform, and what the original leaves open comes from the copy (SVG 2, section 5.5)."""
    pattern = drawn(
        '<defs><g id="a"><path id="l" fill="none" d="M0 0L1 1"/></g></defs>'
        '<use xlink:href="#a" x="5" y="6" stroke="red"/><use href="#l" transform="scale(2)" x="10" stroke="#00f"/>'
    )
    assert boxes(pattern) == [(5, 6, 6, 7), (20, 0, 22, 2)]
    assert [mark.style.stroke.colour.red for mark in pattern.marks] == [1.0, 0.0]


def test_symbols_and_nested_drawings_have_viewports(drawn):
    """viewBox, preserveAspectRatio, per cent lengths of the inner viewport, and clipping at its edge."""
    pattern = drawn(
        f'<symbol id="s" viewBox="0 0 10 10"><path {INK} stroke-width=".1" d="M1 1L9 9"/></symbol>'
        '<use href="#s" x="10" y="10" width="20" height="40"/>'
        f'<svg x="50" y="50" width="20" height="20" viewBox="0 0 10 10"><rect {INK} stroke-width=".1" x="10%" y="10%"'
        f' width="50%" height="5"/><path {INK} d="M5 5L500 5"/><path {INK} d="M50 5L500 5"/></svg>'
    )
    # The symbol is fitted into 20 by 40: a square of 20 in its middle.
    assert boxes(pattern)[:2] == [(12, 22, 28, 38), (52, 52, 62, 62)]
    assert len(pattern.marks) == 3
    clip = pattern.marks[2].clip
    assert clip is not None and (clip.hull.x1, clip.hull.y1) == (70, 70)
    assert pattern.marks[2].reach().x1 == 70
    assert pattern.marks[0].clip is None, "a clip that cuts nothing is left away"


@pytest.mark.parametrize(
    "body",
    [
        f'<g id="a"><path {INK} d="M0 0L1 1"/><use href="#a"/></g>',
        f'<path {INK} d="M0 0L1 1"/><g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        f'<path {INK} d="M0 0L1 1"/><use id="a" href="#a"/>',
        f'<path {INK} d="M0 0L1 1"/><symbol id="s"><use href="#s"/></symbol><use href="#s"/>',
        f'<marker id="m"><path {INK} marker-start="url(#m)" d="M0 0L1 1"/></marker><path {INK} marker-start="url(#m)"'
        ' d="M0 0L1 1"/>',
        f'<clipPath id="c" clip-path="url(#c)"><rect width="9" height="9"/></clipPath><path {INK} d="M0 0L1 1"/>',
    ],
)
def test_copies_that_hold_themselves_end(drawn, body):
    """No loop is followed."""
    assert 1 <= len(drawn(body).marks) <= 4


def test_copies_of_copies_without_end_are_refused(drawn, monkeypatch):
    """Twenty times twenty times twenty …: bounded, with a clear word."""
    monkeypatch.setattr(svg_walk, "_MOST_COPIED", 2000)
    body = f'<g id="n0"><path {INK} d="M0 0L1 1"/></g>'
    body += "".join(f'<g id="n{i}">' + f'<use href="#n{i - 1}"/>' * 20 + "</g>" for i in range(1, 9))
    with pytest.raises(InputUnfit, match="repeat"):
        drawn(f"<defs>{body}</defs><use href='#n8'/>", whole=False)


def test_a_mark_at_every_vertex_of_a_long_line_is_bounded_too(drawn, monkeypatch):
    """Markers are copies as well."""
    monkeypatch.setattr(svg_walk, "_MOST_COPIED", 2000)
    marker = f'<marker id="m"><path {INK} d="M0 0L1 1"/></marker>'
    with pytest.raises(InputUnfit, match="repeat"):
        drawn(f'{marker}<path {INK} marker-mid="url(#m)" d="M0 0{"l1 0l-1 0" * 2000}"/>')


def test_deep_nesting_is_refused(drawn):
    """And thousands of levels too."""
    for depth in (150, 5000):
        with pytest.raises(InputUnfit, match=r"nested|damaged"):
            drawn("<g>" * depth + f'<path {INK} d="M0 0L1 1"/>' + "</g>" * depth)


def test_a_clip_cuts_what_lies_outside_and_drops_what_is_all_outside(drawn):
    """As in the source; curved clips keep their curves."""
    pattern = drawn(
        '<clipPath id="c"><circle cx="20" cy="20" r="10"/></clipPath><clipPath id="e"/>'
        f'<g clip-path="url(#c)"><path id="a" {INK} d="M0 20L100 20"/><path id="b" {INK} d="M0 90L100 90"/></g>'
        f'<path id="d" {INK} clip-path="url(#e)" d="M0 20L100 20"/>'
    )
    assert [mark.tag.ident for mark in pattern.marks] == ["a"]
    clip = pattern.marks[0].clip
    assert clip.bounds().x0 == pytest.approx(10, abs=0.001)
    assert clip.length() == pytest.approx(20 * np.pi, abs=0.005)


def test_clips_in_clips_show_only_what_all_show(drawn):
    """Rectangles exactly, others to 0.005 mm; even-odd clips have holes."""
    pattern = drawn(
        '<clipPath id="r"><rect x="10" y="10" width="50" height="50"/></clipPath>'
        '<clipPath id="q"><rect x="30" y="30" width="50" height="50"/></clipPath>'
        '<clipPath id="o"><circle cx="30" cy="30" r="20"/></clipPath>'
        '<clipPath id="h"><path clip-rule="evenodd" d="M0 0H90V90H0ZM10 10H80V80H10Z"/></clipPath>'
        f'<g clip-path="url(#r)"><path {INK} clip-path="url(#q)" d="M0 0L100 100"/>'
        f'<path {INK} clip-path="url(#o)" d="M0 0L100 100"/></g><path {INK} clip-path="url(#h)" d="M0 0L100 100"/>'
    )
    one, two, three = (mark.clip for mark in pattern.marks)
    assert (one.hull.x0, one.hull.y0, one.hull.x1, one.hull.y1) == (30, 30, 60, 60)
    assert (two.hull.x0, two.hull.x1) == pytest.approx((10, 50), abs=0.006)
    areas = []
    for sub in three.subpaths():
        x, y = sub.points[:, 0], sub.points[:, 1]
        areas.append((x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)
    # By the non-zero rule the hole must run the other way.
    assert sum(areas) == pytest.approx(areas[0] / abs(areas[0]) * (90**2 - 70**2))


def test_markers_are_drawn_at_the_ends_turned_along_the_line(drawn):
    """A grainline's arrow heads: tip at the line's end, sized by the stroke (SVG 2, section 13.7)."""
    pattern = drawn(
        '<marker id="m" viewBox="0 0 10 10" refX="10" refY="5" markerWidth="4" markerHeight="6"'
        ' orient="auto-start-reverse"><path fill="context-stroke" d="M0 0L10 5L0 10z"/></marker>'
        '<g class="piece" id="front"><path class="grainline" id="g" stroke="red" stroke-width="2" fill="none"'
        ' marker-start="url(#m)" marker-end="url(#m)" d="M20 20V80"/></g>'
    )
    # 4 × 6 strokes of 2 mm, a square of 10 units fitted in: 8 mm.
    assert boxes(pattern)[1:] == [(16, 20, 24, 28), (16, 72, 24, 80)]
    head = pattern.marks[1]
    assert head.style.fill.red == 1.0 and head.style.fill.green == 0.0
    assert (head.tag.piece, head.tag.role) == ("front", Role.PLAIN), "an arrow head is no second grainline"


def test_mid_markers_take_the_bisector(drawn):
    """On an L of two legs the middle marker points along the diagonal."""
    pattern = drawn(
        '<marker id="m" orient="auto" markerUnits="userSpaceOnUse" overflow="visible">'
        f'<path {INK} d="M0 0H10"/></marker><path {INK} marker-mid="url(#m)" d="M20 20H50V50"/>'
    )
    end = pattern.marks[1].path.points[1]
    assert end == pytest.approx([50 + 50**0.5, 20 + 50**0.5], abs=1e-9)


@pytest.mark.parametrize(("data", "end"), [("M20 20V20V80", [20, 30]), ("M20 20H50V50", [30, 20])])
def test_a_marker_at_a_segment_without_length_looks_along_the_line(drawn, data, end):
    """The direction is that of the nearest segment that has one (SVG 2, 9.5.2)."""
    pattern = drawn(
        '<marker id="m" orient="auto" markerUnits="userSpaceOnUse" overflow="visible">'
        f'<path {INK} d="M0 0H10"/></marker><path {INK} marker-start="url(#m)" d="{data}"/>'
    )
    assert pattern.marks[1].path.points[1] == pytest.approx(end, abs=1e-9)


def test_pieces_roles_and_names(drawn):
    """The classes and data attributes of a drawing that knows what its lines are."""
    pattern = drawn(
        f'<g class="shape piece" id="front" data-title="Front, cut 1" {INK}><path class="x cutting-line bold"'
        ' data-name="side" id="s1" d="M0 0L9 9"/><g class="grading-line" data-wide="start"><path d="M0 5L9 5"/></g>'
        '<text font-size="3" x="1" y="9" fill="#000">hi</text></g>'
        f'<g class="piece" {INK}><title>Back\n piece</title><path class="fold-line" d="M20 0L29 9"/></g>'
        f'<path {INK} d="M50 50L60 60"/><use href="#front" x="50"/>'
    )
    tags = [mark.tag for mark in pattern.marks]
    assert (tags[0].piece, tags[0].role, tags[0].name, tags[0].ident) == ("front", Role.CUTTING, "side", "s1")
    assert (tags[1].role, tags[1].said("wide")) == (Role.GRADING, "start")
    assert (tags[2].piece, pattern.marks[2].text) == ("front", "hi")
    assert tags[4].piece == ""
    assert [(p.ident, p.title) for p in pattern.pieces] == [
        ("front", "Front, cut 1"), ("piece-2", "Back piece"), ("front-2", "Front, cut 1"),
    ]  # fmt: skip
    assert pattern.pieces[0].marks == (0, 1, 2)
    assert [len(pattern.lines(piece="front", role=role)) for role in (Role.CUTTING, Role.GRADING)] == [1, 1]


def layered(drawn, **options):
    """A file with marked, nested, hidden and plain layers."""
    body = (
        'xmlns:e="http://editor.invalid/ns"><g e:groupmode="layer" e:label="Size 10" id="layer1" style="display:none">'
        f'<path {INK} id="a" d="M0 0L9 9"/></g>'
        f'<g e:groupmode="layer" e:label="Size 12"><path {INK} id="b" d="M0 0L9 9"/>'
        f'<g e:groupmode="layer" e:label="Notes" display="none"><path {INK} id="c" d="M0 0L9 9"/></g></g>'
        f'<g id="Frame_x20_A"><path {INK} id="d" d="M0 0L9 9"/></g><path {INK} id="e" d="M0 0L9 9"/>'
        f'<g class="piece" id="front"><path {INK} id="f" d="M0 0L9 9"/></g></svg>'
    )
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100" '
    return drawn(head + body, whole=True, **options)


def test_layers_are_listed_and_hidden_ones_told(drawn):
    """Marked groups by their label, plain top-level groups by their id; a piece is no layer."""
    pattern = layered(drawn)
    assert pattern.layers == (Layer("Size 10", False), Layer("Size 12"), Layer("Notes", False), Layer("Frame A"))
    assert [mark.tag.ident for mark in pattern.marks] == ["b", "d", "e", "f"]
    assert [mark.tag.layer for mark in pattern.marks] == ["Size 12", "Frame A", "", ""]
    (finding,) = pattern.findings
    assert finding.kind is FindingKind.LAYER_HIDDEN and "Size 10, Notes" in finding.text


@pytest.mark.parametrize(
    ("names", "drawn_ids"),
    [(("Size 10",), "aef"), (("Size 12",), "bef"), (("Notes",), "cef"), (("Size 10", "Frame A"), "adef"),
     (("Size 12", "Notes"), "bcef")],
)  # fmt: skip
def test_picked_layers_are_drawn_even_when_hidden(drawn, names, drawn_ids):
    """What lies in no layer is always drawn."""
    pattern = layered(drawn, layers=names)
    assert "".join(mark.tag.ident for mark in pattern.marks) == drawn_ids
    assert pattern.findings == ()


def test_an_unknown_layer_is_refused_with_those_there_are(drawn):
    """So that the next try works."""
    with pytest.raises(InputUnfit, match="no layer 'Size 11'; there are 'Size 10', 'Size 12', 'Notes', 'Frame A'"):
        layered(drawn, layers=("Size 11",))


def picture_bytes(kind="PNG"):
    """A picture of 4 by 2 pixels."""
    stream = io.BytesIO()
    Image.new("RGB", (4, 2), "red").save(stream, kind)
    return stream.getvalue()


def test_pictures_in_the_file_and_beside_it_are_read(drawn, tmp_path):
    """Fitted into their frame like any viewport; other kinds become PNG."""
    (tmp_path / "near by.png").write_bytes(picture_bytes())
    data = base64.b64encode(picture_bytes("GIF")).decode()
    pattern = drawn(
        '<image href="near%20by.png" x="10" y="10" width="40" height="40"/>'
        f'<image xlink:href="data:image/gif;base64,{data}" width="8"/>'
    )
    first, second = pattern.marks
    assert isinstance(first, Picture) and isinstance(second, Picture)
    box = first.reach()
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((10, 20, 50, 40))
    assert second.data.startswith(b"\x89PNG") and second.reach().height == pytest.approx(4)


def test_pictures_elsewhere_are_never_opened(drawn, tmp_path):
    """Neither by a path upwards nor through a link that leads out of the folder."""
    inner = tmp_path / "inner"
    inner.mkdir()
    (tmp_path / "secret.png").write_bytes(picture_bytes())
    (inner / "link.png").symlink_to(tmp_path / "secret.png")
    links = [
        "../secret.png",
        "link.png",
        f"{tmp_path}/secret.png",
        f"file://{tmp_path}/secret.png",
        "//x.invalid/a.png",
    ]
    images = "".join(f'<image href="{link}" width="9" height="9"/>' for link in links)
    pattern = drawn(images + f'<path {INK} d="M0 0L9 9"/>', name="inner/drawing.svg")
    assert len(pattern.marks) == 1
    assert sum(f.kind is FindingKind.PICTURE_NOT_READ for f in pattern.findings) >= 2
    assert not any(isinstance(mark, Picture) for mark in pattern.marks)
