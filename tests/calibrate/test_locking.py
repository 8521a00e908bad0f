"""A lock keeps others out while its owner lives, and nobody once it was killed, at whatever moment."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from calibrate import locking
from calibrate.locking import held


def test_a_lock_is_gone_afterwards_and_lets_the_next_in(tmp_path: Path) -> None:
    """Nothing is left beside the file."""
    lock = tmp_path / "a.lock"
    for _ in range(2):
        with held(lock):
            assert lock.exists()
    assert list(tmp_path.iterdir()) == []


def test_a_lock_of_a_run_killed_before_it_signed_it_is_taken_over(tmp_path: Path) -> None:
    """Made and still empty after longer than anybody takes to write a name."""
    lock = tmp_path / "a.lock"
    lock.touch()
    long_ago = time.time() - locking.UNSIGNED - 1
    os.utime(lock, (long_ago, long_ago))
    with held(lock, patience=1.0):
        assert lock.stat().st_size
    assert list(tmp_path.iterdir()) == []


def test_a_lock_that_is_being_signed_is_waited_for(tmp_path: Path) -> None:
    """An empty one that is fresh may be somebody's who lives."""
    lock = tmp_path / "a.lock"
    lock.touch()
    with pytest.raises(TimeoutError), held(lock, patience=0.3):
        pass
    assert lock.exists()


@pytest.mark.parametrize("signed", ["", "filelock/break\n1\n"])
def test_what_a_run_left_that_was_killed_while_taking_over_a_lock_is_cleared(tmp_path: Path, signed: str) -> None:
    """The library puts the dead lock aside under a name with its process's number; that process is gone."""
    lock = tmp_path / "a.lock"
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    aside = tmp_path / f"a.lock.break.{gone.pid}.{'ab' * 16}"
    aside.write_text(signed)
    fresh = tmp_path / f"a.lock.break.{gone.pid}.{'cd' * 16}"
    fresh.touch()
    of_who_runs = tmp_path / f"a.lock.break.{os.getpid()}.{'ab' * 16}"
    of_who_runs.touch()
    another = tmp_path / f"b.lock.break.{gone.pid}.{'ab' * 16}"
    another.touch()
    for file in (aside, of_who_runs, another):
        os.utime(file, (time.time() - 2, time.time() - 2))
    with held(lock, patience=1.0):
        pass
    assert set(tmp_path.iterdir()) == {fresh, of_who_runs, another}


def test_names_of_locks_put_aside_are_the_library_s(tmp_path: Path) -> None:
    """Those cleared; another edition of the library may name them otherwise."""
    from filelock._filesystem import break_marker_path

    lock = tmp_path / "a.lock"
    left = Path(break_marker_path(str(lock), 4_000_000_000))
    left.touch()
    os.utime(left, (time.time() - 2, time.time() - 2))
    with held(lock):
        pass
    assert list(tmp_path.iterdir()) == []
