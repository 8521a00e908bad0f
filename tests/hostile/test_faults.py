"""Disks that fill up, folders that can't be written to, files that change: what was there stays as it was."""

from __future__ import annotations

import builtins
import errno
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.content.pages import pdf_of
from tests.hostile.conftest import Command
from tests.rights import as_a_person
from tiling.commands.main import run

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
PIECES = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">'
    '<g class="piece" id="a">'
    '<path class="cutting-line" d="M10 10H190V150H10z" fill="none" stroke="#000"/>'
    '<path class="grading-line" d="M90 5V155" stroke="#000"/><path class="grainline" d="M20 20V140" stroke="#000"/>'
    "</g></svg>"
)
NOTES = 'title = "Kneeling mat"\n[pieces.a]\ncopies = 1\n'

WRITERS = {
    "pages": ["pages", "mat.svg", "-o", "out.pdf"],
    "testpage": ["testpage", "-o", "out.pdf"],
    "alter": ["alter", "mat.svg", "--around", "20mm", "-o", "out.svg", "--picture", "out.png"],
    "reprint": ["reprint", "wider.svg", "--printed", "printed.pdf", "-o", "out.pdf"],
    "look": ["look", "mat.svg", "--picture", "out.png"],
    "cloth": ["cloth", "mat.svg", "--width", "140cm", "--seconds", "1", "-o", "out.pdf"],
    "guide": ["guide", "mat.svg", "--width", "140cm", "--seconds", "1", "-o", "out.pdf"],
}


@pytest.fixture(scope="module")
def _made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drawing with notes, printed and altered."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "mat.svg").write_text(PIECES)
    (folder / "mat.toml").write_text(NOTES)
    assert run(["pages", str(folder / "mat.svg"), "-q", "-o", str(folder / "printed.pdf")]) == 0
    wider = ["alter", str(folder / "mat.svg"), "--around", "30mm", "-q", "-o", str(folder / "wider.svg")]
    assert run(wider) == 0
    return folder


@pytest.fixture
def folder(_made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same, with older outputs of every name."""
    here = tmp_path / "here"
    shutil.copytree(_made, here)
    for name in ("out.pdf", "out.svg", "out.png", "out.toml"):
        (here / name).write_text(f"older {name}")
    monkeypatch.chdir(here)
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / "home"))
    return here


def contents(folder: Path) -> dict[str, bytes]:
    """Every file by name."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


class Failing:
    """Lets one of the calls that write fail: opening to write, writing, syncing, putting in place."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, number: int, code: int) -> None:
        self.left = number
        self.code = code
        self.places = 0
        self.failed = False
        for name in ("open", "fsync", "replace", "fdopen"):
            monkeypatch.setattr(os, name, self._wrapped(name, getattr(os, name)))

    def _wrapped(self, name: str, real: Callable[..., object]) -> Callable[..., object]:
        def call(*args: object, **kwargs: object) -> object:
            writes = name != "open" or int(str(args[1])) & os.O_WRONLY
            if writes:
                self.left -= 1
                if self.left == 0:
                    self.failed = True
                    if name == "fdopen":
                        os.close(int(str(args[0])))
                    raise OSError(self.code, os.strerror(self.code))
            if name == "replace":
                self.places += 1
            return real(*args, **kwargs)

        return call


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EIO], ids=["full", "read-only", "broken"])
@pytest.mark.parametrize("name", WRITERS)
def test_a_write_that_fails_changes_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str], name: str, code: int
) -> None:
    """Every call that writes fails in turn: exit 4, one line, every file as it was, no part left behind."""
    before = contents(folder)
    for number in range(1, 40):
        with pytest.MonkeyPatch.context() as patch:
            failing = Failing(patch, number, code)
            ended = run([*WRITERS[name], "--force", "-q"])
        said = capsys.readouterr().err
        if not failing.failed:
            assert ended == 0, said
            assert number > 4, "fewer calls fail than any publication makes"
            return
        if failing.places and ended == 0:
            continue  # only the folder's own sync failed, after all was in place
        assert ended == 4, (number, said)
        assert said.count("\n") == 1
        assert "Nothing was changed." in said
        assert contents(folder) == before
        if code == errno.ENOSPC:
            assert "disk is full" in said
    pytest.fail("a run of more writes than was expected")


KEEPERS = {
    "check": ["check", "--measured", "98mm", "99mm", "--printer", "shed", "-q"],
    "forget": ["printers", "forget", "shed", "-q"],
}


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EIO], ids=["full", "read-only", "broken"])
@pytest.mark.parametrize("name", KEEPERS)
def test_a_write_that_fails_forgets_no_printer(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, code: int
) -> None:
    """Every call that writes the printers' file fails in turn: exit 4, one line, the file as it was."""
    assert run(["check", "--measured", "97mm", "97mm", "--printer", "shed", "-q"]) == 0
    before = contents(tmp_path / "home")
    for number in range(1, 20):
        with pytest.MonkeyPatch.context() as patch:
            failing = Failing(patch, number, code)
            ended = run(KEEPERS[name])
        said = capsys.readouterr().err
        if not failing.failed:
            assert ended == 0, said
            assert number > 2, "fewer calls fail than any write makes"
            return
        assert ended == 4, (number, said)
        assert said.count("\n") == 1
        assert "printers.json" in said
        assert contents(tmp_path / "home") == before
    pytest.fail("a run of more writes than was expected")


@pytest.mark.parametrize("name", WRITERS)
def test_a_file_that_grows_beyond_what_fits_changes_nothing(
    folder: Path, tmp_path: Path, command: Command, name: str
) -> None:
    """The system itself stops the write half way (RLIMIT_FSIZE), as a full disk does."""
    before = contents(folder)
    files = ("mat", "out", "printed", "wider")
    moved = [f"here/{part}" if part.startswith(files) else part for part in WRITERS[name]]
    ran = command([*moved, "--force", "-q"], file_size=700)
    assert ran.code == 4, (ran.code, ran.err)
    assert "disk is full" in ran.err
    assert contents(folder) == before


def test_a_folder_that_may_not_be_written_to_is_told_before_the_work(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is read or drawn first."""
    monkeypatch.setattr(os, "access", lambda _, mode: not mode & os.W_OK)

    def never(*_: object, **__: object) -> None:
        raise AssertionError

    monkeypatch.setattr("tiling.reading.gather.read_drawings", never)
    for name in ("pages", "reprint"):
        assert run([*WRITERS[name], "--force", "-q"]) == 4
        assert "can't be written to" in capsys.readouterr().err


@pytest.mark.rights
def test_rights_that_lack_are_told(folder: Path) -> None:
    """A folder, a home and a drawing as the system guards them: one line each, nothing written, also with --force."""
    locked = folder / "locked"
    locked.mkdir()
    for name in ("mat.svg", "mat.toml"):
        shutil.copy(folder / name, locked)
    (locked / "secret.svg").write_text(PIECES)
    (locked / "out.pdf").write_text("older")
    (locked / "secret.svg").chmod(0)
    locked.chmod(0o555)
    before = {p.name: p.stat().st_mtime_ns for p in locked.iterdir()}
    environment = {**os.environ, "PAGESEAM_HOME": str(locked / "home"), "PYTHONPATH": str(SAMPLES.parent)}
    cases = {
        "pages mat.svg -o out.pdf --force -q": (4, "can't be written to"),
        "check --measured 98mm 99mm --printer shed -q": (4, "PAGESEAM_HOME"),
        "look secret.svg": (3, "secret.svg: can't be opened"),
    }
    try:
        for words, (code, says) in cases.items():
            ran = subprocess.run(
                [*as_a_person(), sys.executable, "-m", "tiling.commands.main", *words.split()], cwd=locked,
                env=environment, capture_output=True, text=True, check=False,
            )  # fmt: skip
            assert ran.returncode == code, (words, ran.stderr)
            assert says in ran.stderr
            assert ran.stderr.count("\n") == 1
            assert {p.name: p.stat().st_mtime_ns for p in locked.iterdir()} == before
    finally:
        locked.chmod(0o755)


def test_a_drawing_that_is_saved_again_meanwhile_is_printed_as_it_was_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is read once: pages, and what the proof compares them with, are of one drawing."""
    monkeypatch.chdir(tmp_path)
    Path("mat.pdf").write_bytes(pdf_of(b"2 w 10 10 m 290 190 l S"))
    assert run(["pages", "mat.pdf", "-q", "-o", "alone.pdf"]) == 0
    import tiling.drawing.pdf as room

    real = room.write_pages

    def saved_again(*args: object, **kwargs: object) -> bytes:
        Path("mat.pdf").write_bytes(pdf_of(b"2 w 10 190 m 290 10 l S"))
        return real(*args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(room, "write_pages", saved_again)
    assert run(["pages", "mat.pdf", "-q", "-o", "out.pdf"]) == 0
    assert Path("out.pdf").read_bytes() == Path("alone.pdf").read_bytes()


@pytest.mark.parametrize("name", [n for n in WRITERS if n not in {"testpage", "look"}])
def test_no_command_writes_over_what_it_reads(folder: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Also by another name of the same file, and with --force."""
    arguments = WRITERS[name]
    source = next(part for part in arguments[1:] if part.endswith(".svg"))
    ending = Path(arguments[arguments.index("-o") + 1]).suffix
    (folder / f"again{ending}").symlink_to(source)
    before = contents(folder)
    again = [f"again{ending}" if part.startswith("out.") and part.endswith(ending) else part for part in arguments]
    assert run([*again, "--force", "-q"]) == 4
    assert "is an input of this run" in capsys.readouterr().err
    assert contents(folder) == before


def test_runs_at_once_lose_no_printer(tmp_path: Path) -> None:
    """Eight processes write one printers' file: every printer is there, and the shared one has every reading."""
    environment = {**os.environ, "PAGESEAM_HOME": str(tmp_path), "PYTHONPATH": str(SAMPLES.parent)}
    tool = [sys.executable, "-m", "tiling.commands.main", "check", "-q", "--measured"]
    running = []
    for number in range(4):
        for name in (f"printer {number}", "shared"):
            measured = [f"{97 + number}mm", "99mm", "--printer", name]
            running.append(subprocess.Popen([*tool, *measured], env=environment, cwd=tmp_path))
    assert [process.wait() for process in running] == [0] * 8
    kept = json.loads((tmp_path / "printers.json").read_text())["printers"]
    assert set(kept) == {"shared", *(f"printer {n}" for n in range(4))}
    shared = [kept["shared"]["latest"], *kept["shared"]["history"]]
    assert sorted(reading["across"] for reading in shared) == [0.97, 0.98, 0.99, 1.0]
    assert {p.name for p in tmp_path.iterdir()} == {"printers.json"}


def test_the_injection_reaches_every_publication(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No command opens a file for writing in a way that the tests above would not see."""
    opened = []
    real = builtins.open

    def watched(file: object, mode: str = "r", *args: object, **kwargs: object) -> object:
        if any(letter in mode for letter in "wax+") and str(folder) in str(file):
            opened.append(file)
        return real(file, mode, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr(builtins, "open", watched)
    monkeypatch.setattr("io.open", watched)
    for arguments in WRITERS.values():
        assert run([*arguments, "--force", "-q"]) == 0
    assert opened == []
