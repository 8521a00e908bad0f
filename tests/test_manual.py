"""The README and the manual: short enough to be read, complete, and nothing in them leads nowhere."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from tiling.commands.main import run
from tiling.manual import TOPICS, chapter

ROOT = Path(__file__).resolve().parent.parent
MANUAL = ROOT / "tiling" / "manual"
TEXTS = [ROOT / "README.md", *sorted(MANUAL.glob("*.md"))]


def test_the_readme_is_what_a_sewist_reads() -> None:
    """At most a thousand words; the manual has the rest."""
    assert len((ROOT / "README.md").read_text(encoding="utf-8").split()) <= 1100


@pytest.mark.parametrize("text", TEXTS, ids=lambda path: path.name)
def test_every_picture_and_link_is_there(text: Path) -> None:
    """Relative to the file, as a page on the web shows it."""
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", text.read_text(encoding="utf-8")):
        assert (text.parent / target).exists(), target


def test_every_chapter_is_a_topic() -> None:
    """No file without a topic, no topic without a file."""
    assert {path.stem for path in MANUAL.glob("*.md")} == set(TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_help_shows_a_chapter_without_its_pictures(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The words as they stand in the manual."""
    assert run(["help", topic]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith(chapter(topic).split("\n")[0])
    assert ".png" not in re.sub(r"`[^`]*`|```.*?```", "", shown, flags=re.DOTALL)
    assert shown.rstrip().split("\n")[-1] == chapter(topic).rstrip().split("\n")[-1]


def test_help_without_a_topic_lists_them(capsys: pytest.CaptureFixture[str]) -> None:
    """A line each."""
    assert run(["help"]) == 0
    assert [line.split()[2] for line in capsys.readouterr().out.splitlines()] == list(TOPICS)


def test_an_unknown_topic_is_refused_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2."""
    assert run(["help", "alterings"]) == 2
    assert "did you mean altering?" in capsys.readouterr().err


def test_every_command_that_the_texts_name_is_one() -> None:
    """`pageseam WORD` in the README and the manual."""
    from tiling.commands.main import pageseam

    known = {*pageseam.commands, *pageseam.list_commands(None), "COMMAND"}  # type: ignore[arg-type]
    for text in TEXTS:
        named = re.findall(r"(?<![\w/.])pageseam ([a-zA-Z]+)", text.read_text(encoding="utf-8"))
        assert {name for name in named if name.islower() or name == "COMMAND"} - known <= {"stands", "cuts", "takes"}


def test_the_example_for_python_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As it stands, on the sample with its notes beside it."""
    for name in ("potting-smock.svg", "potting-smock.toml"):
        (tmp_path / name).write_bytes((ROOT / "samples" / name).read_bytes())
    monkeypatch.chdir(tmp_path)
    (example,) = re.findall(r"```python\n(.*?)```", chapter("programs"), re.DOTALL)
    exec(compile(example, "programs.md", "exec"), {})
    assert re.match(r".+: \d+ x \d+ mm\n", capsys.readouterr().out)
    assert (tmp_path / "smock-letter.pdf").read_bytes().startswith(b"%PDF")


def test_the_example_from_measures_to_cloth_is_what_happens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line shown below a command of the chapter on cloth is printed by it, whatever the columns' widths."""
    for end in ("svg", "toml"):
        (tmp_path / f"potting-smock.{end}").write_bytes((ROOT / "samples" / f"potting-smock.{end}").read_bytes())
    monkeypatch.chdir(tmp_path)
    example = chapter("cloth").partition("```console\n")[2].partition("```")[0]
    for said in example.split("$ pageseam ")[1:]:
        command, *shown = said.splitlines()
        assert run(shlex.split(command)) == 0
        printed = {" ".join(line.split()) for line in capsys.readouterr().out.splitlines()}
        assert [line for line in shown if line.strip() != "..." and " ".join(line.split()) not in printed] == []
