"""Text: where each run begins, how large and in which font, and what no font can show."""

from __future__ import annotations

import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from tiling.pattern import FindingKind, Label
from tiling.shapes import Point


def labels(pattern):
    """Text and start of every run."""
    assert all(isinstance(mark, Label) for mark in pattern.marks)
    return [(mark.text, *(round(v, 4) for v in (mark.at.e, mark.at.f))) for mark in pattern.marks]


def width(text, font="Helvetica", size=10.0):
    """Adobe's published metrics of the standard fonts, as reportlab carries them."""
    return stringWidth(text, font, size)


def test_a_run_lies_where_it_is_put(drawn):
    """Start of the baseline, em and advance in mm."""
    pattern = drawn('<g transform="scale(2)"><text x="10" y="20" font-size="5">Front</text></g>')
    (label,) = pattern.marks
    assert labels(pattern) == [("Front", 20.0, 40.0)]
    assert (label.size, label.advance) == pytest.approx((10.0, width("Front")))
    assert label.at.determinant == pytest.approx(1.0)


@pytest.mark.parametrize(("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_anchors_align_the_whole_chunk(drawn, anchor, share):
    """Also over a change of font."""
    pattern = drawn(
        f'<text x="50" y="50" font-size="10" text-anchor="{anchor}">Cut <tspan font-weight="700">2</tspan></text>'
    )
    whole = width("Cut ") + width("2", "Helvetica-Bold")
    assert labels(pattern)[0][1] == pytest.approx(50 - share * whole, abs=1e-3)
    assert labels(pattern)[1][1] == pytest.approx(50 - share * whole + width("Cut "), abs=1e-3)
    assert [mark.font for mark in pattern.marks] == ["Helvetica", "Helvetica-Bold"]


def test_lists_of_places_put_letters_one_by_one(drawn):
    """x, y, dx, dy and rotate lists; the last turn repeats (SVG 2, section 11.4)."""
    pattern = drawn('<text x="10 20" y="50" dx="1" dy="0 0 5" rotate="0 90" font-size="10">abc</text>')
    assert labels(pattern) == [("a", 11.0, 50.0), ("b", 20.0, 50.0), ("c", round(20 + width("b"), 4), 55.0)]
    assert pattern.marks[2].at.point(Point(1, 0)).y == pytest.approx(56.0)


def test_lines_of_tspans(drawn):
    """The usual way to write several lines."""
    pattern = drawn(
        '<text x="10" y="10" font-size="4">\n  <tspan x="10">one</tspan>\n'
        '  <tspan x="10" dy="1.5em">two</tspan>\n</text>'
    )
    assert labels(pattern) == [("one ", 10.0, 10.0), ("two", 10.0, 16.0)]


@pytest.mark.parametrize(
    ("markup", "text"),
    [("  a \n\t b  ", "a b"), ("<tspan> a </tspan> b", "a b"), ('<tspan xml:space="preserve">a  b</tspan>', "a  b")],
)
def test_white_space_is_collapsed_unless_kept(drawn, markup, text):
    """As CSS does it."""
    assert "".join(mark.text for mark in drawn(f'<text y="9">{markup}</text>').marks) == text


@pytest.mark.parametrize(
    ("family", "font", "replaced"),
    [
        ("Helvetica", "Helvetica", None),
        ("sans-serif", "Helvetica", None),
        ("serif", "Times-Roman", None),
        ("'Courier'", "Courier", None),
        ("Arial, sans-serif", "Helvetica", "Arial"),
        ("'Liberation Serif'", "Times-Roman", "Liberation Serif"),
        ("Nobody Knows Mono", "Courier", "Nobody Knows Mono"),
        ("Cantarell", "Helvetica", "Cantarell"),
    ],
)
def test_families_map_to_the_standard_fonts(drawn, family, font, replaced):
    """A replaced font is told once per family, not once per text."""
    pattern = drawn(f'<g font-family="{family}"><text y="9">a</text><text y="20">b</text></g>')
    assert [mark.font for mark in pattern.marks] == [font, font]
    found = [f for f in pattern.findings if f.kind is FindingKind.TEXT_FONT_REPLACED]
    assert len(found) == (1 if replaced else 0)
    assert replaced is None or f"'{replaced}'" in found[0].text


@pytest.mark.parametrize(
    ("style", "font"),
    [("font-weight:bold", "Helvetica-Bold"), ("font-style:italic", "Helvetica-Oblique"),
     ("font:italic 700 5px serif", "Times-BoldItalic"), ("font-weight:500", "Helvetica")],
)  # fmt: skip
def test_weight_and_slant(drawn, style, font):
    """Bold from 600 on; the font shorthand too."""
    assert drawn(f'<text y="9" style="{style}">a</text>').marks[0].font == font


def test_what_no_font_has_is_told_once_for_the_text(drawn):
    """Not letter by letter, also where each letter has a place of its own; with what to do."""
    pattern = drawn('<text y="9">café – “½” ≥ Ж</text><text id="cut" x="5 10 15" y="30">中文中</text>')
    assert {mark.font for mark in pattern.marks} == {"Helvetica"}
    (finding,) = pattern.findings
    assert finding.kind is FindingKind.GLYPH_MISSING and "U+4E2D" in finding.text and "U+6587" in finding.text
    assert "into paths" in finding.text and "cut" in finding.where
    assert "".join(mark.text for mark in pattern.marks[1:]) == "中文中", "the text itself is kept"


def test_marks_that_steer_terminals_or_turn_text_are_left_out(drawn):
    """Control characters and direction marks have no ink."""
    pattern = drawn('<text y="9">a\u202eb\u200fc\u0085d</text>')
    assert "".join(mark.text for mark in pattern.marks) == "abcd"


def test_letter_spacing_text_length_and_shifts(drawn):
    """Each letter gets its place."""
    spaced = drawn('<text y="9" font-size="10" letter-spacing="2">ab</text>')
    assert labels(spaced)[1][1] == pytest.approx(width("a") + 2, abs=1e-3)
    raised = drawn('<text y="50" font-size="10">a<tspan baseline-shift="5">b</tspan></text>')
    assert labels(raised)[1][2] == 45.0


def test_text_along_a_line_starts_there_and_is_reported(drawn):
    """Written straight."""
    pattern = drawn('<path id="p" fill="none" d="M10 20L90 20"/><text><textPath href="#p">hem</textPath></text>')
    assert labels(pattern) == [("hem", 10.0, 20.0)]
    assert pattern.findings[0].kind is FindingKind.ELEMENT_UNKNOWN


def test_invisible_text_is_no_mark_and_outlined_text_is(drawn):
    """Fill none without a stroke leaves no ink."""
    pattern = drawn('<text y="9" fill="none">a</text><text y="9" visibility="hidden">b</text>'
                    '<text y="9" fill="none" stroke="red">c</text>')  # fmt: skip
    assert [mark.text for mark in pattern.marks] == ["c"]
    assert pattern.marks[0].colour.red == 1.0
