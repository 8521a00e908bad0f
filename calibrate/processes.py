"""Whether a process is still there."""

from __future__ import annotations

import os

__all__ = ["is_running"]


def is_running(process: int) -> bool:
    """Whether a process of that number runs on this machine; where that can't be told, yes."""
    if os.name == "nt":
        return _is_running_on_windows(process)
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):  # the latter of a number that no process has
        return False
    except OSError:
        return True
    return True


def _is_running_on_windows(process: int) -> bool:
    # There, os.kill with any signal ends the process: ask for a handle instead.
    import ctypes  # noqa: PLC0415 - one system's own

    kernel = getattr(ctypes, "windll").kernel32  # noqa: B009 - unknown to other systems
    handle = kernel.OpenProcess(0x1000, False, process)  # PROCESS_QUERY_LIMITED_INFORMATION
    if handle:
        kernel.CloseHandle(handle)
    return bool(handle)
