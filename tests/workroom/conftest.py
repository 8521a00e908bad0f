"""Workrooms that the tests share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.workroom.browser import browser
from tests.workroom.room import Room, opened, put_sample


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    """A workroom in a folder with the sample and its notes."""
    folder = put_sample(tmp_path_factory.mktemp("room"))
    with opened(folder, tmp_path_factory.mktemp("home")) as found:
        yield found


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """One browser for a module; its loop would be in the way of others."""
    with browser() as found:
        yield found


def listing(folder: Path) -> dict[str, bytes]:
    """All that lies in a folder."""
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()}
