"""Styles: which rule wins, and what a stroke, a dash or a colour comes out as."""

from __future__ import annotations

import pytest

from tiling.pattern import FindingKind, Line
from tiling.style import Colour

PATH = 'd="M10 10L90 90"'


def stroke_of(pattern, index=0):
    """The stroke of one line."""
    mark = pattern.marks[index]
    assert isinstance(mark, Line)
    return mark.style.stroke


@pytest.mark.parametrize(
    ("body", "width"),
    [
        # CSS Cascade Level 4, section 6: attributes, sheets by specificity and order, inline; then !important.
        (f'<path stroke="#000" stroke-width="1" {PATH}/>', 1),
        (f'<style>path{{stroke-width:2}}</style><path stroke="#000" stroke-width="1" {PATH}/>', 2),
        (f'<style>.a{{stroke-width:3}} path{{stroke-width:2}}</style><path class="b a" stroke="#000" {PATH}/>', 3),
        (f'<style>.a{{stroke-width:3}} .a{{stroke-width:4}}</style><path class="a" stroke="#000" {PATH}/>', 4),
        (f'<style>#x{{stroke-width:5}} .a{{stroke-width:3}}</style><path id="x" class="a" stroke="#000" {PATH}/>', 5),
        (f'<style>g > path{{stroke-width:6}}</style><g><path stroke="#000" {PATH}/></g>', 6),
        (f'<style>g path{{stroke-width:7}}</style><g><a><path stroke="#000" {PATH}/></a></g>', 7),
        (f'<style>#x{{stroke-width:5}}</style><path id="x" style="stroke:#000;stroke-width:8" {PATH}/>', 8),
        (f'<style>path{{stroke-width:9!important}}</style><path style="stroke:#000;stroke-width:8" {PATH}/>', 9),
        (f'<g stroke-width="2"><path stroke="#000" stroke-width="inherit" {PATH}/></g>', 2),
        (f'<g stroke-width="2"><path stroke="#000" stroke-width="initial" {PATH}/></g>', 1),
        (f'<style>@media print{{path{{stroke-width:3}}}} @media screen{{path{{stroke-width:4}}}}</style>'
         f'<path stroke="#000" {PATH}/>', 3),
        (f'<style>/* c */ path , rect {{ stroke : #000 ; stroke-width : 2 ; }}</style><path {PATH}/>', 2),
        (f'<path stroke="#000" stroke-width="2%" {PATH}/>', 2),
        (f'<g font-size="20"><path stroke="#000" stroke-width=".1em" {PATH}/></g>', 2),
        ('<path stroke="#000" stroke-width="1" transform="scale(3)" d="M1 1L9 9"/>', 3),
        ('<path stroke="#000" stroke-width="4" vector-effect="non-scaling-stroke" transform="scale(3)" d="M1 1L9 9"/>',
         4 * 25.4 / 96),
    ],
)  # fmt: skip
def test_the_right_width_wins(drawn, body, width):
    """One stroke width by many ways, in mm."""
    assert stroke_of(drawn(body)).width == pytest.approx(width)


@pytest.mark.parametrize(
    ("paint", "colour", "opacity"),
    [
        # CSS Color Level 4: named colours, hex and functions.
        ("red", (1, 0, 0), 1),
        ("#f00", (1, 0, 0), 1),
        ("#FF0000", (1, 0, 0), 1),
        ("#ff000080", (1, 0, 0), 128 / 255),
        ("rgb(100%, 0%, 0%)", (1, 0, 0), 1),
        ("rgba(255,0,0,.5)", (1, 0, 0), 0.5),
        ("rgb(255 0 0 / 50%)", (1, 0, 0), 0.5),
        ("hsl(0, 100%, 50%)", (1, 0, 0), 1),
        ("currentColor", (0, 128 / 255, 0), 1),
        ("#f00 icc-color(x, 1)", (1, 0, 0), 1),
        ("url(#none) red", (1, 0, 0), 1),
    ],
)
def test_colours(drawn, paint, colour, opacity):
    """Every notation of one red, and the text colour."""
    stroke = stroke_of(drawn(f'<g color="green"><path style="stroke:{paint}" {PATH}/></g>'))
    assert stroke.colour == Colour(*colour)
    assert stroke.opacity == pytest.approx(opacity)


def test_strokes_keep_dashes_caps_joins_and_limits(drawn):
    """Dashes in mm, an odd list doubled (SVG 2, section 13.5.6)."""
    stroke = stroke_of(
        drawn(
            '<g transform="scale(2)"><path stroke="#000" stroke-dasharray="3,1 2" stroke-dashoffset="-1.5"'
            ' stroke-linecap="round" stroke-linejoin="bevel" stroke-miterlimit="7" d="M1 1L9 9"/></g>'
        )
    )
    assert stroke.dashes == (6.0, 2.0, 4.0, 6.0, 2.0, 4.0)
    assert (stroke.dash_offset, stroke.cap, stroke.join, stroke.miter_limit) == (-3.0, 1, 2, 7.0)


@pytest.mark.parametrize("dashes", ["none", "0 0", "3 -1", "junk"])
def test_a_dash_list_without_length_is_a_plain_line(drawn, dashes):
    """It would never draw anything, or hang a printer."""
    assert stroke_of(drawn(f'<path stroke="#000" stroke-dasharray="{dashes}" {PATH}/>')).dashes == ()


def test_dashes_too_fine_to_see_are_a_whole_line(drawn):
    """A million dashes to the millimetre would only keep the printer busy."""
    assert stroke_of(drawn(f'<path stroke="#000" stroke-dasharray="1e-6 1e-6" {PATH}/>')).dashes == ()
    assert stroke_of(drawn(f'<path stroke="#000" stroke-dasharray=".1 .1" {PATH}/>')).dashes == (0.1, 0.1)


def test_opacities_multiply_down_the_groups(drawn):
    """A group's transparency spread over its members is a finding."""
    pattern = drawn(
        f'<g opacity=".5"><path opacity="50%" stroke="#000" fill="red" fill-opacity=".5" stroke-opacity=".1" {PATH}/>'
        f'<path stroke="#000" {PATH}/></g>'
    )
    style = pattern.marks[0].style
    assert (style.fill_opacity, style.stroke.opacity) == pytest.approx((0.125, 0.025))
    assert [f.kind for f in pattern.findings] == [FindingKind.GROUP_OPACITY_SPREAD]


def test_fill_rule_and_no_paint(drawn):
    """What leaves no ink and has no role is not a mark."""
    pattern = drawn(f'<path fill="red" fill-rule="evenodd" {PATH}/><path fill="none" {PATH}/><path fill="none" id="n"'
                    f' class="cutting-line" {PATH}/>'
        f'<path stroke-width="0" stroke="red" fill="none" {PATH}/>')  # fmt: skip
    assert [mark.tag.ident for mark in pattern.marks] == ["", "n"]
    assert pattern.marks[0].style.even_odd


def test_hidden_things_stay_hidden_and_shown_children_show(drawn):
    """Display takes all inside with it; visibility may be turned back on."""
    pattern = drawn(
        f'<g display="none"><path id="a" stroke="#000" display="inline" {PATH}/></g>'
        f'<g visibility="hidden"><path id="b" stroke="#000" {PATH}/>'
        f'<path id="c" visibility="visible" stroke="#000" {PATH}/></g>'
        f'<style>.off{{display:none}}</style><path class="off" stroke="#000" {PATH}/>'
        f'<g requiredExtensions="x:y"><path stroke="#000" {PATH}/></g>'
        f"<switch>"
        f'<g systemLanguage="tlh"><path stroke="#000" {PATH}/></g><path id="d" stroke="#000" {PATH}/></switch>'
    )
    assert [mark.tag.ident for mark in pattern.marks] == ["c", "d"]


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (f'<filter id="f"/><path stroke="#000" filter="url(#f)" {PATH}/>', FindingKind.FILTER_NOT_DRAWN),
        (f'<mask id="m"/><path stroke="#000" style="mask:url(#m)" {PATH}/>', FindingKind.MASK_NOT_DRAWN),
        (f'<linearGradient id="g"><stop stop-color="red"/><stop offset="1" stop-color="#00f"/></linearGradient>'
         f'<path stroke="url(#g)" {PATH}/>', FindingKind.GRADIENT_FLATTENED),
        (f'<pattern id="p"/><path stroke="url(#p)" {PATH}/>', FindingKind.GRADIENT_FLATTENED),
        (f'<path stroke="url(#nowhere) #000" {PATH}/>', FindingKind.REFERENCE_MISSING),
        (f'<path stroke="#00zz" {PATH}/>', FindingKind.STYLE_NOT_READ),
        (f'<style>@import url(http://x.invalid/a.css);</style>'
         f'<path stroke="#000" {PATH}/>', FindingKind.STYLE_NOT_READ),
        (f'<style>@font-face{{font-family:x;src:url(x)}}</style>'
         f'<path stroke="#000" {PATH}/>', FindingKind.STYLE_NOT_READ),
        (f'<style>path[{{stroke:red}}</style><path stroke="#000" {PATH}/>', FindingKind.STYLE_NOT_READ),
        (f'<script>1</script><path stroke="#000" {PATH}/>', FindingKind.SCRIPT_DROPPED),
        (f'<path onclick="x()" stroke="#000" {PATH}/>', FindingKind.SCRIPT_DROPPED),
        (f'<path stroke="#000" {PATH}><animate/></path>', FindingKind.SCRIPT_DROPPED),
        (f'<foreignObject/><path stroke="#000" {PATH}/>', FindingKind.ELEMENT_UNKNOWN),
        (f'<spiral/><path stroke="#000" {PATH}/>', FindingKind.ELEMENT_UNKNOWN),
        (f'<use href="#nowhere"/><path stroke="#000" {PATH}/>', FindingKind.REFERENCE_MISSING),
        (f'<use href="other.svg#a"/><path stroke="#000" {PATH}/>', FindingKind.REFERENCE_MISSING),
        (f'<path stroke="#000" marker-end="url(#nowhere)" {PATH}/>', FindingKind.REFERENCE_MISSING),
        (f'<path stroke="#000" clip-path="url(#nowhere)" {PATH}/>', FindingKind.REFERENCE_MISSING),
        (f'<path stroke="#000" clip-path="circle(5px)" {PATH}/>', FindingKind.MASK_NOT_DRAWN),
        (f'<image href="http://x.invalid/a.png" width="9" height="9"/><path stroke="#000" {PATH}/>',
         FindingKind.PICTURE_NOT_READ),
        (f'<image href="../a.png" width="9" height="9"/><path stroke="#000" {PATH}/>', FindingKind.PICTURE_NOT_READ),
    ],
)  # fmt: skip
def test_what_is_not_drawn_as_meant_is_a_finding_and_the_line_is_still_there(drawn, body, kind):
    """Nothing vanishes silently."""
    pattern = drawn(body)
    assert {finding.kind for finding in pattern.findings} == {kind}
    assert len(pattern.marks) == 1 and stroke_of(pattern) is not None


def test_a_gradient_becomes_the_mean_of_its_stops(drawn):
    """Also through a reference to another gradient."""
    pattern = drawn(
        '<linearGradient id="a"><stop stop-color="#f00"/><stop offset="1" style="stop-color:#00f;stop-opacity:.5"/>'
        f'</linearGradient><radialGradient id="b" xlink:href="#a"/><path stroke="url(#b)" {PATH}/>'
    )
    assert stroke_of(pattern).colour == Colour(0.5, 0.0, 0.5)
    assert stroke_of(pattern).opacity == 0.75


@pytest.mark.parametrize("around", ["%s", "@media print{%s}", "/* .kept{stroke:red} */%s", ".other,.kept2{fill:red}%s"])
def test_of_a_long_style_sheet_the_rules_that_apply_are_read(drawn, around):
    """Rules for classes that nothing has are passed over unread, in thousands; no others."""
    unused = "".join(f".st{i}{{fill:none;stroke:#aabbcc}}\n" for i in range(3_000))
    rules = f"{unused}.kept{{stroke:#0000ff}}{unused}g .st5{{stroke-width:7}}path.st6{{fill:red}}"
    mark = f'<g><path class="kept" {PATH}/><path class="st5" {PATH}/></g>'
    pattern = drawn(f"<style>{around % rules}</style>{mark}")
    assert stroke_of(pattern).colour == Colour(0.0, 0.0, 1.0)
    assert stroke_of(pattern, 1).width == pytest.approx(7.0)
