"""One run of a job: telling how far it is, and ending it early."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from calibrate.failures import ExitCode, PageseamError

__all__ = ["Cancelled", "Run"]


class Cancelled(PageseamError):
    """The job was ended early, by whoever asked for it."""

    exit_code: ClassVar[ExitCode] = ExitCode.INTERRUPTED

    def __init__(self) -> None:
        super().__init__("Interrupted; nothing was left behind.")


def _nobody_listens(what: str, done: int, total: int) -> None:
    pass


def _never() -> bool:
    return False


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
        """Raise `Cancelled` where the job is to end."""
        if self.cancelled():
            raise Cancelled

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
