"""Appearances for text laid over a page and for form fields that have none (ISO 32000-2, 12.5.6.6 and 12.7.4)."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from pypdf.generic import ArrayObject, DictionaryObject, PdfObject, StreamObject

from calibrate.printable import printable
from tiling.content.annotation_ink import Border, border_of, form_over, numbers_of, operands, painted, rect_of
from tiling.content.lexer import number
from tiling.content.path_operators import path_operators
from tiling.content.scene import Bounds
from tiling.content.streams import decoded, resolved, text_of, word
from tiling.fonts.shaping import shaped, width_of
from tiling.shapes import Affine

__all__ = ["FIELDS", "inherited", "text_of_box"]

_FONT: Final = re.compile(rb"/([^\s()<>\[\]{}/%]+)\s+(-?[\d.]+)\s+Tf")
_INK: Final = re.compile(rb"((?:-?[\d.]+\s+){1,4})(?:g|rg|k)(?=\s|\Z)")
_BY_NAME: Final = {"Helv": "Helvetica", "HeBo": "Helvetica-Bold", "TiRo": "Times-Roman", "Cour": "Courier"}
_PAD = 2.0
"""Units between a field's border and its text, as form programs leave them."""
_LEADING = 1.16
_AUTO, _LEAST = 12.0, 4.0
_MOST_LETTERS = 20_000
_MULTILINE, _PASSWORD, _COMB, _COMBO = 1 << 12, 1 << 13, 1 << 24, 1 << 17
"""Field flags, tables 231 and 233."""


@dataclass(frozen=True, slots=True)
class _Lettering:
    """What a default appearance says: the face, its size (0: as fits) and the operator of its colour."""

    face: str
    size: float
    colour: bytes


def inherited(note: DictionaryObject, key: str) -> PdfObject | None:
    """A field's attribute, its own or that of a field it belongs to."""
    node: DictionaryObject = note
    for _ in range(30):
        if key in node:
            return resolved(node.get(key))
        parent = resolved(node.get("/Parent"))
        if not isinstance(parent, DictionaryObject):
            return None
        node = parent
    return None


def _lettering(note: DictionaryObject, catalogue: DictionaryObject) -> _Lettering:
    form = resolved(catalogue.get("/AcroForm"))
    common = form if isinstance(form, DictionaryObject) else DictionaryObject()
    said = inherited(note, "/DA") or resolved(common.get("/DA"))
    text = str(said or "").encode("latin-1", "replace")
    font, ink = _FONT.search(text), _INK.search(text)
    name = font[1].decode("latin-1") if font else ""
    resources = resolved(common.get("/DR"))
    fonts = resolved(resources.get("/Font")) if isinstance(resources, DictionaryObject) else None
    found = resolved(fonts.get(f"/{name}")) if isinstance(fonts, DictionaryObject) else None
    base = word(found.get("/BaseFont"))[1:] if isinstance(found, DictionaryObject) else ""
    face = base or _BY_NAME.get(name, "Helvetica")
    return _Lettering(face, abs(number(font[2])) if font else 0.0, ink[0] + b" " if ink else b"0 g ")


def text_of_box(note: DictionaryObject, catalogue: DictionaryObject) -> StreamObject | None:
    """A text laid over the page, its box filled with C and framed in the colour of its letters."""
    border = border_of(note)
    letters = _lettering(note, catalogue)
    x0, y0, x1, y1 = rect_of(note)
    fill = painted(note.get("/C"), stroke=False)
    stroke = _stroking(letters.colour)
    frame = _boxed((x0, y0, x1, y1), border, fill, stroke)
    inner = (x0 + border.width, y0 + border.width, x1 - border.width, y1 - border.width)
    text = _block(text_of(note.get("/Contents")), letters, inner, _alignment(note, catalogue))
    callout = numbers_of(note.get("/CL"))
    points = list(zip(callout[::2], callout[1::2], strict=False))
    leader = b" ".join(operands(p) + (b" l" if k else b" m") for k, p in enumerate(points))
    if len(points) > 1:
        frame += border.pen + stroke + leader + b" S\n"
    if not (text or points or fill):
        return None
    xs, ys = [x0, x1, *callout[::2]], [y0, y1, *callout[1::2]]
    return form_over((min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1), frame + text, note)


def _stroking(filling: bytes) -> bytes:
    values = filling.split()[:-1]
    return b" ".join(values) + b" " + {1: b"G ", 3: b"RG ", 4: b"K "}.get(len(values), b"")


def _alignment(note: DictionaryObject, catalogue: DictionaryObject) -> int:
    form = resolved(catalogue.get("/AcroForm"))
    common = form.get("/Q") if isinstance(form, DictionaryObject) else None
    text = word(inherited(note, "/Q") or common)
    return int(text) if text in ("1", "2") else 0


def _lines(text: str) -> list[str]:
    return [printable(line, " ") for line in re.split(r"\r\n|\r|\n", text[:_MOST_LETTERS])]


def _block(text: str, letters: _Lettering, box: Bounds, alignment: int) -> bytes:
    """Lines from the top of a box, broken at spaces where they are too long for it."""
    size = letters.size or _AUTO
    room = box[2] - box[0] - 2 * _PAD
    lines = [part for line in _lines(text) for part in _wrapped(line, letters.face, size, room)]
    top = box[3] - _PAD - 0.9 * size
    return b"\n".join(
        _written(line, letters, size, _Place(box, top - row * _LEADING * size, alignment))
        for row, line in enumerate(lines)
        if line.strip()
    )


def _wrapped(line: str, face: str, size: float, room: float) -> list[str]:
    found = [""]
    for part in line.split(" "):
        longer = f"{found[-1]} {part}" if found[-1] else part
        if not found[-1] or width_of(longer, face, size) <= room:
            found[-1] = longer
        else:
            found.append(part)
    return found


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a line is written: the box it is set in, its baseline, and whether to the left, amid or to the right."""

    box: Bounds
    baseline: float
    alignment: int = 0


def _written(line: str, letters: _Lettering, size: float, place: _Place) -> bytes:
    """One line as filled outlines, so that no font is needed."""
    shape = shaped(line, letters.face)
    room = place.box[2] - place.box[0] - 2 * _PAD - shape.width * size
    left = place.box[0] + _PAD + room * place.alignment / 2
    outline = shape.outline.moved(Affine(size, 0.0, 0.0, -size, left, place.baseline))
    return letters.colour + path_operators(outline).encode() + b" f" if len(outline.ops) else b""


def _background(note: DictionaryObject) -> bytes:
    """A field's box: filled and framed as its appearance characteristics say (MK, table 192)."""
    look = resolved(note.get("/MK"))
    look = look if isinstance(look, DictionaryObject) else DictionaryObject()
    border = border_of(note)
    fill = painted(look.get("/BG"), stroke=False)
    stroke = painted(look.get("/BC"), stroke=True)
    return _boxed(rect_of(note), border, fill, stroke)


def _boxed(box: Bounds, border: Border, fill: bytes, stroke: bytes) -> bytes:
    """A box filled, and framed within its edges; without either colour nothing."""
    x0, y0, x1, y1 = box
    half = border.width / 2
    parts = [fill + operands((x0, y0, x1 - x0, y1 - y0)) + b" re f\n"] if fill else []
    if stroke and half:
        inner = operands((x0 + half, y0 + half, x1 - x0 - border.width, y1 - y0 - border.width))
        parts.append(border.pen + stroke + inner + b" re S\n")
    return b"".join(parts)


def _inside(note: DictionaryObject) -> Bounds:
    """What a field's frame leaves of its box."""
    look = resolved(note.get("/MK"))
    framed = isinstance(look, DictionaryObject) and painted(look.get("/BC"), stroke=True)
    width = border_of(note).width if framed else 0.0
    x0, y0, x1, y1 = rect_of(note)
    return x0 + width, y0 + width, x1 - width, y1 - width


def _field(note: DictionaryObject, content: bytes) -> StreamObject | None:
    whole = _background(note) + content
    return form_over(rect_of(note), whole, note) if whole.strip() else None


def _flags(note: DictionaryObject) -> int:
    text = word(inherited(note, "/Ff"))
    return int(text) if text.isdigit() else 0


def _one_line(text: str, note: DictionaryObject, catalogue: DictionaryObject) -> bytes:
    """One line at half the height of the field, as large as its default appearance says or as fits."""
    letters, box = _lettering(note, catalogue), _inside(note)
    text = " ".join(_lines(text))
    if not text.strip():
        return b""
    size = letters.size
    if not size:
        tall = (box[3] - box[1] - 2 * _PAD) / _LEADING
        room = box[2] - box[0] - 2 * _PAD
        size = max(_LEAST, min(_AUTO, tall, room / max(width_of(text, letters.face, 1.0), 1e-6)))
    baseline = (box[1] + box[3]) / 2 - 0.36 * size
    return _written(text, letters, size, _Place(box, baseline, _alignment(note, catalogue)))


def _text_field(note: DictionaryObject, catalogue: DictionaryObject) -> StreamObject | None:
    value = inherited(note, "/V")
    text = decoded(value)[0].decode("latin-1") if isinstance(value, StreamObject) else text_of(value)
    flags = _flags(note)
    if flags & _PASSWORD:
        text = "*" * len(text)
    if flags & _MULTILINE:
        content = _block(text, _lettering(note, catalogue), _inside(note), _alignment(note, catalogue)) if text else b""
        return _field(note, content)
    longest = word(inherited(note, "/MaxLen"))
    if flags & _COMB and longest.isdigit() and 0 < int(longest) <= 1000:
        return _field(note, _combed(text, int(longest), note, catalogue))
    return _field(note, _one_line(text, note, catalogue))


def _combed(text: str, cells: int, note: DictionaryObject, catalogue: DictionaryObject) -> bytes:
    """One letter amid each of so many equal cells."""
    letters, (x0, y0, x1, y1) = _lettering(note, catalogue), _inside(note)
    wide = (x1 - x0) / cells
    size = letters.size or max(_LEAST, min(_AUTO, (y1 - y0 - 2 * _PAD) / _LEADING))
    baseline = (y0 + y1) / 2 - 0.36 * size
    return b"\n".join(
        _written(letter, letters, size, _Place((x0 + k * wide, y0, x0 + (k + 1) * wide, y1), baseline, 1))
        for k, letter in enumerate(printable(text, " ")[:cells])
    )


def _choice(note: DictionaryObject, catalogue: DictionaryObject) -> StreamObject | None:
    """A choice from a list: the one chosen, or the whole list from the line it was rolled to."""
    listed = resolved(inherited(note, "/Opt"))
    options = [_option(one) for one in listed] if isinstance(listed, ArrayObject) else []
    value = inherited(note, "/V")
    chosen = [text_of(one) for one in value] if isinstance(value, ArrayObject) else [text_of(value)]
    if _flags(note) & _COMBO:
        return _field(note, _one_line(dict(options).get(chosen[0], chosen[0]), note, catalogue))
    first = word(inherited(note, "/TI"))
    shown = options[int(first) if first.isdigit() else 0 :]
    return _field(note, _listed(shown, chosen, note, catalogue))


def _option(value: PdfObject) -> tuple[str, str]:
    """What a choice stands for, and what is shown of it."""
    one = resolved(value)
    both = [text_of(part) for part in one] if isinstance(one, ArrayObject) else [text_of(one)]
    return both[0] if both else "", both[-1] if both else ""


def _listed(
    options: Sequence[tuple[str, str]], chosen: Sequence[str], note: DictionaryObject, catalogue: DictionaryObject
) -> bytes:
    letters, box = _lettering(note, catalogue), _inside(note)
    size = letters.size or _AUTO
    step = _LEADING * size
    parts = []
    for row, (export, shown) in enumerate(options[: int((box[3] - box[1]) / step) + 1]):
        low = box[3] - _PAD - (row + 1) * step
        if export in chosen or shown in chosen:
            parts.append(b"0.6 0.76 0.86 rg " + operands((box[0], low, box[2] - box[0], step)) + b" re f")
        line = printable(shown, " ")
        if line.strip():
            parts.append(_written(line, letters, size, _Place(box, low + 0.25 * size, _alignment(note, catalogue))))
    return b"\n".join(parts)


def _button(note: DictionaryObject, catalogue: DictionaryObject) -> StreamObject | None:
    """A push button with its caption; what other buttons show depends on their state's own appearance."""
    look = resolved(note.get("/MK"))
    if not _flags(note) & (1 << 16):
        return _field(note, b"")
    caption = text_of(look.get("/CA")) if isinstance(look, DictionaryObject) else ""
    letters, box = _lettering(note, catalogue), _inside(note)
    size = letters.size or _AUTO
    place = _Place(box, (box[1] + box[3]) / 2 - 0.36 * size, 1)
    return _field(note, _written(printable(caption, " "), letters, size, place) if caption.strip() else b"")


FIELDS: Final[dict[str, Callable[[DictionaryObject, DictionaryObject], StreamObject | None]]] = {
    "/Tx": _text_field,
    "/Ch": _choice,
    "/Btn": _button,
}
