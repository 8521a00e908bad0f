"""The shortcut on the desktop, as each system has it."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from tiling.failures import OutputRefused
from tiling.workroom.shortcut import put_shortcut


def folder(tmp_path: Path) -> Path:
    """A folder whose name has what shells and desktops stumble over."""
    found = tmp_path / 'my $patterns "& 100 % `x`'
    found.mkdir()
    return found


def test_on_linux_it_is_a_desktop_entry_that_starts_the_workroom_there(tmp_path: Path) -> None:
    """The Exec key is quoted as the Desktop Entry Specification 1.5 says; read back by its rules."""
    place = folder(tmp_path)
    written = put_shortcut(place, tmp_path, "linux")
    text = written.read_text(encoding="utf-8")
    assert text.startswith("[Desktop Entry]\nType=Application\n")
    line = re.search(r"^Exec=(.*)$", text, re.M)
    assert line
    whole = line[1].replace("\\\\", "\\")  # a string's own escapes
    parts = [re.sub(r"\\(.)", r"\1", part) for part in re.findall(r'"((?:\\.|[^"\\])*)"', whole)]
    assert [part.replace("%%", "%") for part in parts][-2:] == ["workroom", str(place)]
    assert os.access(written, os.X_OK)


def test_on_macos_it_is_a_script_the_terminal_runs(tmp_path: Path) -> None:
    """Quoted for the shell."""
    place = folder(tmp_path)
    lines = put_shortcut(place, tmp_path, "darwin").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "#!/bin/sh"
    assert shlex.split(lines[1])[-2:] == ["workroom", str(place)]


def test_on_windows_it_is_a_batch_file(tmp_path: Path) -> None:
    """With percent signs doubled, and a window that stays when something went wrong."""
    written = put_shortcut(tmp_path / "100 % cotton", tmp_path, "win32")
    text = written.read_bytes().decode()
    assert '100 %% cotton"\r\n' in text
    assert "pause" in text


def test_what_it_starts_is_the_workroom(tmp_path: Path) -> None:
    """The command it holds answers."""
    lines = put_shortcut(tmp_path, tmp_path, "darwin").read_text(encoding="utf-8").splitlines()
    command = shlex.split(lines[1])[1:]
    assert command[0] == sys.executable
    root = str(Path(__file__).resolve().parents[2])
    environment = {**os.environ, "PYTHONPATH": root}
    said = subprocess.run([*command, "--help"], env=environment, capture_output=True, text=True, check=True)
    assert "FOLDER|DRAWING" in said.stdout


def test_without_a_desktop_it_says_so(tmp_path: Path) -> None:
    """And names the folder that is not there."""
    with pytest.raises(OutputRefused, match="no such folder to put a shortcut in"):
        put_shortcut(tmp_path, tmp_path / "Desktop", "linux")
