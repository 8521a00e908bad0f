"""Inline images in content streams (ISO 32000-2, 8.9.7): where they end, and JPEGs among them without words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from pypdf.generic import NameObject

from tiling.content.bare_pictures import bare_jpeg, unpacked

__all__ = ["InlineEnd", "bare_inline_image", "bare_inline_images", "inline_end"]

_IMAGE_END: Final = re.compile(rb"[\x00\t\n\x0c\r ]EI(?=[\x00\t\n\x0c\r ]|\Z)")
_TIGHT_END: Final = re.compile(rb"EI(?=[\x00\t\n\x0c\r ]|\Z)")
_AT_SIZE: Final = re.compile(rb"[\x00\t\n\x0c\r ]*EI(?=[\x00\t\n\x0c\r ]|\Z)")
_TEXTUAL: Final = re.compile(rb"[\t\n\r\x0c -~]*\Z")
_BEGIN: Final = re.compile(
    rb"(?:(?<=[\x00\t\n\x0c\r ])|\A)BI(?=[\x00\t\n\x0c\r /])([^()]{1,2000}?)[\x00\t\n\x0c\r ]ID[\x00\t\n\x0c\r ]"
)
_JPEG: Final = re.compile(rb"/(?:DCT|DCTDecode)\b")
_INLINE_FILTER: Final = re.compile(rb"/(?:Filter|F)\s*(\[[^\]]*\]|/\w+)")
_INLINE_PARAMETERS: Final = re.compile(rb"/(?:DecodeParms|DP)\s*\[[^\]]*\]")
_FULL_NAMES: Final = {"/AHx": "/ASCIIHexDecode", "/A85": "/ASCII85Decode", "/LZW": "/LZWDecode", "/Fl": "/FlateDecode",
                      "/RL": "/RunLengthDecode", "/DCT": "/DCTDecode"}  # fmt: skip
"""ISO 32000-2, table 92."""


@dataclass(frozen=True, slots=True)
class InlineEnd:
    """Where an inline image's data end and where reading goes on; whether EI stands between."""

    data: int
    after: int
    marked: bool = True


def inline_end(data: bytes, begin: int, size: int) -> InlineEnd | None:
    """The end of the data that begin there: where their size says, else at the EI that is followed by content.

    Args:
        data: the content stream.
        begin: of the image's data.
        size: of the image's data, 0 where it isn't known.
    """
    known = begin + size
    if size and (close := _AT_SIZE.match(data, known)):
        return InlineEnd(known, close.end())
    for pattern in (_IMAGE_END, _TIGHT_END):
        found = None
        for close in pattern.finditer(data, begin - 1 + size):
            found = found or close
            if _TEXTUAL.match(data[close.end() : close.end() + 12]):
                found = close
                break
        if found is not None:
            return InlineEnd(found.start(), found.end())
    return InlineEnd(known, known, marked=False) if size and known <= len(data) else None


def bare_inline_image(header: bytes, data: bytes) -> bytes:
    """An inline image's dictionary, ID and data, bare where they are a JPEG (ISO 32000-2, 8.9.7)."""
    found = _INLINE_FILTER.search(header)
    names = [_FULL_NAMES.get(name, name) for name in found[1].decode("latin-1").strip("[]").split()] if found else []
    if found is not None and names and names[-1] == "/DCTDecode":
        packed, good = unpacked(data, [NameObject(name) for name in names[:-1]], [])
        if good:
            header = header[: found.start(1)] + b"/DCT" + header[found.end(1) :]
            header, data = _INLINE_PARAMETERS.sub(b"", header), bare_jpeg(packed)
    return header + b" ID " + data


def bare_inline_images(content: bytes) -> bytes:
    """A content stream that is carried as it is, its inline JPEGs bare; the very same where there are none."""
    parts, at = [], 0
    while begin := _BEGIN.search(content, at):
        end = inline_end(content, begin.end(), 0) if _JPEG.search(begin[1]) else None
        if end is None:
            parts.append(content[at : begin.end()])
            at = begin.end()
            continue
        image = bare_inline_image(begin[1], content[begin.end() : end.data])
        parts.append(content[at : begin.start()] + b"BI" + image + b"\nEI")
        at = end.after
    return b"".join([*parts, content[at:]]) if parts else content
