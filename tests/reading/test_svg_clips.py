"""Clips, copies' paints, dots and languages: a black sheet is seen where viewers see it (SVG 2, CSS Masking Level 1).

PDFium draws what was read; it is looked at in places that the specification leaves no doubt about.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.render import render
from tiling.drawing.sheet import full_sheet
from tiling.pattern import FindingKind

SHEET = '<path d="M0 0H100V100H0Z"/>'
STAR = "M50 5L76.5 86.4L7.2 36.1H92.8L23.5 86.4Z"
"""A five-pointed star in one stroke: its middle is wound round twice."""


def seen(pattern, *places):
    """Whether there is ink at each place (mm)."""
    picture = render(full_sheet(pattern), dpi=254)
    return [bool(picture[round(y * 10), round(x * 10)] < 128) for x, y in places]


def clipped(clip, attributes=""):
    return f'<clipPath id="c" {attributes}>{clip}</clipPath><g clip-path="url(#c)">{SHEET}</g>'


@pytest.mark.parametrize("nested", [False, True], ids=["alone", "in another clip"])
@pytest.mark.parametrize(("rule", "middle"), [("nonzero", True), ("evenodd", False)])
def test_an_outline_that_crosses_itself_follows_its_rule(drawn, rule, middle, nested):
    """The star's middle is inside by the non-zero rule and outside by the even-odd one (SVG 2, 13.4.2)."""
    body = clipped(f'<path clip-rule="{rule}" d="{STAR}"/>')
    if nested:
        body = f'<clipPath id="o"><circle cx="50" cy="50" r="40"/></clipPath><g clip-path="url(#o)">{body}</g>'
    assert seen(drawn(body), (50, 50), (50, 25), (25, 15)) == [middle, True, False]


@pytest.mark.parametrize(
    ("clip", "places"),
    [
        ('<path d="M10 10H90V90H10ZM30 30H70V70H30Z"/>', {(50, 50): True, (20, 20): True}),
        ('<path d="M10 10H90V90H10ZM30 30V70H70V30Z"/>', {(50, 50): False, (20, 20): True}),
        ('<path d="M10 10H60V60H10Z"/><path d="M40 90V40H90V90Z"/>', {(50, 50): True, (20, 20): True, (80, 20): False}),
        ('<path clip-rule="evenodd" d="M10 10H60V60H10ZM40 40V90H90V40Z"/>', {(50, 50): False, (20, 20): True}),
    ],
    ids=["same way", "a hole", "two", "two, even-odd"],
)  # fmt: skip
def test_outlines_in_one_clip(drawn, clip, places):
    rounded = '<clipPath id="o"><circle cx="50" cy="50" r="60"/></clipPath>'
    for body in (clipped(clip), f'{rounded}<g clip-path="url(#o)">{clipped(clip)}</g>'):
        assert dict(zip(places, seen(drawn(body), *places), strict=True)) == places


def test_a_clip_s_child_may_be_clipped_itself(drawn):
    inner = '<clipPath id="i"><path d="M0 0H50V100H0Z"/></clipPath>'
    body = inner + clipped('<circle cx="50" cy="50" r="30" clip-path="url(#i)"/><path d="M80 80H99V99H80Z"/>')
    assert seen(drawn(body), (40, 50), (60, 50), (90, 90)) == [True, False, True]


def test_a_copy_in_a_clip_keeps_its_clips_and_rule(drawn):
    inner = '<clipPath id="i"><path d="M0 0H50V100H0Z"/></clipPath>'
    body = f'{inner}<defs><path id="s" clip-rule="evenodd" d="{STAR}"/></defs>' + clipped(
        '<use href="#s" clip-path="url(#i)"/>'
    )
    assert seen(drawn(body), (48, 50), (46, 30), (54, 30)) == [False, True, False]


def test_the_whole_drawing_may_be_clipped(drawn):
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
        f' clip-path="url(#c)"><clipPath id="c"><circle cx="50" cy="50" r="20"/></clipPath>{SHEET}</svg>'
    )
    assert seen(drawn(svg, whole=True), (50, 50), (10, 10)) == [True, False]


@pytest.mark.parametrize("how", ['visibility="hidden"', 'style="visibility:collapse"', 'display="none"'])
def test_hidden_children_clip_nothing_free(drawn, how):
    """They are no part of the clip (CSS Masking, 6.3)."""
    body = clipped(f'<path d="M0 0H50V100H0Z"/><path {how} d="M50 0H100V100H50Z"/>')
    assert seen(drawn(body), (25, 50), (75, 50)) == [True, False]
    with_parent = clipped(
        '<path visibility="visible" d="M0 0H50V100H0Z"/><path d="M50 0H100V100H50Z"/>', 'visibility="hidden"'
    )
    assert seen(drawn(with_parent), (25, 50), (75, 50)) == [True, False]


@pytest.mark.parametrize(
    "inside", ['<text x="10" y="80" font-size="100">I</text>', '<use href="#t"/>'], ids=["text", "copy"]
)
def test_letters_are_a_clip(drawn, inside):
    """A stem of the Liberation fonts' capital I, which has Helvetica's width: 0.19 to 0.28 of its em."""
    word = '<defs><text id="t" x="10" y="80" font-size="100">I</text></defs>'
    pattern = drawn(word + clipped(inside))
    assert seen(pattern, (24, 50), (24, 95), (50, 50), (12, 50)) == [True, False, False, False]
    assert pattern.findings == ()


def test_a_group_in_a_clip_shows_nothing_as_viewers_do_and_is_told(drawn):
    pattern = drawn(clipped(f"<g>{SHEET}</g>") + '<path d="M0 0H9V9H0Z"/>')
    assert seen(pattern, (5, 5), (50, 50)) == [True, False]
    (finding,) = pattern.findings
    assert (finding.kind, "shows nothing" in finding.text) == (FindingKind.MASK_NOT_DRAWN, True)


def test_context_paints_are_those_of_the_copy(drawn):
    """SVG 2, 13.2: context-fill and context-stroke are the paints of the use that shows the element."""
    body = (
        '<defs><g id="p"><path fill="context-fill" stroke="context-stroke" d="M0 0H9V9Z"/></g></defs>'
        '<use href="#p" fill="red" stroke="lime" fill-opacity=".5"/><use href="#p" x="20" fill="blue"/>'
        '<g id="q" color="red" fill="currentColor"><use href="#p" x="40"/></g><path fill="context-fill" d="M0 0h9v9z"/>'
    )
    one, two, three = drawn(body).marks
    assert (one.style.fill.red, one.style.stroke.colour.green, one.style.fill_opacity) == (1.0, 1.0, 0.5)
    assert (two.style.fill.blue, two.style.stroke) == (1.0, None)
    assert three.style.fill.red == 1.0


def test_context_paints_go_through_copies_of_copies(drawn):
    body = (
        '<defs><path id="p" fill="context-stroke" stroke="none" d="M0 0H9V9Z"/>'
        '<use id="u" href="#p" stroke="context-fill"/></defs><use href="#u" fill="red"/>'
    )
    (mark,) = drawn(body).marks
    assert (mark.style.fill.red, mark.style.stroke) == (1.0, None)


@pytest.mark.parametrize("data", ["M50 50h0", "M50 50z", "M50 50L50 50z", "M50 50c0 0 0 0 0 0"])
@pytest.mark.parametrize(
    ("cap", "dot", "corner"), [("square", True, True), ("round", True, False), ("butt", False, False)]
)
def test_a_stroke_without_a_length_shows_its_ends(drawn, data, cap, dot, corner):
    """A square along the user units or a circle (SVG 2, 13.5.4); PDF has no such squares, so it gets a tiny length."""
    turned = f'<path transform="rotate(45 50 50)" stroke="#000" stroke-width="10" stroke-linecap="{cap}" d="{data}"/>'
    body = turned.replace('transform="rotate(45 50 50)"', "")
    frame = '<path fill="none" stroke="#000" d="M1 1H99V99H1Z"/>'
    assert seen(drawn(frame + body), (50, 50), (54.5, 54.5), (56, 50)) == [dot, corner, False]
    assert seen(drawn(frame + turned), (50, 50), (56, 50), (54.5, 54.5)) == [dot, corner, False]


@pytest.mark.parametrize(
    ("languages", "shown"), [("en", True), ("de, en-GB", True), ("de", False), ("", False), ("enm", False)]
)
def test_what_is_for_another_language_is_left_out_and_told(drawn, languages, shown):
    """SVG 2, 5.7.3: a language holds where it is the reader's, or the first part of it."""
    pattern = drawn(f'<path d="M0 0H9V9Z"/><path systemLanguage="{languages}" d="M20 0H29V9Z"/>')
    assert len(pattern.marks) == 1 + shown
    assert [finding.kind for finding in pattern.findings] == ([] if shown else [FindingKind.ELEMENT_UNKNOWN])


def test_a_switch_draws_one_and_tells_where_there_is_none_to_draw(drawn):
    """What it leaves out for another one is no loss."""
    both = '<switch><path systemLanguage="de" d="M0 0H9V9Z"/><path d="M20 0H29V9Z"/></switch>'
    assert (len(drawn(both).marks), drawn(both).findings) == (1, ())
    none = drawn('<path d="M0 0H9V9Z"/><switch><path systemLanguage="de" d="M20 0H29V9Z"/></switch>')
    assert (len(none.marks), len(none.findings)) == (1, 1)


def test_dots_leave_other_lines_alone(drawn):
    """The path is not touched where every part of it has a length."""
    (mark,) = drawn('<path fill="none" stroke="#000" stroke-linecap="square" d="M0 0L9 0L9 0L9 9M5 5V8"/>').marks
    assert len(mark.path.points) == 6
    assert np.ptp(mark.path.points[:, 0]) == 9.0
