"""`pageseam pages` as a person or a program runs it."""

from __future__ import annotations

import json
import os
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from calibrate.printer_scale import MeasuredScale
from calibrate.printers import Border, PrinterReading, Printers
from tests.rights import all_powerful
from tiling.commands.main import run

MM = 72 / 25.4
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="500mm" viewBox="0 0 400 500">'
SVG = (
    f"{HEAD}<title>Potting smock</title>"
    '<g fill="none" stroke="#000" stroke-width=".5"><path d="M10 10L390 490M390 10L10 490"/>'
    '<path d="M10 10H390V490H10Z"/></g></svg>'
)


@pytest.fixture(name="folder")
def folder_fixture(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with one drawing, where the commands run; printers are kept elsewhere in it."""
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / "home"))
    Path("smock.svg").write_text(SVG)
    return tmp_path / "work"


def values_of(capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, Any]:
    """Run `pages` with --json and read what it says."""
    assert run(["pages", *args, "--json", "-q", "--force"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert isinstance(values, dict)
    return values


def test_the_json_has_every_promised_key(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The contract for other programs."""
    values = values_of(capsys, "smock.svg", "--orientation", "portrait")
    assert set(values) == {
        "output", "title", "paper", "paper_mm", "size_mm", "scale", "orientation", "rows", "columns", "pages",
        "pages_as_drawn", "overlap_mm", "grid_shift_mm", "tiles", "skipped", "bridges", "placements", "check_lines",
        "findings", "correction",
    }  # fmt: skip
    assert values["output"] == "smock-pages.pdf"
    assert values["paper_mm"] == [210.0, 297.0]
    assert values["size_mm"] == [400.0, 500.0]
    assert values["orientation"] == "portrait"
    assert values["correction"] == {"across": 1.0, "down": 1.0, "printer": None, "uncertainty": 0.0}
    assert values["findings"] == []
    tile = values["tiles"][0]
    assert set(tile) == {"name", "page", "window_mm", "on_page_mm"}
    window, spot = tile["window_mm"], tile["on_page_mm"]
    assert [window[2] - window[0], window[3] - window[1]] == [190.0, 277.0]
    assert spot == [10.0, 10.0, 200.0, 287.0]
    assert values["pages"] == len(PdfReader("smock-pages.pdf").pages) == len(values["tiles"]) + 2
    assert [t["page"] for t in values["tiles"]] == list(range(3, values["pages"] + 1))
    for line in values["check_lines"]:
        assert set(line) == {"what", "from", "to", "length_mm", "allowance_mm"}


def test_the_names_of_tiles_and_skipped_ones_fill_the_grid(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Rows are letters, columns numbers; every cell is printed or skipped."""
    Path("corners.svg").write_text(
        f'{HEAD}<path d="M10 10L60 60M380 430L390 490" stroke="#000" stroke-width=".5" fill="none"/></svg>'
    )
    values = values_of(capsys, "corners.svg", "--grid", "as-drawn", "--orientation", "portrait")
    names = {t["name"] for t in values["tiles"]} | set(values["skipped"])
    assert names == {f"{row}{column}" for row in "AB" for column in (1, 2, 3)}
    assert values["skipped"] == ["A2", "A3", "B1", "B2"]
    assert values["rows"] * values["columns"] == 6


def test_neighbours_share_exactly_the_overlap(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As asked for, in inches too: rounded up to a whole millimetre."""
    values = values_of(capsys, "smock.svg", "--overlap", "1/2in")
    assert values["overlap_mm"] == 13.0
    windows = {t["name"]: t["window_mm"] for t in values["tiles"]}
    assert windows["A1"][2] - windows["A2"][0] == 13.0
    assert windows["A1"][3] - windows["B1"][1] == 13.0


def test_the_summary_tells_pages_before_and_after_skipping(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On stdout, in a few lines; progress and findings go to stderr."""
    assert run(["pages", "smock.svg", "--grid", "as-drawn", "--orientation", "portrait"]) == 0
    said = capsys.readouterr()
    assert "smock-pages.pdf: 8 sheets of A4" in said.out
    assert "6 tiles" in said.out
    assert "2 rows of 3\n" in said.out
    assert "Actual size" in said.out
    assert "Page: 8 of 8" in said.err


def test_quiet_says_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """But errors."""
    assert run(["pages", "smock.svg", "-q"]) == 0
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", "")
    assert run(["pages", "smock.svg", "-q"]) == 4
    assert "exists already" in capsys.readouterr().err


def test_the_same_run_gives_the_same_bytes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever the clock says and wherever it is written."""
    values_of(capsys, "smock.svg", "-o", "one.pdf")
    values_of(capsys, "smock.svg", "-o", "two.pdf")
    assert Path("one.pdf").read_bytes() == Path("two.pdf").read_bytes()


def test_title_and_date_are_the_persons(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--title` is on every page and in the file; `--date` on the first page only."""
    values_of(capsys, "smock.svg", "--title", "Smock for Maud", "--date", "1 March", "-o", "x.pdf")
    reader = PdfReader("x.pdf")
    assert reader.metadata is not None
    assert reader.metadata.title == "Smock for Maud"
    assert "Date: 1 March" in reader.pages[0].extract_text()
    assert "1 March" not in reader.pages[3].extract_text()


def test_a_printer_is_corrected_for(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Content grows by 1 / the printer's scale; its border becomes the margin; the first page says so."""
    reading = PrinterReading("a4", MeasuredScale(0.97, 0.98, 0.001, 0.0008), "card")
    Printers().keep("shed", reading, Border(4.0, 4.5, 4.0, 12.0))
    values = values_of(capsys, "smock.svg", "--printer", "shed", "--orientation", "portrait")
    assert values["correction"]["across"] == pytest.approx(1 / 0.97)
    assert values["correction"]["down"] == pytest.approx(1 / 0.98)
    # Other pages than the one that was measured: less sure.
    assert 0.001 < values["correction"]["uncertainty"] == reading.scale.on_other_pages().uncertainty < 0.003
    x0, y0, x1, y1 = values["tiles"][0]["on_page_mm"]
    assert x0 >= 4.0 and y0 >= 4.5 and x1 <= 206.0 and y1 <= 285.0
    text = PdfReader("smock-pages.pdf").pages[0].extract_text()
    assert "shed" in text
    wider = values_of(capsys, "smock.svg", "--printer", "shed", "--margin", "15mm", "--orientation", "portrait")
    assert wider["tiles"][0]["on_page_mm"][0] >= 15.0


def test_on_a_landscape_page_the_correction_turns_with_the_sheet(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The paper goes through the printer the same way; the widest border holds for all sides."""
    reading = PrinterReading("a4", MeasuredScale(0.97, 0.98, 0.001, 0.001), "card")
    Printers().keep("shed", reading, Border(4.0, 4.0, 4.0, 12.0))
    values = values_of(capsys, "smock.svg", "--printer", "shed", "--orientation", "landscape")
    assert values["correction"]["across"] == pytest.approx(1 / 0.98)
    x0, y0, x1, y1 = values["tiles"][0]["on_page_mm"]
    assert min(x0, y0, 297.0 - x1, 210.0 - y1) >= 12.0


def test_a_printer_measured_on_another_paper_is_a_finding(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Used all the same, and said."""
    Printers().keep("shed", PrinterReading("letter", MeasuredScale(0.99, 0.99, 0.001, 0.001), "card"))
    values = values_of(capsys, "smock.svg", "--printer", "shed")
    assert [f["number"] for f in values["findings"]] == [19]
    assert "letter" in values["findings"][0]["text"]


def test_pixels_are_reported_and_can_be_overridden(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A drawing in px: 96 to the inch, said as finding 1; `--px-per-inch 72` makes it larger by a third."""
    Path("px.svg").write_text(SVG.replace('width="400mm" height="500mm"', 'width="720" height="900"'))
    taken = values_of(capsys, "px.svg")
    given = values_of(capsys, "px.svg", "--px-per-inch", "72")
    assert [f["number"] for f in taken["findings"]] == [1]
    assert taken["size_mm"] == pytest.approx([720 / 96 * 25.4, 900 / 96 * 25.4])
    assert given["size_mm"] == pytest.approx([254.0, 317.5])
    assert given["findings"] == []


def test_strict_json_says_that_nothing_was_written(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`output` is null, the exit code 7."""
    Path("px.svg").write_text(SVG.replace('width="400mm" height="500mm"', 'width="720" height="900"'))
    assert run(["pages", "px.svg", "--strict", "--json"]) == 7
    assert json.loads(capsys.readouterr().out)["output"] is None
    assert not Path("px-pages.pdf").exists()


def test_one_sheet_is_said_to_be_one_and_the_roll_to_be_a_roll(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No rest to print, no plural, and how much of the roll it takes."""
    assert run(["pages", "smock.svg", "--paper", "roll:914mm"]) == 0
    said = capsys.readouterr().out
    assert "smock-pages.pdf: 1 sheet, 562.0 mm of a roll 914.0 mm wide\n" in said  # 382 of ink, 160, 2 x 10
    assert "the rest" not in said
    assert "measure its square" in said
    text = PdfReader("smock-pages.pdf").pages[0].extract_text()
    assert "of a roll 914.0 mm wide" in text
    assert "portrait" not in text


def test_margins_that_printers_leave_blank_are_a_finding(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Hardly any home printer prints up to the edge; one whose measured border is known to be smaller does."""
    (found,) = values_of(capsys, "smock.svg", "--margin", "0mm")["findings"]
    assert found["kind"] == "margin-narrow"
    assert "0.0 mm" in found["text"]
    reading = PrinterReading("a4", MeasuredScale(1.0, 1.0, 0.001, 0.001), "card")
    Printers().keep("shed", reading, Border(1.0, 1.0, 1.0, 1.0))
    assert values_of(capsys, "smock.svg", "--margin", "2mm", "--printer", "shed")["findings"] == []
    Printers().keep("shed", reading, Border(1.0, 1.0, 1.0, 12.0))
    (found,) = values_of(capsys, "smock.svg", "--margin", "10mm", "--printer", "shed")["findings"]
    assert "12.0 mm" in found["text"]
    assert "shed" in found["where"]


def test_a_title_that_no_font_can_write_is_a_finding(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The title and the date given with the command stand on our pages as names from the drawing do."""
    found = values_of(capsys, "smock.svg", "--title", "\U00012000", "--date", "\U00012001")["findings"]
    assert [(f["kind"], f["where"]) for f in found] == [("glyph-missing", "title"), ("glyph-missing", "date")]


def test_large_sheets_and_rolls_carry_title_and_square_themselves(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From A2 up no sheet is spent on them."""
    for paper in ("a1", "roll:914mm"):
        values = values_of(capsys, "smock.svg", "--paper", paper)
        assert values["pages"] == len(values["tiles"]) == 1
        text = PdfReader("smock-pages.pdf").pages[0].extract_text()
        assert "Potting smock" in text
        assert "100 mm" in text
        assert "Actual size" in text


def test_a_full_large_sheet_gets_a_first_page_after_all(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No free space for title and square, so they get a page."""
    rows = "".join(f"M2 {y}H572" for y in range(4, 398, 8))
    Path("full.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="574mm" height="400mm" viewBox="0 0 574 400">'
        f'<path d="{rows}" stroke="#000" fill="none"/></svg>'
    )
    values = values_of(capsys, "full.svg", "--paper", "a2", "--grid", "as-drawn")
    assert [tile["page"] for tile in values["tiles"]] == [2]
    assert values["pages"] == 2


# What is wrong with a file, and what is said.


def pdf_bytes(password: str = "", owner: str = "") -> bytes:
    """A small PDF, encrypted or not."""
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(200 * MM, 150 * MM), invariant=1)
    canvas.line(30, 30, 500, 400)
    canvas.showPage()
    canvas.save()
    if not password and not owner:
        return stream.getvalue()
    writer = PdfWriter(clone_from=PdfReader(stream))
    writer.encrypt(password, owner or password, algorithm="RC4-128")
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def picture_pdf() -> bytes:
    """A page with nothing but a photograph."""
    from PIL import Image

    picture, stream = BytesIO(), BytesIO()
    Image.effect_noise((60, 40), 80).convert("RGB").save(picture, "PNG")
    canvas = Canvas(stream, pagesize=(200 * MM, 150 * MM), invariant=1)
    canvas.drawImage(ImageReader(BytesIO(picture.getvalue())), 30, 30, 500, 370)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {n} "{f"&{p};" * 10}">' for p, n in zip("abcdefgh", "bcdefghi", strict=True))
    + ']><svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm"><text y="9">&i;</text></svg>'
)
BAD: list[tuple[str, bytes]] = [
    ("empty.svg", b""),
    ("empty.pdf", b""),
    ("text.pdf", b"Dear all, please find the pattern attached."),
    ("cut.pdf", pdf_bytes()[:180]),
    ("locked.pdf", pdf_bytes("secret")),
    ("none.svg", f"{HEAD}</svg>".encode()),
    ("white.svg", f'{HEAD}<path d="M0 0L9 9" fill="none" stroke="#fff"/></svg>'.encode()),
    ("far.svg", f'{HEAD}<path d="M0 0L1e9 1e9" stroke="#000"/></svg>'.encode()),
    ("nan.svg", f'{HEAD}<g transform="scale(nan)"><path d="M0 0L9 9" stroke="#000"/></g></svg>'.encode()),
    ("bomb.svg", BOMB.encode()),
    ("torn.svg", SVG.encode()[:200]),
]


@pytest.mark.parametrize(("name", "content"), BAD, ids=[name for name, _ in BAD])
def test_a_drawing_that_is_not_fit_is_refused_in_one_line(
    folder: Path, capsys: pytest.CaptureFixture[str], name: str, content: bytes
) -> None:
    """It names the file, ends with 3 (or, where a part of it can be drawn, prints that and says what it left out)."""
    Path(name).write_bytes(content)
    code = run(["pages", name, "-o", "x.pdf"])
    said = capsys.readouterr()
    if code == 0:
        assert name in {"nan.svg", "bomb.svg", "torn.svg", "cut.pdf"}
        assert "Finding" in said.err
        return
    assert code == 3, said.err
    assert said.err.count("\n") == 1
    assert said.out == ""
    assert "fault of ours" not in said.err
    assert not Path("x.pdf").exists()
    assert Path(name).read_bytes() == content


def test_an_owner_s_lock_does_not_keep_a_drawing_from_being_printed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that opens without a password is read and proved."""
    Path("owner.pdf").write_bytes(pdf_bytes("", "owner"))
    assert values_of(capsys, "owner.pdf")["size_mm"] == pytest.approx([200.0, 150.0], abs=1e-3)


def test_a_page_with_only_a_picture_is_printed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Behind a clip, once in the file however many tiles show it."""
    Path("photo.pdf").write_bytes(picture_pdf())
    values = values_of(capsys, "photo.pdf", "--paper", "a5")
    data = Path("photo-pages.pdf").read_bytes()
    assert len(values["tiles"]) > 1
    assert data.count(b"/Subtype /Image") == 1


def test_a_page_of_thirty_metres_is_printed_on_a_roll(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With a UserUnit, for a PDF page holds 14,400 units."""
    Path("long.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="30000mm" height="150mm" viewBox="0 0 30000 150">'
        '<path d="M10 10L29990 140" stroke="#000" stroke-width="1"/></svg>'
    )
    values_of(capsys, "long.svg", "--paper", "roll:914mm")
    assert float(PdfReader("long-pages.pdf").pages[0]["/UserUnit"]) > 1.0


@pytest.mark.rights
@pytest.mark.skipif(os.name != "posix" or all_powerful(), reason="the superuser may write anywhere")
def test_a_read_only_folder_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Before any work is done."""
    Path("locked").mkdir()
    Path("locked").chmod(0o500)
    assert run(["pages", "smock.svg", "-o", "locked/x.pdf"]) == 4
    assert "can't be written to" in capsys.readouterr().err


def test_scripts_actions_and_attachments_of_the_source_do_not_travel(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing of the source's catalogue is in the printed file but what is drawn."""
    writer = PdfWriter(clone_from=PdfReader(BytesIO(pdf_bytes())))
    action = DictionaryObject(
        {
            NameObject("/S"): NameObject("/JavaScript"),
            NameObject("/JS"): TextStringObject("app.alert('hello')"),
        }
    )
    writer.root_object[NameObject("/OpenAction")] = action
    writer.add_attachment("secret.txt", b"secret")
    writer.add_metadata({"/Author": "Somebody"})
    writer.write("live.pdf")
    values_of(capsys, "live.pdf")
    reader = PdfReader("live-pages.pdf")
    assert list(reader.attachments) == ["print-plan.json"]
    assert "/OpenAction" not in reader.root_object
    assert "/JavaScript" not in reader.root_object["/Names"]
    data = Path("live-pages.pdf").read_bytes()
    assert b"alert" not in data
    assert b"Somebody" not in data
