"""`--scale` and `--true` in every command that reads a drawing: said wherever it was done, and kept for a reprint."""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from tests.render import render
from tiling.commands.main import run

MM = 72 / 25.4
SAMPLES = Path(__file__).resolve().parents[2] / "samples"
SAID = "Drawing scaled by 1.0214, as asked: 100 mm in the file are 102.14 mm here."


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the sample, and with a PDF of a line that should be 100 mm and is 97.9 mm."""
    for name in ("potting-smock.svg", "potting-smock.toml"):
        shutil.copy(SAMPLES / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    canvas = Canvas("apron.pdf", pagesize=(150 * MM, 250 * MM), invariant=1)
    canvas.setLineWidth(1.0 * MM)
    canvas.line(20 * MM, 200 * MM, 117.9 * MM, 200 * MM)
    canvas.line(20 * MM, 20 * MM, 20 * MM, 230 * MM)
    canvas.line(117.9 * MM, 20 * MM, 117.9 * MM, 230 * MM)
    canvas.save()
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *args: str) -> str:
    assert run([*args, "--force"] if args[0] in {"pages", "alter", "reprint", "guide"} else [*args]) == 0
    return capsys.readouterr().out


def values(capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, Any]:
    result = json.loads(said(capsys, *args, "--json"))
    assert isinstance(result, dict)
    return result


def longest_run(row: Sequence[bool]) -> int:
    """Of true values."""
    best = now = 0
    for value in row:
        now = now + 1 if value else 0
        best = max(best, now)
    return best


def test_what_is_known_to_be_100_mm_is_printed_100_mm_long(capsys: pytest.CaptureFixture[str]) -> None:
    """Measured on the page as PDFium renders it, at 254 dpi: ten points to the millimetre."""
    words = said(capsys, "pages", "apron.pdf", "--true", "20mm,50mm 117.9mm,50mm = 100mm")
    assert "Drawing scaled by 1.02145, as asked" in words
    dark = render(Path("apron-pages.pdf").read_bytes(), page=1, dpi=254.0) < 100
    assert max(longest_run(row) for row in dark.tolist()) == pytest.approx(1010, abs=2)  # the uprights' widths too
    said(capsys, "pages", "apron.pdf")
    dark = render(Path("apron-pages.pdf").read_bytes(), page=1, dpi=254.0) < 100
    assert max(longest_run(row) for row in np.asarray(dark).tolist()) == pytest.approx(989, abs=2)


def test_the_first_page_and_the_summary_say_it(capsys: pytest.CaptureFixture[str]) -> None:
    """And nothing is said where nothing is scaled."""
    assert SAID in said(capsys, "pages", "potting-smock.svg", "--scale", "1.0214")
    page = " ".join(PdfReader("potting-smock-pages.pdf").pages[0].extract_text().split())
    assert SAID in page
    assert "scaled" not in said(capsys, "pages", "potting-smock.svg")
    assert "scaled by" not in PdfReader("potting-smock-pages.pdf").pages[0].extract_text()


def test_a_reprint_scales_as_the_print_did(capsys: pytest.CaptureFixture[str]) -> None:
    """The printed file says by how much; saying it again, or otherwise, is possible."""
    said(capsys, "pages", "potting-smock.svg", "--scale", "1.0214")
    for again in ([], ["--scale", "102.14%"]):
        words = said(capsys, "reprint", "potting-smock.svg", "--printed", "potting-smock-pages.pdf", *again)
        assert words.startswith("Nothing to print")
        assert SAID in words
    unscaled = ["reprint", "potting-smock.svg", "--scale", "1", "--printed", "potting-smock-pages.pdf"]
    assert run(unscaled) == 3
    assert "no line in common" in capsys.readouterr().err
    as_there = values(
        capsys, "pages", "potting-smock.svg", "--placed-as", "potting-smock-pages.pdf", "-o", "b.pdf", "-q"
    )
    assert as_there["scale"] == 1.0214
    assert SAID in said(capsys, "guide", "potting-smock.svg", "--printed", "potting-smock-pages.pdf")
    text = " ".join(page.extract_text() for page in PdfReader("potting-smock-guide.pdf").pages)
    assert SAID in " ".join(text.split())


def test_an_altered_drawing_is_at_its_true_size(capsys: pytest.CaptureFixture[str]) -> None:
    """It is written scaled, says so, and neither the reprint nor the cloth scales it again."""
    said(capsys, "pages", "potting-smock.svg", "--scale", "1.0214")
    scaled = values(capsys, "look", "potting-smock.svg", "--scale", "1.0214", "-q")
    wider = ["alter", "potting-smock.svg", "--longer", "20mm", "--piece", "sleeve", "-o", "longer.svg"]
    assert SAID in said(capsys, *wider, "--scale", "1.0214")
    altered = values(capsys, "look", "longer.svg", "-q")
    assert altered["size_mm"][0] == pytest.approx(scaled["size_mm"][0], abs=0.01)
    assert altered["scale"] == 1.0214
    changed = values(capsys, "reprint", "longer.svg", "--printed", "potting-smock-pages.pdf", "-q")
    assert changed["scale"] == 1.0214
    assert 0 < len([*changed["replace"], *changed["add"]]) < 14
    with_before = values(capsys, "cloth", "longer.svg", "--before", "potting-smock.svg", "-q")
    assert with_before["scale"] == 1.0214
    for size in with_before["sizes"]:
        assert size["finished_mm"] == pytest.approx(size["finished_before_mm"], abs=0.05)
    assert SAID in said(capsys, "cloth", "longer.svg")
    assert SAID in said(capsys, "look", "longer.svg")


@pytest.mark.parametrize(
    ("options", "why"),
    [
        (["--scale", "0"], "no scale; write 1.0214 or 102.14%"),
        (["--scale", "1,02"], "no scale"),
        (["--scale", "nan"], "no scale"),
        (["--true", "1cm,1cm 2cm,2cm"], "says no length"),
        (["--true", "1cm,1cm = 2cm"], "is no line"),
        (["--true", "1cm,1cm 1cm,1cm = 2cm"], "check them and their units"),
        (["--true", "1cm,1cm 9cm,1cm = 2"], "has no unit"),
        (["--scale", "2", "--true", "1cm,1cm 9cm,1cm = 20cm"], "give one of them"),
        (["--px-per-inch", "90mm"], "write 96, for example, without a unit"),
        (["--px-per-inch", "inf"], "no number of px"),
    ],
)
def test_what_can_not_be_meant_is_refused(options: list[str], why: str, capsys: pytest.CaptureFixture[str]) -> None:
    """In our own words, before anything is read."""
    assert run(["pages", "potting-smock.svg", *options]) == 2
    told = capsys.readouterr().err
    assert why in told
    assert "float" not in told
