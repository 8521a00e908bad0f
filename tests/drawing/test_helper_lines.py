"""Lines to cut along for an alteration: printed thin and only inside their piece, and never the reason for a page."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import numpy as np
import pypdfium2
import pytest

import tiling
from tiling.drawing.page_map import outlines_in_small
from tiling.planning.plan import Orientation
from tiling.reading.gather import read_drawings
from tiling.shapes import Point
from tiling.shapes.straights import Straight

STYLE = "<style>path{fill:none;stroke:#000;stroke-width:.8}.far{stroke-width:2;stroke-dasharray:8 4}</style>"
BODY = '<path class="cutting-line" d="M40 40H160V280H40Z"/><path class="grainline" d="M60 80V240"/>'
FAR = '<path class="grading-line far" d="M120 20V580"/><path class="lengthen-line far" d="M20 180H395"/>'
PIECE = STYLE.replace("{", "{{").replace("}", "}}") + f'<g class="piece" id="front">{BODY}{{}}</g>'


def drawing(body: str, name: str = "smock.svg") -> tiling.InputFile:
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="600mm" viewBox="0 0 400 600">{body}</svg>'
    return tiling.InputFile(name, svg.encode())


def pages_of(file: tiling.InputFile) -> tiling.MakePagesResult:
    made = tiling.make_pages(tiling.MakePagesRequest((file,), page=tiling.PageChoice(orientation=Orientation.PORTRAIT)))
    assert made.pages is not None
    return made


def ink(made: tiling.MakePagesResult, dpi: float = 600.0) -> Callable[[float, float, float, float], np.ndarray]:
    """The darkness, 0 to 255, of a box of the layout (mm) on the page of the first tile, as PDFium draws it."""
    assert made.pages is not None
    tile, scale = made.plan.tiles[0], dpi / 25.4
    document = pypdfium2.PdfDocument(BytesIO(made.pages.content))
    shades = 255 - document[made.page_numbers[tile.name] - 1].render(scale=dpi / 72, grayscale=True).to_numpy()
    spot = made.plan.window_on_page

    def box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
        across = [round((x - tile.window.x0 + spot.x0) * scale) for x in (x0, x1)]
        down = [round((y - tile.window.y0 + spot.y0) * scale) for y in (y0, y1)]
        return shades[down[0] : down[1], across[0] : across[1]].reshape(down[1] - down[0], across[1] - across[0])

    return box


def test_they_print_no_page() -> None:
    """A grading and a lengthen line drawn far beyond their piece: as many pages as without them."""
    plain, helped = pages_of(drawing(PIECE.format(""))), pages_of(drawing(PIECE.format(FAR)))
    assert helped.plan.tiles == plain.plan.tiles
    assert len(plain.plan.tiles) == 1


def test_the_map_is_without_them() -> None:
    """They reach beyond the piece, and beyond the sheet."""
    helped = read_drawings([drawing(PIECE.format(FAR))])
    assert all(line[:, 1].max() < 300 for line in outlines_in_small(helped, 0.1))


def test_they_are_thin_and_end_at_the_edge_of_their_piece() -> None:
    """As PDFium draws the page: nothing beyond the outline, inside a fifth of a millimetre."""
    box = ink(pages_of(drawing(PIECE.format(FAR))))
    assert box(110, 30, 130, 39).max() < 10 and box(165, 170, 180, 190).max() < 10
    across = box(115, 60, 125, 170) > 100
    assert across.any()
    assert across.sum(axis=1).max() / 600 * 25.4 == pytest.approx(0.2, abs=0.05)
    edge = box(35, 100, 45, 170) > 100
    assert edge.sum(axis=1).max() / 600 * 25.4 == pytest.approx(0.8, abs=0.05)


@pytest.mark.parametrize("body", [PIECE.format(""), STYLE + BODY])
def test_a_cut_line_given_by_hand_is_no_black_dash(body: str) -> None:
    """It is dotted, thin and grey in the altered drawing and on its pages, whether or not the piece has a name."""
    by_hand = tiling.Alteration(around=-10.0, cut_lines=(Straight(Point(120, 20), Point(120, 590)),))
    made = tiling.alter(tiling.AlterRequest(drawing(body), by_hand, name="narrow.svg"))
    assert made.drawing is not None
    narrow = pages_of(tiling.InputFile("narrow.svg", made.drawing.content))
    assert len(narrow.plan.tiles) == 1
    box = ink(narrow)
    assert box(110, 25, 130, 39).max() < 10
    inside = box(118, 60, 122, 170)
    assert 60 < inside.max() < 190


def test_no_page_is_printed_again_for_them() -> None:
    """Moved, drawn, or taken away: the sheet on the table is still right."""
    bare, moved = drawing(PIECE.format("")), drawing(PIECE.format(FAR.replace("M120", "M110").replace("180H", "175H")))
    printed = pages_of(drawing(PIECE.format(FAR))).pages
    assert printed is not None
    for file in (bare, moved):
        found = tiling.reprint(tiling.ReprintRequest((file,), tiling.InputFile("old.pdf", printed.content)))
        assert not found.to_print and not found.remove


def test_lines_that_got_their_role_after_printing_are_where_they_were() -> None:
    """Printed as plain lines, then named in the drawing: nothing to print, and what only they were on may go."""
    plain = FAR.replace("grading-line far", "far").replace("lengthen-line far", "far")
    printed = pages_of(drawing(PIECE.format(plain))).pages
    assert printed is not None
    found = tiling.reprint(
        tiling.ReprintRequest((drawing(PIECE.format(FAR)),), tiling.InputFile("old.pdf", printed.content))
    )
    assert not found.to_print
