"""A machine with no fonts but those that a test makes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tiling.fonts import machine, shaping
from tiling.fonts.machine import FOLDERS_VARIABLE


def forget() -> None:
    """As in a fresh process: nothing is known of the machine's fonts."""
    for module in (machine, shaping):
        for kept in vars(module).values():
            if hasattr(kept, "cache_clear"):
                kept.cache_clear()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Where its fonts lie."""
    monkeypatch.setenv(FOLDERS_VARIABLE, str(tmp_path / "fonts"))
    forget()
    yield tmp_path / "fonts"
    forget()
