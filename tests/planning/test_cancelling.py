"""Searches that are called off: from another thread or process they end at once, and leave no process behind.

Each would run for minutes. What is asserted of the clock is that it doesn't, by a wide margin.
"""

from __future__ import annotations

import json
import multiprocessing
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from time import monotonic
from typing import Any

import numpy as np
import pytest

from calibrate.run import Cancelled, Run
from tests.planning.drawings import smock_like
from tiling.cloth.cloth_choice import ClothChoice
from tiling.cloth.lay_pieces import Layers, LayPiece
from tiling.cloth.lay_plan import lay
from tiling.cloth.lay_search import Effort
from tiling.planning import packing, strip_solver
from tiling.planning.arrange import ArrangeOptions, arrange
from tiling.planning.packing import PackItem, PackOptions, pack
from tiling.planning.papers import paper_named
from tiling.planning.planner import PlanOptions

BUDGET = 600
"""Seconds that a search may take."""

GENEROUS = 60.0
"""Seconds in which the slowest machine has ended one that was called off after two."""

PIECES = [np.array([(0.0, 0.0), (90.0 + n, 0.0), (50.0, 200.0 - n)]) for n in range(12)]


def packed(run: Run) -> object:
    """Twelve triangles on a strip."""
    items = [PackItem(str(n), outline, 3, None) for n, outline in enumerate(PIECES)]
    return pack(items, PackOptions(500.0, seconds=BUDGET), run)


def arranged(run: Run) -> object:
    """A smock on A4."""
    return arrange(smock_like(), PlanOptions(paper_named("a4")), ArrangeOptions(seconds=BUDGET), run=run)


def laid(run: Run) -> object:
    """Twelve triangles on cloth."""
    pieces = [LayPiece(str(n), "", 1, 1, False, Layers.SINGLE, outline) for n, outline in enumerate(PIECES)]
    return lay("main", pieces, ClothChoice(500.0), Effort(BUDGET), run)


def call_off(searching: Any, wish: Any) -> None:
    """What the other process does."""
    searching.wait()
    wish.set()


@pytest.fixture
def solvers(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[subprocess.Popen[bytes]]]:
    """The solver processes that were started; none may be left."""
    started: list[subprocess.Popen[bytes]] = []
    popen = subprocess.Popen

    def noted(*args: Any, **options: Any) -> subprocess.Popen[bytes]:
        started.append(popen(*args, **options))
        return started[-1]

    monkeypatch.setattr(packing.subprocess, "Popen", noted)
    yield started
    assert started and all(process.poll() is not None for process in started)


@pytest.mark.parametrize("search", [packed, arranged, laid])
def test_another_thread_calls_a_search_off(
    search: Callable[[Run], object], solvers: list[subprocess.Popen[bytes]]
) -> None:
    """From this thread the wish comes, in another one the search runs, where no signal reaches it."""
    wish, ended = threading.Event(), []

    def work() -> None:
        try:
            search(Run(cancelled=wish.is_set))
        except Cancelled:
            ended.append(monotonic())

    start, worker = monotonic(), threading.Thread(target=work)
    worker.start()
    while not solvers and worker.is_alive():
        worker.join(0.05)
    wish.set()
    worker.join(GENEROUS)
    assert len(ended) == 1 and ended[0] - start < GENEROUS


@pytest.mark.parametrize("search", [arranged, laid])
def test_another_process_calls_a_search_off(
    search: Callable[[Run], object], solvers: list[subprocess.Popen[bytes]]
) -> None:
    """The wish is an event that two processes share."""
    context = multiprocessing.get_context("spawn")
    searching, wish = context.Event(), context.Event()
    other = context.Process(target=call_off, args=(searching, wish))

    def cancelled() -> bool:
        if solvers:
            searching.set()
        return wish.is_set()

    start = monotonic()
    other.start()
    with pytest.raises(Cancelled):
        search(Run(cancelled=cancelled))
    other.join()
    assert monotonic() - start < GENEROUS


def test_the_solver_ends_with_who_started_it() -> None:
    """When its stdin ends, as it does when the starter is killed, it searches no longer."""
    items = [{"outline": outline.tolist(), "count": 3, "turns": None} for outline in PIECES]
    config = {"exploration_time": BUDGET, "compression_time": BUDGET, "seed": 1}
    problem = {"path": sys.path, "height": 500.0, "items": items, "config": config}
    command = [sys.executable, strip_solver.__file__]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as solver:
        assert solver.stdin is not None
        solver.stdin.write(json.dumps(problem).encode() + b"\n")
        solver.stdin.flush()
        with pytest.raises(subprocess.TimeoutExpired):
            solver.wait(1.0)
        solver.stdin.close()
        assert solver.wait(GENEROUS) == 1


def test_a_fault_of_the_solver_is_told(solvers: list[subprocess.Popen[bytes]]) -> None:
    """What goes wrong in its process comes back as a failure with the cause."""
    flat = PackItem("flat", np.array([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)]))
    with pytest.raises(packing.PageseamError, match="packing of 1 pieces failed"):
        pack([flat], PackOptions(50.0, seconds=1))
    assert len(solvers) == 1
