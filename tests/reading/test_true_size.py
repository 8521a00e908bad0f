"""Drawings scaled to their true size: by a factor, or by a distance that is known; and those that should be checked."""

from __future__ import annotations

import base64
import io
from typing import Any

import pytest
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from tests.content.pages import pdf_of
from tiling.commands.remedies import in_options, told
from tiling.failures import InputUnfit
from tiling.files.inputs import InputFile
from tiling.pattern import FindingKind, Line, Pattern, SizeBasis
from tiling.reading.gather import read_drawing, read_drawings
from tiling.reading.options import ReadOptions, TrueDistance
from tiling.shapes import Point

LINE = '<path fill="none" stroke="#000" stroke-width="2" stroke-dasharray="4 2" d="M20 30H220"/>'


def svg(attributes: str = 'width="450mm" height="300mm" viewBox="0 0 900 600"', body: str = LINE) -> InputFile:
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>'
    return InputFile("front.svg", text.encode())


def read(file: InputFile, **options: Any) -> Pattern:
    return read_drawing(file, ReadOptions(**options))


def kinds(pattern: Pattern) -> list[FindingKind]:
    return [finding.kind for finding in pattern.findings]


def test_everything_grows_alike() -> None:
    """Size, places, widths and dashes: 900 units over 450 mm, scaled by two, are 900 mm."""
    pattern = read(svg(), scale=2.0)
    assert (pattern.size.width, pattern.size.height) == pytest.approx((900.0, 600.0))
    (line,) = pattern.marks
    assert isinstance(line, Line)
    assert line.path.points.ravel().tolist() == pytest.approx([20.0, 30.0, 220.0, 30.0])
    assert line.style.stroke is not None
    assert line.style.stroke.width == pytest.approx(2.0)
    assert line.style.stroke.dashes == pytest.approx((4.0, 2.0))
    assert (pattern.scale, pattern.size_basis) == (2.0, SizeBasis.GIVEN)


def test_a_known_distance_gives_the_scale() -> None:
    """From 10 mm to 110 mm is drawn 100 mm, and really 102.14 mm: so is the line that runs there."""
    known = TrueDistance(Point(10.0, 15.0), Point(110.0, 15.0), 102.14)
    pattern = read(svg(), scale=known)
    points = pattern.marks[0].path.points  # type: ignore[union-attr]
    assert points[1][0] - points[0][0] == pytest.approx(102.14)
    assert pattern.scale == pytest.approx(1.0214)


def test_a_pdf_is_scaled_with_its_own_content() -> None:
    """Its objects stay where its marks are: `to_layout` carries the scale."""
    pattern = read(InputFile("front.pdf", pdf_of(b"1 w 10 10 m 90 10 l S")), scale=1.5)
    (sheet,) = pattern.sheets
    assert sheet.artwork is not None
    assert sheet.to_layout.a == pytest.approx(1.5)
    assert sheet.place.width == pytest.approx(sheet.artwork.size.width * 1.5)


def test_a_distance_must_lie_on_one_drawing() -> None:
    """Two drawings lie 20 mm apart, which nothing of theirs measures; beyond all is mistyped."""
    for end in (Point(10.0, 330.0), Point(1100.0, 15.0)):
        with pytest.raises(InputUnfit, match="do not lie on the same drawing") as refused:
            read_drawings([svg(), svg()], ReadOptions(scale=TrueDistance(Point(10.0, 15.0), end, 100.0)))
        assert "450.0 mm x 620.0 mm" in told(refused.value)
    below = TrueDistance(Point(10.0, 335.0), Point(110.0, 335.0), 200.0)
    both = read_drawings([svg(), svg()], ReadOptions(scale=below))
    assert both.size.height == pytest.approx(600.0 + 20.0 + 600.0)


@pytest.mark.parametrize(("end", "length"), [(10.0, 5.0), (10.01, 200.0), (900.0, 1.0)])
def test_no_distance_and_no_sense_are_refused(end: float, length: float) -> None:
    """Two points in one, and scales that no mistake of a unit explains."""
    with pytest.raises(ValueError, match="check them and their units"):
        TrueDistance(Point(10.0, 15.0), Point(end, 15.0), length)


def test_lines_of_the_notes_are_scaled_with_the_drawing() -> None:
    """They were measured in the drawing as it stands."""
    notes = InputFile(
        "front.toml",
        b'[[lines]]\npiece = "front"\nrole = "grading-line"\npoints = [["10mm", "20mm"], ["10mm", "90mm"]]\n',
    )
    pattern = read(svg(body=f'<g class="piece" id="front">{LINE}</g>'), notes=(notes,), scale=2.0)
    assert pattern.notes is not None
    assert pattern.notes.lines[0].laid == (Point(20.0, 40.0), Point(20.0, 180.0))


def test_a_drawing_that_was_scaled_before_is_not_scaled_again() -> None:
    """`alter` writes the scale it was given; the same one is done, another one contradicts it."""
    again = svg('width="450mm" height="300mm" viewBox="0 0 450 300" data-scaled="1.0214"')
    for asked in (None, 1.0, 1.0214):
        pattern = read(again, scale=asked)
        assert (pattern.size.width, pattern.scale) == (450.0, 1.0214)
    with pytest.raises(InputUnfit, match=r"was scaled by 1.0214 already .* and 1.5 is another") as refused:
        read(again, scale=1.5)
    assert told(refused.value).endswith("leave --scale (or --true) out.")
    for nonsense in ("nan", "1e9", "-1", "much", ""):
        pattern = read(svg(f'width="450mm" height="300mm" viewBox="0 0 450 300" data-scaled="{nonsense}"'))
        assert pattern.scale == 1.0


def test_a_unit_that_no_program_draws_in_is_said() -> None:
    """450 mm over a viewBox of 900 halves a drawing of 1 unit = 1 mm; the cure is named, and silences it."""
    (finding,) = read(svg()).findings
    assert finding.kind is FindingKind.UNIT_UNUSUAL
    words = in_options(finding.text, finding.remedy)
    assert "one is 0.5 mm" in words
    assert "900.0 × 600.0 mm" in words
    assert words.endswith("add --scale 2.")
    assert kinds(read(svg(), scale=2.0)) == []


@pytest.mark.parametrize(
    ("size", "box"),
    [
        ("210mm", "210"), ("210mm", "21000"), ("21cm", "793.7"), ("210mm", "744.09"), ("210mm", "595.28"),
        ("210mm", "2480"), ("8.5in", "612"), ("8.5in", "816"), ("8.5in", "8500"), ("210mm", "744"),
    ],
)  # fmt: skip
def test_units_that_programs_draw_in_are_usual(size: str, box: str) -> None:
    """Millimetres and their parts, px, points, 300 to the inch (as drawing programs write them; from memory)."""
    assert kinds(read(svg(f'width="{size}" viewBox="0 0 {box} {box}"', LINE.replace("H220", "H90")))) == []


def test_a_view_box_without_a_size_may_be_in_millimetres() -> None:
    """Beside 72 and 90 px the finding offers 1 unit = 1 mm, which is 25.4 to the inch."""
    (finding,) = read(svg('viewBox="0 0 900 600"')).findings
    words = in_options(finding.text, finding.remedy)
    assert "states no size, only a viewBox" in words
    assert "900.0 × 600.0 mm at 25.4, where 1 unit = 1 mm" in words
    assert read(svg('viewBox="0 0 900 600"'), px_per_inch=25.4).size.width == pytest.approx(900.0)


def scan(*, with_line: bool = False) -> InputFile:
    """A PDF page with nothing on it but a grey picture, as a scanner writes it."""
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(300, 400), invariant=1)
    canvas.drawImage(ImageReader(Image.new("L", (60, 80), 90)), 0, 0, 300, 400)
    if with_line:
        canvas.line(10, 10, 200, 10)
    canvas.save()
    return InputFile("scan.pdf", stream.getvalue())


def test_a_scan_says_that_its_size_must_be_checked() -> None:
    """A page of nothing but a picture is as large as a program thought; drawn lines beside it have a size."""
    (finding,) = read(scan()).findings
    assert finding.kind is FindingKind.PICTURE_ONLY
    words = in_options(finding.text, finding.remedy)
    assert "must be checked" in words
    assert "--true" in words
    assert kinds(read(scan(with_line=True))) == []
    known = TrueDistance(Point(10.0, 15.0), Point(60.0, 15.0), 51.0)
    assert kinds(read(scan(), scale=known)) == []


def test_a_picture_in_an_svg_is_a_picture_too() -> None:
    """Nothing else is drawn."""
    stream = io.BytesIO()
    Image.new("L", (4, 4), 90).save(stream, "PNG")
    data = base64.b64encode(stream.getvalue()).decode()
    image = f'<image width="90" height="90" href="data:image/png;base64,{data}"/>'
    stated = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
    assert kinds(read(svg(stated, image))) == [FindingKind.PICTURE_ONLY]
    assert kinds(read(svg(stated, image + LINE.replace("H220", "H90")))) == []
