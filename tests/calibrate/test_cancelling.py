"""A photo search ends soon after it is called off, from any thread or process, and tells how far it is."""

from __future__ import annotations

import multiprocessing
import subprocess
import sys
import threading
from dataclasses import replace
from functools import lru_cache
from types import FrameType
from typing import Any

import cv2
import numpy as np
import pytest

import calibrate.photo
from calibrate.photo import Photo, load_photo
from calibrate.result import Measurement
from calibrate.run import Cancelled, Run
from calibrate.scale import Options, Stage, measure
from tests.simulator.conditions import Condition, ordinary
from tests.simulator.photo import photographed

MOST_BETWEEN = 1 / 8
"""Of all calls of a search, those between two checks; a search of a 12 megapixel photo makes some half a million calls
in about 1.2 s of processor time. Measured on these photos: a sixteenth and an eighteenth."""


@lru_cache(maxsize=2)
def file_of(condition: Condition) -> bytes:
    """A photo of 12 megapixels, as a phone stores it."""
    return photographed(ordinary(condition, 2).shot).file


def photo_of(condition: Condition) -> Photo:
    """The same, read."""
    photo = load_photo("photo.jpg", file_of(condition))
    assert photo.pixels.size > 11e6
    return photo


class Stretches:
    """Counts what is called between the checks of a run."""

    def __init__(self) -> None:
        self.longest = self.count = self.total = 0

    def never(self) -> bool:
        """The run's question, which is where a stretch ends."""
        self.longest = max(self.longest, self.count)
        self.total += self.count
        self.count = 0
        return False

    def counted(self, _frame: FrameType, event: str, _value: object) -> None:
        """What the interpreter tells of each call, of Python or of C."""
        self.count += event in {"call", "c_call"}


@pytest.mark.parametrize("condition", [Condition.CARD, Condition.COIN])
def test_a_search_asks_all_the_while_whether_to_go_on(condition: Condition) -> None:
    """The longest stretch of calls between two checks is a small part of all."""
    photo, stretches = photo_of(condition), Stretches()
    sys.setprofile(stretches.counted)
    try:
        found = measure([photo], Options(condition.reference), Run(cancelled=stretches.never))
    finally:
        sys.setprofile(None)
    stretches.never()
    assert isinstance(found, Measurement)
    assert stretches.longest < MOST_BETWEEN * stretches.total


def test_what_takes_long_in_a_library_is_watched(monkeypatch: pytest.MonkeyPatch) -> None:
    """Decoding a photo and looking for markers on all of it are single calls: they are done where they can be left."""
    inside: list[bool] = []
    seen: dict[str, list[bool]] = {"decoded": [], "markers": []}
    decoded, detector = calibrate.photo._decoded, cv2.aruco.ArucoDetector
    watched = Run.watched

    def spied(run: Run, work: Any) -> Any:
        inside.append(True)
        try:
            return watched(run, work)
        finally:
            inside.pop()

    class Detector:
        def __init__(self, *args: Any) -> None:
            self.real = detector(*args)

        def detectMarkers(self, picture: Any) -> Any:
            seen["markers"].append(bool(inside))
            return self.real.detectMarkers(picture)

    def spied_decoded(*args: Any) -> Photo:
        seen["decoded"].append(bool(inside))
        return decoded(*args)

    monkeypatch.setattr(Run, "watched", spied)
    monkeypatch.setattr(calibrate.photo, "_decoded", spied_decoded)
    monkeypatch.setattr(cv2.aruco, "ArucoDetector", Detector)
    run = Run(cancelled=lambda: False)
    measure([load_photo("photo.jpg", file_of(Condition.CARD), run)], Options("card"), run)
    assert seen["decoded"] == [True]
    assert seen["markers"]
    assert all(seen["markers"])


def test_work_that_does_not_come_back_is_left() -> None:
    """Called off from another thread, a run does not wait for the library's call; the result is nobody's."""
    wish, never, begun = threading.Event(), threading.Event(), threading.Event()

    def work() -> bool:
        begun.set()
        return never.wait()

    threading.Thread(target=lambda: (begun.wait(), wish.set())).start()
    try:
        with pytest.raises(Cancelled):
            Run(cancelled=wish.is_set).watched(work)
        assert not never.is_set()
    finally:
        never.set()


def test_a_process_ends_cleanly_after_work_was_left() -> None:
    """It waits for the library's call: one torn off in C++ ends the process with a signal."""
    code = (
        "import time; from calibrate.run import Cancelled, Run; asked = iter([False, True])\n"
        "try: Run(cancelled=lambda: next(asked)).watched(lambda: time.sleep(0.5) or print('came back'))\n"
        "except Cancelled: print('left')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.split("\n")[:2]) == (0, ["left", "came back"])


def test_watched_work_gives_its_result_and_its_failure() -> None:
    """As if it had been called there; where nobody can cancel, it is called there."""
    run = Run(cancelled=lambda: False)
    assert run.watched(lambda: 7) == 7
    with pytest.raises(ZeroDivisionError):
        run.watched(lambda: 1 // 0)
    here = threading.current_thread()
    assert Run().watched(threading.current_thread) is here
    assert run.watched(threading.current_thread) is not here


@pytest.mark.parametrize("stage", Stage)
def test_a_search_called_off_at_any_stage_ends(stage: Stage) -> None:
    """At the stage's own beginning, without reading further."""
    wish, told = threading.Event(), []

    def tell(what: str, _done: int, _total: int) -> None:
        told.append(what)
        if what == stage:
            wish.set()

    with pytest.raises(Cancelled) as ended:
        measure([photo_of(Condition.CARD)], Options("card"), Run(tell, wish.is_set))
    assert ended.value.exit_code == 130
    assert told == list(Stage)[: list(Stage).index(stage) + 1]


def _set_when_told(told: Any, wish: Any) -> None:
    told.wait()
    wish.set()


def test_a_search_is_called_off_from_another_process() -> None:
    """By an event that both have; the search was under way and would have gone on."""
    context = multiprocessing.get_context("spawn")
    told, wish = context.Event(), context.Event()
    other = context.Process(target=_set_when_told, args=(told, wish))
    other.start()

    # The first step waits for the other's answer: a quick machine would be through before it came.
    def tell(*_: object) -> None:
        told.set()
        assert wish.wait(60)

    with pytest.raises(Cancelled):
        measure([photo_of(Condition.CARD)], Options("card"), Run(tell, wish.is_set))
    other.join()


def test_progress_goes_through_every_stage_of_every_photo() -> None:
    """Three stages for each of two photos, counted through."""
    steps: list[tuple[str, int, int]] = []
    photo = photo_of(Condition.CARD)
    # Turned about, it is another picture; a copy would count once.
    other = replace(photo, pixels=np.ascontiguousarray(photo.pixels[::-1, ::-1]), colour=None)
    measure([photo, other], Options("card"), Run(lambda *step: steps.append(step)))
    assert steps == [(stage, number, 6) for number, stage in enumerate([*Stage, *Stage])]
