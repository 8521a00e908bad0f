"""Text: where each run begins, how large and in which font, and what no font can show."""

from __future__ import annotations

import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from tests.fonts.making import make_font
from tiling.fonts.shaping import Direction
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


def test_a_text_that_runs_to_the_left_begins_at_its_right(drawn):
    """SVG 2, 11.10: with `direction` rtl the start is at the right and the end at the left."""
    start, end = (
        drawn(f'<text x="80" y="9" font-size="5" direction="rtl" text-anchor="{anchor}">חלק</text>').marks[0]
        for anchor in ("start", "end")
    )
    assert start.direction is Direction.LEFTWARDS
    assert start.at.e == pytest.approx(80 - start.advance)
    assert end.at.e == pytest.approx(80)


def test_parts_of_a_line_to_the_left_are_set_from_the_right(drawn):
    """The second part lies left of the first; Latin words in between keep their order (Unicode Annex 9, rule L2)."""
    pattern = drawn('<text x="80" y="9" font-size="5" direction="rtl">חלק <tspan font-weight="700">קדמי</tspan></text>')
    first, second = sorted(pattern.marks, key=lambda mark: -mark.at.e)
    assert [first.text.strip(), second.text] == ["חלק", "קדמי"]
    assert second.at.e + second.advance == pytest.approx(first.at.e)
    whole = drawn('<text x="80" y="9" font-size="5">cut <tspan font-weight="700">one two</tspan> three</text>')
    assert [mark.text.strip() for mark in whole.marks] == ["cut", "one two", "three"]


def test_joiners_stay_with_their_letters(drawn):
    """Without them Persian words run together."""
    assert drawn('<text y="9">می\u200cشود</text>').marks[0].text == "می\u200cشود"


def test_a_family_of_the_machine_is_used_without_a_word(drawn, font_folder):
    """In the weight that the text asks for; the next of the list where the first is not at hand."""
    make_font(font_folder / "m.ttf", "Meadow Felt", {"a": (900, 500)})
    pattern = drawn('<text y="9" font-size="10" style="font-family:meadow felt;font-weight:bold">a</text>')
    assert (pattern.marks[0].font, pattern.marks[0].advance) == ("meadow felt-Bold", pytest.approx(9.0))
    assert not pattern.findings
    second = drawn('<text y="9" font-family="Nowhere, Meadow Felt, serif">a</text>')
    assert second.marks[0].font == "Meadow Felt"
    assert "'Nowhere'" in second.findings[0].text


def test_what_the_machine_has_is_no_finding(drawn, font_folder):
    """Thai letters by the machine's font, one letter of it missing: one finding that names it."""
    make_font(font_folder / "t.ttf", "Meadow Thai", {"ช": (600, 500), "น": (600, 500)})
    assert not drawn('<text y="9">ชน</text>').findings
    (finding,) = drawn('<text y="9">ชน<tspan font-weight="bold">ชก</tspan></text>').findings
    assert "U+0E01" in finding.text and "U+0E0A" not in finding.text


@pytest.mark.parametrize("style", ["writing-mode: tb", "writing-mode: vertical-rl", "text-decoration: underline"])
def test_how_text_runs_matters_for_text_alone(drawn, style):
    """A program that turns text into paths keeps its style on them: that is no finding."""
    path = f'<g style="{style}"><path style="{style}" d="M10 10h50" stroke="#000"/></g>'
    assert drawn(path).findings == ()
    (finding,) = drawn(f'<g style="{style}">{path}<text x="10" y="50">hem</text></g>').findings
    assert finding.kind is FindingKind.STYLE_NOT_READ
