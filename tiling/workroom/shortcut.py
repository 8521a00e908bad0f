"""A shortcut on the desktop that opens the workroom by a double click, as each system has it."""

from __future__ import annotations

import os
import shlex
import sys
from pathlib import Path

from tiling.failures import OutputRefused
from tiling.files.publish import publish

__all__ = ["put_shortcut"]

_NAME = "Pageseam workroom"


def put_shortcut(folder: Path, desktop: Path | None = None, system: str = sys.platform) -> Path:
    """Write it, and give its place; one that is there is replaced.

    Args:
        folder: in which the workroom is to work.
        desktop: where shortcuts lie; None for the person's own.
        system: as `sys.platform` names it.

    Raises:
        OutputRefused: there is no desktop, or it can't be written.
    """
    place = desktop or _desktop()
    if not place.is_dir():
        raise OutputRefused(
            f"{place}: there is no such folder to put a shortcut in; start the workroom by its command."
        )
    command = [sys.executable, "-P", "-m", "tiling.commands.start", "workroom", str(folder)]
    if system == "win32":
        target, text = place / f"{_NAME}.cmd", _batch(command)
    elif system == "darwin":
        target, text = place / f"{_NAME}.command", f"#!/bin/sh\nexec {shlex.join(command)}\n"
    else:
        target, text = place / "pageseam-workroom.desktop", _entry(command)
    publish(target, text.encode(), force=True)
    if os.name == "posix":
        target.chmod(0o755)
    return target


def _desktop() -> Path:
    import platformdirs

    return Path(platformdirs.user_desktop_dir())


def _batch(command: list[str]) -> str:
    quoted = " ".join('"' + part.replace("%", "%%") + '"' for part in command)
    return f"@echo off\r\nchcp 65001 >nul\r\n{quoted}\r\nif errorlevel 1 pause\r\n"


def _entry(command: list[str]) -> str:
    """See the Desktop Entry Specification 1.5, "The Exec key": quoted, with a percent sign doubled."""

    def quoted(part: str) -> str:
        inner = "".join(f"\\{one}" if one in '"`$\\' else one for one in part).replace("%", "%%")
        return '"' + inner.replace("\\", "\\\\") + '"'

    line = " ".join(quoted(part) for part in command)
    return f"[Desktop Entry]\nType=Application\nVersion=1.5\nName={_NAME}\nExec={line}\nTerminal=true\n"
