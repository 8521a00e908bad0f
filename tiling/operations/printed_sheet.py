"""The sheet that printed files make, as the reader of photos takes it: pages with their pictures, marks and joins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from typing import TYPE_CHECKING

import numpy as np

from calibrate.run import Run
from calibrate.taped.printed import PrintedJoin, PrintedPage, PrintedSheet, PrintedSpan
from tiling.drawing.joins import joins_of, kept_part
from tiling.drawing.photo_marks import checkers_of, codes_of
from tiling.failures import InputUnfit
from tiling.operations.taped_seams import seams_of
from tiling.proof.raster import PixelGrid, page_to_mm, render
from tiling.record.printed_file import read_printed
from tiling.shapes import Box

if TYPE_CHECKING:
    import pypdfium2
    from numpy.typing import NDArray

    from tiling.files.inputs import InputFile
    from tiling.planning.plan import PrintPlan, Tile
    from tiling.planning.printed import PrintedCheck, PrintedRecord

__all__ = ["earlier_of_sheet", "printed_sheet"]

_PITCH, _FINER = 1 / 6, 3
"""mm to the pixel of a page's picture, and how many pixels each of those is the mean of: PDFium lays areas on whole
pixels, which would move a checker's squares by half of one."""
_ASIDE = 2.0
"""Pixels to the point of pages that are not taped."""
_MOST_PIXELS = 40_000_000
"""That a page is drawn in; larger ones, which are photographed from farther away, are drawn in larger pixels."""


def printed_sheet(files: Sequence[InputFile], run: Run = Run()) -> PrintedSheet:
    """The pages that files print, each as it was printed last.

    Args:
        files: whose pages were taped: one, or, where pages of the sheet were printed again, all of them in any order.
        run: told of the pages; asked at each whether to go on.

    Raises:
        InputUnfit: a file is none that was printed here, or damaged, or of another sheet than the newest.
        Cancelled: by `run`.
    """
    import pypdfium2  # noqa: PLC0415 - heavy

    records = [read_printed(file) for file in files]
    newest = max(records, key=lambda record: record.printing)
    _check_one_sheet(files, records, newest)
    plan, pages, aside = newest.plan, [], []
    with ExitStack() as stack:
        documents = [pypdfium2.PdfDocument(file.content) for file in files]
        for document in documents:
            stack.callback(document.close)
        numbers = [_numbers(document) for document in documents]
        tiles = {tile.name for tile in plan.tiles}
        for document, labels in zip(documents, numbers, strict=True):
            aside += [_aside(document[number], label) for label, number in labels.items() if label not in tiles]
        for done, tile in enumerate(plan.tiles):
            run.step("Reading the printed pages", done, len(plan.tiles))
            printing = newest.printings[tile.name]
            for document, labels, record in zip(documents, numbers, records, strict=True):
                if record.printing == printing and tile.name in labels:
                    pages.append(_page(document[labels[tile.name]], record.plan, plan, tile))
                    break
    there = {page.name for page in pages}
    spans = tuple(_span(check) for check in newest.checks or () if {check.from_tile, check.to_tile} <= there)
    return PrintedSheet(tuple(pages), tuple(_joins(plan, there)), spans, tuple(seams_of(newest, pages)), tuple(aside))


def earlier_of_sheet(printed: InputFile, others: Sequence[InputFile]) -> tuple[InputFile, ...]:
    """Those of other files from which pages of the same sheet were printed before, as far as title and grid tell.

    Raises:
        InputUnfit: the first file is none that was printed here, or damaged.
    """
    record, found = read_printed(printed), []
    for file in others:
        try:
            own = read_printed(file)
        except InputUnfit:
            continue
        if own.printing < record.printing and own.plan.title == record.plan.title and _one_grid(own.plan, record.plan):
            found.append(file)
    return tuple(found)


def _check_one_sheet(files: Sequence[InputFile], records: Sequence[PrintedRecord], newest: PrintedRecord) -> None:
    for file, record in zip(files, records, strict=True):
        if not _one_grid(record.plan, newest.plan):
            name = files[records.index(newest)].name
            raise InputUnfit(f"{file.name}: its pages belong to another sheet than those of {name}.")


def _one_grid(one: PrintPlan, other: PrintPlan) -> bool:
    """Whether their pages lie on one grid; a reprint may have more rows and columns."""
    grids = [(plan.grid.window, plan.grid.overlap, plan.grid.origin) for plan in (one, other)]
    return grids[0] == grids[1]


def _numbers(document: pypdfium2.PdfDocument) -> dict[str, int]:
    return {document.get_page_label(number): number for number in range(len(document))}


def _aside(page: pypdfium2.PdfPage, label: str) -> PrintedPage:
    """A page that is not taped: of such only the picture matters."""
    picture = page.render(scale=_ASIDE, grayscale=True).to_numpy().squeeze()
    pitch = 25.4 / 72 / _ASIDE
    page.close()
    seen = (0.0, 0.0, picture.shape[1] * pitch, picture.shape[0] * pitch)
    return PrintedPage(label, picture, pitch, (0.0, 0.0), seen, np.zeros((0, 2)))


def _span(check: PrintedCheck) -> PrintedSpan:
    ends = np.array([(cross.at.x, cross.at.y) for cross in (check.start, check.end)])
    return PrintedSpan(check.what, (check.from_tile, check.to_tile), ends)


def _page(page: pypdfium2.PdfPage, printed: PrintPlan, plan: PrintPlan, tile: Tile) -> PrintedPage:
    """A page as one file prints it; by the whole sheet's plan it has its neighbours."""
    back, size = printed.to_page(tile).inverse(), printed.page_size
    paper = back.box(Box(0.0, 0.0, size.width, size.height))
    pitch = max(_PITCH, _FINER * (paper.width * paper.height / _MOST_PIXELS) ** 0.5)
    columns, rows = int(paper.width / pitch), int(paper.height / pitch)
    whole = Box(paper.x0, paper.y0, paper.x0 + columns * pitch, paper.y0 + rows * pitch)
    fine = render(page, back @ page_to_mm(page, size.width, size.height), PixelGrid(_inner(whole), pitch / _FINER))
    page.close()
    joins = joins_of(plan, tile)
    seen, sides = kept_part(tile, joins), {join.side.name for join in joins}
    middles = [checker.middle for checker in checkers_of(plan, tile)]
    middles += [code.box.centre for code in codes_of(plan, tile)]
    marks = np.array([(middle.x, middle.y) for middle in middles]).reshape(-1, 2)
    return PrintedPage(
        tile.name, _coarser(fine, rows, columns), pitch, (whole.x0, whole.y0),
        (
            seen.x0 if "LEFT" in sides else whole.x0, seen.y0 if "TOP" in sides else whole.y0,
            seen.x1 if "RIGHT" in sides else whole.x1, seen.y1 if "BOTTOM" in sides else whole.y1,
        ),
        marks,
    )  # fmt: skip


def _inner(box: Box) -> Box:
    """The box without the last bits of a float, which would ask for one more pixel."""
    return Box(box.x0, box.y0, box.x1 - 1e-9, box.y1 - 1e-9)


def _coarser(dark: NDArray[np.uint8], rows: int, columns: int) -> NDArray[np.uint8]:
    """Paper white, each pixel the mean of those it is made of."""
    parts = dark.reshape(rows, _FINER, columns, _FINER).mean(axis=(1, 3))
    return np.asarray(np.round(255.0 - parts), np.uint8)


def _joins(plan: PrintPlan, there: set[str]) -> Iterator[PrintedJoin]:
    """Every join of two pages that are there, told at its checkers' places on the line."""
    for tile in plan.tiles:
        for join in joins_of(plan, tile):
            if join.side.lies_over or not {tile.name, join.neighbour} <= there:
                continue
            middles = [one.middle for one in checkers_of(plan, tile) if one.neighbour == join.neighbour]
            upright = join.side.upright
            ends = [(join.start.x, at.y) if upright else (at.x, join.start.y) for at in middles]
            if ends:
                yield PrintedJoin(tile.name, join.neighbour, np.array(ends))
