"""The real size of an SVG: every unit, and what is said when it hangs on px."""

from __future__ import annotations

import pytest

from tiling.commands.remedies import in_options
from tiling.failures import InputUnfit
from tiling.pattern import FindingKind, SizeBasis

# CSS Values and Units Level 4, section 6.2: 1in = 2.54cm = 25.4mm = 101.6Q = 72pt = 6pc = 96px.
ONE_INCH = ["1in", "2.54cm", "25.4mm", "101.6Q", "72pt", "6pc"]


def sheet(attributes: str, body: str = '<path stroke="#000" d="M0 0L48 96"/>') -> str:
    """A whole file."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>'


@pytest.mark.parametrize("side", [*ONE_INCH, "1IN", " 1in ", "+1in", "1e0in"])
def test_every_absolute_unit_gives_the_same_inch(drawn, side):
    """A view box of 96 units on one inch: 96 units are 25.4 mm."""
    pattern = drawn(sheet(f'width="{side}" height="{side}" viewBox="0 0 96 96"'), whole=True)
    assert pattern.size.width == pytest.approx(25.4, abs=1e-9)
    assert pattern.marks[0].path.points[1] == pytest.approx([12.7, 25.4], abs=1e-9)
    assert (pattern.size_basis, pattern.px_per_inch, pattern.findings) == (SizeBasis.STATED, None, ())


@pytest.mark.parametrize("side", ONE_INCH)
def test_lengths_inside_take_the_same_units(drawn, side):
    """Without a view box a shape's side in any absolute unit comes out at that length."""
    body = f'<line x2="{side}" y2="0" stroke="#000"/>'
    pattern = drawn(sheet('width="100mm" height="100mm"', body), whole=True)
    assert pattern.marks[0].path.points[1, 0] == pytest.approx(25.4, abs=1e-9)
    assert pattern.findings == ()


@pytest.mark.parametrize(
    "attributes",
    ['width="960" height="480"', 'width="960px" height="480px" viewBox="0 0 960 480"', 'viewBox="0 0 960 480"',
     'width="100%" height="100%" viewBox="0 0 960 480"', 'width="auto" height="auto" viewBox="0 0 960 480"',
     'width="60em" height="30em" viewBox="0 0 960 480"', 'width="960" viewBox="0 0 960 480"'],
)  # fmt: skip
def test_px_are_never_taken_silently(drawn, attributes):
    """96 px to the inch is taken, and the finding says what the size would be at 72 and 90, and how to say so."""
    pattern = drawn(sheet(attributes), whole=True)
    assert (pattern.size.width, pattern.size.height) == pytest.approx((254.0, 127.0))
    assert (pattern.size_basis, pattern.px_per_inch) == (SizeBasis.PIXELS, 96.0)
    (finding,) = pattern.findings
    assert finding.kind is FindingKind.SIZE_ASSUMED
    for words in ("96 px", "254.0 × 127.0 mm", "338.7 × 169.3 mm at 72", "270.9 × 135.5 mm at 90", "--px-per-inch"):
        assert words in in_options(finding.text, finding.remedy)


def test_px_per_inch_is_what_the_person_says(drawn):
    """At 72 px an inch a drawing of 720 px is 254 mm, and nothing is left to find."""
    pattern = drawn(sheet('width="720" height="720"'), whole=True, px_per_inch=72.0)
    assert pattern.size.width == pytest.approx(254.0)
    assert pattern.marks[0].path.points[1, 1] == pytest.approx(96 / 72 * 25.4)
    assert (pattern.size_basis, pattern.px_per_inch, pattern.findings) == (SizeBasis.GIVEN, 72.0, ())


def test_px_per_inch_does_not_touch_a_stated_size_but_says_so(drawn):
    """A drawing in mm is what it says it is; the option is not dropped without a word."""
    pattern = drawn(sheet('width="96mm" height="96mm" viewBox="0 0 96 96"'), whole=True, px_per_inch=72.0)
    assert pattern.size.width == 96.0
    (finding,) = pattern.findings
    assert in_options(finding.text, finding.remedy) == (
        "The drawing states its size in real units, so --px-per-inch did not change it."
    )


def test_a_sheet_in_mm_with_lines_in_px_is_reported(drawn):
    """Older programs wrote such files at 90 px an inch: the lines' size hangs on what a px was."""
    pattern = drawn(sheet('width="210mm" height="297mm"'), whole=True)
    assert pattern.size.width == 210.0
    assert pattern.marks[0].path.points[1, 1] == pytest.approx(25.4)
    assert pattern.findings[0].kind is FindingKind.SIZE_ASSUMED
    assert "1.067 times as large at 90" in pattern.findings[0].text
    taken = drawn(sheet('width="210mm" height="297mm"'), whole=True, px_per_inch=90.0)
    assert taken.marks[0].path.points[1, 1] == pytest.approx(96 / 90 * 25.4)


def test_a_drawing_without_any_size_gets_a_sheet_around_its_ink(drawn):
    """Nothing is cut off and nothing is assumed silently."""
    body = '<path stroke="#000" stroke-width="2" fill="none" d="M-96 0L96 96"/>'
    pattern = drawn(sheet("", body), whole=True)
    assert pattern.size.width == pytest.approx(50.8, abs=1.0)
    assert pattern.findings[0].kind is FindingKind.SIZE_ASSUMED


@pytest.mark.parametrize(
    ("rule", "moved"),
    [
        # SVG 2, section 8.6: a square view box in a viewport twice as wide, 100 mm by 50 mm.
        (None, (25.0, 0.0, 75.0, 50.0)),
        ("xMinYMid", (0.0, 0.0, 50.0, 50.0)),
        ("xMaxYMid meet", (50.0, 0.0, 100.0, 50.0)),
        ("none", (0.0, 0.0, 100.0, 50.0)),
        ("xMidYMin slice", (0.0, 0.0, 100.0, 100.0)),
    ],
)
def test_a_view_box_is_fitted_as_asked(drawn, rule, moved):
    """PreserveAspectRatio of the whole drawing."""
    wanted = f'preserveAspectRatio="{rule}"' if rule else ""
    body = '<rect x="10" y="20" width="30" height="30" stroke="#000"/>'
    pattern = drawn(sheet(f'width="100mm" height="50mm" viewBox="10 20 30 30" {wanted}', body), whole=True)
    box = pattern.marks[0].path.bounds()
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx(moved, abs=1e-9)


@pytest.mark.parametrize(
    "attributes",
    ['width="0" height="10mm"', 'width="-5mm" height="5mm"', 'width="5mm" height="5mm" viewBox="0 0 0 10"'],
)
def test_a_size_of_nought_is_refused(drawn, attributes):
    """One line with the file and the cause."""
    with pytest.raises(InputUnfit, match=r"drawing\.svg: its (width|viewBox)"):
        drawn(sheet(attributes), whole=True)


def test_a_sheet_of_kilometres_is_refused(drawn):
    """A unit gone wrong is told before it becomes a million pages."""
    with pytest.raises(InputUnfit, match="check its units"):
        drawn(sheet('width="999999in" height="5mm" viewBox="0 0 10 10"'), whole=True)


def test_what_lies_beyond_the_page_is_kept_on_a_larger_sheet(drawn):
    """Pieces drawn past the page's edge are not lost; the sheet grows and the finding gives both sizes."""
    pattern = drawn('<path stroke="#000" d="M-20 10L150 90"/>')
    assert (pattern.size.width, pattern.size.height) == (170.0, 100.0)
    assert pattern.marks[0].path.points.tolist() == [[0.0, 10.0], [170.0, 90.0]]
    (finding,) = pattern.findings
    assert finding.kind is FindingKind.SHEET_ENLARGED
    assert "100.0 × 100.0 mm" in finding.text and "170.0 × 100.0 mm" in finding.text


def test_a_frame_on_the_edge_does_not_make_the_sheet_larger(drawn):
    """Half a stroke's width over the edge is nothing to report."""
    pattern = drawn('<rect width="100" height="100" fill="none" stroke="#000" stroke-width="1"/>')
    assert (pattern.size.width, pattern.findings) == (100.0, ())
