"""Pipes, devices and folders where a file is expected: said at once, never waited for, never written to."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.hostile.conftest import Command
from tests.hostile.trials import SAMPLES

pytestmark = [pytest.mark.rights, pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")]

READ = {
    "a drawing": ["pages", "pipe", "-o", "out.pdf"],
    "a drawing by a link": ["look", "link.svg"],
    "notes": ["pages", "smock.svg", "--notes", "pipe", "-o", "out.pdf"],
    "a font": ["guide", "smock.svg", "--font", "pipe", "-o", "out.pdf"],
    "a device for a font": ["guide", "smock.svg", "--font", "/dev/zero", "-o", "out.pdf"],
    "a printed file": ["reprint", "smock.svg", "--printed", "pipe", "-o", "out.pdf"],
    "the pages before": ["pages", "smock.svg", "--placed-as", "pipe", "-o", "out.pdf"],
    "a photo": ["check", "pipe"],
    "the printers": ["printers"],
    "a printer's correction": ["pages", "smock.svg", "--printer", "kitchen", "-o", "out.pdf"],
    "a printer's new reading": ["check", "--measured", "99mm", "99.5mm", "--printer", "kitchen"],
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The sample, a pipe, a link to it, and a pipe in the place of the printers' file."""
    for ending in ("svg", "toml"):
        (tmp_path / f"smock.{ending}").write_bytes((SAMPLES / f"potting-smock.{ending}").read_bytes())
    (tmp_path / ".home").mkdir()
    os.mkfifo(tmp_path / "pipe")
    os.mkfifo(tmp_path / ".home" / "printers.json")
    (tmp_path / "link.svg").symlink_to("pipe")
    return tmp_path


@pytest.mark.parametrize("what", READ)
def test_nothing_is_read_from_a_pipe(folder: Path, command: Command, what: str) -> None:
    """Three or five, one line that names it; nothing is left behind."""
    before = set(folder.rglob("*"))
    ran = command(READ[what], seconds=3)
    assert ran.code in {3, 4, 5}, (ran.code, ran.err)
    assert len(ran.errors) == 1
    assert any(name in ran.errors[0] for name in ("pipe", "link.svg", "/dev/zero", "printers.json"))
    assert "save the drawing" not in ran.errors[0] or "drawing" in what
    assert set(folder.rglob("*")) == before


def test_a_pipe_among_the_machines_fonts_is_passed_over(folder: Path, command: Command) -> None:
    """As a font that can't be read."""
    (folder / "fonts").mkdir()
    os.mkfifo(folder / "fonts" / "meadow.ttf")
    words = '<text y="50" font-size="9" font-family="Meadow">畝 دفء</text><path d="M5 5L95 95" stroke="#000"/>'
    head = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
    (folder / "words.svg").write_text(f"<svg {head}>{words}</svg>")
    environment = {"PAGESEAM_HOME": str(folder), "PAGESEAM_FONTS": str(folder / "fonts")}
    ran = command(["pages", "words.svg", "-o", "out.pdf"], seconds=5, environment=environment)
    assert ran.code in {0, 3}, (ran.code, ran.err)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["pages", "smock.svg", "-o", "out.pdf/"], "a folder's name"),
        (["pages", "smock.svg", "-o", "-"], "a dash alone"),
        (["pages", "-", "-o", "out.pdf"], "a dash alone"),
        (["alter", "smock.svg", "--around", "9mm", "-o", "new.svg/"], "a folder's name"),
        (["look", "smock.svg", "--picture", "-"], "a dash alone"),
        (["look", "smock.svg/"], "a folder's name"),
    ],
)
def test_what_can_be_no_files_name_is_a_wrong_command(
    folder: Path, command: Command, arguments: Sequence[str], words: str
) -> None:
    """Nothing is made of it, such as a file named otherwise."""
    before = set(folder.iterdir())
    ran = command(arguments)
    assert ran.code == 2, (ran.code, ran.err)
    assert words in ran.err
    assert set(folder.iterdir()) == before


@pytest.mark.parametrize("target", ["pipe", "/dev/null", "link.svg"])
def test_nothing_is_written_to_a_pipe_or_a_device(folder: Path, command: Command, target: str) -> None:
    """Also where replacing was asked for."""
    before = set(folder.iterdir())
    ran = command(["pages", "smock.svg", "-o", target, "--force"], seconds=5)
    assert ran.code == 4, (ran.code, ran.err)
    assert set(folder.iterdir()) == before
