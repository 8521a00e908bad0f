"""A drawing written to a file and read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tiling.files.inputs import read_input
from tiling.pattern import Pattern
from tiling.reading.options import ReadOptions
from tiling.reading.svg import read_svg

Drawn = Callable[..., Pattern]


@pytest.fixture
def drawn(tmp_path: Path) -> Drawn:
    """Reads an SVG's body (in a sheet of 100 mm, 1 unit = 1 mm) or, with `whole`, a whole file's text or bytes."""

    def read(content: str | bytes, *, whole: bool = False, name: str = "drawing.svg", **options: object) -> Pattern:
        if not whole:
            assert isinstance(content, str)
            content = (
                '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
                f' width="100mm" height="100mm" viewBox="0 0 100 100">{content}</svg>'
            )
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_svg(read_input(file), ReadOptions(**options))  # type: ignore[arg-type]

    return read
