"""Small files of the kinds that drawings made by other programs turned out to hold, each once a fault of ours."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader, PdfWriter

from tests.content.pages import pdf_of, stream
from tests.hostile.conftest import Command

LETTERS = {"/Font": {"/F": {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica"}}}

SELVES = b"""%PDF-1.4
20 0 obj << /Type /Catalog /Pages 21 0 R >> endobj
21 0 obj << /Type /Pages /Kids [ 22 0 R ] /Count 1 >> endobj
22 0 obj << /Type /Page /Parent 21 0 R /MediaBox [0 0 300 200] /Contents 23 0 R /Resources
<< /XObject << /X 24 0 R >> >> >> endobj
23 0 obj << /Length 5 >> stream
/X Do
endstream endobj
24 0 obj << /Subtype /Form /BBox [0 0 900 900] /Resources << /XObject << /Y 25 0 R >> >> /Length 50 >> stream
9 9 90 90 re S .5 0 0 .5 60 60 cm /Y Do
endstream endobj
25 0 obj << /Subtype /Form /BBox [0 0 900 900] /Resources << /XObject << /X 24 0 R >> >> /Length 50 >> stream
9 9 80 90 re S .5 0 0 .5 60 60 cm /X Do
endstream endobj
"""


def pages(command: Command, tmp_path: Path, content: bytes) -> tuple[int, list[str]]:
    """Exit code and errors of `pages` (with its proof); a refusal leaves nothing."""
    (tmp_path / "found.pdf").write_bytes(content)
    ran = command(["pages", "found.pdf", "--paper", "a5", "-o", "out.pdf"])
    assert (tmp_path / "out.pdf").exists() == (ran.code == 0)
    return ran.code, ran.errors


def test_operands_may_stand_on_lines_of_their_own(command: Command, tmp_path: Path) -> None:
    """A colour that shares its first line with the one before kept only the others (ISO 32000-2, 7.2.3: all white
    space is alike).
    """
    content = b"0\n0\n1\nrg 20 20 60 60 re f 0\n1\n0\nrg 120 20 60 60 re f 0\r.5\r1\rrg 220 20 60 60 re f"
    code, errors = pages(command, tmp_path, pdf_of(content))
    assert (code, errors) == (0, [])


def test_a_graphics_state_may_be_named_by_a_mere_slash(command: Command, tmp_path: Path) -> None:
    """A name without letters is valid (ISO 32000-2, 7.3.5), though PDFium sees none in it."""
    state = {"/ExtGState": {"/": {"/ca": 0.3}}}
    code, errors = pages(command, tmp_path, pdf_of(b"/ gs 20 20 160 160 re f", state))
    assert (code, errors) == (0, [])


def test_a_form_that_draws_itself_is_refused_or_drawn(command: Command, tmp_path: Path) -> None:
    """How often a form within itself is drawn is anybody's guess."""
    code, errors = pages(command, tmp_path, SELVES + b"trailer << /Root 20 0 R /Size 30 >>")
    assert code in {0, 3} and len(errors) == (code == 3)


@pytest.mark.parametrize("odd", [b"2 0 0 2 0 0 cm", b"q 9 9 Td Q 2 0 0 2 0 0 cm", b"2 0 0 2 0 0 cm 9 9 Td Q"])
def test_moves_of_the_page_inside_a_text_are_refused_or_drawn(command: Command, tmp_path: Path, odd: bytes) -> None:
    """They have no place there (ISO 32000-2, figure 9), and programs take them in different ways."""
    text = b" (ab) Tj 20 20 Td " + odd + b" /F 20 Tf (cd) Tj ET (ef) Tj BT (gh) Tj ET"
    content = b"q 1.5 0 0 1.5 0 0 cm BT /F 20 Tf 10 10 Td" + text
    code, errors = pages(command, tmp_path, pdf_of(content, LETTERS))
    assert code in {0, 3} and len(errors) == (code == 3)


def test_a_slanted_scan_is_no_loss(command: Command, tmp_path: Path) -> None:
    """Where a fine picture is sampled depends on where its page begins: no reason to fail the proof."""
    rows, columns = np.mgrid[0:1600, 0:1200]
    dots = (rows % 24 < 3) | ((columns % 16 < 3) & (rows % 24 < 15) & ((rows // 24 * 7 + columns // 16) % 5 > 0))
    picture = stream(
        np.packbits(~dots, axis=1).tobytes(),
        Type="/XObject",
        Subtype="/Image",
        Width=1200,
        Height=1600,
        BitsPerComponent=1,
        ColorSpace="/DeviceGray",
    )
    content = b"590 -20 26 780 5 20 cm /I Do"
    sheet = pdf_of(content, {"/XObject": {"/I": picture}}, {"/MediaBox": [0, 0, 612, 820]})
    code, errors = pages(command, tmp_path, sheet)
    assert (code, errors) == (0, [])


def test_a_book_is_refused_before_it_is_read_but_one_page_of_it_is_taken(command: Command, tmp_path: Path) -> None:
    """Manuals of hundreds of pages took a minute, or more memory than there was."""
    writer = PdfWriter()
    page = PdfReader(BytesIO(pdf_of(b"20 20 160 160 re S"))).pages[0]
    for _ in range(151):
        writer.add_page(page)
    writer.write(tmp_path / "book.pdf")
    ran = command(["look", "book.pdf"])
    assert ran.code == 3 and len(ran.errors) == 1 and "151 pages" in ran.errors[0] and "--page" in ran.errors[0]
    assert command(["look", "book.pdf", "--page", "150"]).code == 0
