"""Names that steer terminals, turn the writing round or lead elsewhere: shown harmlessly, followed nowhere."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.hostile.conftest import Command

TURN = "\u202e"
"""Right-to-left override (Unicode 15, section 23.2)."""
LINE = '<path d="M5 5L190 95" stroke="#000" fill="none"/>'
STRANGE = [
    "two words.svg", "Näh-Kittel ünïcode.svg", "\U0001f9f5 thread.svg", f"kit{TURN}gvs.exe.svg", "a\x1b[31mred.svg",
    "tab\there.svg", "line\nbreak.svg", "-q.svg", "C:\\pattern\\smock.svg", "con.svg", "'quoted' \"twice\".svg",
    "%s%n{0}.svg", "x" * 180 + ".svg",
]  # fmt: skip


def svg(body: str = LINE) -> str:
    """A drawing larger than one page."""
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:i="http://www.inkscape.org/namespaces/inkscape"'
    return f'<svg {space} width="400mm" height="200mm" viewBox="0 0 200 100">{body}</svg>'


def harmless(text: str) -> bool:
    """Only line breaks and printable characters."""
    return all(c.isprintable() or c == "\n" for c in text) and TURN not in text


def strings_of(pdf: Path) -> list[str]:
    """What the file shows as names: title, outline, page labels, words on the pages."""
    reader = PdfReader(pdf)
    found = [str(reader.metadata.title) if reader.metadata else "", *reader.page_labels]

    def walk(entries: list) -> None:
        for entry in entries:
            if isinstance(entry, list):
                walk(entry)
            else:
                found.append(str(entry.title))

    walk(reader.outline)
    return found + [page.extract_text() for page in reader.pages[:2]]


@pytest.mark.parametrize("name", STRANGE, ids=range(len(STRANGE)))
def test_a_drawing_of_any_name_is_read_and_printed(tmp_path: Path, command: Command, name: str) -> None:
    """Its name is never run, followed or shown as it is where it would steer a terminal."""
    (tmp_path / name).write_text(svg())
    ran = command(["pages", "--", f"{name}"]) if name.startswith("-") else command(["pages", name])
    assert ran.code == 0, ran.err
    assert harmless(ran.err), ran.err
    assert harmless(ran.out), ran.out
    made = [p for p in tmp_path.iterdir() if p.name.endswith("-pages.pdf")]
    assert len(made) == 1
    # NUL is what the library reads for a sign that the printed font lacks.
    assert all(harmless(text.replace("\0", "")) for text in strings_of(made[0]))
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([name, made[0].name])


def test_a_missing_file_of_a_strange_name_is_told_on_one_line(command: Command) -> None:
    """The message shows the name with its control characters replaced."""
    ran = command(["look", f"a\x1b]0;x\x07\n{TURN}b.svg"])
    assert ran.code == 3
    assert ran.err.count("\n") == 1
    assert harmless(ran.err)


def test_labels_with_strange_characters_reach_no_message_name_or_outline(tmp_path: Path, command: Command) -> None:
    """Titles, layers, pieces and lines named to steer terminals or to look like paths."""
    body = (
        f'<title>a{TURN}b&#x85;../../c</title><g i:groupmode="layer" i:label="{TURN}gnp.exe/../x&#9;&#x9b;31m">'
        f'<g class="piece" id="../..{TURN}/p" data-title="&#x2066;x&#10;y/../z">'
        f'<path class="cutting-line" data-name="a{TURN}b" d="M5 5L190 5L100 95z" stroke="#000" fill="none"/></g></g>'
    )
    (tmp_path / "named.svg").write_text(svg(body))
    before = set(tmp_path.iterdir())
    for arguments in ("look named.svg", "look named.svg --layer none\x1b", "pages named.svg -o out.pdf"):
        ran = command(arguments.split(" "))
        assert ran.code in {0, 3}, ran.err
        assert harmless(ran.out), ran.out
        assert harmless(ran.err), ran.err
    assert {p.name for p in set(tmp_path.iterdir()) - before} == {"out.pdf"}
    assert all(harmless(text) for text in strings_of(tmp_path / "out.pdf"))


def test_json_keeps_any_name_readable_by_machines(tmp_path: Path, command: Command) -> None:
    """Control characters are escaped, so that the name comes back as it was and the terminal sees none."""
    name = "a\x1b[31m.svg"
    (tmp_path / name).write_text(svg())
    ran = command(["pages", name, "--json", "-q", "-o", "b\x07.pdf"])
    assert ran.code == 0, ran.err
    assert json.loads(ran.out)["output"] == "b\x07.pdf"
    assert all(c.isprintable() or c == "\n" for c in ran.out)


def test_a_title_of_a_megabyte_stays_bearable(tmp_path: Path, command: Command) -> None:
    """Printed on every page and named in the outline, it is cut."""
    (tmp_path / "long.svg").write_text(svg(f"<title>{'long ' * 200_000}</title>{LINE}"))
    ran = command(["pages", "long.svg", "-o", "out.pdf"])
    assert ran.code == 0, ran.err
    assert len(ran.out) < 5000
    assert all(len(text) < 5000 for text in strings_of(tmp_path / "out.pdf"))


def test_links_as_output_are_followed_never_replaced(tmp_path: Path, command: Command) -> None:
    """A link keeps its place; a link to a folder, to an input or to nothing in a missing folder is refused."""
    (tmp_path / "d.svg").write_text(svg())
    (tmp_path / "real.pdf").write_bytes(b"old")
    (tmp_path / "link.pdf").symlink_to("real.pdf")
    (tmp_path / "input.pdf").symlink_to("d.svg")
    (tmp_path / "folder.pdf").symlink_to(tmp_path)
    (tmp_path / "lost.pdf").symlink_to("none/x.pdf")
    (tmp_path / "round.pdf").symlink_to("round.pdf")
    assert command(["pages", "d.svg", "-q", "-o", "link.pdf"]).code == 4
    assert (tmp_path / "real.pdf").read_bytes() == b"old"
    assert command(["pages", "d.svg", "-q", "-o", "link.pdf", "--force"]).code == 0
    assert (tmp_path / "link.pdf").is_symlink()
    assert (tmp_path / "real.pdf").read_bytes().startswith(b"%PDF")
    for name in ("input.pdf", "folder.pdf", "lost.pdf", "round.pdf"):
        ran = command(["pages", "d.svg", "-q", "-o", name, "--force"])
        assert ran.code == 4, (name, ran.err)
        assert len(ran.errors) == 1
    assert (tmp_path / "d.svg").read_text() == svg()
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="makes a named pipe")
def test_a_pipe_or_a_device_is_neither_drawing_nor_output(tmp_path: Path, command: Command) -> None:
    """Nothing waits for a pipe that nobody writes to."""
    os.mkfifo(tmp_path / "pipe.svg")
    os.mkfifo(tmp_path / "pipe.pdf")
    (tmp_path / "d.svg").write_text(svg())
    assert command(["look", "pipe.svg"]).code == 3
    assert command(["pages", "d.svg", "-o", "pipe.pdf", "--force"]).code == 4
    assert command(["look", "/dev/zero"]).code == 3
