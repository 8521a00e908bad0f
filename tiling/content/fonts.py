"""How wide and how tall text is, from what the font dictionary says (ISO 32000-2, 9.5 to 9.7).

The boxes are meant to be safe, not tight: where a font says nothing, a generous guess is taken.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from pypdf.generic import ArrayObject, DictionaryObject, PdfObject, StreamObject

from tiling.content.streams import decoded, resolved, word
from tiling.failures import InputUnfit
from tiling.typefaces import STANDARD

__all__ = ["UNKNOWN_FONT", "FontMetrics", "font_metrics"]

_LOW, _HIGH, _MOST = -0.35, 1.1, 2.5
_MAP_LIMIT = 2_000_000
_MAP_ENTRIES = 70_000


@dataclass(frozen=True, slots=True)
class FontMetrics:
    """Measures in em (text space units for size 1).

    Attributes:
        widths: advance by character code.
        usual: advance of codes not listed.
        code_bytes: bytes of one character code.
        low, high: from below the descenders to above the ascenders, relative to the baseline.
        before, after: how far ink may reach beyond the pen's start and end.
        boundless: nothing is known of the glyphs' extent (Type 3 without a bounding box).
    """

    name: str = "Helvetica"
    widths: dict[int, float] = field(default_factory=dict)
    usual: float = 1.0
    code_bytes: int = 1
    low: float = _LOW
    high: float = _HIGH
    before: float = 0.3
    after: float = 0.5
    vertical: bool = False
    boundless: bool = False
    letters: dict[int, str] = field(default_factory=dict)

    @property
    def is_odd(self) -> bool:
        """Whether the glyphs needn't stand on a line from left to right, from descender to ascender."""
        return self.vertical or self.name == "Type3"

    def codes(self, string: bytes) -> list[int]:
        """The character codes of a shown string."""
        if self.code_bytes == 1:
            return list(string)
        return [int.from_bytes(string[i : i + 2], "big") for i in range(0, len(string), 2)]

    def text(self, codes: list[int]) -> str:
        """What the codes say, as far as the font tells."""
        letters = self.letters
        if self.code_bytes == 1:
            return "".join(letters.get(code) or bytes((code,)).decode("cp1252", "replace") for code in codes)
        return "".join(letters.get(code, "\ufffd") for code in codes)


UNKNOWN_FONT: Final = FontMetrics()


def _num(value: PdfObject | None, otherwise: float) -> float:
    value = resolved(value)
    try:
        result = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return otherwise
    return result if abs(result) < 1e6 else otherwise


def _floats(value: PdfObject | None, count: int) -> list[float] | None:
    array = resolved(value)
    if not isinstance(array, ArrayObject) or len(array) < count:
        return None
    return [_num(item, 0.0) for item in list(array)[:count]]


def font_metrics(font: PdfObject | None) -> FontMetrics:
    """The measures of a font dictionary; a generous default for what isn't one."""
    if not isinstance(font, DictionaryObject):
        return UNKNOWN_FONT
    subtype = word(font.get("/Subtype"))
    if subtype == "/Type0":
        return _composite(font)
    if subtype == "/Type3":
        return _type3(font)
    name = str(resolved(font.get("/BaseFont")) or "/Helvetica").lstrip("/")
    descriptor = resolved(font.get("/FontDescriptor"))
    descriptor = descriptor if isinstance(descriptor, DictionaryObject) else DictionaryObject()
    widths = _simple_widths(font, 0.001)
    usual = _num(descriptor.get("/MissingWidth"), 0.0) / 1000
    if not widths:
        widths, usual = (dict(_standard_widths(name)), 0.0) if name in STANDARD else ({}, 1.0)
    low, high, before, after = _extent(descriptor)
    return FontMetrics(name, widths, usual, 1, low, high, before, after, letters=_letters(font))


def _simple_widths(font: DictionaryObject, unit: float) -> dict[int, float]:
    listed = resolved(font.get("/Widths"))
    if not isinstance(listed, ArrayObject):
        return {}
    first = int(_num(font.get("/FirstChar"), 0))
    return {first + i: _num(width, 0.0) * unit for i, width in enumerate(list(listed)[:256])}


@lru_cache(maxsize=16)
def _standard_widths(name: str) -> tuple[tuple[int, float], ...]:
    """Advances of one of the fourteen standard fonts, from reportlab's copy of their metrics files."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - heavy, and rarely needed

    return tuple((code, width / 1000) for code, width in enumerate(pdfmetrics.getFont(name).widths))


def _extent(descriptor: DictionaryObject) -> tuple[float, float, float, float]:
    box = _floats(descriptor.get("/FontBBox"), 4) or [0.0, 0.0, 0.0, 0.0]
    x0, y0, x1, y1 = (min(max(value / 1000, -_MOST), _MOST) for value in box)
    low = min(_LOW, y0, max(_num(descriptor.get("/Descent"), 0.0) / 1000, -_MOST))
    high = max(_HIGH, y1, min(_num(descriptor.get("/Ascent"), 0.0) / 1000, _MOST))
    return low, high, max(0.3, -x0), max(0.5, x1 - 0.5)


def _type3(font: DictionaryObject) -> FontMetrics:
    a, b, c, d, *_ = _floats(font.get("/FontMatrix"), 6) or [0.001, 0.0, 0.0, 0.001, 0.0, 0.0]
    box = _floats(font.get("/FontBBox"), 4) or [0.0] * 4
    size = abs(a) + abs(b) + abs(c) + abs(d)
    reach = max(abs(value) for value in box) * size
    return FontMetrics(
        "Type3",
        _simple_widths(font, a),
        0.0,
        low=-reach,
        high=reach,
        before=reach,
        after=reach,
        boundless=reach == 0.0,
        letters=_letters(font),
    )


def _composite(font: DictionaryObject) -> FontMetrics:
    listed = resolved(font.get("/DescendantFonts"))
    inner = resolved(listed[0]) if isinstance(listed, ArrayObject) and listed else None
    inner = inner if isinstance(inner, DictionaryObject) else DictionaryObject()
    descriptor = resolved(inner.get("/FontDescriptor"))
    low, high, before, after = _extent(descriptor if isinstance(descriptor, DictionaryObject) else DictionaryObject())
    encoding = str(resolved(font.get("/Encoding")))
    name = str(resolved(font.get("/BaseFont")) or "/Helvetica").lstrip("/")
    usual = _num(inner.get("/DW"), 1000.0) / 1000
    if encoding not in ("/Identity-H", "/Identity-V"):
        # Some other code map: a code of one byte each, as wide as the widest glyph, is never too narrow.
        widths = _composite_widths(inner)
        widest = max([usual, 1.0, *widths.values()])
        return FontMetrics(name, {}, widest, 1, low, high, before, after, encoding.endswith("-V"))
    return FontMetrics(
        name, _composite_widths(inner), usual, 2, low, high, before, after, encoding.endswith("-V"), False,
        _letters(font),
    )  # fmt: skip


def _composite_widths(inner: DictionaryObject) -> dict[int, float]:
    """The W array: ``c [w1 w2 …]`` and ``first last w`` (ISO 32000-2, 9.7.4.3)."""
    listed = resolved(inner.get("/W"))
    widths: dict[int, float] = {}
    if not isinstance(listed, ArrayObject):
        return widths
    items = [resolved(item) for item in listed]
    at = 0
    while at + 1 < len(items) and len(widths) < _MAP_ENTRIES:
        first, second = int(_num(items[at], 0)), items[at + 1]
        if isinstance(second, ArrayObject):
            widths.update({first + i: _num(width, 0.0) / 1000 for i, width in enumerate(second)})
            at += 2
        elif at + 2 < len(items):
            last = min(int(_num(second, 0)), first + _MAP_ENTRIES)
            widths.update(dict.fromkeys(range(first, last + 1), _num(items[at + 2], 0.0) / 1000))
            at += 3
        else:
            break
    return widths


_RANGE: Final = re.compile(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*(?:<([0-9A-Fa-f\s]*)>|\[([^\]]*)\])")
_CHAR: Final = re.compile(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f\s]*)>")
_SECTION: Final = re.compile(rb"begin(bfchar|bfrange)(.*?)end\1", re.DOTALL)
_HEX: Final = re.compile(rb"<([0-9A-Fa-f\s]*)>")


def _unicode(digits: bytes) -> str:
    digits = b"".join(digits.split())
    return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode()).decode("utf-16-be", "replace")


def _letters(font: DictionaryObject) -> dict[int, str]:
    """The ToUnicode map, as far as it is written in the usual form."""
    stream = resolved(font.get("/ToUnicode"))
    letters: dict[int, str] = {}
    if not isinstance(stream, StreamObject):
        return letters
    try:
        data, _ = decoded(stream, _MAP_LIMIT)
    except InputUnfit:
        return letters
    for kind, body in _SECTION.findall(data):
        if kind == b"bfchar":
            letters.update({int(code, 16): _unicode(text) for code, text in _CHAR.findall(body)})
            continue
        for low, high, text, listed in _RANGE.findall(body):
            first, last = int(low, 16), min(int(high, 16), int(low, 16) + 0xFFFF)
            if listed:
                letters.update({first + i: _unicode(t) for i, t in enumerate(_HEX.findall(listed))})
            elif start := _unicode(text):
                for code in range(first, last + 1):
                    letters[code] = start[:-1] + chr(min(ord(start[-1]) + code - first, 0x10FFFF))
            if len(letters) > _MAP_ENTRIES:
                return letters
    return letters
