"""Compressed pictures without what cameras and programs write beside the pixels: places, names, comments, previews.

What is left is what decoding needs, and the colour profile; the pixels are not packed anew.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator, Sequence
from typing import Final

from pypdf.generic import ArrayObject, EncodedStreamObject, NameObject, NullObject, PdfObject, StreamObject

from tiling.content.streams import decoded, resolved, word

__all__ = ["bare_image", "bare_jpeg", "bare_jpeg2000", "bare_png", "unpacked"]

_PNG: Final = b"\x89PNG\r\n\x1a\n"
_PNG_CHUNKS: Final = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"cICP")
)
_JPEG_MARKERS: Final = frozenset((*range(0xC0, 0xD0), 0xDA, 0xDB, 0xDC, 0xDD, 0xDE, 0xDF))
"""Frames, scans and tables (ITU-T T.81, table B.1)."""
_ALONE: Final = frozenset((0x01, *range(0xD0, 0xD9)))
"""Markers without a length."""
_SCAN_ENDS: Final = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]")
_JFIF: Final = struct.pack(">BBH5sHBHHBB", 0xFF, 0xE0, 16, b"JFIF\0", 0x0102, 0, 1, 1, 0, 0)
_DROPPED_BOXES: Final = frozenset((b"xml ", b"uuid", b"uinf", b"jp2i", b"lbl ", b"asoc", b"nlst", b"free"))
"""ISO/IEC 15444-1, annex I.7, and 15444-2, annex M: what tells of the picture."""


def bare_png(data: bytes) -> bytes:
    """A PNG (ISO/IEC 15948) with the chunks that hold pixels, transparency and colour space; others as they are."""
    if not data.startswith(_PNG):
        return data
    parts, at = [_PNG], len(_PNG)
    while at + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        if kind in _PNG_CHUNKS:
            parts.append(data[at : at + size + 12])
        if kind == b"IEND":
            break
        at += size + 12
    return b"".join(parts)


def bare_jpeg(data: bytes) -> bytes:
    """A JPEG (ITU-T T.81) with frames, scans, tables, profile and kind of colours; what is no JPEG as it is."""
    begin = data.find(b"\xff\xd8")
    return data if begin < 0 else b"\xff\xd8" + b"".join(_segments(data, begin + 2))


def _segments(data: bytes, at: int) -> Iterator[bytes]:
    while (at := data.find(b"\xff", at)) >= 0:
        while data[at + 1 : at + 2] == b"\xff":
            at += 1
        if at + 1 >= len(data):
            return
        marker = data[at + 1]
        if marker == 0xD9:
            yield data[at : at + 2]
            return
        if marker in _ALONE or not marker:
            at += 2
            continue
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker in _JPEG_MARKERS:
            if marker == 0xDA:
                close = _SCAN_ENDS.search(data, end)
                end = close.start() if close else len(data)
            yield data[at:end]
        else:
            yield _application(marker, data[at:end])
        at = end


def _application(marker: int, segment: bytes) -> bytes:
    """What is kept of a segment that decoding can do without."""
    if marker == 0xE0 and segment[4:9] == b"JFIF\0":
        return _JFIF  # without its preview
    if marker == 0xE2 and segment[4:16] == b"ICC_PROFILE\0":
        return segment
    if marker == 0xEE and segment[4:9] == b"Adobe" and len(segment) >= 16:
        return b"\xff\xee\x00\x0e" + segment[4:16]
    return b""


def bare_jpeg2000(data: bytes) -> bytes:
    """A JPEG 2000 file or codestream (ISO/IEC 15444-1) without the boxes and comments that tell of the picture."""
    if data.startswith(b"\xff\x4f\xff\x51"):
        return _bare_codestream(data)
    return b"".join(_boxes(data)) if data[4:8] == b"jP  " else data


def _boxes(data: bytes) -> Iterator[bytes]:
    at = 0
    while at + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        head = 8
        if size == 1 and at + 16 <= len(data):
            size, head = struct.unpack_from(">Q", data, at + 8)[0], 16
        end = at + size if size >= head else len(data)
        if kind not in _DROPPED_BOXES:
            body = data[at + head : end]
            if kind == b"jp2h":
                body = b"".join(_boxes(body))
            elif kind == b"jp2c":
                body = _bare_codestream(body)
            yield struct.pack(">I4s", len(body) + 8, kind) + body
        at = end


def _bare_codestream(data: bytes) -> bytes:
    """Without comments (marker COM, annex A.9.2) in the main header."""
    parts, at = [data[:2]], 2
    while at + 4 <= len(data):
        marker, size = struct.unpack_from(">HH", data, at)
        if marker == 0xFF90 or marker < 0xFF00:  # the first tile
            break
        if marker != 0xFF64:
            parts.append(data[at : at + 2 + size])
        at += 2 + size
    return b"".join([*parts, data[at:]])


def bare_image(image: StreamObject) -> StreamObject:
    """An image XObject whose data are bare; the same one where its filters leave no room for words."""
    names, parameters = (_listed(image.get(key)) for key in ("/Filter", "/DecodeParms"))
    last = word(names[-1]) if names else ""
    if last not in ("/DCTDecode", "/DCT", "/JPXDecode"):
        return image
    packed, good = unpacked(image._data, names[:-1], parameters[:-1])
    if not good:
        return image
    made = EncodedStreamObject()
    for key in image:
        made[NameObject(key)] = image.raw_get(key)
    made._data = bare_jpeg2000(packed) if last == "/JPXDecode" else bare_jpeg(packed)
    made[NameObject("/Filter")] = NameObject(last)
    made.pop("/DecodeParms", None)
    if len(parameters) == len(names) and parameters[-1] is not None:
        made[NameObject("/DecodeParms")] = parameters[-1]
    return made


def _listed(value: PdfObject | None) -> list[PdfObject | None]:
    found = resolved(value)
    return [resolved(one) for one in found] if isinstance(found, ArrayObject) else [] if found is None else [found]


def unpacked(
    data: bytes, names: Sequence[PdfObject | None], parameters: Sequence[PdfObject | None]
) -> tuple[bytes, bool]:
    """The data behind the outer ones of several filters, and whether they came out whole."""
    if not names:
        return data, True
    packed = EncodedStreamObject()
    packed._data = data
    packed[NameObject("/Filter")] = ArrayObject(names)
    if any(one is not None for one in parameters):
        packed[NameObject("/DecodeParms")] = ArrayObject([NullObject() if one is None else one for one in parameters])
    return decoded(packed)
