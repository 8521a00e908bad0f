"""Decoding streams with a limit, so that a small file can't fill the memory."""

from __future__ import annotations

import re
import zlib

import numpy as np
from pypdf.errors import DependencyError, DeprecationError, LimitReachedError, PyPdfError
from pypdf.generic import ArrayObject, ByteStringObject, DictionaryObject, NullObject, PdfObject, StreamObject

from tiling.content.lexer import number
from tiling.failures import InputUnfit

__all__ = ["MAX_DECODED", "content_of", "decoded", "floats", "resolved", "text_of", "word"]

MAX_DECODED = 64_000_000
"""Bytes of one page's content once decoded: some four million points."""


def resolved(value: PdfObject | None) -> PdfObject | None:
    """The object behind any chain of references; None for null and for what can't be read."""
    for _ in range(20):
        if value is None or isinstance(value, NullObject):
            return None
        try:
            target = value.get_object()
        except LimitReachedError as cause:
            raise _too_large(MAX_DECODED) from cause
        except _FAULTS:
            return None
        if target is value:
            return value
        value = target
    return None


_FAULTS = (
    PyPdfError, DeprecationError, ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError,
    NotImplementedError, AssertionError, OverflowError, zlib.error, DependencyError,
)  # fmt: skip
"""What malformed objects can raise inside the library, and those that it needs other programs for."""


def word(value: PdfObject | None) -> str:
    """A name object's text with its slash (or any plain value's); empty for null."""
    found = resolved(value)
    return "" if found is None else str(found)


def text_of(value: PdfObject | None) -> str:
    """A text string's letters (ISO 32000-2, 7.9.2); bytes in none of PDF's encodings are taken for UTF-8 or GBK."""
    found = resolved(value)
    if not isinstance(found, ByteStringObject):
        return "" if found is None else str(found)
    plain = bytes(found)
    for charset in ("utf-8", "gbk"):
        try:
            return plain.decode(charset)
        except UnicodeDecodeError:
            continue
    return plain.decode("latin-1")


def floats(value: PdfObject | None, count: int) -> tuple[float, ...] | None:
    """That many numbers from an array object, or None."""
    array = resolved(value)
    if not isinstance(array, ArrayObject) or len(array) < count:
        return None
    return tuple(number(str(resolved(item)).encode("latin-1", "replace")) for item in list(array)[:count])


def decoded(stream: StreamObject, limit: int = MAX_DECODED) -> tuple[bytes, bool]:
    """The stream's bytes, and whether they came out whole (damaged ones give what could be decoded).

    Raises:
        InputUnfit: more than `limit` bytes.
    """
    kind = resolved(stream.get("/Filter"))
    kinds = [str(resolved(one)) for one in kind] if isinstance(kind, ArrayObject) else [str(kind)]
    if not kinds:
        return stream._data, True
    parameters = resolved(stream.get("/DecodeParms"))
    if parameters is None:
        # Null means absent (ISO 32000-2, 7.3.7); the library stumbles over it.
        stream.pop("/DecodeParms", None)
    listed = list(parameters) if isinstance(parameters, ArrayObject) else [parameters]
    plain = not any(isinstance(resolved(one), DictionaryObject) for one in listed)
    if plain and kinds in (["/ASCIIHexDecode"], ["/AHx"]):
        return _from_hex(stream._data)
    if plain and kinds[-1] in ("/FlateDecode", "/Fl"):
        if len(kinds) == 1:
            return _inflate(stream._data, limit)
        if len(kinds) == 2 and kinds[0] in ("/ASCII85Decode", "/A85"):
            packed = _from_base85(stream._data)
            if packed is not None:
                return _inflate(packed, limit)
    try:
        data = stream.get_data()
    except LimitReachedError as cause:
        raise _too_large(limit) from cause
    except _FAULTS:
        return b"", False
    if len(data) > limit:
        raise _too_large(limit)
    return data, True


def _from_hex(text: bytes) -> tuple[bytes, bool]:
    """Hexadecimal digits (ISO 32000-2, 7.4.2); others are passed over, as viewers do. Whether there were none."""
    body = text.split(b">", 1)[0].translate(None, b"\x00\t\n\x0c\r ")
    digits = re.sub(rb"[^0-9A-Fa-f]+", b"", body)
    return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii")), len(digits) == len(body)


def _from_base85(text: bytes) -> bytes | None:
    """ASCII base-85 (ISO 32000-2, 7.4.3) with arrays, as the library's loop is slow; None where it isn't regular."""
    body = text.split(b"~", 1)[0].translate(None, b"\x00\t\n\x0c\r ").removeprefix(b"<~").replace(b"z", b"!!!!!")
    spare = -len(body) % 5
    digits = np.frombuffer(body + b"u" * spare, dtype=np.uint8).astype(np.int64) - 33
    if spare == 4 or digits.size == 0 or digits.min() < 0 or digits.max() > 84:
        return None
    values = digits.reshape(-1, 5) @ np.array([85**4, 85**3, 85**2, 85, 1])
    decoded_bytes: bytes = (values & 0xFFFFFFFF).astype(">u4").tobytes()
    return decoded_bytes[: len(decoded_bytes) - spare]


def _inflate(data: bytes, limit: int) -> tuple[bytes, bool]:
    """Decode piece by piece: what comes before a damaged place is kept."""
    for bits in (15, -15):
        engine = zlib.decompressobj(bits)
        parts: list[bytes] = []
        total = 0
        whole = False
        rest = data.lstrip(b"\r\n") if bits > 0 else data[2:]
        try:
            for start in range(0, len(rest), 1 << 16):
                piece = engine.decompress(rest[start : start + (1 << 16)], limit + 1 - total)
                parts.append(piece)
                total += len(piece)
                if total > limit:
                    raise _too_large(limit)
                if engine.eof:
                    break
            parts.append(engine.flush())
            whole = engine.eof
        except zlib.error:
            whole = False
        if any(parts):
            return b"".join(parts), whole and bits > 0
    return b"", not data


def _too_large(limit: int) -> InputUnfit:
    return InputUnfit(
        f"the drawing's content is larger than {limit // 1_000_000} million bytes once decoded; "
        "split the drawing or export it with fewer points."
    )


def content_of(holder: DictionaryObject) -> tuple[bytes, bool]:
    """A page's /Contents (one stream or an array of them, read with white space between), and whether all was whole.

    Raises:
        InputUnfit: more than `MAX_DECODED` bytes.
    """
    contents = resolved(holder.get("/Contents"))
    streams = contents if isinstance(contents, ArrayObject) else [contents]
    parts: list[bytes] = []
    room = MAX_DECODED
    whole = True
    for entry in streams:
        stream = resolved(entry)
        if not isinstance(stream, StreamObject):
            whole = whole and stream is None
            continue
        data, good = decoded(stream, room)
        whole = whole and good
        room -= len(data)
        parts.append(data)
    return b"\n".join(parts), whole
