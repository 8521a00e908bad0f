"""A PDF drawing as patterns, one for each page: real size, layers, and every object as a mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

from pypdf.generic import DictionaryObject

from calibrate.printable import single_spaced
from calibrate.run import Run
from tiling.content import Artwork, Item, LayerChoice
from tiling.content.annotations import overlay_of
from tiling.content.layers import LayerEntry, layer_entries
from tiling.content.scene import DAMAGED
from tiling.failures import Action, InputUnfit, Remedy
from tiling.files.inputs import InputFile
from tiling.fonts.shaping import Direction, in_reading_order
from tiling.pattern import Finding, FindingKind, Label, Layer, Line, Mark, Pattern, Picture, Sheet, Tag, layers_by_name
from tiling.reading.findings import nothing_drawn
from tiling.reading.options import LONGEST_TITLE
from tiling.reading.pdf_findings import document_findings, overlay_findings, page_findings, pages_already
from tiling.reading.pdf_open import OpenedPdf, open_pdf, quiet, reopened
from tiling.shapes import Affine, Box, Path
from tiling.style import Style

__all__ = ["choose_layers", "choose_pages", "marks_of", "read_pdf"]

_MOST_NAMED = 12
_MOST_PAGES = 150
"""Far above what patterns come on; books of more pages take a minute and more than 1 GB."""
_NO_TITLES = {"", "untitled", "Untitled"}


def read_pdf(
    file: InputFile, *, pages: Sequence[int] = (), layers: Sequence[str] = (), run: Run = Run()
) -> list[Pattern]:
    """The pages of a PDF, each as a pattern whose mark i is its artwork's item i.

    Args:
        file: the PDF.
        pages: numbers from 1; empty takes all.
        layers: names of the layers to draw besides what is in none; empty draws what the file itself shows.
        run: told of every page.

    Raises:
        InputUnfit: the file is damaged or locked, has no such page or layer, shows nothing, or has too much in it.
        Cancelled: the run is to end.
    """
    opened = open_pdf(file)
    with quiet():
        patterns = _read(opened, pages, layers, run)
        # What could not be decoded or found may be there in the file as PDFium repairs it.
        if any(DAMAGED in artwork.repairs or artwork.missing for artwork in _artworks(patterns)):
            again = reopened(opened)
            repaired = _read(again, pages, layers, run) if again else patterns
            if _size(repaired) > _size(patterns):
                patterns = repaired
    if not any(item.leaves_ink for artwork in _artworks(patterns) for item in artwork.items):
        kept = [one for pattern in patterns for one in pattern.findings if one.kind is FindingKind.ANNOTATION_DROPPED]
        raise nothing_drawn(file, _layers(layer_entries(opened.reader.root_object)), layers, kept)
    return patterns


def _read(opened: OpenedPdf, pages: Sequence[int], layers: Sequence[str], run: Run) -> list[Pattern]:
    numbers = choose_pages(opened, pages)
    catalogue = opened.reader.root_object
    entries = layer_entries(catalogue)
    choice = choose_layers(opened.file, entries, layers)
    where = opened.file.file_name
    general = document_findings(catalogue, opened.repair, where) + _hidden_layers(entries, layers, where)
    patterns: list[Pattern] = []
    for number in numbers:
        patterns.append(_page(opened, number, entries, choice, general if not patterns else [], run))
        run.step("Reading, page", len(patterns), len(numbers))
    if not pages:
        already = pages_already(catalogue, [pattern.size for pattern in patterns], where)
        patterns[0] = replace(patterns[0], findings=(*already, *patterns[0].findings))
    return patterns


def _artworks(patterns: Sequence[Pattern]) -> list[Artwork]:
    return [sheet.artwork for pattern in patterns for sheet in pattern.sheets if sheet.artwork is not None]


def _size(patterns: Sequence[Pattern]) -> int:
    return sum(len(pattern.marks) for pattern in patterns)


def choose_pages(opened: OpenedPdf, pages: Sequence[int]) -> list[int]:
    """The page numbers asked for, or all.

    Raises:
        InputUnfit: there is no such page, or all would be a book.
    """
    count = len(opened.pages)
    if not pages and count > _MOST_PAGES:
        raise InputUnfit(
            f"{opened.file.name}: has {count} pages, more than {_MOST_PAGES}: a book rather than a pattern",
            Remedy(Action.CHOOSE_OWN_PAGES),
        )
    for number in pages:
        if not 1 <= number <= count:
            there = "only page 1" if count == 1 else f"pages 1 to {count}"
            raise InputUnfit(f"{opened.file.name}: has no page {number}, but {there}", Remedy(Action.CHOOSE_PAGE))
    return list(pages) or list(range(1, count + 1))


def choose_layers(file: InputFile, entries: Sequence[LayerEntry], names: Sequence[str]) -> LayerChoice:
    """Which layers are drawn.

    Raises:
        InputUnfit: a name that no layer has; the message lists those there are.
    """
    there = list(dict.fromkeys(entry.name for entry in entries))
    for name in names:
        if name not in there:
            listed = ", ".join(f"'{one}'" for one in there[:_MOST_NAMED]) + (" …" if len(there) > _MOST_NAMED else "")
            known = f"its layers are {listed}" if there else "it has no layers"
            raise InputUnfit(f"{file.name}: has no layer '{name}'; {known}.")
    return LayerChoice.of(entries, names)


def _hidden_layers(entries: Sequence[LayerEntry], names: Sequence[str], where: str) -> list[Finding]:
    hidden = list(dict.fromkeys(entry.name for entry in entries if not entry.shown))
    if names or not hidden:
        return []
    listed = ", ".join(f"'{name}'" for name in hidden[:_MOST_NAMED]) + (" …" if len(hidden) > _MOST_NAMED else "")
    text = f"Layers that the file itself hides are not drawn: {listed}"
    return [Finding(FindingKind.LAYER_HIDDEN, text, where, Remedy(Action.PICK_LAYERS))]


def _page(
    opened: OpenedPdf,
    number: int,
    entries: Sequence[LayerEntry],
    choice: LayerChoice,
    general: Sequence[Finding],
    run: Run,
) -> Pattern:
    page = opened.pages[number - 1]
    name = opened.file.file_name if len(opened.pages) == 1 else f"{opened.file.file_name}, page {number}"
    try:
        overlay = overlay_of(page, opened.reader.root_object)
        artwork = Artwork.from_page(page, layers_shown=choice, overlay=overlay, run=run)
    except InputUnfit as cause:
        raise InputUnfit(f"{opened.file.name}: page {number}: {cause}") from cause
    size = artwork.size
    return Pattern(
        title=_title(opened),
        size=size,
        marks=marks_of(artwork),
        layers=layers_by_name(_layers(entries)),
        sheets=(Sheet(name, Box(0.0, 0.0, size.width, size.height), artwork=artwork),),
        findings=(*general, *page_findings(page, artwork, name), *overlay_findings(overlay, name)),
    )


def _layers(entries: Sequence[LayerEntry]) -> list[Layer]:
    return [Layer(entry.name, entry.shown) for entry in entries]


def _title(opened: OpenedPdf) -> str:
    information = opened.reader.trailer.get("/Info")
    information = information.get_object() if information is not None else None
    title = information.get("/Title") if isinstance(information, DictionaryObject) else None
    words = single_spaced(str(title or ""))
    return single_spaced(opened.file.stem) if words in _NO_TITLES else words[:LONGEST_TITLE]


def marks_of(artwork: Artwork) -> tuple[Mark, ...]:
    """One mark for each item: lines as they are; text as labels; all else as the box that holds it."""
    clips: dict[tuple[float, float, float, float], Path] = {}
    return tuple(_mark(item, clips) for item in artwork.items)


def _mark(item: Item, clips: dict[tuple[float, float, float, float], Path]) -> Mark:
    tag = Tag(layer=item.layer)
    limits = item.clip_box
    if limits is not None and limits not in clips:
        clips[limits] = Path.rectangle(Box(*limits))
    clip = None if limits is None else clips[limits]
    path = item.path
    if path is not None and item.is_certain:
        return Line(path, item.style, tag, clip)
    if not item.leaves_ink:
        return Line(Path.rectangle(item.reach), Style(), tag)
    run = item.text
    if run is not None and not run.odd:
        a, b, c, d, e, f = run.matrix
        tall = hypot(c, d) or 1.0
        at = Affine(a / tall, b / tall, -c / tall, -d / tall, e, f)
        text = in_reading_order(run.text)
        way = Direction.RIGHTWARDS
        return Label(text, at, run.size, run.font, item.colour, run.advance, item.opacity, tag, clip, way)
    reach = item.reach
    return Picture(b"", Affine(reach.width, 0.0, 0.0, reach.height, reach.x0, reach.y0), item.opacity, tag)
