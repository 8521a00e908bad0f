"""Starting the command: what it loads, what it lists."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tiling.commands.main import run

HEAVY = ("numpy", "cv2", "reportlab", "pypdf", "pypdfium2", "scipy", "shapely", "spyrrow", "svglib", "PIL", "lxml")


def loaded_by(code: str) -> set[str]:
    """Top-level packages, and modules of the photo room, in memory once a fresh interpreter has run the code."""
    names = "{n if n[:9] == 'calibrate' else n.split('.')[0] for n in sys.modules}"
    script = f"{code}\nimport sys; print(*sorted({names}))"
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(result.stdout.split("\n")[-2].split())


@pytest.mark.parametrize(
    "code",
    [
        "import tiling.commands.main",
        "from tiling.commands.main import run; run(['--help'])",
        "from tiling.commands.main import run; run(['--version'])",
        "from tiling.commands.main import run; run(['no-such-command'])",
    ],
)
def test_help_loads_nothing_heavy(code: str) -> None:
    """`pageseam --help` starts like a bare click program: no command is imported for its one-line help."""
    found = loaded_by(code)
    assert not found & set(HEAVY)
    assert {name for name in found if name.startswith("calibrate")} <= {"calibrate", "calibrate.failures"}


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    """In the order in which one uses them."""
    assert run(["--help"]) == 0
    text = capsys.readouterr().out
    names = ["pages", "look", "testpage", "check", "printers", "alter", "reprint", "cloth", "guide"]
    places = [text.index(f"\n  {name} ") for name in names]
    assert places == sorted(places)


def test_the_module_can_be_run(tmp_path: object) -> None:
    """`python -m tiling.commands.main` is the command too."""
    result = subprocess.run(
        [sys.executable, "-m", "tiling.commands.main", "--version"], capture_output=True, text=True, check=False
    )
    assert result.returncode == 0
    assert result.stdout.startswith("pageseam, version ")
