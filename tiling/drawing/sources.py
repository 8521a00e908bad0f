"""Where a page's drawing comes from: PDF pages' own content, and full-size sheets written from marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

from pypdf import PdfReader

from tiling.content import Artwork
from tiling.drawing.sheet import full_sheet
from tiling.pattern import Pattern
from tiling.planning.plan import PrintPlan
from tiling.shapes import Affine, Box

__all__ = ["Cut", "Source", "cuts_of", "sources_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One page's content: item i of `artwork` draws mark `marks[i]`; `to_layout` takes its sheet's mm to the layout."""

    artwork: Artwork
    to_layout: Affine
    marks: range


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """What of a source is drawn on a page: a window on its sheet, the items, and where the sheet lies on the layout."""

    source: Source
    to_layout: Affine
    only: frozenset[int] | None = None


def sources_of(pattern: Pattern) -> tuple[Source, ...]:
    """The contents to print, in drawing order.

    Sheets that carry their source's content are printed from it; all other marks from a sheet written for them.
    """
    sources: list[Source] = []
    starts = [sheet.first_mark for sheet in pattern.sheets]
    written = False
    for index, sheet in enumerate(pattern.sheets):
        if sheet.artwork is not None:
            marks = range(sheet.first_mark, sheet.first_mark + len(sheet.artwork.items))
            sources.append(Source(sheet.artwork, sheet.to_layout, marks))
            continue
        if not any(other.artwork is not None for other in pattern.sheets):
            if not written:
                sources.append(_written(pattern, range(len(pattern.marks))))
            written = True
            continue
        end = starts[index + 1] if index + 1 < len(starts) else len(pattern.marks)
        if end > sheet.first_mark:
            sources.append(_written(pattern, range(sheet.first_mark, end)))
    return tuple(sources) or (_written(pattern, range(len(pattern.marks))),)


def _written(pattern: Pattern, marks: range) -> Source:
    data = full_sheet(pattern, pattern.marks[marks.start : marks.stop])
    page = PdfReader(BytesIO(data)).pages[0]
    return Source(Artwork.from_page(page), Affine(), marks)


def cuts_of(sources: tuple[Source, ...], pattern: Pattern, plan: PrintPlan) -> tuple[Cut, ...]:
    """The sources as they lie on the layout: whole, or piece by piece where pieces were placed."""
    return tuple(_cuts(sources, pattern, plan))


def _cuts(sources: tuple[Source, ...], pattern: Pattern, plan: PrintPlan) -> Iterator[Cut]:
    if not plan.placements:
        yield from (Cut(source, source.to_layout) for source in sources)
        return
    moves = {placement.piece: placement.move for placement in plan.placements}
    for source in sources:
        groups: dict[str, set[int]] = {}
        for item, index in enumerate(source.marks):
            piece = pattern.marks[index].tag.piece
            groups.setdefault(piece if piece in moves else "", set()).add(item)
        for piece, items in groups.items():
            move = moves.get(piece, Affine())
            yield Cut(source, move @ source.to_layout, frozenset(items))


def window_on_sheet(cut: Cut, window: Box) -> Box:
    """The window of the layout, as the upright box around it on the source's sheet."""
    return cut.to_layout.inverse().box(window)
