"""Cutting a content stream into tokens (ISO 32000-2, 7.2 and 7.8.2), fast where drawings are large.

One regular expression takes a whole run of path construction operators at once, and operands that are plain numbers
together with their operator, so that the cost is per object and not per number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import IntEnum
from typing import Final

__all__ = ["MASTER", "Token", "Value", "number", "numbers", "object_end", "plain_number", "read_value", "string_bytes"]

_WHITE = rb"\x00\t\n\x0c\r "
_DELIMITER = rb"()<>\[\]{}/%"
_NUMERIC = rb"[\d.+\-" + _WHITE + rb"]"
_STRING = rb"\((?:[^()\\]|\\[\s\S])*+\)"
_HEX = rb"<[0-9A-Fa-f" + _WHITE + rb"]*+>"


class Token(IntEnum):
    """The group of `MASTER` that matched."""

    PATH = 1
    NUMBERS = 2
    OPERATOR = 3
    ARRAY = 4
    NAME = 5
    STRING = 6
    HEX = 7
    DICTIONARY = 8
    PLAIN_NUMBERS = 9
    OTHER = 10


MASTER: Final = re.compile(
    rb"((?:" + _NUMERIC + rb"++(?:[mlcvyh]|re)(?=[" + _WHITE + _DELIMITER + rb"]|\Z))++)"
    rb"|(" + _NUMERIC + rb"*+)([A-Za-z'\"][^" + _WHITE + _DELIMITER + rb"]*+)"
    rb"|[" + _WHITE + rb"]*+(?:"
    rb"(\[(?:[^\[\]()<>%]|" + _STRING + rb"|" + _HEX + rb")*+\])"
    rb"|(/[^" + _WHITE + _DELIMITER + rb"]*+)"
    rb"|(" + _STRING + rb")"
    rb"|(" + _HEX + rb")"
    rb"|(<<[^<>()%]*+>>)"
    rb"|([\d.+\-]" + _NUMERIC + rb"*+)"
    rb"|(<<|>>|%[^\r\n]*+|[\s\S])"
    rb")"
)
"""Leading white space belongs to the token. Groups are numbered by `Token`."""

_ODD: Final = re.compile(rb"[+-]*(\d+\.?\d*|\.\d+)")
_NUMBER_TOKEN: Final = re.compile(rb"[^" + _WHITE + _DELIMITER + rb"]+")
_LIMIT = 1e15


def number(token: bytes) -> float:
    """One numeric token; malformed ones (``--5``, ``-.5.3``, ``1-2``) as viewers take them, others as 0."""
    try:
        value = float(token)
    except ValueError:
        found = _ODD.match(token)
        if found is None:
            return 0.0
        value = float(found[1]) * (-1.0 if token.startswith(b"-") else 1.0)
    return min(max(value, -_LIMIT), _LIMIT) if value == value else 0.0  # noqa: PLR0124 - not a number is unequal to itself


def plain_number(token: bytes) -> bool:
    """Whether every reader takes the token for the same number."""
    try:
        return abs(float(token)) < _LIMIT
    except ValueError:
        return False


def numbers(text: bytes) -> list[float]:
    """All numbers of a run of operands, brackets ignored."""
    return [number(token) for token in _NUMBER_TOKEN.findall(text)]


@dataclass(frozen=True, slots=True)
class Value:
    """An operand as read: `raw` in the stream, and where it ended."""

    raw: bytes
    end: int


def object_end(data: bytes, at: int, limit: int = 200) -> int:
    """Where the string, array or dictionary that begins at `at` ends; the end of the data when it never does."""
    depth = 0
    size = len(data)
    while at < size:
        byte = data[at : at + 1]
        if byte == b"(":
            at = _string_end(data, at)
        elif byte == b"%":
            while at < size and data[at] not in b"\r\n":
                at += 1
            continue
        elif data.startswith((b"<<", b">>"), at):
            depth += 1 if byte == b"<" else -1
            at += 2
        elif byte == b"<":
            close = data.find(b">", at)
            at = size if close < 0 else close + 1
        elif byte in b"[]":
            depth += 1 if byte == b"[" else -1
            at += 1
        else:
            at += 1
        if depth <= 0:
            return at
        if depth > limit:
            return size
    return size


def _string_end(data: bytes, at: int) -> int:
    depth = 0
    while at < len(data):
        byte = data[at]
        if byte == 0x5C:
            at += 1
        elif byte == 0x28:
            depth += 1
        elif byte == 0x29:
            depth -= 1
            if not depth:
                return at + 1
        at += 1
    return len(data)


_ESCAPE: Final = re.compile(rb"\\(\r\n|[0-7]{1,3}|[\s\S])|\r\n?")
_ESCAPED: Final = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}


def _unescape(found: re.Match[bytes]) -> bytes:
    code = found[1]
    if code is None:
        return b"\n"
    if code[:1] in b"01234567":
        return bytes((int(code, 8) & 0xFF,))
    if code in (b"\r\n", b"\n", b"\r"):
        return b""
    return _ESCAPED.get(code, code)


def string_bytes(raw: bytes) -> bytes:
    """The bytes a literal or hexadecimal string stands for (ISO 32000-2, 7.3.4)."""
    if raw[:1] == b"<":
        digits = re.sub(rb"[^0-9A-Fa-f]", b"", raw)
        return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode("ascii"))
    inner = raw[1:-1] if raw.endswith(b")") else raw[1:]
    return _ESCAPE.sub(_unescape, inner) if b"\\" in inner or b"\r" in inner else inner


def read_value(data: bytes, at: int) -> Value:
    """The nested string, array or dictionary beginning at `at`."""
    end = object_end(data, at)
    return Value(data[at:end], end)
