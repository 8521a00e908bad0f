"""An SVG file as a pattern at its real size."""

from __future__ import annotations

from collections.abc import Sequence

from calibrate.printable import single_spaced
from calibrate.run import Run
from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.inputs import InputFile
from tiling.pattern import Finding, FindingKind, Label, Mark, Pattern, Picture, Sheet, pieces_of
from tiling.reading.findings import nothing_drawn
from tiling.reading.options import LONGEST_TITLE, ReadOptions
from tiling.reading.svg_file import LIMIT
from tiling.reading.svg_guard import load_svg
from tiling.reading.svg_scene import LayerBook, title_of
from tiling.reading.svg_size import RealSize, real_size
from tiling.reading.svg_units import ElementFault
from tiling.reading.svg_walk import Walker
from tiling.reading.true_size import scale_stated
from tiling.shapes import Affine, Box, Size

__all__ = ["read_svg"]

_BEYOND = 0.5
"""How far the drawing may pass the page's edge before the sheet is made larger, mm."""


def read_svg(file: InputFile, options: ReadOptions = ReadOptions(), run: Run = Run()) -> Pattern:
    """Read one SVG file (or gzipped SVG).

    Raises:
        InputUnfit: the file is damaged, no drawing, has no size, shows nothing, or holds an element that is unfit
            (named).
        Cancelled: the run is to end.
    """
    source = load_svg(file)
    try:
        size = real_size(source.root, options.px_per_inch)
    except ElementFault as fault:
        raise InputUnfit(f"{file.name}: {fault}.") from None
    if size.sheet is not None and max(size.sheet.width, size.sheet.height) > LIMIT:
        raise InputUnfit(
            f"{file.name}: is {size.sheet.width / 1000:,.6g} by {size.sheet.height / 1000:,.6g} m; check its units."
        )
    walker = Walker(source, size, options, run)
    _check_layers(file, walker.svg.book, options)
    walker.run()
    book = walker.svg.book
    if not walker.marks:
        raise nothing_drawn(file, book.layers, options.layers)
    marks, sheet, findings = _on_sheet(walker.marks, size)
    return Pattern(
        title_of(source.root)[:LONGEST_TITLE] or single_spaced(file.stem),
        sheet,
        tuple(marks),
        pieces_of(marks, walker.titles),
        book.layers,
        (Sheet(file.file_name, Box(0.0, 0.0, sheet.width, sheet.height)),),
        size.basis,
        size.px_per_inch,
        (*size.findings, *_hidden(book, options), *walker.svg.log.findings(), *findings),
        scale=scale_stated(source.root.get("data-scaled")),
    )


def _check_layers(file: InputFile, book: LayerBook, options: ReadOptions) -> None:
    there = [layer.name for layer in book.layers]
    for name in options.layers:
        if name not in there:
            known = ", ".join(f"'{n}'" for n in there) if there else "no layers at all"
            raise InputUnfit(f"{file.name}: has no layer '{name}'; there are {known}", Remedy(Action.CHOOSE_LAYER))


def _hidden(book: LayerBook, options: ReadOptions) -> list[Finding]:
    names = [layer.name for layer in book.layers if not layer.shown]
    if options.layers or not names:
        return []
    text = f"The file hides the layers {', '.join(names)}; they are not drawn"
    return [Finding(FindingKind.LAYER_HIDDEN, text, remedy=Remedy(Action.DRAW_LAYERS))]


def _on_sheet(marks: Sequence[Mark], size: RealSize) -> tuple[list[Mark], Size, list[Finding]]:
    """The marks on a sheet that holds them all: nothing drawn beyond the page's edge is lost.

    A drawing without a size gets a sheet as large as its ink reaches.
    """
    if size.sheet is None:
        extent = Box.around(mark.reach() for mark in marks)
        assert extent is not None
        move = Affine.shift(-extent.x0, -extent.y0)
        return [mark.moved(move) for mark in marks], extent.size, []
    page = Box(0.0, 0.0, size.sheet.width, size.sheet.height)
    outlines = Box.around(_bounds(mark, page) for mark in marks)
    assert outlines is not None
    if page.grown(_BEYOND).covers(outlines):
        return list(marks), size.sheet, []
    whole = page.union(outlines)
    text = (
        f"The drawing reaches beyond its page of {page.width:.1f} × {page.height:.1f} mm; the sheet was made"
        f" {whole.width:.1f} × {whole.height:.1f} mm so that nothing is lost."
    )
    move = Affine.shift(-whole.x0, -whole.y0)
    moved = [mark.moved(move) for mark in marks] if whole.x0 < 0 or whole.y0 < 0 else list(marks)
    return moved, whole.size, [Finding(FindingKind.SHEET_ENLARGED, text)]


def _bounds(mark: Mark, page: Box) -> Box:
    """What of the mark could be lost at the page's edge; cheap where it surely lies inside."""
    if isinstance(mark, Label):
        # Letters may run wider here than in the font meant: they alone don't make the sheet larger by a little.
        reach = mark.reach()
        slack = mark.size * mark.at.stretch + 0.2 * reach.width
        return page if page.grown(slack).covers(reach) else reach
    if isinstance(mark, Picture):
        return mark.reach()
    hull, clip = mark.path.hull, mark.clip
    box = hull if page.covers(hull) else mark.path.bounds()
    return box if clip is None else (box.common(clip.hull) or Box(box.x0, box.y0, box.x0, box.y0))
