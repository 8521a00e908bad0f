"""One table from what went wrong to the exit code and the message. The codes are promised in the README."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from calibrate.failures import NoMeasurementError, PhotoUnreadableError, Reason, ReferenceUnknownError, Refusal
from tiling.commands import main as entry
from tiling.commands.console import Outcome, Strictness
from tiling.commands.main import run
from tiling.failures import (
    ExitCode,
    InputUnfit,
    OutputRefused,
    ProofFailed,
    UsageWrong,
)
from tiling.pattern import Finding, FindingKind

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="150mm" height="100mm" viewBox="0 0 150 100">'
    '<path d="M10 10L140 90" stroke="#000" stroke-width=".5"/></svg>'
)


def raising(failure: BaseException, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every command end in this failure."""

    @click.command("pages")
    def command() -> None:
        raise failure

    monkeypatch.setattr(entry._LateGroup, "get_command", lambda self, ctx, name: command)


CASES: list[tuple[BaseException, int, str]] = [
    (UsageWrong("no room"), 2, "Error: no room\n"),
    (click.UsageError("no such thing"), 2, "no such thing"),
    (InputUnfit("x.svg: is empty"), 3, "Error: x.svg: is empty\n"),
    (PhotoUnreadableError("x.jpg: is cut off"), 3, "Error: x.jpg: is cut off\n"),
    (ReferenceUnknownError("no such coin"), 2, "Error: no such coin\n"),
    (OutputRefused("x.pdf: exists"), 4, "Error: x.pdf: exists\n"),
    (NoMeasurementError(Refusal(Reason.GLARE)), 5, "glare"),
    (ProofFailed("a page differs"), 6, "Error: a page differs\n"),
    (KeyboardInterrupt(), 130, "Interrupted; nothing was left behind.\n"),
    (click.Abort(), 130, "Interrupted"),
    (MemoryError(), 1, "not enough memory"),
    (RecursionError("deep"), 1, "nested too deeply"),
    (ZeroDivisionError("by nought\nsecond line"), 1, "a fault of ours (ZeroDivisionError: by nought)"),
]


@pytest.mark.parametrize(("failure", "code", "says"), CASES, ids=lambda v: type(v).__name__)
def test_every_failure_has_one_code_and_one_message_on_stderr(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    failure: BaseException,
    code: int,
    says: str,
) -> None:
    """Stdout stays empty; what is ours to mend tells how to get the details, in one line."""
    raising(failure, monkeypatch)
    assert run(["pages"]) == code
    said = capsys.readouterr()
    assert said.out == ""
    assert says in said.err
    if code == 1 and not isinstance(failure, MemoryError):
        assert "PAGESEAM_TRACE=1" in said.err
        assert said.err.count("\n") == 1


def test_the_details_are_shown_when_asked_for(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """PAGESEAM_TRACE=1 shows where it happened."""
    monkeypatch.setenv("PAGESEAM_TRACE", "1")
    raising(ZeroDivisionError("by nought"), monkeypatch)
    assert run(["pages"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_the_codes_are_the_promised_ones() -> None:
    """They are stable: other programs branch on them."""
    assert {code.name: int(code) for code in ExitCode} == {
        "DONE": 0,
        "FAULT": 1,
        "USAGE": 2,
        "INPUT": 3,
        "OUTPUT": 4,
        "NO_MEASUREMENT": 5,
        "PROOF": 6,
        "FINDINGS": 7,
        "INTERRUPTED": 130,
    }


def test_the_outcome_s_code_follows_from_findings_and_strictness() -> None:
    """Findings alone are no failure."""
    found = (Finding(FindingKind.SIZE_ASSUMED, "taken as 96 px to the inch"),)
    assert Outcome().exit_code is ExitCode.DONE
    assert Outcome(found).exit_code is ExitCode.DONE
    assert Outcome((), Strictness.STRICT).exit_code is ExitCode.DONE
    assert Outcome(found, Strictness.STRICT).exit_code is ExitCode.FINDINGS


@pytest.mark.parametrize(
    ("args", "code", "says"),
    [
        (["nonsense"], 2, "No such command 'nonsense'"),
        (["pages"], 2, "Missing argument"),
        (["pages", "d.svg", "--overlap", "10"], 2, "10mm"),
        (["pages", "d.svg", "--margin", "1,2"], 2, "no unit"),
        (["pages", "d.svg", "--margin", "1mm,2mm"], 2, "left,top,right,bottom"),
        (["pages", "d.svg", "--margin=-1mm"], 2, "negative"),
        (["pages", "d.svg", "--paper", "a44"], 2, "no paper known here"),
        (["pages", "d.svg", "--orientation", "sideways"], 2, "sideways"),
        (["pages", "d.svg", "--margin", "120mm"], 2, "210 x 297 mm"),
        (["pages", "d.svg", "--overlap", "90mm"], 2, "190 x 277 mm"),
        (["pages", "d.svg", "--printer", "nobody"], 3, "nobody"),
        (["pages", "missing.svg"], 3, "missing.svg"),
        (["pages", "d.svg", "-o", "no/such/folder/x.pdf"], 4, "does not exist"),
        (["pages", "d.svg", "-o", "d.svg", "--force"], 4, "is an input"),
        (["pages", "d.svg", "-o", "there.pdf"], 4, "--force"),
        (["pages", "px.svg", "--strict", "-o", "x.pdf"], 7, "nothing was written"),
        (["look", "px.svg", "--strict"], 7, "Finding 1"),
        (["look", "d.svg"], 0, ""),
        (["pages", "d.svg", "-o", "x.pdf"], 0, ""),
    ],
)
def test_the_command_line_ends_with_the_right_code(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    args: list[str],
    code: int,
    says: str,
) -> None:
    """Whole commands, on files as they are."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / "home"))
    Path("d.svg").write_text(SVG)
    Path("px.svg").write_text(SVG.replace('width="150mm" height="100mm" ', 'width="600" height="400" '))
    Path("there.pdf").write_text("precious")
    assert run(args) == code
    said = capsys.readouterr()
    assert says in said.err
    assert Path("there.pdf").read_text() == "precious"
    assert Path("d.svg").read_text() == SVG
    assert Path("x.pdf").exists() == (code == 0 and args[0] == "pages")


def test_a_full_disk_leaves_nothing_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The write fails half way: exit 4, the old file as it was, no part left."""
    monkeypatch.chdir(tmp_path)
    Path("d.svg").write_text(SVG)
    Path("out.pdf").write_text("precious")

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert run(["pages", "d.svg", "-o", "out.pdf", "--force", "-q"]) == 4
    assert "disk is full" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["d.svg", "out.pdf"]
    assert Path("out.pdf").read_text() == "precious"


def test_a_failed_proof_publishes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 6, and no file; with --no-proof nothing is compared."""
    monkeypatch.chdir(tmp_path)
    Path("d.svg").write_text(SVG)

    def stop(*_: object, **__: object) -> None:
        raise ProofFailed("page 2 differs")

    monkeypatch.setattr("tiling.proof.prove.prove", stop)
    assert run(["pages", "d.svg", "-q"]) == 6
    assert [p.name for p in tmp_path.iterdir()] == ["d.svg"]
    assert run(["pages", "d.svg", "-q", "--no-proof"]) == 0


def test_a_damaged_print_plan_of_our_own_is_a_failed_proof(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 6, not the 3 of a damaged file that somebody gave; nothing is published."""
    monkeypatch.chdir(tmp_path)
    Path("d.svg").write_text(SVG)
    monkeypatch.setattr("tiling.drawing.pdf.record_bytes", lambda *_: b'{"format": 1}')
    assert run(["pages", "d.svg", "-q"]) == 6
    said = capsys.readouterr().err
    assert said.startswith("Error: The proof of the written pages failed: the attached plan can't be read back")
    assert said.endswith("; please report it, or run again with --no-proof and check every page by eye.\n")
    assert [p.name for p in tmp_path.iterdir()] == ["d.svg"]


@pytest.mark.skipif(os.name != "posix", reason="sends a POSIX signal")
def test_ctrl_c_in_the_middle_leaves_nothing_behind(tmp_path: Path) -> None:
    """The process is interrupted while it proves the written file: 130, no output, no part."""
    (tmp_path / "d.svg").write_text(SVG)
    script = (
        "import os, signal, sys\n"
        # A job in the background inherits that the signal is ignored.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "import tiling.proof.prove as proof\n"
        "def hang(*a, **k): os.kill(os.getpid(), signal.SIGINT)\n"
        "proof._check_structure = hang\n"
        "from tiling.commands.main import run\n"
        "sys.exit(run(['pages', 'd.svg']))\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    assert result.returncode == 130, result.stderr
    assert "Interrupted" in result.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["d.svg"]


def test_a_reader_that_goes_away_is_no_error_message(tmp_path: Path) -> None:
    """`pageseam look … | head -0` ends quietly."""
    (tmp_path / "d.svg").write_text(SVG)
    with subprocess.Popen(
        [sys.executable, "-m", "tiling.commands.main", "look", "d.svg", "--json"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    ) as process:  # fmt: skip
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        error = process.stderr.read()
        process.wait()
    assert b"Traceback" not in error
    assert b"BrokenPipe" not in error
