"""Desks: processes that do the work, so that no drawing can take the workroom with it, and any work can be ended."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, ClassVar

from calibrate.run import Cancelled
from tiling.failures import ExitCode, PageseamError
from tiling.files.inputs import Artifact, Folder, InputFile
from tiling.workroom.wire import HEAD, Message, WireBroken, head_of, message_of, packed

__all__ = ["Answer", "Desk", "DeskBounds", "DeskLost", "DeskRefused"]

Files = Mapping[str, Sequence[InputFile]]
"""What a question is about, by what each is for: ``drawings``, ``notes``, ``printed``, ``photos``, ``before``."""


@dataclass(frozen=True, slots=True)
class DeskBounds:
    """What one desk may use: bytes of memory, seconds for one answer, and for ending once it is called off."""

    memory: int = 6 * 1024**3
    seconds: float = 900.0
    grace: float = 2.0


@dataclass(frozen=True, slots=True)
class Answer:
    """What a desk answers: values as JSON has them, and what was made, not yet published anywhere."""

    values: dict[str, Any]
    artifacts: tuple[Artifact, ...] = ()


class DeskRefused(PageseamError):
    """The work was refused; `values` has what, code, remedy and, of a photo, the refusal, as the page is told.

    `picture` is the photo with what was seen on it, a JPEG, where there is one.
    """

    def __init__(self, values: Mapping[str, Any], picture: bytes = b"") -> None:
        super().__init__(str(values.get("what", "")))
        self.values = dict(values)
        self.picture = picture

    @property
    def code(self) -> int:
        """What the command would have ended with."""
        return int(self.values.get("code", ExitCode.FAULT))


class DeskLost(PageseamError):
    """The process behind the desk ended, or took too long, and was replaced."""

    exit_code: ClassVar[ExitCode] = ExitCode.FAULT


class Desk:
    """One process, started when it is first asked, and again when it was lost. It answers one question at a time."""

    def __init__(self, bounds: DeskBounds = DeskBounds()) -> None:
        self._bounds = bounds
        self._process: asyncio.subprocess.Process | None = None
        self._starting: asyncio.Task[asyncio.subprocess.Process] | None = None
        self._turn = asyncio.Lock()
        self._number = 0
        self._asked = 0
        self._ending: asyncio.TimerHandle | None = None
        self._called_off = False

    async def start(self) -> None:
        """Start the process ahead of the first question, which then need not wait for it."""
        async with self._turn:
            await self._running()

    async def ask(
        self,
        call: str,
        values: Mapping[str, Any],
        files: Files | None = None,
        tell: Callable[[str, int, int], None] = lambda _what, _done, _total: None,
    ) -> Answer:
        """Have a question answered.

        Args:
            call: which; see `tiling.workroom.answers`.
            values: what is asked, as JSON has it.
            files: what it is about.
            tell: told how far it is.

        Raises:
            DeskRefused: the work was refused, or failed.
            DeskLost: the process ended, or took longer than it may.
            Cancelled: it was called off.
        """
        self._number += 1
        number = self._number
        async with self._turn:
            self._asked, self._called_off = number, False
            try:
                process = await self._running()
                if self._called_off:
                    raise Cancelled
                async with asyncio.timeout(self._bounds.seconds):
                    return await self._answered(process, number, call, values, files or {}, tell)
            except TimeoutError:
                await self.close()
                raise DeskLost("it took too long and was ended; nothing was written.") from None
            except (WireBroken, OSError):
                await self.close()
                if self._called_off:
                    raise Cancelled from None
                raise DeskLost(
                    "the work ended before it was done, perhaps for want of memory; nothing was written."
                ) from None
            except asyncio.CancelledError:
                await self.close()
                raise
            finally:
                self._asked = 0
                if self._ending is not None:
                    self._ending.cancel()
                    self._ending = None

    def cancel(self) -> None:
        """Call off what is being answered; where it doesn't end by itself its process is ended."""
        if not self._asked or self._called_off:
            return
        self._called_off = True
        if self._process is None:  # it is only being started
            return
        pipe = self._process.stdin
        assert pipe is not None
        with suppress(OSError, RuntimeError):
            pipe.writelines(packed({"cancel": self._asked}))
        self._ending = asyncio.get_running_loop().call_later(self._bounds.grace, _kill, self._process)

    async def close(self) -> None:
        """End the process and wait until it is gone."""
        starting, self._starting = self._starting, None
        if starting is not None:
            with suppress(OSError, asyncio.CancelledError):
                self._process = await starting
        process, self._process = self._process, None
        if process is None:
            return
        _kill(process)
        await process.wait()
        if process.stdin is not None:
            process.stdin.close()
            with suppress(OSError):
                await process.stdin.wait_closed()

    async def _running(self) -> asyncio.subprocess.Process:
        if self._process is None or self._process.returncode is not None:
            self._starting = asyncio.create_task(self._started())
            # Who is called off while it starts leaves it to `close`, which ends it.
            self._process = await asyncio.shield(self._starting)
        return self._process

    async def _started(self) -> asyncio.subprocess.Process:
        # -P: a file in the folder that is called like a library is not one.
        return await asyncio.create_subprocess_exec(
            sys.executable, "-P", "-m", "tiling.workroom.desk_process", str(self._bounds.memory),
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
            stderr=None if os.environ.get("PAGESEAM_TRACE") else asyncio.subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )  # fmt: skip

    async def _answered(
        self,
        process: asyncio.subprocess.Process,
        number: int,
        call: str,
        values: Mapping[str, Any],
        files: Files,
        tell: Callable[[str, int, int], None],
    ) -> Answer:
        pipe = process.stdin
        assert pipe is not None
        pipe.writelines(packed({"number": number, "call": call, "values": values, "files": _described(files)},
                               [file.content for group in files.values() for file in group]))  # fmt: skip
        await pipe.drain()
        while True:
            message = await _received(process)
            told = message.values
            if told.get("number") != number:
                continue
            if "step" in told:
                what, done, total = told["step"]
                tell(str(what), int(done), int(total))
            elif "failed" in told:
                if told["failed"].get("code") == ExitCode.INTERRUPTED:
                    raise Cancelled
                raise DeskRefused(told["failed"], b"".join(message.blobs))
            else:
                made = zip(told["artifacts"], message.blobs, strict=True)
                return Answer(dict(told["answer"]), tuple(Artifact(str(name), content) for name, content in made))


def _kill(process: asyncio.subprocess.Process) -> None:
    if process.returncode is None:
        with suppress(ProcessLookupError):
            process.kill()


def _described(files: Files) -> list[dict[str, str | None]]:
    return [
        {
            "for": use,
            "name": file.name,
            "folder": str(file.neighbours.path) if isinstance(file.neighbours, Folder) else None,
        }
        for use, group in files.items()
        for file in group
    ]


async def _received(process: asyncio.subprocess.Process) -> Message:
    stream = process.stdout
    assert stream is not None
    try:
        text = await stream.readexactly(int.from_bytes(await stream.readexactly(HEAD), "big"))
        values, lengths = head_of(text)
        return message_of(values, await stream.readexactly(sum(lengths)), lengths)
    except asyncio.IncompleteReadError:
        raise WireBroken from None
