"""Files as names and bytes: what is read, what is refused, and what is never opened."""

from __future__ import annotations

import os
import pickle
from pathlib import Path

import pytest

from tiling.failures import InputUnfit
from tiling.files.inputs import Folder, InputFile, InputKind, NotRead, read_input, read_notes_for


def test_a_file_keeps_the_name_it_was_given_and_all_its_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also with folders in the name; its last part and its stem are told apart from them."""
    monkeypatch.chdir(tmp_path)
    Path("shed").mkdir()
    Path("shed/mat.v2.svg").write_bytes(b"<svg/>")
    file = read_input(Path("shed/mat.v2.svg"))
    assert (file.name, file.content) == (str(Path("shed/mat.v2.svg")), b"<svg/>")
    assert (file.file_name, file.stem) == ("mat.v2.svg", "mat.v2")


def test_an_input_goes_to_another_process(tmp_path: Path) -> None:
    """With what lies beside it."""
    (tmp_path / "mat.svg").write_bytes(b"<svg/>")
    (tmp_path / "leaf.png").write_bytes(b"leaf")
    file = pickle.loads(pickle.dumps(read_input(tmp_path / "mat.svg")))
    assert file.neighbours.read("leaf.png") == b"leaf"


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        (InputKind.DRAWING, "can't be opened (No such file or directory); check the name and its rights."),
        (InputKind.NOTES, "the notes can't be opened (No such file or directory); check the name."),
        (InputKind.PRINTED, "can't be read (No such file or directory)."),
        (InputKind.PHOTO, "there is no such file; check the name"),
    ],
)
def test_a_missing_file_is_told(tmp_path: Path, kind: InputKind, says: str) -> None:
    """With its name, the cause and what to look at."""
    with pytest.raises(InputUnfit) as refused:
        read_input(tmp_path / "lost", kind)
    assert str(refused.value) == f"{tmp_path / 'lost'}: {says}"


@pytest.mark.parametrize("kind", InputKind)
def test_what_is_no_file_is_never_waited_for(tmp_path: Path, kind: InputKind) -> None:
    """A folder, and a pipe that nobody writes to."""
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path, tmp_path / "pipe"):
        with pytest.raises(InputUnfit, match=r"is no file|is a folder|is a pipe"):
            read_input(path, kind)


def test_an_empty_drawing_is_refused_and_empty_notes_are_notes(tmp_path: Path) -> None:
    """Notes may hold nothing yet."""
    (tmp_path / "mat.svg").touch()
    (tmp_path / "mat.toml").touch()
    with pytest.raises(InputUnfit, match="the file is empty"):
        read_input(tmp_path / "mat.svg")
    assert [file.content for file in read_notes_for([tmp_path / "mat.svg"])] == [b""]


def test_notes_lie_beside_a_drawing_or_not_at_all(tmp_path: Path) -> None:
    """A folder of that name is none; drawings that share a name share their notes; what is named must be there."""
    drawings = [tmp_path / "mat.svg", tmp_path / "mat.pdf", tmp_path / "bag.svg"]
    (tmp_path / "bag.toml").mkdir()
    assert read_notes_for(drawings) == ()
    (tmp_path / "mat.toml").touch()
    assert [file.file_name for file in read_notes_for(drawings)] == ["mat.toml"]
    with pytest.raises(InputUnfit, match="the notes can't be opened"):
        read_notes_for(drawings, tmp_path / "lost.toml")


def test_a_file_that_is_written_while_it_is_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its bytes may belong to two drawings."""
    path = tmp_path / "mat.svg"
    path.write_bytes(b"<svg/>")
    real = os.fstat
    asked = []

    def saved_meanwhile(handle: int) -> os.stat_result:
        found = real(handle)
        if found.st_ino == path.stat().st_ino:
            asked.append(handle)
            path.write_bytes(b"<svg></svg>")
        return found

    monkeypatch.setattr(os, "fstat", saved_meanwhile)
    with pytest.raises(InputUnfit, match="was changed while it was read"):
        read_input(path)
    assert asked


def test_neighbours_lie_in_the_folder_or_below(tmp_path: Path) -> None:
    """Names, absolute paths and links that lead out are refused; so is what is no file."""
    folder = tmp_path / "drawing"
    (folder / "pictures").mkdir(parents=True)
    (folder / "pictures" / "leaf.png").write_bytes(b"leaf")
    secret = tmp_path / "secret.png"
    secret.write_bytes(b"secret")
    (folder / "link.png").symlink_to(secret)
    beside = Folder(folder)
    assert beside.read("pictures/leaf.png") == b"leaf"
    for name in ("../secret.png", str(secret), "link.png"):
        assert beside.read(name) is NotRead.OUTSIDE
    assert beside.read("lost.png") is NotRead.ABSENT
    assert beside.read("pictures") is NotRead.ABSENT
    assert beside.read("a\0b") is NotRead.UNREADABLE


def test_an_input_without_a_folder_has_no_neighbours() -> None:
    """Bytes that came from elsewhere open nothing of this machine."""
    assert InputFile("mat.svg", b"").neighbours.read("/etc/hostname") is NotRead.ABSENT
