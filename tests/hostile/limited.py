"""Running a command in a process of its own with little memory and little processor time.

The process is forked from a helper that has only loaded the libraries, so that a run costs its own work and not the
start of an interpreter.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path
from pkgutil import walk_packages

import calibrate
import tiling

__all__ = ["Limits", "Ran", "become", "helpers", "run_limited"]


@dataclass(frozen=True, slots=True)
class Limits:
    """What a run may use: memory and the size of any one file in bytes, and seconds of processor time.

    A wall clock would measure what else the machine does.
    """

    seconds: int = 30
    memory: int = 1 << 30
    file_size: int = resource.RLIM_INFINITY
    environment: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Ran:
    """One run: exit code (minus the signal that ended it), what it said, seconds of processor time."""

    code: int
    out: str
    err: str
    seconds: float

    @property
    def ended_by_limit(self) -> bool:
        """Whether it was stopped for taking too long."""
        return self.code in {-signal.SIGXCPU, -signal.SIGKILL}

    @property
    def errors(self) -> list[str]:
        """The error messages among what it said."""
        return [line for line in self.err.splitlines() if line.startswith("Error: ")]


def helpers(count: int = 1) -> ProcessPoolExecutor:
    """Processes to call `run_limited` in."""
    # One thread each: what forks must not have threads.
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    return ProcessPoolExecutor(count, get_context("spawn"), _load)


def run_limited(arguments: Sequence[str], folder: Path, limits: Limits, heard: Path | None = None) -> Ran:
    """Run one command line in a folder; its output passes through two hidden files there, or in `heard`."""
    heard = heard or folder
    child = os.fork()
    if child == 0:
        become(arguments, folder, limits, heard)
    end = time.monotonic() + 20 * limits.seconds
    done, status, usage = 0, 0, None
    while not done:
        done, status, usage = os.wait4(child, os.WNOHANG)
        if not done and time.monotonic() > end:
            os.kill(child, signal.SIGKILL)
            done, status, usage = os.wait4(child, 0)
        time.sleep(0.0 if done else 0.02)
    assert usage is not None
    said = []
    for name in (".stdout", ".stderr"):
        said.append((heard / name).read_text("utf-8", "replace"))
        (heard / name).unlink()
    return Ran(os.waitstatus_to_exitcode(status), said[0], said[1], usage.ru_utime + usage.ru_stime)


def _load() -> None:
    """Every module there is, so that a run imports nothing."""
    for package in (tiling, calibrate):
        for module in walk_packages(package.__path__, f"{package.__name__}."):
            import_module(module.name)


def become(arguments: Sequence[str], folder: Path, limits: Limits, heard: Path) -> None:
    """Turn this process into the command, whose output goes to two hidden files in `heard`: never returns."""
    code = 70
    try:
        os.chdir(folder)
        for name, number in ((".stdout", 1), (".stderr", 2)):
            os.dup2(os.open(heard / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
        os.environ.update(limits.environment)
        resource.setrlimit(resource.RLIMIT_AS, (limits.memory, limits.memory))
        resource.setrlimit(resource.RLIMIT_FSIZE, (limits.file_size, limits.file_size))
        resource.setrlimit(resource.RLIMIT_CPU, (limits.seconds, limits.seconds + 1))
        code = import_module("tiling.commands.main").run(arguments)
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)
