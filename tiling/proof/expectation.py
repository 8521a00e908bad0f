"""The expectation that a printed file is compared with: the plan, and the source as it lies on the layout."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tiling.content.sheet_source import SourcePart
from tiling.files.inputs import InputFile
from tiling.planning.plan import PrintPlan
from tiling.shapes import Affine, Box, Point

__all__ = ["Expectation", "MarkToSee", "Original"]


@dataclass(frozen=True, slots=True)
class Original:
    """A page of a PDF that was read: its file, its number from 1, and the layers picked by name (none: its own)."""

    file: InputFile
    page: int = 1
    layers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MarkToSee:
    """A mark of ours that must be seen on its page.

    Attributes:
        what: what messages call it.
        strokes: lines on the layout, mm, along which it is looked for.
        share: how much of their length it must be seen on, from 0 to 1.
    """

    what: str
    strokes: tuple[tuple[Point, Point], ...]
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Expectation:
    """The plan and the source as a written file must hold and show them.

    Attributes:
        drawing: what messages call the source.
        plan: sheet, windows, correction.
        labels: of all pages, in order.
        pages: the page number, from 1, of every tile that the file prints, by the tile's name.
        square_page: the number of the page with the test square, or 0 where there is none (a reprint).
        marks: those of ours that must be seen, by the name of the tile whose page shows them; by where they lie.
        parts: the source's content on the layout, in the order in which a page shows it.
        on_one_page: draws a box of the layout on one page, the drawing only; gives the PDF, and the move from its
            points (as displayed, y down) to mm on the layout.
        originals: the PDF pages that were read, one for each source that wasn't written from its marks, in their
            order; empty where they can't be had.
    """

    drawing: str
    plan: PrintPlan
    labels: tuple[str, ...]
    pages: Mapping[str, int]
    square_page: int
    marks: Mapping[str, tuple[tuple[MarkToSee, ...], ...]]
    parts: tuple[SourcePart, ...]
    on_one_page: Callable[[Box], tuple[bytes, Affine]]
    originals: tuple[Original, ...] = ()
