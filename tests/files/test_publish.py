"""Publishing: the destination is whole before and after, whatever happens in between."""

from __future__ import annotations

import errno
import multiprocessing
import os
import subprocess
import sys
from multiprocessing.queues import SimpleQueue
from multiprocessing.synchronize import Event
from pathlib import Path

import pytest

from tests.rights import all_powerful
from tiling.failures import OutputRefused
from tiling.files.destination import check_destination
from tiling.files.parts import part_name
from tiling.files.publish import Publication, publish, publish_all

pytestmark = pytest.mark.rights
ROOT = Path(__file__).resolve().parents[2]


def leftovers(folder: Path) -> list[str]:
    """Names of hidden files in the folder."""
    return [p.name for p in folder.iterdir() if p.name.startswith(".")]


def test_no_files_are_published_without_more_ado() -> None:
    """A command whose outputs weren't asked for publishes none."""
    publish_all([])


def test_a_new_file_appears_whole_with_the_usual_rights(tmp_path: Path) -> None:
    """The mode follows the umask, not the temporary's maker."""
    target = tmp_path / "out.pdf"
    before = os.umask(0o027)
    try:
        publish(target, b"content")
    finally:
        os.umask(before)
    assert target.read_bytes() == b"content"
    assert target.stat().st_mode & 0o777 == 0o640
    assert leftovers(tmp_path) == []


@pytest.mark.parametrize("moment", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str) -> None:
    """ENOSPC while writing or while moving into place: one message, nothing changed, nothing left."""
    target = tmp_path / "out.pdf"
    target.write_bytes(b"old")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    if moment == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    else:
        monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputRefused, match="disk is full"):
        publish(target, b"new", force=True)
    assert target.read_bytes() == b"old"
    assert leftovers(tmp_path) == []


def killed_run(folder: Path) -> int:
    """Let a process write a part of a file in the folder and lock it, and kill it; its number."""
    code = (
        "import pathlib, sys, time, filelock; from tiling.files.parts import lock_name, part_name;"
        "folder = pathlib.Path(sys.argv[1]); (folder / part_name('other.pdf')).write_bytes(b'half');"
        "lock = filelock.SoftFileLock(folder / lock_name('out.pdf')); lock.acquire();"
        "print('there', flush=True); time.sleep(60)"
    )
    process = subprocess.Popen([sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE, cwd=ROOT)
    assert process.stdout is not None
    with process.stdout:
        assert process.stdout.readline().strip() == b"there"
        process.kill()
        process.wait()
    return process.pid


def test_what_a_killed_run_left_is_cleared_by_the_next_in_that_folder(tmp_path: Path) -> None:
    """Its parts, of whatever file, and its lock; the parts of a run that is alive stay."""
    killed_run(tmp_path)
    own = tmp_path / part_name("mine.pdf")
    own.write_bytes(b"in work")
    assert len(leftovers(tmp_path)) == 3
    publish(tmp_path / "out.pdf", b"new")
    assert (tmp_path / "out.pdf").read_bytes() == b"new"
    assert leftovers(tmp_path) == [own.name]


def test_a_file_that_came_meanwhile_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without force nothing is replaced, also what appeared after the destination was looked at."""
    target = tmp_path / "out.pdf"
    check_destination(target, force=False)

    def written_by_somebody_else_too(_: int) -> None:
        target.write_bytes(b"theirs")

    monkeypatch.setattr(os, "fsync", written_by_somebody_else_too)
    with pytest.raises(OutputRefused, match="exists already"):
        publish(target, b"ours")
    assert target.read_bytes() == b"theirs"
    assert leftovers(tmp_path) == []


def test_where_a_file_cannot_have_two_names_nothing_is_replaced_either(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a memory stick: the name is taken first, and what is there stays."""

    def no_links(*_: object, **__: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    target = tmp_path / "out.pdf"
    publish(target, b"new")
    with pytest.raises(OutputRefused, match="exists already"):
        publish(target, b"newer")
    assert target.read_bytes() == b"new"
    publish(target, b"newest", force=True)
    assert target.read_bytes() == b"newest"
    assert leftovers(tmp_path) == []


def test_a_set_is_put_in_place_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the last of three can't be put in place, the first two are as they were: one old, one not there."""
    old, new, last = tmp_path / "a.svg", tmp_path / "b.toml", tmp_path / "c.png"
    old.write_bytes(b"old")
    replace = Path.replace

    def fails_for_the_last(part: Path, target: Path) -> Path:
        if target.name == last.name:
            raise OSError(errno.EIO, "Input/output error")
        return replace(part, target)

    monkeypatch.setattr(Path, "replace", fails_for_the_last)
    with pytest.raises(OutputRefused, match="Nothing was changed"):
        publish_all([Publication(path, b"set", force=True) for path in (old, new, last)])
    assert old.read_bytes() == b"old"
    assert not new.exists()
    assert not last.exists()
    assert leftovers(tmp_path) == []


def test_the_rule_about_files_that_are_there_holds_for_each_of_a_set(tmp_path: Path) -> None:
    """One that may not be replaced stops them all."""
    first, second = tmp_path / "a.svg", tmp_path / "b.toml"
    second.write_bytes(b"mine")
    with pytest.raises(OutputRefused, match=r"b\.toml: exists already"):
        publish_all([Publication(first, b"set", force=True), Publication(second, b"set")])
    assert second.read_bytes() == b"mine"
    assert not first.exists()


def publish_set(folder: Path, letter: str, start: Event, ended: SimpleQueue[tuple[str, bool]]) -> None:
    """Publish two files full of one letter at the moment that all do."""
    content = letter.encode() * 100_000
    start.wait()
    try:
        publish_all([Publication(folder / name, content) for name in ("a.svg", "b.toml")])
        ended.put((letter, True))
    except OutputRefused as refused:
        ended.put((letter, "exists already" not in str(refused)))


@pytest.mark.parametrize("trial", range(4))
def test_of_runs_at_once_on_one_set_exactly_one_publishes_and_its_bytes_stand(tmp_path: Path, trial: int) -> None:
    """No mixture, no bytes of a run that said nothing was changed, nothing left."""
    context = multiprocessing.get_context("spawn" if trial == 0 else "fork")
    start, ended = context.Event(), context.SimpleQueue()
    processes = [context.Process(target=publish_set, args=(tmp_path, letter, start, ended)) for letter in "abcdef"]
    for process in processes:
        process.start()
    start.set()
    for process in processes:
        process.join()
    done = [letter for letter, published in (ended.get() for _ in processes) if published]
    assert len(done) == 1
    for name in ("a.svg", "b.toml"):
        assert (tmp_path / name).read_bytes() == done[0].encode() * 100_000
    assert leftovers(tmp_path) == []


def test_a_replaced_file_keeps_its_rights(tmp_path: Path) -> None:
    """What was private stays private."""
    target = tmp_path / "out.pdf"
    target.write_bytes(b"old")
    target.chmod(0o600)
    publish(target, b"new", force=True)
    assert target.stat().st_mode & 0o777 == 0o600


def test_the_longest_name_that_a_file_system_takes_is_published(tmp_path: Path) -> None:
    """Our own part's and lock's names are shortened, not refused."""
    target = tmp_path / f"{'n' * 251}.pdf"
    publish(target, b"new")
    assert target.read_bytes() == b"new"
    assert leftovers(tmp_path) == []


def test_a_link_to_nothing_is_there_already(tmp_path: Path) -> None:
    """It is not written through unless that was asked for."""
    link = tmp_path / "link.pdf"
    link.symlink_to(tmp_path / "elsewhere.pdf")
    with pytest.raises(OutputRefused, match="exists already"):
        check_destination(link, force=False)


def test_a_link_as_output_keeps_the_link_and_replaces_its_target(tmp_path: Path) -> None:
    """The person linked the name on purpose."""
    real, link = tmp_path / "real.pdf", tmp_path / "link.pdf"
    real.write_bytes(b"old")
    link.symlink_to(real)
    publish(link, b"new", force=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_a_link_laid_at_the_temporary_name_is_not_written_through(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A prepared link can't make us overwrite another file."""
    victim = tmp_path / "victim"
    victim.write_bytes(b"precious")
    monkeypatch.setattr("tiling.files.publish.part_name", lambda name: f".{name}.part")
    (tmp_path / ".out.pdf.part").symlink_to(victim)
    with pytest.raises(OutputRefused):
        publish(tmp_path / "out.pdf", b"new")
    assert victim.read_bytes() == b"precious"


def test_refusals_before_any_work(tmp_path: Path) -> None:
    """Missing folder, folder as file, input as output, existing file without --force: each says what to do."""
    source = tmp_path / "in.svg"
    source.write_text("x")
    with pytest.raises(OutputRefused, match="does not exist"):
        check_destination(tmp_path / "none" / "out.pdf", force=False)
    with pytest.raises(OutputRefused, match="is a folder"):
        check_destination(tmp_path, force=True)
    with pytest.raises(OutputRefused, match="input of this run"):
        check_destination(source, force=True, inputs=[source])
    with pytest.raises(OutputRefused, match="exists already"):
        check_destination(source, force=False)
    check_destination(source, force=True)
    check_destination(tmp_path / "new.pdf", force=False)


def test_a_name_that_ends_as_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    """A PDF is not written under the name of a drawing or a picture; capitals and names without an ending will do."""
    with pytest.raises(OutputRefused, match=r"let the name end in \.pdf or \.png"):
        check_destination(tmp_path / "lay.svg", force=True, endings=[".pdf", ".png"])
    for name in ("lay.PDF", "lay.png", "lay"):
        check_destination(tmp_path / name, force=False, endings=[".pdf", ".png"])


@pytest.mark.skipif(os.name != "posix" or all_powerful(), reason="the superuser may write anywhere")
@pytest.mark.parametrize("first", [0, 1])
def test_of_a_set_nothing_is_published_where_one_folder_may_not_be_written_to(tmp_path: Path, first: int) -> None:
    """Whichever of its files that is; a file that may not be written itself is replaced, as its folder allows."""
    places = [tmp_path / "open" / "new.svg", tmp_path / "locked" / "new.toml"]
    for place in places:
        place.parent.mkdir()
        place.write_bytes(b"old")
        place.chmod(0o444)
    (tmp_path / "locked").chmod(0o555)
    order = places if first == 0 else places[::-1]
    try:
        with pytest.raises(OutputRefused, match="may not be written here"):
            publish_all([Publication(place, b"new", force=True) for place in order])
        assert [place.read_bytes() for place in places] == [b"old", b"old"]
        assert leftovers(tmp_path / "open") == leftovers(tmp_path / "locked") == []
    finally:
        (tmp_path / "locked").chmod(0o755)
    publish_all([Publication(place, b"new", force=True) for place in order])
    assert [place.read_bytes() for place in places] == [b"new", b"new"]
