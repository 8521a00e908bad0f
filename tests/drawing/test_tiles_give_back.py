"""Nothing is lost: the pages laid at their places give back the source, as an independent renderer shows both."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, FloatObject, NameObject, RectangleObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas

from tests.drawing.taped import Printed, print_pages, worst_tile
from tests.drawings import drawing_at
from tests.render import ALIKE
from tiling.drawing.sheet import full_sheet
from tiling.shapes import Size

MM = 72 / 25.4
WIDE, HIGH = 330.0, 410.0

SVG = f"""<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}mm" height="{HIGH}mm" viewBox="0 0 {WIDE} {HIGH}">
<g fill="none" stroke="#000" stroke-width="0.5">
<path d="M12 12 C 120 40 200 300 318 380 C 250 330 40 300 15 390 Z"/>
<path d="M10 200 H320 M165 8 V400" stroke-dasharray="7 3 1 3"/>
<rect x="20" y="20" width="290" height="370" stroke-width="0.3"/>
<circle cx="183" cy="265" r="45" fill="#999" fill-opacity="0.4"/>
<g transform="translate(150 190) rotate(31)"><path d="M0 0 h80 v40 h-80 z" stroke="#c00" stroke-width="1.5"/></g>
</g>
<text x="110" y="205" font-family="Helvetica" font-size="13">across the join of four pages</text>
<text x="30" y="60" font-size="8" transform="rotate(12 30 60)">Größe, Łódka</text>
</svg>"""


def drawing_pdf() -> bytes:
    """One page of 330 x 410 mm with lines, curves, dashes, fills and text."""
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(WIDE * MM, HIGH * MM), invariant=1)
    canvas.scale(MM, MM)
    canvas.setLineWidth(0.5)
    canvas.rect(15, 15, WIDE - 30, HIGH - 30)
    canvas.bezier(12, 12, 300, 80, 30, 300, 318, 398)
    canvas.setDash([6, 2, 1, 2], 1.5)
    canvas.lines([(10, 200, 320, 203), (165, 8, 170, 400)])
    canvas.setDash([])
    canvas.setFillGray(0.7)
    canvas.circle(183, 140, 45, fill=1)
    canvas.setFillGray(0)
    canvas.setFont("Helvetica", 12)
    canvas.drawString(120, 205, "across the join of four pages")
    canvas.rotate(20)
    canvas.drawString(120, 40, "turned text")
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def changed_page(**keys: object) -> bytes:
    """The page with other keys (without their slash)."""
    writer = PdfWriter(clone_from=PdfReader(BytesIO(drawing_pdf())))
    for key, value in keys.items():
        writer.pages[0][NameObject(f"/{key}")] = value  # type: ignore[assignment]
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue()


def layered_pdf() -> bytes:
    """Two layers, `size 1` shown and `size 2` hidden, with a frame that is in neither."""
    writer = PdfWriter()
    page = writer.add_blank_page(WIDE * MM, HIGH * MM)
    groups = [
        writer._add_object(
            DictionaryObject({NameObject("/Type"): NameObject("/OCG"), NameObject("/Name"): TextStringObject(name)})
        )
        for name in ("size 1", "size 2")
    ]
    content = b"""2 w 40 40 850 1080 re S
/OC /One BDC 60 60 m 300 900 700 100 880 1100 c S EMC
/OC /Two BDC 60 160 m 880 200 l S 100 600 m 800 640 l S EMC"""
    from pypdf.generic import DecodedStreamObject

    stream = DecodedStreamObject()
    stream.set_data(content)
    page[NameObject("/Contents")] = writer._add_object(stream)
    properties = DictionaryObject({NameObject("/One"): groups[0], NameObject("/Two"): groups[1]})
    page[NameObject("/Resources")] = DictionaryObject({NameObject("/Properties"): properties})
    writer.root_object[NameObject("/OCProperties")] = DictionaryObject(
        {
            NameObject("/OCGs"): ArrayObject(groups),
            NameObject("/D"): DictionaryObject({NameObject("/OFF"): ArrayObject([groups[1]])}),
        }
    )
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def printed_pdf(folder: Path, capsys: pytest.CaptureFixture[str], data: bytes, *args: str) -> Printed:
    """Print a PDF that is put in the folder."""
    (folder / "drawing.pdf").write_bytes(data)
    return print_pages(folder, capsys, str(folder / "drawing.pdf"), *args)


PAPERS = [
    ("a4", "portrait"),
    ("a4", "landscape"),
    ("letter", "portrait"),
    ("letter", "landscape"),
    ("both", "auto"),
    ("tabloid", "auto"),
    ("roll:610mm", "auto"),
]


@pytest.mark.parametrize(("paper", "orientation"), PAPERS)
def test_an_svg_comes_back(tmp_path: Path, capsys: pytest.CaptureFixture[str], paper: str, orientation: str) -> None:
    """Curves, dashes, fills, see-through paint and text, on every kind of paper."""
    (tmp_path / "drawing.svg").write_text(SVG, encoding="utf-8")
    printed = print_pages(
        tmp_path, capsys, str(tmp_path / "drawing.svg"), "--paper", paper, "--orientation", orientation
    )
    source = full_sheet(drawing_at(tmp_path / "drawing.svg"))
    assert worst_tile(printed, source, 0, Size(WIDE, HIGH)) < ALIKE


@pytest.mark.parametrize(("paper", "orientation"), PAPERS[1:6])
def test_a_pdf_comes_back(tmp_path: Path, capsys: pytest.CaptureFixture[str], paper: str, orientation: str) -> None:
    """Against the source page itself."""
    data = drawing_pdf()
    printed = printed_pdf(tmp_path, capsys, data, "--paper", paper, "--orientation", orientation)
    assert printed.values["size_mm"] == pytest.approx([WIDE, HIGH], abs=1e-3)
    assert worst_tile(printed, data, 0, Size(WIDE, HIGH)) < ALIKE


@pytest.mark.parametrize("turn", [90, 180, -90, 450])
def test_a_turned_page_comes_back_as_it_is_seen(tmp_path: Path, capsys: pytest.CaptureFixture[str], turn: int) -> None:
    """/Rotate is a multiple of 90, in the wild also negative or above 360."""
    data = changed_page(Rotate=FloatObject(turn))
    size = Size(WIDE, HIGH) if turn % 180 == 0 else Size(HIGH, WIDE)
    printed = printed_pdf(tmp_path, capsys, data)
    assert printed.values["size_mm"] == pytest.approx([size.width, size.height], abs=1e-3)
    assert worst_tile(printed, data, 0, size) < ALIKE


def test_a_page_with_a_larger_unit_is_as_large_as_it_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """/UserUnit 1.5: everything half as large again."""
    data = changed_page(UserUnit=FloatObject(1.5))
    size = Size(WIDE * 1.5, HIGH * 1.5)
    printed = printed_pdf(tmp_path, capsys, data, "--paper", "a3")
    assert printed.values["size_mm"] == pytest.approx([size.width, size.height], abs=1e-3)
    assert worst_tile(printed, data, 0, size) < ALIKE


def test_a_cropped_page_shows_what_its_crop_box_shows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its corner is where the layout begins."""
    data = changed_page(CropBox=RectangleObject((50 * MM, 60 * MM, 300 * MM, 380 * MM)))
    printed = printed_pdf(tmp_path, capsys, data)
    assert printed.values["size_mm"] == pytest.approx([250.0, 320.0], abs=1e-3)
    assert worst_tile(printed, data, 0, Size(250.0, 320.0)) < ALIKE


def test_layers_print_as_the_file_shows_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A hidden layer stays hidden: PDFium shows the source the same way."""
    data = layered_pdf()
    printed = printed_pdf(tmp_path, capsys, data)
    assert worst_tile(printed, data, 0, Size(WIDE, HIGH)) < ALIKE


def test_a_layer_picked_by_name_is_printed_instead(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--layer "size 2"` shows what the file hides: the pages differ from the file's own look."""
    data = layered_pdf()
    printed = printed_pdf(tmp_path, capsys, data, "--layer", "size 2")
    assert worst_tile(printed, data, 0, Size(WIDE, HIGH)) > 2 * ALIKE


def test_corrected_pages_come_back_at_the_source_s_size(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """For a printer that shrinks by 3 % the windows on the page are larger, the drawing in them whole."""
    from calibrate.printer_scale import MeasuredScale
    from calibrate.printers import PrinterReading, Printers

    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / "home"))
    Printers().keep("shed", PrinterReading("a4", MeasuredScale(0.97, 0.985, 0.0005, 0.0005), "card"))
    data = drawing_pdf()
    printed = printed_pdf(tmp_path, capsys, data, "--printer", "shed", "--orientation", "portrait")
    assert printed.values["correction"]["across"] == pytest.approx(1 / 0.97)
    window, spot = printed.values["tiles"][0]["window_mm"], printed.values["tiles"][0]["on_page_mm"]
    assert (spot[2] - spot[0]) / (window[2] - window[0]) == pytest.approx(1 / 0.97)
    assert worst_tile(printed, data, 0, Size(WIDE, HIGH)) < ALIKE


def test_the_comparison_sees_a_page_half_a_millimetre_out_of_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise it would show nothing."""
    data = drawing_pdf()
    printed = printed_pdf(tmp_path, capsys, data)
    assert worst_tile(printed, data, 0, Size(WIDE, HIGH), shift=0.5) > 2 * ALIKE


def test_the_comparison_sees_a_line_left_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The source with one dashed line more than what was printed."""
    (tmp_path / "drawing.svg").write_text(SVG, encoding="utf-8")
    printed = print_pages(tmp_path, capsys, str(tmp_path / "drawing.svg"))
    more = SVG.replace("</svg>", '<path d="M40 300 L290 310" stroke="#000" stroke-width="0.3"/></svg>')
    (tmp_path / "more.svg").write_text(more, encoding="utf-8")
    source = full_sheet(drawing_at(tmp_path / "more.svg"))
    assert worst_tile(printed, source, 0, Size(WIDE, HIGH)) > 2 * ALIKE


def test_several_drawings_lie_below_one_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An SVG and a two-page PDF in one run, each proved against its own source."""
    (tmp_path / "one.svg").write_text(SVG, encoding="utf-8")
    writer = PdfWriter()
    for _ in range(2):
        writer.append(PdfReader(BytesIO(drawing_pdf())))
    writer.write(tmp_path / "two.pdf")
    printed = print_pages(tmp_path, capsys, str(tmp_path / "one.svg"), str(tmp_path / "two.pdf"), "--paper", "a2")
    assert printed.values["size_mm"] == pytest.approx([WIDE, 3 * HIGH + 2 * 20.0], abs=1e-3)
