"""Title, how to print, test square and page map drawn in one block, on a sheet that carries them itself."""

from __future__ import annotations

from tiling.drawing import styles
from tiling.drawing.block import Block
from tiling.drawing.first_page import sheet_words
from tiling.drawing.flow import set_words
from tiling.drawing.page_map import draw_map_block
from tiling.drawing.pen import Pen, rectangle
from tiling.drawing.print_job import PrintJob
from tiling.drawing.square import draw_plain_square
from tiling.shapes import Affine, Box

__all__ = ["draw_block"]


def draw_block(pen: Pen, job: PrintJob, block: Block) -> None:
    """Draw the block; `pen` takes layout coordinates and already scales by the correction."""
    own = pen.under(Affine.shift(block.box.x0, block.box.y0))
    shape = block.shape
    own.polyline(rectangle(Box(0.0, 0.0, shape.size.width, shape.size.height)), styles.FAINT, closed=True)
    set_words(own, sheet_words(job.facts), shape.words)
    draw_plain_square(own, shape.square)
    if shape.map is not None:
        draw_map_block(own, job, shape.map)
