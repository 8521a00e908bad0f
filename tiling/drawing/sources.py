"""Where a page's drawing comes from: PDF pages' own content, and full-size sheets written from marks."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from pypdf import PdfReader

from calibrate.run import Run
from tiling.content.artwork import Artwork, Numbering
from tiling.content.sheet_source import SheetSource, SourcePart
from tiling.drawing.sheet import full_sheet
from tiling.pattern import Line, Pattern
from tiling.planning.placing import moves_by_mark
from tiling.planning.plan import Placement
from tiling.shapes import Affine, Box

__all__ = ["parts_of", "sources_of"]


def sources_of(pattern: Pattern, run: Run = Run()) -> tuple[SheetSource, ...]:
    """The contents to print, in drawing order.

    Sheets that carry their source's content are printed from it; all other marks from a sheet written for them.
    """
    sources: list[SheetSource] = []
    starts = [sheet.first_mark for sheet in pattern.sheets]
    written = False
    for index, sheet in enumerate(pattern.sheets):
        if sheet.artwork is not None:
            marks = range(sheet.first_mark, sheet.first_mark + len(sheet.artwork.items))
            sources.append(SheetSource(sheet.artwork, sheet.to_layout, marks, sheet.first_mark))
            continue
        if not any(other.artwork is not None for other in pattern.sheets):
            if not written:
                sources.append(_written(pattern, range(len(pattern.marks)), run))
            written = True
            continue
        end = starts[index + 1] if index + 1 < len(starts) else len(pattern.marks)
        if end > sheet.first_mark:
            sources.append(_written(pattern, range(sheet.first_mark, end), run))
    # What the notes add lies behind the sheets' own marks.
    last = max((source.marks.stop for source in sources), default=0)
    added = range(last, len(pattern.marks))
    if sources and any(isinstance(mark, Line) and mark.style.leaves_ink for mark in pattern.marks[last:]):
        sources.append(_written(pattern, added, run))
    return tuple(sources) or (_written(pattern, range(len(pattern.marks)), run),)


def _written(pattern: Pattern, marks: range, run: Run) -> SheetSource:
    """A sheet that holds the marks whole, also where they go beyond the drawing's own."""
    reach = Box.around(pattern.marks[number].reach() for number in marks)
    sheet = Box(0.0, 0.0, pattern.size.width, pattern.size.height)
    box = sheet.union(reach) if reach is not None else sheet
    data = full_sheet(pattern, marks, box, run)
    run.check()
    artwork = Artwork.from_page(PdfReader(BytesIO(data)).pages[0], numbering=Numbering.TAGS, run=run)
    return SheetSource(artwork, Affine.shift(box.x0, box.y0), marks, written=data)


def parts_of(
    sources: tuple[SheetSource, ...], pattern: Pattern, placements: Sequence[Placement]
) -> tuple[SourcePart, ...]:
    """The sources as they lie on the layout: whole, or in parts where pieces were placed.

    Args:
        sources: the pattern's, as `sources_of` gives them.
        pattern: as read; its marks are numbered through all sources.
        placements: where pieces were laid anew; none for the drawing as it is.
    """
    moves = moves_by_mark(pattern, placements)
    if not moves:
        return tuple(SourcePart(source, source.to_layout) for source in sources)
    parts: list[SourcePart] = []
    for source in sources:
        groups: dict[Affine, set[int]] = {}
        for number in source.marks:
            groups.setdefault(moves.get(number, Affine()), set()).add(number - source.first_mark)
        parts += [SourcePart(source, move @ source.to_layout, frozenset(items)) for move, items in groups.items()]
    return tuple(parts)
