"""One table through every command: the same cause gives the same code and names the same things, wherever it happens.

Then how it is said: quiet, as JSON, into a closed pipe, without a terminal, in other encodings, with odd names.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.content.pages import pdf_of
from tiling.commands.main import run

ROOT = Path(__file__).resolve().parents[2]
PIECES = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">'
    '<g class="piece" id="a"><path class="cutting-line" d="M10 10H190V150H10z" fill="none" stroke="#000"/>'
    '<path class="grading-line" d="M90 5V155" stroke="#000"/><path class="grainline" d="M20 20V140" stroke="#000"/>'
    "</g></svg>"
)
NOTES = 'title = "Kneeling mat"\n[pieces.a]\ncopies = 1\n'

COMMANDS: dict[str, str] = {
    "pages": "pages {drawing} -o {pdf}",
    "look": "look {drawing} --picture {png}",
    "testpage": "testpage -o {pdf}",
    "check": "check {photo}",
    "alter": "alter {drawing} --around 20mm -o {svg}",
    "reprint": "reprint {drawing} --printed {printed} -o {pdf}",
    "cloth": "cloth {drawing} --width 140cm --seconds 1 -o {pdf}",
    "guide": "guide {drawing} --width 140cm --seconds 1 -o {pdf}",
}
GOOD = {
    "drawing": "mat.svg", "pdf": "new.pdf", "svg": "new.svg", "png": "new.png", "printed": "printed.pdf",
    "photo": "missing.jpg",
}  # fmt: skip
READ = ("pages", "look", "alter", "reprint", "cloth", "guide")
WRITE = ("pages", "look", "testpage", "alter", "reprint", "cloth", "guide")


@dataclass(frozen=True)
class Cause:
    """What is wrong: other names for the files, more options, and how it must end."""

    commands: tuple[str, ...]
    code: int
    says: tuple[str, ...]
    files: tuple[tuple[str, str], ...] = ()
    options: str = ""


def outputs(name: str) -> tuple[tuple[str, str], ...]:
    """Every output under this name, with its own ending."""
    return tuple((kind, f"{name}.{kind}") for kind in ("pdf", "svg", "png"))


CAUSES: dict[str, Cause] = {
    "a drawing that is not there": Cause(READ, 3, ("lost.svg", "can't be opened"), (("drawing", "lost.svg"),)),
    "a folder as drawing": Cause(READ, 3, ("folder: is a folder",), (("drawing", "folder"),)),
    "an empty drawing": Cause(READ, 3, ("empty.svg", "empty"), (("drawing", "empty.svg"),)),
    "no drawing": Cause(READ, 3, ("words.svg", "neither an SVG nor a PDF"), (("drawing", "words.svg"),)),
    "damaged XML": Cause(READ, 3, ("broken.svg",), (("drawing", "broken.svg"),)),
    "nothing drawn": Cause(READ, 3, ("blank.svg",), (("drawing", "blank.svg"),)),
    "a locked PDF": Cause(READ, 3, ("locked.pdf", "password"), (("drawing", "locked.pdf"),)),
    "an unknown layer": Cause(READ, 3, ("mat.svg", "no layer 'green'"), (), "--layer green"),
    "a page of a drawing without pages": Cause(READ, 3, ("mat.svg", "--page"), (), "--page 2"),
    "notes that are not there": Cause(READ, 3, ("lost.toml",), (), "--notes lost.toml"),
    "notes with an unknown key": Cause(READ, 3, ("wrong.toml", "line 1"), (), "--notes wrong.toml"),
    "a printed file that is not there": Cause(("reprint",), 3, ("lost.pdf",), (("printed", "lost.pdf"),)),
    "a printed file without a plan": Cause(
        ("reprint",), 3, ("plain.pdf", "no print plan"), (("printed", "plain.pdf"),)
    ),
    "a photo that is not there": Cause(("check",), 3, ("missing.jpg", "no such file")),
    "a photo that is none": Cause(("check",), 3, ("words.svg",), (("photo", "words.svg"),)),
    "an unknown printer": Cause(("pages", "testpage", "reprint", "guide"), 3, ("'nobody'",), (), "--printer nobody"),
    "an output that is there": Cause(WRITE, 4, ("there.", "--force"), outputs("there")),
    "a drawing mistyped where the output is there": Cause(
        READ, 3, ("lost.svg", "can't be opened"), (("drawing", "lost.svg"), *outputs("there"))
    ),
    "a paper mistyped where the output is there": Cause(
        ("pages", "testpage", "guide"), 2, ("a44",), outputs("there"), "--paper a44"
    ),
    "a printer mistyped where the output is there": Cause(
        ("pages", "testpage", "reprint", "guide"), 3, ("'nobody'",), outputs("there"), "--printer nobody"
    ),
    "notes mistyped where the output is there": Cause(READ, 3, ("lost.toml",), outputs("there"), "--notes lost.toml"),
    "an output in no folder": Cause(WRITE, 4, ("no/such/x.", "does not exist"), outputs("no/such/x")),
    "an output of another kind": Cause(
        ("pages", "look", "alter", "reprint", "cloth", "guide"), 4, ("new.txt", "end in"),
        tuple((kind, "new.txt") for kind in ("pdf", "svg", "png")),
    ),
    "an option that does not exist": Cause(tuple(COMMANDS), 2, ("--colour",), (), "--colour"),
    "a length without a unit": Cause(("pages", "guide"), 2, ("10mm",), (), "--overlap 10"),
    "a paper nobody makes": Cause(("pages", "testpage", "guide"), 2, ("a44",), (), "--paper a44"),
    "findings taken strictly": Cause(
        ("pages", "look", "alter", "cloth", "guide"), 7, ("Finding 1", "nothing was written"),
        (("drawing", "px.svg"),), "--strict",
    ),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Good files and bad ones of every kind."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PAGESEAM_HOME", str(tmp_path / ".home"))
    texts = {
        "mat.svg": PIECES, "mat.toml": NOTES, "empty.svg": "", "words.svg": "only words", "broken.svg": PIECES[:-9],
        "blank.svg": PIECES.partition("<g")[0] + "</svg>", "wrong.toml": 'colour = "green"\n', "px.toml": NOTES,
        "run.svg": PIECES.replace("<g", "<script>0</script><g", 1), "run.toml": NOTES,
        "px.svg": PIECES.replace('width="300mm" height="200mm" ', 'width="1200" height="800" '),
    }  # fmt: skip
    for name, text in texts.items():
        Path(name).write_text(text)
    for ending in ("pdf", "svg", "png"):
        Path(f"there.{ending}").write_text("precious")
    Path("folder").mkdir()
    Path("plain.pdf").write_bytes(pdf_of(b"0 0 m 9 9 l S"))
    Path("locked.pdf").write_bytes(_locked())
    return tmp_path


def _locked() -> bytes:
    import io

    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf_of(b"0 0 m 9 9 l S"))))
    writer.encrypt("shed", algorithm="AES-256")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The mat as printed."""
    place = tmp_path_factory.mktemp("printed")
    (place / "mat.svg").write_text(PIECES)
    (place / "mat.toml").write_text(NOTES)
    assert run(["pages", str(place / "mat.svg"), "-q", "-o", str(place / "out.pdf")]) == 0
    return (place / "out.pdf").read_bytes()


def filled(command: str, files: dict[str, str], options: str = "") -> list[str]:
    """The command line."""
    return [*COMMANDS[command].format(**{**GOOD, **files}).split(), *options.split()]


TABLE = [pytest.param(c, n, id=f"{c}: {n}") for n, cause in CAUSES.items() for c in cause.commands]


@pytest.mark.parametrize(("command", "cause"), TABLE)
def test_one_cause_has_one_code_through_every_command(
    folder: Path, printed: bytes, capsys: pytest.CaptureFixture[str], command: str, cause: str
) -> None:
    """The message stands on stderr, also with -q; stdout stays empty, nothing is written, nothing is damaged."""
    Path("printed.pdf").write_bytes(printed)
    wrong = CAUSES[cause]
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    quiet = "" if wrong.code == 7 else " -q"
    assert run(filled(command, dict(wrong.files), wrong.options + quiet)) == wrong.code
    said = capsys.readouterr()
    assert said.out == "" or wrong.code == 7
    for words in wrong.says:
        assert words in said.err
    assert "Traceback" not in said.err
    if wrong.code in {3, 4}:
        assert said.err.startswith("Error: ")
        assert said.err.count("\n") == 1
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before


IDLE = [
    ("pages mat.svg", "--gap 9mm"), ("pages mat.svg", "--turn any"), ("pages mat.svg --share", "--seconds 3"),
    ("pages mat.svg --placed-as printed.pdf", "--turn half"), ("cloth mat.svg", "--nap"),
    ("cloth mat.svg", "--gap 3mm"), ("cloth mat.svg --width 140cm", "--paper a3"),
    ("guide mat.svg", "--fold lengthwise"), ("guide mat.svg", "--seed 2"),
    ("guide mat.svg --printed printed.pdf", "--overlap 20mm"), ("alter mat.svg --longer 9mm", "--taper 0%"),
    ("check --measured 97mm 98mm", "--paper letter"), ("check --measured 97mm 98mm", "--corrected"),
    ("check --measured 97mm 98mm", "--sheet 210mm 297mm"),
]  # fmt: skip


@pytest.mark.parametrize(("arguments", "idle"), IDLE, ids=[" ".join(pair) for pair in IDLE])
def test_an_option_that_would_change_nothing_is_refused(
    folder: Path, printed: bytes, capsys: pytest.CaptureFixture[str], arguments: str, idle: str
) -> None:
    """Named, with what it belongs to; nothing is read or written."""
    Path("printed.pdf").write_bytes(printed)
    before = set(folder.iterdir())
    assert run([*arguments.split(), *idle.split(), "-q"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert idle.split(maxsplit=1)[0] in said.err
    assert said.err.count("\n") == 1
    assert set(folder.iterdir()) == before


@pytest.mark.parametrize("command", ["pages", "look", "alter", "reprint", "cloth", "guide"])
def test_findings_taken_strictly_are_told_in_json_too(
    folder: Path, printed: bytes, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """Exit 7, nothing written, and stdout says so to a program."""
    Path("printed.pdf").write_bytes(printed)
    before = set(folder.iterdir())
    assert run([*filled(command, {"drawing": "run.svg"}), "--strict", "--json", "-q"]) == 7
    said = capsys.readouterr()
    values = json.loads(said.out)
    assert values["picture" if command == "look" else "output"] is None
    assert values["findings"][0]["kind"] == "script-dropped"
    assert "nothing was written" in said.err
    assert set(folder.iterdir()) == before


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in {"check"}])
def test_a_good_run_is_silent_with_q_and_says_where_it_wrote_without(
    folder: Path, printed: bytes, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """-q silences all but errors; without it the summary stands on stdout."""
    Path("printed.pdf").write_bytes(printed)
    Path("mat.svg").write_text(PIECES.replace("H190", "H180"))
    assert run([*filled(command, {}), "-q"]) == 0
    assert capsys.readouterr() == ("", "")
    written = [name for name in ("new.pdf", "new.svg", "new.png") if Path(name).exists()]
    assert written
    assert run([*filled(command, {}), "--force"]) == 0
    said = capsys.readouterr()
    assert said.out.strip()
    assert "Error" not in said.err


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in {"check", "testpage"}])
def test_json_is_one_value_on_stdout_also_with_q(
    folder: Path, printed: bytes, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """Nothing else stands on stdout."""
    Path("printed.pdf").write_bytes(printed)
    assert run([*filled(command, {}), "--json", "-q"]) == 0
    said = capsys.readouterr()
    assert isinstance(json.loads(said.out), dict)
    assert said.err == ""
    assert run([*filled(command, {}), "--json", "--force"]) == 0
    assert isinstance(json.loads(capsys.readouterr().out), dict)


def process(folder: Path, *arguments: str | bytes, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command as a person's shell runs it, without a terminal."""
    return subprocess.run(
        [sys.executable, "-m", "tiling.commands.main", *arguments],
        cwd=folder, capture_output=True, check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", **environment},
    )  # fmt: skip


@pytest.mark.parametrize(
    "environment",
    [
        {"LC_ALL": "C", "LANG": "C"},
        {"LC_ALL": "POSIX", "PYTHONIOENCODING": "latin-1"},
        {"LC_ALL": "C.UTF-8"},
        {"LC_ALL": "C", "PYTHONIOENCODING": "ascii", "TERM": "dumb", "COLUMNS": "20"},
    ],
    ids=["C", "latin-1", "UTF-8", "ascii"],
)
def test_any_encoding_of_the_terminal_will_do(folder: Path, environment: dict[str, str]) -> None:
    """Names and units that the encoding lacks are replaced on the screen; the work is the same."""
    name = "nähen 裁縫 \U0001f9f5.svg"
    (folder / name).write_text(PIECES.replace("<g", "<title>裁縫 \U0001f9f5 “½”</title><g", 1), encoding="utf-8")
    ran = process(folder, "look", os.fsencode(name), **environment)
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == b""
    assert b"300.0 mm" in ran.stdout
    lost = process(folder, "look", os.fsencode("ü" + name), **environment)
    assert lost.returncode == 3, lost.stderr
    assert lost.stderr.startswith(b"Error: ")
    assert b"can't be opened" in lost.stderr
    told = process(folder, "look", os.fsencode(name), "--json", **environment)
    assert told.returncode == 0, told.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps names that are no text")
def test_a_name_that_is_no_text_is_read(folder: Path) -> None:
    """File names are bytes there."""
    name = os.fsencode(folder) + b"/mat\xff\xfe.svg"
    Path(os.fsdecode(name)).write_text(PIECES)
    ran = process(folder, "pages", b"mat\xff\xfe.svg", "-o", "out.pdf", "--json")
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["output"] == "out.pdf"


NAMES: list[tuple[str, Callable[[Path], str]]] = [
    ("spaces and emoji", lambda folder: "my patterns \U0001f9f5/Nähkittel (neu).svg"),
    ("a Windows path", lambda folder: "C:\\Users\\me\\smock.svg"),
    ("a reserved name", lambda folder: "CON.svg"),
    ("a dot at the end", lambda folder: "smock..svg"),
    ("its full path", lambda folder: str(folder / "full.svg")),
    ("no ending", lambda folder: "smock"),
    ("capitals", lambda folder: "SMOCK.SVG"),
]


@pytest.mark.parametrize(("what", "named"), NAMES, ids=[name for name, _ in NAMES])
def test_names_of_every_kind_lead_to_pages_named_after_them(
    folder: Path, capsys: pytest.CaptureFixture[str], what: str, named: Callable[[Path], str]
) -> None:
    """The pages lie in the current folder, under the drawing's name."""
    name = named(folder)
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    Path(name).write_text(PIECES, encoding="utf-8")
    assert run(["pages", name, "--json", "-q"]) == 0
    output = json.loads(capsys.readouterr().out)["output"]
    assert output == f"{Path(name).stem}-pages.pdf"
    assert Path(output).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("command", ["look", "pages", "cloth"])
def test_a_pipe_closed_early_ends_without_a_word(folder: Path, command: str) -> None:
    """`pageseam … | head -0`."""
    arguments = [*filled(command, {}), "--json"]
    with subprocess.Popen(
        [sys.executable, "-m", "tiling.commands.main", *arguments], cwd=folder,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as running:  # fmt: skip
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        said = running.stderr.read()
        running.wait()
    for word in (b"Traceback", b"BrokenPipe", b"fault of ours"):
        assert word not in said


def test_a_full_disk_behind_stdout_is_told(folder: Path) -> None:
    """The summary can't be written: that is no success."""
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    with Path("/dev/full").open("wb") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "tiling.commands.main", "look", "mat.svg"], cwd=folder, stdout=full,
            stderr=subprocess.PIPE, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
    assert ran.returncode == 4
    assert b"Traceback" not in ran.stderr
    assert ran.stderr.count(b"\n") == 1


@pytest.mark.skipif(os.name != "posix", reason="closes descriptors as a POSIX shell does")
@pytest.mark.parametrize(("closed", "arguments", "code"), [
    (">&-", "look mat.svg", 0), (">&- 2>&- <&-", "pages mat.svg -o out.pdf", 0), ("2>&-", "look lost.svg", 3),
])  # fmt: skip
def test_closed_streams_are_nobody_to_tell(folder: Path, closed: str, arguments: str, code: int) -> None:
    """The work is done and the code is the same; no written file takes the place of a stream."""
    ran = subprocess.run(
        ["sh", "-c", f'exec "$0" -m tiling.commands.main {arguments} {closed}', sys.executable], cwd=folder,
        capture_output=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert ran.returncode == code, ran.stderr
    assert ran.stderr == b""
    if "out.pdf" in arguments:
        assert Path("out.pdf").read_bytes().rstrip().endswith(b"%%EOF")


def test_progress_is_plain_lines_without_a_terminal(folder: Path) -> None:
    """No carriage return, no escape, at most a few lines."""
    ran = process(folder, "pages", "mat.svg", "--paper", "200x150mm", "-o", "out.pdf")
    assert ran.returncode == 0
    assert b"\r" not in ran.stderr
    assert b"\x1b" not in ran.stderr
    assert ran.stderr.count(b"\n") <= 12
