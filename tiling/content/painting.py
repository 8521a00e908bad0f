"""Paths, clips, pictures and shadings of a content stream."""

from __future__ import annotations

import re
from typing import Final

from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from tiling.content.lexer import number
from tiling.content.resources import entry, safe_name
from tiling.content.scene import Bounds, ContentScene, Drawn, ItemKind, Matrix, box_of_unit, common, moved_box
from tiling.content.state import FILLED, PAINTS
from tiling.content.streams import resolved

__all__ = ["CLOSING", "draw_image", "draw_inline_image", "inline_image_size", "paint", "run_box", "shade"]

CLOSING: Final = {b"s": b"S", b"b": b"B", b"b*": b"B*"}
"""Painting operators that close the path first (ISO 32000-2, table 59)."""
_PATH: Final = ItemKind.PATH
"""Looked up once: members of an enum are found slowly."""
_POINTS: Final = {b"m": 1, b"l": 1, b"c": 3, b"v": 2, b"y": 2}


def paint(scene: ContentScene, operator: bytes) -> None:
    """A path-painting operator (S, f, B … n): one object, then the clip that was asked for with W."""
    path = scene.path
    if not path:
        scene.clip_rule = b""
        return
    run = path[0] if len(path) == 1 else b" ".join(path)
    scene.path = []
    scene.trace(run)
    if operator != b"n" and not scene.hidden:
        closes = operator in CLOSING
        if closes:
            run += b" h"
            operator = CLOSING[operator]
        elif operator == b"F":
            operator = b"f"
        drawn = Drawn(scene, _PATH, PAINTS[operator], operator)
        drawn.closes = closes
        drawn.run = len(scene.runs)
        scene.runs.append(run)
        scene.add(drawn)
    if scene.clip_rule:
        _clip(scene, run)


def _clip(scene: ContentScene, run: bytes) -> None:
    box = run_box(run, scene.ctm)
    upright = scene.ctm[1] == scene.ctm[2] == 0.0 or scene.ctm[0] == scene.ctm[3] == 0.0
    rectangle = upright and run.endswith(b"re") and run.count(b"re") == 1 and len(run.split()) == 5
    if not (rectangle and box is not None and scene.covers(box)):
        scene.frame.steps.append(run.strip() + b" " + scene.clip_rule + b" n")
    if box is not None:
        scene.narrow(box)
    scene.clip_rule = b""


def run_box(run: bytes, ctm: Matrix) -> Bounds | None:
    """Box in mm around all points of a run of construction operators; None when it has none."""
    xs: list[float] = []
    ys: list[float] = []
    operands: list[float] = []
    for token in run.replace(b"\x00", b" ").split():
        if token in _POINTS or token == b"re":
            if token == b"re" and len(operands) >= 4:
                x, y, width, height = operands[-4:]
                operands = [x, y, x + width, y, x, y + height, x + width, y + height]
            xs += operands[0::2]
            ys += operands[1::2]
            operands = []
        elif token != b"h":
            operands.append(number(token))
    if not xs or not ys:
        return None
    a, b, c, d, e, f = ctm
    if b == c == 0.0 or a == d == 0.0 or len(xs) <= 4:
        return moved_box(ctm, (min(xs), min(ys), max(xs), max(ys)))
    across = [a * x + c * y + e for x, y in zip(xs, ys, strict=False)]
    down = [b * x + d * y + f for x, y in zip(xs, ys, strict=False)]
    return min(across), min(down), max(across), max(down)


def draw_image(scene: ContentScene, name: bytes, image: StreamObject) -> None:
    """Do with an image: the unit square."""
    if scene.hidden:
        return
    raw = entry(scene.resources, "/XObject", safe_name(name))
    label = scene.merger.name("/XObject", raw, name)
    drawn = Drawn(scene, ItemKind.PICTURE, FILLED, label + b" Do")
    drawn.box = box_of_unit(scene.ctm)
    if image:
        scene.add(drawn)


def draw_inline_image(scene: ContentScene, raw: bytes) -> None:
    """BI … ID … EI, carried as it is."""
    if scene.hidden:
        return
    drawn = Drawn(scene, ItemKind.PICTURE, FILLED, raw)
    drawn.box = box_of_unit(scene.ctm)
    scene.add(drawn)


_IMAGE_KEY: Final = re.compile(
    rb"/(W|Width|H|Height|BPC|BitsPerComponent|CS|ColorSpace|IM|ImageMask|F|Filter)\s*(/?\w+|\[)"
)
_COMPONENTS: Final = {b"/G": 1, b"/DeviceGray": 1, b"/RGB": 3, b"/DeviceRGB": 3, b"/CMYK": 4, b"/DeviceCMYK": 4}


def inline_image_size(header: bytes) -> int:
    """How many bytes of data an unfiltered inline image has (ISO 32000-2, 8.9.7), 0 where that isn't known."""
    found = {key[:2] if key in (b"Width", b"Height") else key: value for key, value in _IMAGE_KEY.findall(header)}
    width, height = (found.get(key, found.get(key[:1], b"0")) for key in (b"Wi", b"He"))
    bits = found.get(b"BPC", found.get(b"BitsPerComponent", b"8"))
    if b"F" in found or b"Filter" in found or not (width.isdigit() and height.isdigit() and bits.isdigit()):
        return 0
    masks = found.get(b"IM", found.get(b"ImageMask", b"false")) == b"true"
    parts = 1 if masks else _COMPONENTS.get(found.get(b"CS", found.get(b"ColorSpace", b"")), 0)
    row = (int(width) * parts * (1 if masks else int(bits)) + 7) // 8
    return row * int(height)


def shade(scene: ContentScene, name: bytes) -> None:
    """The sh operator: fills the clip, or the shading's own box."""
    raw = entry(scene.resources, "/Shading", safe_name(name))
    shading = resolved(raw)
    if scene.hidden:
        return
    if not isinstance(shading, DictionaryObject):
        scene.missing.add(f"shading {safe_name(name)[1:]}")
        return
    label = scene.merger.name("/Shading", raw, name)
    drawn = Drawn(scene, ItemKind.SHADING, FILLED, label + b" sh")
    drawn.box = scene.clip
    box = resolved(shading.get("/BBox"))
    if isinstance(box, ArrayObject) and len(box) == 4:
        x0, y0, x1, y1 = (number(str(resolved(value)).encode()) for value in box)
        drawn.box = common(scene.clip, moved_box(scene.ctm, (x0, y0, x1, y1)))
    scene.add(drawn)
