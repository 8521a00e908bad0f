"""What happens in the workroom is told to whoever listens."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from tiling.workroom import house
from tiling.workroom.house import House


def test_a_file_made_before_the_first_look_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder is looked at as soon as somebody listens, so that pages made at once are news."""
    monkeypatch.setattr(house, "_LOOK", 0.05)

    async def told() -> list[str]:
        heard = House(tmp_path).events()
        assert await anext(heard) is None
        (tmp_path / "drawing.svg").write_text("<svg/>", encoding="utf-8")
        for _ in range(20):
            event = await anext(heard)
            if event is not None:
                return [file["name"] for file in event["files"]]
        return []

    assert asyncio.run(told()) == ["drawing.svg"]
