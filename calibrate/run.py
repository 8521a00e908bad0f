"""One run of a job: telling how far it is, and ending it early."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from threading import Thread
from typing import ClassVar, NoReturn, TypeVar

from calibrate.failures import ExitCode, PageseamError

__all__ = ["Cancelled", "Run"]

_BETWEEN_CHECKS = 0.05  # s
Outcome = TypeVar("Outcome")


class Cancelled(PageseamError):
    """The job was ended early, by whoever asked for it."""

    exit_code: ClassVar[ExitCode] = ExitCode.INTERRUPTED

    def __init__(self) -> None:
        super().__init__("Interrupted; nothing was left behind.")


def _nobody_listens(what: str, done: int, total: int) -> None:
    pass


def _never() -> bool:
    return False


def _tried(work: Callable[[], Outcome]) -> Callable[[], Outcome]:
    """What came of the work: a function that gives its result, or raises what it raised."""
    try:
        result = work()
    except BaseException as failure:  # noqa: BLE001 - it is raised again where the work was asked for
        return partial(_raised, failure)
    return lambda: result


def _raised(failure: BaseException) -> NoReturn:
    raise failure


@dataclass(frozen=True, slots=True)
class Run:
    """Carries progress out of a job and a wish to end it in.

    Attributes:
        tell: called with what is being done, and how much of how much of it is done.
        cancelled: asked often, from any thread the job uses; may look at anything that another thread or process sets,
            such as the ``is_set`` of a `threading.Event` or a `multiprocessing.Event`.
    """

    tell: Callable[[str, int, int], None] = _nobody_listens
    cancelled: Callable[[], bool] = _never

    def check(self) -> None:
        """Ask whether to go on.

        Raises:
            Cancelled: the job is to end.
        """
        if self.cancelled():
            raise Cancelled

    def watched(self, work: Callable[[], Outcome]) -> Outcome:
        """What `work` gives, asking all the while whether to go on: for one long call into a library.

        The work is done in a thread of its own that ends by itself when the call comes back; where the job was
        cancelled only the end of the process waits for it, since a library torn off in its work aborts the process.
        So the work may change nothing that others see. Where nobody can cancel there is no thread.

        Raises:
            Cancelled: the job is to end.
        """
        if self.cancelled is _never:
            return work()
        ended: list[Callable[[], Outcome]] = []
        worker = Thread(target=lambda: ended.append(_tried(work)))
        worker.start()
        while not ended:
            self.check()
            worker.join(_BETWEEN_CHECKS)
        return ended[0]()

    def step(self, what: str, done: int, total: int) -> None:
        """Tell that `done` of `total` of `what` is done, and `check`."""
        self.check()
        self.tell(what, done, total)

    def part(self, what: str, number: int, count: int) -> Run:
        """The run of one of `count` like parts of a job, the first being number 0.

        How far the part is, is told as per cent of the whole, each once; the last per cent is left to who ends it.
        """
        told = 0

        def tell(_: str, done: int, total: int) -> None:
            nonlocal told
            percent = min((number * total + done) * 100 // (count * total), 99)
            if percent > told:
                told = percent
                self.tell(what, percent, 100)

        return Run(tell, self.cancelled)
