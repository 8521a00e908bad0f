"""The process behind a desk: reads questions on stdin, answers on stdout, one after the other.

Started by `desks`, never imported by it. What it read stays with it for the next question. While it works, further
messages are read: one that calls the work off, or the end of stdin, with which the process ends.
"""

from __future__ import annotations

import gc
import os
import queue
import signal
import sys
import threading
import warnings
from typing import Any, BinaryIO

from tiling.workroom.wire import Message, WireBroken, packed, received

__all__ = ["main"]


class _Questions:
    """What is asked, read by a thread of its own so that work can be called off meanwhile."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self._waiting: queue.Queue[Message] = queue.Queue()
        self._called_off: set[int] = set()
        self._now = 0
        threading.Thread(target=self._read, daemon=True).start()

    def next(self) -> Message:
        """The next question, waited for."""
        message = self._waiting.get()
        self._now = int(message.values["number"])
        return message

    def called_off(self) -> bool:
        """Whether the question that is being answered need not be."""
        return self._now in self._called_off

    def _read(self) -> None:
        while True:
            try:
                message = received(self._stream)
            except (WireBroken, OSError):
                # Whoever asked is gone; nothing here is worth finishing, since nothing is written.
                os._exit(0)
            if "cancel" in message.values:
                self._called_off.add(int(message.values["cancel"]))
            else:
                self._waiting.put(message)


def main() -> None:
    """Answer until stdin ends."""
    # Ctrl-C at a terminal reaches this process too, but who started it decides.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _bound_memory(int(sys.argv[1]))
    warnings.simplefilter("ignore")
    answers = sys.stdout.buffer
    # What a library prints may not get between the answers.
    sys.stdout = sys.stderr
    questions = _Questions(sys.stdin.buffer)
    from tiling.workroom.answers import AtDesk

    # A drawing of many thousand lines is kept as it is read: looking through it again and again for what could go
    # costs a quarter of the time.
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
    desk = AtDesk()
    while True:
        _answer(desk, questions, answers)


def _answer(desk: Any, questions: _Questions, answers: BinaryIO) -> None:
    from calibrate.run import Run

    asked = questions.next()
    number = asked.values["number"]

    def send(values: dict[str, Any], blobs: tuple[bytes, ...] = ()) -> None:
        for part in packed({"number": number, **values}, blobs):
            answers.write(part)
        answers.flush()

    def tell(what: str, done: int, total: int) -> None:
        send({"step": [what, done, total]})

    try:
        made = desk.answer(asked, Run(tell, questions.called_off))
    except Exception as failure:  # noqa: BLE001 - the one place where every failure of a desk ends
        send({"failed": _told(failure)}, (getattr(failure, "picture", None) or b"",))
    else:
        send({"answer": made.values, "artifacts": [one.name for one in made.artifacts]},
             tuple(one.content for one in made.artifacts))  # fmt: skip


def _told(failure: Exception) -> dict[str, Any]:
    from calibrate.failures import NoMeasurementError, PageseamError
    from tiling.failures import ExitCode

    if isinstance(failure, PageseamError):
        from tiling.workroom.errors import error_values

        told = error_values(failure)
        if isinstance(failure, NoMeasurementError):
            from tiling.operations.result_values import refusal_values

            told["refusal"] = refusal_values(failure.refusal)["refusal"]
        return told
    if isinstance(failure, MemoryError):
        what = "there is not enough memory for this drawing; close other programs, or take it layer by layer."
    elif isinstance(failure, RecursionError):
        what = "the file is nested too deeply to be read."
    else:
        if os.environ.get("PAGESEAM_TRACE"):
            sys.excepthook(type(failure), failure, failure.__traceback__)
        what = f"a fault of ours ({type(failure).__name__}: {failure})."
    return {"what": what, "code": int(ExitCode.FAULT), "remedy": None}


def _bound_memory(most: int) -> None:
    """No more than so many bytes, where the system can bound it; 0 for no bound."""
    if not most or os.name != "posix":
        return
    import resource

    try:
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
    except (ValueError, OSError):
        return  # macOS knows the limit and refuses it


if __name__ == "__main__":
    main()
