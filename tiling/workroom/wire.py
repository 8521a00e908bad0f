"""Messages between the workroom and its desks: plain values as JSON, files as they are, over pipes.

A desk reads what anybody drew. What it answers is therefore never taken for more than values and bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

__all__ = ["HEAD", "MOST", "Message", "WireBroken", "head_of", "message_of", "packed", "received"]

HEAD = 4
"""Bytes that say how long the JSON is that follows; it says itself how long each file after it is (``blobs``)."""

MOST = 4 * 1024**3
"""Bytes of one message; more is no message of ours."""


class WireBroken(Exception):
    """The other end is gone, or says what isn't a message."""


@dataclass(frozen=True, slots=True)
class Message:
    """Values, and the files that belong to them."""

    values: Mapping[str, Any]
    blobs: tuple[bytes, ...] = ()


def packed(values: Mapping[str, Any], blobs: Sequence[bytes] = ()) -> list[bytes]:
    """A message in the parts to be written one after the other."""
    text = json.dumps({"values": values, "blobs": [len(blob) for blob in blobs]}, separators=(",", ":")).encode()
    return [len(text).to_bytes(HEAD, "big"), text, *blobs]


def head_of(text: bytes) -> tuple[Mapping[str, Any], list[int]]:
    """The values of a message, and how many bytes each of its files has.

    Raises:
        WireBroken: it is none.
    """
    try:
        head = json.loads(text)
        values, lengths = head["values"], head["blobs"]
        sound = isinstance(values, dict) and all(type(one) is int and one >= 0 for one in lengths)
    except (ValueError, KeyError, TypeError, RecursionError):
        sound = False
    if not sound or sum(lengths) > MOST:
        raise WireBroken
    return values, lengths


def message_of(values: Mapping[str, Any], content: bytes, lengths: Sequence[int]) -> Message:
    """The message, from the bytes of all its files together."""
    blobs, at = [], 0
    for length in lengths:
        blobs.append(content[at : at + length])
        at += length
    return Message(values, tuple(blobs))


def received(stream: BinaryIO) -> Message:
    """The next message.

    Raises:
        WireBroken: there is none any more.
    """
    text = _exactly(stream, int.from_bytes(_exactly(stream, HEAD), "big"))
    values, lengths = head_of(text)
    return message_of(values, _exactly(stream, sum(lengths)), lengths)


def _exactly(stream: BinaryIO, count: int) -> bytes:
    content = stream.read(count)
    if len(content) != count:
        raise WireBroken
    return content
