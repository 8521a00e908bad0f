"""How annotations without an appearance are to look: colours, borders, and the form that draws them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    PdfObject,
)

from tiling.content.lexer import number
from tiling.content.scene import Bounds, figure
from tiling.content.streams import floats, resolved, word

__all__ = ["Border", "border_of", "form_over", "numbers_of", "operands", "painted", "rect_of"]

_SETTERS = {1: (b"G", b"g"), 3: (b"RG", b"rg"), 4: (b"K", b"k")}


@dataclass(frozen=True, slots=True)
class Border:
    """A border's width and dashes in units of user space; no width is no border."""

    width: float
    dashes: tuple[float, ...] = ()

    @property
    def pen(self) -> bytes:
        """The operators that draw with it."""
        dashes = operands(self.dashes) if sum(self.dashes) > 0 else b""
        return figure(self.width) + b" w [%b] 0 d " % dashes


def numbers_of(value: PdfObject | None) -> list[float]:
    """All numbers of an array object; none where it is something else."""
    array = resolved(value)
    if not isinstance(array, ArrayObject):
        return []
    return [number(str(resolved(item)).encode("latin-1", "replace")) for item in array]


def operands(values: Sequence[float]) -> bytes:
    """Numbers as written in content."""
    return b" ".join(map(figure, values))


def rect_of(note: DictionaryObject) -> Bounds:
    """An annotation's rectangle, its corners in order."""
    x0, y0, x1, y1 = floats(note.get("/Rect"), 4) or (0.0, 0.0, 0.0, 0.0)
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def painted(value: PdfObject | None, *, stroke: bool) -> bytes:
    """The operator that sets a colour of one, three or four parts (ISO 32000-2, table 166); nothing for none."""
    parts = [min(max(part, 0.0), 1.0) for part in numbers_of(value)]
    setter = _SETTERS.get(len(parts))
    return operands(parts) + b" " + setter[0 if stroke else 1] + b" " if setter else b""


def border_of(note: DictionaryObject) -> Border:
    """The border style (ISO 32000-2, 12.5.4): BS, else Border, else one unit wide."""
    style = resolved(note.get("/BS"))
    if isinstance(style, DictionaryObject):
        width = number(word(style.get("/W")).encode("latin-1", "replace")) if "/W" in style else 1.0
        dashes = numbers_of(style.get("/D")) or [3.0]
        return Border(max(width, 0.0), tuple(dashes) if word(style.get("/S")) == "/D" else ())
    listed = resolved(note.get("/Border"))
    if isinstance(listed, ArrayObject) and len(listed) >= 3:
        width = number(word(listed[2]).encode("latin-1", "replace"))
        return Border(max(width, 0.0), tuple(numbers_of(listed[3])) if len(listed) > 3 else ())
    return Border(1.0)


def form_over(box: Bounds, content: bytes, note: DictionaryObject, *, darkens: bool = False) -> DecodedStreamObject:
    """A form in the page's user space that shows the content, as see-through as the annotation says (CA).

    Args:
        box: what may be seen of it.
        content: paints, from the initial graphics state.
        note: the annotation.
        darkens: as a marker pen does, the ink leaves what lies below to be seen.
    """
    made = DecodedStreamObject()
    made[NameObject("/Type")], made[NameObject("/Subtype")] = NameObject("/XObject"), NameObject("/Form")
    made[NameObject("/BBox")] = ArrayObject([FloatObject(round(side, 6)) for side in box])
    made[NameObject("/Resources")] = DictionaryObject()
    opacity = number(word(note.get("/CA")).encode("latin-1", "replace")) if "/CA" in note else 1.0
    if opacity < 1 or darkens:
        state = DictionaryObject({NameObject(key): FloatObject(min(max(opacity, 0.0), 1.0)) for key in ("/CA", "/ca")})
        if darkens:
            state[NameObject("/BM")] = NameObject("/Multiply")
        states = DictionaryObject({NameObject("/Gs"): state})
        made[NameObject("/Resources")] = DictionaryObject({NameObject("/ExtGState"): states})
        content = b"/Gs gs " + content
    made.set_data(content)
    return made
