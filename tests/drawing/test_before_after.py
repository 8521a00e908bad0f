"""The picture of a drawing before and after an alteration."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from tests.drawing.making import line, pattern_of
from tiling.drawing.before_after import before_and_after
from tiling.pattern import Line, Pattern
from tiling.shapes import Path


def rungs(count: int, shift: float = 0.0) -> Pattern:
    """Level lines, the last one shifted."""
    lines: list[Line] = [line((0.0, 3.0 * n), (300.0, 3.0 * n)) for n in range(count - 1)]
    return pattern_of(*lines, line((0.0, 450.0 + shift), (300.0, 450.0 + shift)))


def colours(before: Pattern, after: Pattern) -> set[str]:
    """Which of orange, black and grey the picture shows above its key."""
    with Image.open(BytesIO(before_and_after(before, after))) as picture:
        shades = np.asarray(picture.convert("RGB"), dtype=np.int16)[: int(picture.height * 0.95)].reshape(-1, 3)
    spread = shades.max(axis=1) - shades.min(axis=1)
    found = {"orange": (spread > 150).any(), "black": (shades.max(axis=1) < 60).any()}
    found["grey"] = ((spread < 4) & (abs(shades[:, 0] - 158) < 12)).any()
    return {name for name, seen in found.items() if seen}


def test_lines_that_changed_are_told_from_those_that_stayed() -> None:
    """Orange before, black now, grey where nothing changed; a zero with a sign is a zero."""
    assert colours(rungs(20), rungs(20, 15.0)) == {"orange", "black", "grey"}
    assert colours(rungs(20), rungs(20)) == {"grey"}
    assert colours(pattern_of(line((0.0, 0.0), (300.0, 200.0))), pattern_of(line((-0.0, -0.0), (300.0, 200.0)))) == {
        "grey"
    }


def test_lines_are_not_compared_pair_by_pair(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work grows with the lines, not with their square."""
    compared = 0
    plain = Path.__eq__

    def counted(self: Path, other: object) -> bool:
        nonlocal compared
        compared += 1
        return plain(self, other)

    monkeypatch.setattr(Path, "__eq__", counted)
    before_and_after(rungs(120), rungs(120, 15.0))
    assert compared <= 2 * 120
