"""A set of files whose run was killed half way is settled by whoever reads or writes there next."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tiling.files.inputs import InputKind, read_input
from tiling.files.publish import Publication, publish_all
from tiling.files.sets import identity_of, settle_dead_sets

NAMES = ("new.svg", "new.toml", "new.png")
KILLED = """
import os, signal, sys
from pathlib import Path
from tiling.files import publish
done = 0
place = publish._put_in_place
def placed(placing):
    global done
    if done == {after}:
        os.kill(os.getpid(), signal.SIGKILL)
    place(placing)
    done += 1
    if done == {after} == 3:
        os.kill(os.getpid(), signal.SIGKILL)
publish._put_in_place = placed
publish.publish_all([publish.Publication(Path(n), b"new", True) for n in {names!r}])
"""

pytestmark = pytest.mark.skipif(os.name == "nt", reason="processes are killed by a signal")


def killed_after(folder: Path, moves: int) -> None:
    """A run that is killed when so many of its three files are in place."""
    code = KILLED.format(after=moves, names=NAMES)
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env={**os.environ, "PYTHONPATH": _here()}, check=False
    )
    assert ran.returncode == -signal.SIGKILL


def _here() -> str:
    return str(Path(__file__).resolve().parents[2])


def contents(folder: Path) -> list[bytes | None]:
    """Of each file of the set, None where there is none."""
    return [(folder / name).read_bytes() if (folder / name).exists() else None for name in NAMES]


@pytest.mark.parametrize("moves", [0, 1, 2, 3])
def test_a_torn_set_is_the_earlier_one_again_when_it_is_next_read(tmp_path: Path, moves: int) -> None:
    """Whatever was in place when the run was killed; two files were there before, one was not."""
    for name in NAMES[:2]:
        (tmp_path / name).write_bytes(b"old")
    killed_after(tmp_path, moves)
    assert contents(tmp_path)[:moves] == [b"new"] * moves
    assert read_input(tmp_path / NAMES[0], InputKind.DRAWING).content == b"old"
    assert contents(tmp_path) == [b"old", b"old", None]


@pytest.mark.parametrize("moves", [1, 2])
def test_the_next_run_finds_the_earlier_set_and_leaves_nothing_behind(tmp_path: Path, moves: int) -> None:
    """What was the first run's is cleared with it."""
    for name in NAMES:
        (tmp_path / name).write_bytes(b"old")
    killed_after(tmp_path, moves)
    publish_all([Publication(tmp_path / "other.txt", b"other")])
    assert contents(tmp_path) == [b"old"] * 3
    publish_all([Publication(tmp_path / name, b"newer", force=True) for name in NAMES])
    assert contents(tmp_path) == [b"newer"] * 3
    assert {file.name for file in tmp_path.iterdir()} == {*NAMES, "other.txt"}


def test_what_somebody_changed_after_the_kill_stays(tmp_path: Path) -> None:
    """Only the killed run's own files are taken back."""
    for name in NAMES:
        (tmp_path / name).write_bytes(b"old")
    killed_after(tmp_path, 2)
    (tmp_path / NAMES[0]).unlink()
    (tmp_path / NAMES[0]).write_bytes(b"mine")
    settle_dead_sets(tmp_path)
    assert contents(tmp_path) == [b"mine", b"old", b"old"]


@pytest.mark.parametrize("told", [b"", b"{}", b"[1]", b'[{"target": 1}]'])
def test_a_journal_that_is_not_whole_says_that_nothing_moved(tmp_path: Path, told: bytes) -> None:
    """The run was killed while it wrote it."""
    killed_after(tmp_path, 0)
    (journal,) = tmp_path.glob(".*.pageseam-set")
    journal.write_bytes(told)
    settle_dead_sets(tmp_path)
    assert not journal.exists()
    assert contents(tmp_path) == [None] * 3


def test_a_forged_journal_moves_no_file_of_the_persons(tmp_path: Path) -> None:
    """It may speak of its own folder and of parts alone."""
    killed_after(tmp_path, 0)
    (journal,) = tmp_path.glob(".*.pageseam-set")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    mine, other = elsewhere / "mine.txt", elsewhere / "other.txt"
    mine.write_bytes(b"mine")
    other.write_bytes(b"other")
    told = [{"target": str(mine), "kept": str(other), "identity": list(identity_of(mine))}]
    journal.write_text(json.dumps(told))
    settle_dead_sets(tmp_path)
    assert (mine.read_bytes(), other.read_bytes()) == (b"mine", b"other")


def test_the_journal_of_a_run_that_is_alive_is_left_alone(tmp_path: Path) -> None:
    """Another run may be reading while this one publishes."""
    killed_after(tmp_path, 1)
    (journal,) = tmp_path.glob(".*.pageseam-set")
    head, _, tail = journal.name.rpartition(".pageseam-set")[0].rpartition("-")
    host = head.rpartition("-")[0]
    alive = journal.rename(tmp_path / f"{host}-{os.getpid()}-{tail}.pageseam-set")
    settle_dead_sets(tmp_path)
    assert alive.exists()
    assert contents(tmp_path)[0] == b"new"
