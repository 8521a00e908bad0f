"""A lock keeps others out while its owner lives, and nobody once it was killed, at whatever moment."""

from __future__ import annotations

import os
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
