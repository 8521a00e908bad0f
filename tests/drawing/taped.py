"""Pages laid at their places, by nothing but what `--json` says and PDFium shows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from tests.render import compare
from tiling.commands.main import run
from tiling.proof.own_marks import drop_own_marks
from tiling.proof.raster import PixelGrid, page_to_mm, render
from tiling.shapes import Affine, Box, Size

__all__ = ["PITCH", "Printed", "print_pages", "worst_tile"]

PITCH = 0.25
"""mm a pixel: half a millimetre is two."""


class Printed:
    """What one run of `pageseam pages` gave."""

    def __init__(self, values: dict[str, Any], folder: Path) -> None:
        self.values = values
        self.data = (folder / values["output"]).read_bytes()


def print_pages(folder: Path, capsys: pytest.CaptureFixture[str], *args: str) -> Printed:
    """Run the command on a drawing in the folder; `-o` is given, the exit code must be 0."""
    out = folder / "out.pdf"
    code = run(["pages", *args, "-o", str(out), "--json", "-q", "--force"])
    said = capsys.readouterr()
    assert code == 0, said.err
    return Printed(json.loads(said.out), folder)


def worst_tile(printed: Printed, source: bytes, number: int, size: Size, shift: float = 0.0) -> float:
    """The worst difference between a page in its place and the source there, on the scale of `tests.render.compare`.

    Args:
        printed: the pages.
        source: a PDF that shows the drawing.
        number: its page, from 0.
        size: how large that page truly is, mm.
        shift: lays every page this many mm too far right.
    """
    document, original = pypdfium2.PdfDocument(printed.data), pypdfium2.PdfDocument(source)
    width, height = printed.values["paper_mm"]
    worst = 0.0
    try:
        for tile in printed.values["tiles"]:
            page = document[tile["page"] - 1]
            drop_own_marks(page)
            window, spot = Box(*tile["window_mm"]), Box(*tile["on_page_mm"])
            to_layout = (
                Affine.shift(window.x0 + shift, window.y0)
                @ Affine.scale(window.width / spot.width, window.height / spot.height)
                @ Affine.shift(-spot.x0, -spot.y0)
            )
            grid = PixelGrid(window.grown(-2 * PITCH), PITCH)
            shown = render(page, to_layout @ page_to_mm(page, width, height), grid)
            expected = render(original[number], page_to_mm(original[number], size.width, size.height), grid)
            worst = max(worst, compare(_paper(shown), _paper(expected)))
    finally:
        document.close()
        original.close()
    return worst


def _paper(darkness: NDArray[np.uint8]) -> NDArray[np.float64]:
    return 255.0 - darkness.astype(np.float64)
