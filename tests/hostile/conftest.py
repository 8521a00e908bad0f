"""Running whole commands under limits."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from tests.hostile.limited import Limits, Ran, helpers, run_limited

Command = Callable[..., Ran]


@pytest.fixture(scope="session")
def _helper() -> Iterator[ProcessPoolExecutor]:
    with helpers() as pool:
        yield pool


@pytest.fixture
def command(_helper: ProcessPoolExecutor, tmp_path: Path) -> Command:
    """`command(["look", "x.svg"])` runs it in the test's folder with 1 GB of memory.

    Two minutes of processor time end what has no end. What ends is bounded by counts of objects, points and bytes, at
    most nine seconds' worth on the machine this was written on, so that a machine ten times as slow gives the same.
    """

    def run(arguments: Sequence[str], **limits: int) -> Ran:
        given = Limits(**{"seconds": 120, "environment": {"PAGESEAM_HOME": str(tmp_path / ".home")}, **limits})
        ran = _helper.submit(run_limited, list(arguments), tmp_path, given).result()
        assert "Warning: " not in ran.err, "a library's warning reaches the person"
        return ran

    return run
