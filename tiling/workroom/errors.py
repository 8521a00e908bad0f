"""Failures as the page is told of them."""

from __future__ import annotations

from typing import Any

from tiling.failures import PageseamError, Remedy

__all__ = ["ChangedMeanwhile", "Overtaken", "error_values", "remedy_values"]


class ChangedMeanwhile(PageseamError):
    """What a page wants to change is no longer what it knows."""


class Overtaken(PageseamError):
    """A newer question of the same kind came while this one waited."""


def remedy_values(remedy: Remedy | None) -> dict[str, Any] | None:
    """What can be done, as the page makes a button of it: ``action``, ``values``, and ``words`` for both."""
    if remedy is None:
        return None
    return {"action": remedy.action.name, "values": list(remedy.values), "words": str(remedy)}


def error_values(failure: PageseamError) -> dict[str, Any]:
    """What went wrong, the exit code of the command, and what to do."""
    return {"what": failure.what, "code": int(failure.exit_code), "remedy": remedy_values(failure.remedy)}
