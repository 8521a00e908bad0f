"""What is told of long work, and when."""

from __future__ import annotations

from time import monotonic

import pytest

from tiling.commands.console import Console, _Progress


def told(capsys: pytest.CaptureFixture[str]) -> list[str]:
    """The lines on stderr, which is no terminal here."""
    return capsys.readouterr().err.splitlines()


def test_every_quarter_is_told_once_however_the_steps_fall(capsys: pytest.CaptureFixture[str]) -> None:
    """Also where no step falls on a quarter itself."""
    run = Console().run()
    for done in range(0, 101, 7):
        run.step("Reading, element", done, 100)
    run.step("Reading, element", 100, 100)
    assert told(capsys) == [f"Reading, element: {done} of 100" for done in (28, 56, 77, 100)]


def test_the_first_step_after_a_silence_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever waits sees that something is done; later steps wait for their quarter."""
    progress = _Progress(quiet=False, began=monotonic() - 10.0)
    for done in (1, 2, 3):
        progress.tell("Reading, element", done, 1000)
    assert told(capsys) == ["Reading, element: 1 of 1000"]


def test_quiet_work_tells_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """Nor does work of one step."""
    Console(quiet=True).run().step("Page", 4, 4)
    Console().run().step("Page", 1, 1)
    assert told(capsys) == []
