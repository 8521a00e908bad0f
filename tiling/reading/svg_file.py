"""One SVG file while it is read: its elements by id, its style rules, and what was found on the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from lxml import etree

from tiling.files.inputs import InputFile
from tiling.pattern import FindingKind
from tiling.reading.findings import FindingLog
from tiling.reading.svg_cascade import Cascade, Computed
from tiling.reading.svg_guard import SvgSource, where_of
from tiling.reading.svg_path import parse_transform
from tiling.reading.svg_scene import LayerBook, SvgScene, find_layers
from tiling.reading.svg_shapes import outline_of
from tiling.reading.svg_units import ElementFault, Lengths
from tiling.shapes import Affine, Path

__all__ = ["DEEPEST", "LIMIT", "SvgFile", "on_sheet", "open_svg"]

LIMIT = 100_000.0
"""No coordinate may lie farther out than this, mm (100 m)."""

DEEPEST = 100
"""How many elements may lie in one another, copies and clips included."""

_HREF = "{http://www.w3.org/1999/xlink}href"


@dataclass(frozen=True, slots=True)
class SvgFile:
    """What every part of the reader needs to know of the file. `log` collects findings as they are met."""

    file: InputFile
    root: etree._Element
    ids: dict[str, etree._Element]
    cascade: Cascade
    book: LayerBook
    log: FindingLog

    def link(self, element: etree._Element) -> str:
        """What the element refers to, as written."""
        return (element.get("href") or element.get(_HREF) or "").strip()

    def linked(self, element: etree._Element) -> etree._Element | None:
        """The element in this file that it refers to, or None."""
        link = self.link(element)
        return self.ids.get(link[1:]) if link.startswith("#") else None

    def note(self, kind: FindingKind, text: str, element: etree._Element) -> None:
        """Note a finding about an element."""
        self.log.add(kind, text, where_of(element))

    def placed(self, element: etree._Element, declared: dict[str, str], to_sheet: Affine) -> Affine:
        """From the element's own units to the sheet, `to_sheet` from those around it; an unreadable transform is noted.

        Raises:
            ElementFault: a number in it is not finite.
        """
        text = declared.get("transform") or element.get("transform")
        if not text or text.strip() == "none":
            return to_sheet
        move = parse_transform(text)
        if move is None:
            self.note(FindingKind.CONTENT_REPAIRED, "A transform can't be read; its element was not moved.", element)
            return to_sheet
        return to_sheet @ move

    def outline(self, element: etree._Element, declared: dict[str, str], scene: SvgScene) -> Path | None:
        """A basic shape's path in user units, None when nothing of it is drawn.

        Raises:
            ElementFault: a number in it is not finite.
        """
        outline = outline_of(element, declared, scene)
        if outline is None:
            return None
        if outline.wrong:
            text = f"A line {outline.wrong}; it is drawn as far as it can be."
            self.note(FindingKind.CONTENT_REPAIRED, text, element)
        return outline.path if len(outline.path) > 1 else None

    def style_at(self, element: etree._Element) -> Computed:
        """The inherited properties where the element is written, whoever uses it."""
        style: Computed = {}
        for ancestor in reversed([element, *element.iterancestors()]):
            style = self.cascade.computed(style, self.cascade.declared(ancestor), Lengths(1.0, 1.0))
        return style


def on_sheet(path: Path, to_sheet: Affine) -> Path:
    """The path in mm.

    Raises:
        ElementFault: a point is not finite, or farther out than `LIMIT`.
    """
    with np.errstate(all="ignore"):
        moved = path.moved(to_sheet)
    if not np.all(np.abs(moved.points) <= LIMIT):
        raise ElementFault(f"has a point farther out than {LIMIT / 1000:g} m or not finite; check it and its transform")
    return moved


def open_svg(source: SvgSource) -> SvgFile:
    """Index a parsed file."""
    log = FindingLog()
    ids: dict[str, etree._Element] = {}
    for element in source.root.iter():
        attributes = element.attrib
        ident = attributes.get("id")
        if ident:
            ids.setdefault(ident, element)
        if any(isinstance(name, str) and name.startswith("on") for name in attributes):
            log.add(FindingKind.SCRIPT_DROPPED, "A script in the drawing is not run.", where_of(element))
    cascade = Cascade(source.root, log)
    return SvgFile(source.file, source.root, ids, cascade, find_layers(source.root, cascade), log)
