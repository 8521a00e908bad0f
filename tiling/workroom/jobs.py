"""Jobs of the workroom: each in a process of its own, told of while it runs, ended when it is called off.

What a job makes is published when it is done, whether the page that asked for it is still open or not.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from enum import StrEnum
from secrets import token_hex
from typing import Any

from calibrate.run import Cancelled
from tiling.failures import PageseamError
from tiling.files.inputs import Artifact
from tiling.workroom.desks import Desk, DeskBounds, DeskRefused, Files
from tiling.workroom.errors import error_values

__all__ = ["PICTURE", "Job", "JobState", "Jobs", "Order", "TooMuchAsked"]

PICTURE = "seen.jpg"
"""The name by which a picture of what was found on a photo is only shown, not published."""

_KEPT = 40
"""Jobs that are remembered after they ended."""
_WAITING = 20


class JobState(StrEnum):
    """How far a job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class Order:
    """A job to be done.

    Attributes:
        job: which; see `tiling.workroom.jobs_asked`.
        about: the drawing's name, or what else the page shows it by.
        values: what is asked, as JSON has it.
        files: what it is about.
        done: takes what was made, publishes it, and gives the names of the files, when it is done.
    """

    job: str
    about: str
    values: Mapping[str, Any]
    files: Files
    done: Callable[[Mapping[str, Any], Sequence[Artifact]], Sequence[str]]


@dataclass(slots=True)
class Job:
    """A job as it stands."""

    order: Order
    ident: str = field(default_factory=lambda: token_hex(8))
    state: JobState = JobState.WAITING
    step: tuple[str, int, int] | None = None
    result: Mapping[str, Any] | None = None
    made: tuple[str, ...] = ()
    error: Mapping[str, Any] | None = None
    picture: bytes = b""
    desk: Desk | None = None

    @property
    def ended(self) -> bool:
        """Whether nothing more comes of it."""
        return self.state in {JobState.DONE, JobState.FAILED, JobState.CANCELLED}

    def told(self) -> dict[str, Any]:
        """The job as the page is told of it."""
        step = None if self.step is None else dict(zip(("what", "done", "total"), self.step, strict=True))
        return {
            "id": self.ident,
            "job": self.order.job,
            "about": self.order.about,
            "state": self.state.value,
            "step": step,
            "result": self.result,
            "made": list(self.made),
            "error": self.error,
            "picture": bool(self.picture),
        }


class TooMuchAsked(PageseamError):
    """More waits to be done than is kept."""


class Jobs:
    """The jobs of one workroom, so many at once; `tell` is called whenever one stands otherwise."""

    def __init__(self, bounds: DeskBounds, tell: Callable[[Job], None], at_once: int = 2) -> None:
        self._bounds, self._tell = bounds, tell
        self._room = asyncio.Semaphore(at_once)
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._tasks: set[asyncio.Task[None]] = set()

    def all(self) -> list[Job]:
        """Those that are known, oldest first."""
        return list(self._jobs.values())

    def get(self, ident: str) -> Job | None:
        """One by its name."""
        return self._jobs.get(ident)

    def begin(self, order: Order) -> Job:
        """Have it done as soon as there is room.

        Raises:
            TooMuchAsked: too many wait already.
        """
        if sum(not job.ended for job in self._jobs.values()) >= _WAITING:
            raise TooMuchAsked("too much is being done already; wait until some of it is ready.")
        job = Job(order)
        self._jobs[job.ident] = job
        for old in [ident for ident, one in self._jobs.items() if one.ended][: max(len(self._jobs) - _KEPT, 0)]:
            del self._jobs[old]
        task = asyncio.get_running_loop().create_task(self._do(job))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        self._tell(job)
        return job

    def cancel(self, ident: str) -> bool:
        """Call one off; whether there is one that could be."""
        job = self._jobs.get(ident)
        if job is None or job.ended:
            return False
        if job.desk is not None:
            job.desk.cancel()
        else:
            self._become(job, JobState.CANCELLED)
        return True

    async def close(self) -> None:
        """End all of them."""
        for task in list(self._tasks):
            task.cancel()
        with suppress(asyncio.CancelledError):
            await asyncio.gather(*self._tasks, return_exceptions=True)

    def _become(self, job: Job, state: JobState) -> None:
        job.state = state
        self._tell(job)

    async def _do(self, job: Job) -> None:
        async with self._room:
            if job.ended:
                return
            job.desk = Desk(self._bounds)
            self._become(job, JobState.RUNNING)
            try:
                await self._done(job, job.desk)
            except Cancelled:
                job.state = JobState.CANCELLED
            except DeskRefused as refused:
                job.state, job.error, job.picture = JobState.FAILED, refused.values, refused.picture
            except PageseamError as failure:
                job.state, job.error = JobState.FAILED, error_values(failure)
            finally:
                desk, job.desk = job.desk, None
                job.order = replace(job.order, values={}, files={})  # photos are not kept
                await desk.close()
                self._tell(job)

    async def _done(self, job: Job, desk: Desk) -> None:
        order = job.order

        def tell(what: str, done: int, total: int) -> None:
            job.step = (what, done, total)
            self._tell(job)

        answer = await desk.ask(order.job, order.values, order.files, tell)
        files = [one for one in answer.artifacts if one.name != PICTURE]
        job.picture = next((one.content for one in answer.artifacts if one.name == PICTURE), b"")
        job.made = tuple(await asyncio.to_thread(order.done, answer.values, files))
        job.result, job.state = answer.values, JobState.DONE
