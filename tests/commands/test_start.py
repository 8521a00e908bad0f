"""Starting the command: what it loads, what it lists."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tiling.commands.main import run

ROOT = Path(__file__).resolve().parents[2]
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
    assert {name for name in found if name.startswith("calibrate")} <= {
        "calibrate",
        "calibrate.failures",
        "calibrate.printable",
        "calibrate.run",
    }


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


HEED = """
import signal
def heed():
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.default_int_handler if name == "SIGINT" else signal.SIG_DFL)
"""
"""Signals as a terminal leaves them, also where the tests themselves were started with some of them ignored."""


def started(folder: Path, *arguments: str, before: str = "") -> subprocess.Popen[str]:
    """The command as its console script starts it, in a folder; `before` is run first."""
    begin = "from tiling.commands.start import main; main()"
    code = f"import sys; sys.argv[1:] = {list(arguments)!r}\n{HEED}\n{before}\n{begin}"
    return subprocess.Popen(
        [sys.executable, "-c", code], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)}, start_new_session=True,
    )  # fmt: skip


@pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_signals_end_a_run_as_ctrl_c_does(name: str, tmp_path: Path) -> None:
    """While it reads, from when anything can have been begun: 130, one line, nothing left."""
    (tmp_path / "d.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="1m" height="1m"><path d="M0 0h9"/></svg>'
    )
    wait = (
        "import os, signal, tiling.reading.gather as g; heed();"
        f"g.is_pdf = lambda *a: os.kill(os.getpid(), signal.{name}); "
    )
    process = started(tmp_path, "pages", "d.svg", before=wait)
    _, said = process.communicate()
    assert (process.returncode, said) == (130, "Interrupted; nothing was left behind.\n")
    assert [p.name for p in tmp_path.iterdir()] == ["d.svg"]


@pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
def test_a_signal_while_the_command_is_loading_ends_without_a_traceback(tmp_path: Path) -> None:
    """The first thing that the console script does is to heed signals."""
    soon = (
        "import builtins, os, signal; heed();"
        "load = builtins.__import__;"
        "builtins.__import__ = lambda name, *a, **k: (os.kill(os.getpid(), signal.SIGINT) if name == 'click' else 0,"
        " load(name, *a, **k))[1]; "
    )
    process = started(tmp_path, "--help", before=soon)
    out, said = process.communicate()
    assert (process.returncode, out, said) == (130, "", "Interrupted; nothing was left behind.\n")


@pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
def test_a_signal_of_which_a_library_makes_another_failure_is_one_still(tmp_path: Path) -> None:
    """An extension module says ImportError where its initialization was interrupted."""
    (tmp_path / "d.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="1m" height="1m"><path d="M0 0h9"/></svg>'
    )
    another = (
        "import os, signal, tiling.reading.gather as g\n"
        "heed()\n"
        "def load(*_):\n"
        "    try:\n        os.kill(os.getpid(), signal.SIGTERM)\n"
        "    except KeyboardInterrupt:\n        raise ImportError('initialization failed') from None\n"
        "g.is_pdf = load\n"
    )
    process = started(tmp_path, "pages", "d.svg", before=another)
    _, said = process.communicate()
    assert (process.returncode, said) == (130, "Interrupted; nothing was left behind.\n")


@pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_after_all_is_said_changes_nothing(name: str, tmp_path: Path) -> None:
    """The interpreter takes a while to end; what stands there was made, and the exit code says so."""
    late = f"import atexit, os, signal; heed();atexit.register(os.kill, os.getpid(), signal.{name}); "
    process = started(tmp_path, "--version", before=late)
    out, said = process.communicate()
    assert (process.returncode, out[:8], said) == (0, "pageseam", "")


@pytest.mark.skipif(os.name != "posix", reason="sends POSIX signals")
def test_a_signal_between_the_run_and_the_end_ends_without_a_traceback(tmp_path: Path) -> None:
    """There, nothing catches it but the very outermost."""
    between = (
        "import os, signal, tiling.commands.main as m; heed();"
        "run = m.run; m.run = lambda args: (run(args), os.kill(os.getpid(), signal.SIGINT))[0]; "
    )
    process = started(tmp_path, "--version", before=between)
    out, said = process.communicate()
    assert (process.returncode, out[:8], said) == (130, "pageseam", "")


def test_messages_that_nobody_listens_to_do_not_stop_a_job(tmp_path: Path) -> None:
    """As in ``pageseam pages d.svg 2>&1 | head -1``: the pages are made."""
    (tmp_path / "d.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9e3" height="9e3"><path d="M0 0h9v9"/></svg>'
    )
    process = started(tmp_path, "pages", "d.svg")
    assert process.stderr is not None
    process.stderr.close()
    process.communicate()
    assert (tmp_path / "d-pages.pdf").read_bytes().startswith(b"%PDF")


def test_a_library_s_warning_stays_unsaid() -> None:
    """It names a line of some source; whoever asks Python for warnings gets them."""
    script = "import warnings, tiling.commands.main as m; m.run = lambda _: warnings.warn('old palette'); m.main()"
    for options, said in (((), ""), (("-W", "default"), "old palette")):
        command = [sys.executable, *options, "-c", script]
        plain = {name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"}
        told = subprocess.run(command, capture_output=True, text=True, check=False, env=plain).stderr
        assert said in told
        assert bool(told) is bool(said)
