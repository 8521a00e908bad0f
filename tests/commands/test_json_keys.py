"""The manual's list of keys is what `--json` prints."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.operations.jobs import do
from tiling.manual import chapter
from tiling.operations import result_values, sewing_values
from tiling.operations.lines_values import lines_values

WRITERS: dict[str, tuple[str, Callable[[Any], dict[str, Any]]]] = {
    "pages": ("make pages", result_values.pages_values),
    "look": ("look", result_values.look_values),
    "lines": ("read lines", lines_values),
    "check": ("measure printer", lambda result: result_values.measurement_values(result.measurement)),
    "alter": ("alter", lambda result: result_values.altered_values(result, None)),
    "reprint": ("reprint", result_values.reprint_values),
    "cloth": ("plan cloth", sewing_values.cloth_values),
    "guide": ("write guide", sewing_values.guide_values),
}


def promised(command: str) -> set[str]:
    """The keys that the manual names for a command, nested ones and those of other results included."""
    text = chapter("programs").partition("## `--json`")[2].partition("\n## ")[0]
    found = re.search(rf"\*\*{command}\*\*:(.*?)(?=\*\*\w+\*\*:|\Z)", text, re.DOTALL)
    assert found, command
    return set(re.findall(r"`(\w+)`", found[1]))


def all_keys(value: Any) -> set[str]:
    """Every key in it, at any depth."""
    if isinstance(value, dict):
        return set(value).union(*(all_keys(inner) for inner in value.values()))
    return set().union(*(all_keys(inner) for inner in value)) if isinstance(value, list | tuple) else set()


@pytest.mark.parametrize("command", WRITERS)
def test_every_key_is_in_the_manual_and_every_promised_key_is_there(command: str) -> None:
    """The outer ones both ways; an inner one that is promised appears wherever there is something to tell."""
    job, write = WRITERS[command]
    values = write(do(job))
    keys = promised(command)
    assert set(values) <= keys
    missing = keys - all_keys(values)
    assert missing <= {
        "number", "kind", "text", "where", "piece", "matrix",  # nothing was found, no piece was laid anew
        "each", "buy", "outside_mm", "rules", "heading",  # of notions without a length, and of cautions
        "taken_off_mm", "why",  # no piece shows a level
        "at_mm", "gap_mm",  # every outline is closed
    }  # fmt: skip
