"""Notes, rules, photos and printed files made to exhaust: refused in one line, in bounded time and memory."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.hostile.conftest import Command
from tests.hostile.test_hostile_svg import picture_bomb

SAMPLES = Path(__file__).resolve().parents[2] / "samples"

NOTES: dict[str, Callable[[], str]] = {
    "fifty megabytes": lambda: "# " + "x" * 50_000_000,
    "fifty megabytes of keys": lambda: "\n".join(f"k{i} = {i}" for i in range(3_500_000)),
    "brackets in brackets": lambda: "x = " + "[" * 200_000,
    "tables in tables": lambda: "[" + ".".join(["a"] * 20_000) + "]",
    "a number of a million digits": lambda: "title = " + "9" * 1_000_000,
    "control characters in a key": lambda: '"a\\u001b[31m" = 1',
    "not text": lambda: "title = \x00",
    "a rule in a thousand brackets": lambda: f'[rules]\nx = "{"(" * 5000}1cm{")" * 5000}"',
}


@pytest.mark.parametrize("what", NOTES)
def test_notes_that_are_no_notes_are_refused(tmp_path: Path, command: Command, what: str) -> None:
    """Exit 3 with the notes' name; the drawing beside them is not printed with notes that were not understood."""
    shutil.copy(SAMPLES / "potting-smock.svg", tmp_path / "smock.svg")
    (tmp_path / "smock.toml").write_text(NOTES[what]())
    ran = command(["cloth", "smock.svg", "--width", "140cm", "--seconds", "1", "-o", "out.pdf"])
    assert ran.code == 3, (ran.code, ran.err[-300:])
    assert len(ran.errors) == 1
    assert "smock.toml" in ran.errors[0]
    assert ran.errors[0].isprintable()
    assert len(ran.errors[0]) < 400
    assert sorted(p.name for p in tmp_path.iterdir()) == ["smock.svg", "smock.toml"]


def test_a_photo_that_unpacks_to_the_whole_memory_is_refused(tmp_path: Path, command: Command) -> None:
    """The size is read before the pixels."""
    import base64

    photo = base64.b64decode(picture_bomb(25_000).partition(",")[2])
    (tmp_path / "photo.png").write_bytes(photo)
    ran = command(["check", "photo.png"])
    assert ran.code == 3, ran.err
    assert "photo.png" in ran.errors[0]
    assert "pixels" in ran.errors[0]


@pytest.mark.parametrize("plan", [b"[" * 100_000, b"{}", b"\xff" * 1000, b'{"a":' * 50_000], ids=range(4))
def test_a_printed_file_with_a_spoilt_plan_is_refused(tmp_path: Path, command: Command, plan: bytes) -> None:
    """The plan attached to a printed file is no more trusted than any other file."""
    import io

    from pypdf import PdfReader, PdfWriter

    from tests.content.pages import pdf_of
    from tiling.record.printed_file import RECORD_NAME

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf_of(b"0 0 9 9 re f"))))
    writer.add_attachment(RECORD_NAME, plan)
    writer.write(tmp_path / "old.pdf")
    shutil.copy(SAMPLES / "potting-smock.svg", tmp_path / "smock.svg")
    ran = command(["reprint", "smock.svg", "--printed", "old.pdf", "-o", "out.pdf"])
    assert ran.code == 3, (ran.code, ran.err[-300:])
    assert "old.pdf" in ran.errors[0]
    assert not (tmp_path / "out.pdf").exists()
