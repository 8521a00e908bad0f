"""No test depends on which fonts a machine has: those that want some make them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tiling.fonts import machine, shaping
from tiling.fonts.machine import FOLDERS_VARIABLE

os.environ[FOLDERS_VARIABLE] = ""  # for the commands that tests start as well


def forget() -> None:
    """As in a fresh process: nothing is known of the machine's fonts."""
    for module in (machine, shaping):
        for kept in vars(module).values():
            if hasattr(kept, "cache_clear"):
                kept.cache_clear()


@pytest.fixture
def font_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A machine with no fonts but those that the test puts here."""
    monkeypatch.setenv(FOLDERS_VARIABLE, str(tmp_path / "fonts"))
    forget()
    yield tmp_path / "fonts"
    forget()
