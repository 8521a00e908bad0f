"""What holds for every job: bytes in, values out, nothing written; called off; one at a time, two in two processes."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from multiprocessing.synchronize import Barrier
from pathlib import Path

import pytest

import tiling
from calibrate.run import Cancelled, Run
from tests.operations.jobs import JOBS, do, made_by
from tiling.operations.turn_taking import one_at_a_time

ROOT = Path(__file__).resolve().parents[2]


def test_every_operation_works_from_bytes_without_click_and_writes_no_file(tmp_path: Path) -> None:
    """In a process of its own, where importing click and opening any file to write it fail."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "HOME": str(tmp_path), "PAGESEAM_HOME": str(tmp_path)}
    ran = subprocess.run(
        [sys.executable, "-B", "-m", "tests.operations.jobs"],
        capture_output=True, text=True, check=False, cwd=tmp_path, env=environment,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.splitlines() == [
        "look: smock.png",
        "read lines: lines.toml: lines.png",
        "make pages: smock-pages.pdf",
        "arrange: pages.pdf",
        "make test page: testpage.pdf",
        "measure printer",
        "alter: altered.svg: altered.toml: change.png",
        "reprint: changed.pdf",
        "plan cloth: lay.pdf",
        "write guide: guide.pdf",
    ]
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("event", ["open", "os.rename", "os.mkdir"])
def test_that_watch_sees_a_file_written(tmp_path: Path, event: str) -> None:
    """The audit that the test above relies on, and that click is out of reach."""
    acts = {"open": "open('x', 'w')", "os.rename": "os.rename('a', 'b')", "os.mkdir": "os.mkdir('d')"}
    code = f"import os, sys, tests.operations.jobs as j; sys.addaudithook(j._refuse_to_write); {acts[event]}"
    ran = subprocess.run(
        [sys.executable, "-B", "-c", code],
        capture_output=True, text=True, check=False, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert "PermissionError" in ran.stderr


@pytest.mark.parametrize("name", [name for name in JOBS if name != "measure printer"])
def test_every_operation_ends_where_it_is_called_off(name: str) -> None:
    """At its start, after a quarter and after half of the times that it asks."""
    asked = [0]

    def count() -> bool:
        asked[0] += 1
        return False

    do(name, Run(cancelled=count))
    in_all = asked[0]
    assert in_all > 1
    for after in {0, in_all // 4, in_all // 2}:
        asked[0] = 0

        def called_off(after: int = after) -> bool:
            return count() or asked[0] > after

        with pytest.raises(Cancelled):
            do(name, Run(cancelled=called_off))


@pytest.mark.parametrize("name", JOBS)
def test_results_go_from_one_process_to_another(name: str) -> None:
    """A worker can hand them back, whole."""
    result = do(name)
    assert made_by(pickle.loads(pickle.dumps(result))) == made_by(result)


_meeting: list[Barrier] = []


def _meet(barrier: Barrier) -> None:
    _meeting.append(barrier)


def _do_at_once(name: str) -> list[tiling.Artifact]:
    _meeting[0].wait(60)
    return made_by(do(name))


def test_two_operations_run_in_two_processes_at_once() -> None:
    """Each gives what it gives alone, byte for byte."""
    context = get_context("spawn")
    barrier = context.Barrier(2)
    names = ["make pages", "alter"]
    with ProcessPoolExecutor(2, context, initializer=_meet, initargs=(barrier,)) as workers:
        together = list(workers.map(_do_at_once, names))
    assert together == [made_by(do(name)) for name in names]


def test_a_second_operation_in_a_process_waits_for_the_first() -> None:
    """Another thread's begins when the first has ended; while it waits it can be called off."""
    started, go_on, order = threading.Event(), threading.Event(), []

    @one_at_a_time
    def first(_: str, run: Run) -> None:
        started.set()
        assert go_on.wait(60)
        order.append("first")

    @one_at_a_time
    def second(_: str, run: Run) -> None:
        order.append("second")

    one = threading.Thread(target=first, args=("",))
    one.start()
    assert started.wait(60)
    with pytest.raises(Cancelled):
        second("", Run(cancelled=lambda: True))
    other = threading.Thread(target=second, args=("",))
    other.start()
    assert order == []
    go_on.set()
    one.join(60)
    other.join(60)
    assert order == ["first", "second"]


def test_an_operation_that_failed_leaves_the_turn_to_the_next() -> None:
    """And one may call another."""

    @one_at_a_time
    def inner(text: str, run: Run) -> str:
        if not text:
            raise ValueError
        return text

    @one_at_a_time
    def outer(text: str, run: Run) -> str:
        return inner(text, run)

    with pytest.raises(ValueError, match=r"^$"):
        outer("")
    result: list[str] = []
    thread = threading.Thread(target=lambda: result.append(outer("done")))
    thread.start()
    thread.join(60)
    assert result == ["done"]


def test_a_forked_process_is_not_kept_waiting_by_a_thread_it_does_not_have() -> None:
    """The turn that another thread held when the process was forked belongs to nobody in the new one."""
    if not hasattr(os, "fork"):
        pytest.skip("no fork here")
    code = """
import os, threading
from tiling.operations.turn_taking import one_at_a_time
started, go_on = threading.Event(), threading.Event()
@one_at_a_time
def hold(request, run):
    started.set()
    go_on.wait(60)
@one_at_a_time
def work(request, run):
    return 7
thread = threading.Thread(target=hold, args=("",))
thread.start()
started.wait(60)
child = os.fork()
if child == 0:
    os._exit(work(""))
ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
go_on.set()
thread.join()
raise SystemExit(ended)
"""
    ran = subprocess.run(
        [sys.executable, "-c", code], check=False, timeout=120, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    assert ran.returncode == 7
