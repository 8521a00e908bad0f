"""`pageseam guide` from the command line."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pypdfium2
import pytest

from tiling.commands.main import run

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


@pytest.fixture
def smock(tmp_path: Path) -> Path:
    """The sample with its notes and the pictures of its steps, in a folder of its own."""
    for name in ("potting-smock.svg", "potting-smock.toml"):
        shutil.copy(SAMPLES / name, tmp_path / name)
    shutil.copytree(SAMPLES / "steps", tmp_path / "steps")
    return tmp_path / "potting-smock.svg"


def text_of(path: Path) -> str:
    """The booklet's words, read back by PDFium."""
    document = pypdfium2.PdfDocument(path)
    text = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    document.close()
    return text


def test_the_guide_holds_what_pages_and_cloth_say(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The check lines and tiles of `pages` with the same paper; the cloth of `cloth`."""
    out = smock.with_name("guide.pdf")
    assert run(["guide", str(smock), "-o", str(out), "--width", "150cm", "--seconds", "1", "-q"]) == 0
    text = text_of(out)
    assert run(["pages", str(smock), "-o", str(smock.with_name("p.pdf")), "--json", "-q", "--no-proof"]) == 0
    pages = json.loads(capsys.readouterr().out)
    assert f"{len(pages['tiles'])} sheets of A4" in text
    for line in pages["check_lines"]:
        assert f"{line['length_mm'] / 10:.2f} cm" in text
    assert "m of main cloth, 150.0 cm wide, opened out" in text
    assert "Cautions" in text


def test_letter_and_inches(smock: Path) -> None:
    """The sheet is 8.5 x 11 in (ANSI/ASME Y14.1, size A) and lengths are in inches."""
    out = smock.with_name("guide.pdf")
    assert run(["guide", str(smock), "-o", str(out), "--paper", "letter", "--units", "in", "-q"]) == 0
    document = pypdfium2.PdfDocument(out)
    assert document[0].get_size() == pytest.approx((8.5 * 72, 11 * 72))
    document.close()
    assert 'bust 37⅜"' in text_of(out)


def test_the_same_drawing_gives_the_same_guide(smock: Path) -> None:
    """Byte for byte where no lay plan is searched for."""
    one, other = smock.with_name("a.pdf"), smock.with_name("b.pdf")
    for out in (one, other):
        assert run(["guide", str(smock), "-o", str(out), "-q"]) == 0
    assert one.read_bytes() == other.read_bytes()


def test_characters_without_a_glyph_are_a_finding(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Named with their code points and the way out; --strict writes nothing and ends with 7."""
    notes = smock.with_suffix(".toml")
    text = notes.read_text(encoding="utf-8").replace('title = "Potting smock"', 'title = "園芸 smock"')
    notes.write_text(text, encoding="utf-8")
    out = smock.with_name("guide.pdf")
    assert run(["guide", str(smock), "-o", str(out), "--strict"]) == 7
    said = capsys.readouterr().err
    assert "園 (U+5712)" in said
    assert "--font" in said
    assert not out.exists()
    assert run(["guide", str(smock), "-o", str(out), "-q"]) == 0


def test_a_font_that_is_none_ends_with_3(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By name."""
    font = smock.with_name("font.ttf")
    font.write_bytes(b"no font")
    out = smock.with_name("guide.pdf")
    assert run(["guide", str(smock), "-o", str(out), "--font", str(font)]) == 3
    assert "font.ttf: can't be used as a font" in capsys.readouterr().err
    assert not out.exists()


def test_an_existing_file_is_kept_unless_forced(smock: Path) -> None:
    """Exit 4; with --force it is replaced."""
    out = smock.with_name("guide.pdf")
    out.write_bytes(b"mine")
    assert run(["guide", str(smock), "-o", str(out)]) == 4
    assert out.read_bytes() == b"mine"
    assert run(["guide", str(smock), "-o", str(out), "--force", "-q"]) == 0
    assert out.read_bytes().startswith(b"%PDF-")


def test_a_measured_printer_shows_in_the_check_lines(smock: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its uncertainty widens what a check line may be off, and the remark says so."""
    from calibrate.printer_scale import MeasuredScale
    from calibrate.printers import PrinterReading, Printers

    monkeypatch.setenv("PAGESEAM_HOME", str(smock.parent))
    reading = PrinterReading("a4", MeasuredScale(0.99, 0.99, 0.004, 0.004), "ruler", "2025-05-01")
    Printers().keep("Shed", reading)
    out = smock.with_name("guide.pdf")
    assert run(["guide", str(smock), "-o", str(out), "--printer", "Shed", "-q"]) == 0
    assert "and the printer by what is known of it" in text_of(out)


def test_a_printed_file_says_itself_how_it_is_taped(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Pages printed on A3 with a wide overlap: the guide takes the map and the check lines from that file."""
    printed, out = smock.with_name("pages.pdf"), smock.with_name("guide.pdf")
    assert (
        run(["pages", str(smock), "-o", str(printed), "--paper", "a3", "--overlap", "20mm", "--no-proof", "--json"])
        == 0
    )
    pages = json.loads(capsys.readouterr().out)
    assert run(["guide", str(smock), "-o", str(out), "--printed", str(printed), "-q"]) == 0
    text = text_of(out)
    assert f"{len(pages['tiles'])} sheets of A3" in text
    for line in pages["check_lines"]:
        assert f"{line['length_mm'] / 10:.2f} cm" in text


def test_a_file_printed_before_the_alteration_is_refused(smock: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its map and check lines would not be those of the drawing at hand; it says what to name instead."""
    printed, wider, out = (smock.with_name(name) for name in ("pages.pdf", "wider.svg", "guide.pdf"))
    assert run(["pages", str(smock), "-o", str(printed), "--paper", "a3", "--no-proof", "-q"]) == 0
    assert run(["alter", str(smock), "-o", str(wider), "--around", "40mm", "-q"]) == 0
    assert run(["guide", str(wider), "-o", str(out), "--printed", str(printed), "-q"]) == 3
    assert "name the file that reprint wrote" in capsys.readouterr().err
    assert not out.exists()
