"""How often the forms of a page are drawn, worked out before anything draws: circles and bombs are found in one look.

Forms, cells of patterns, glyphs that are small drawings and soft masks name one another in their content streams
(ISO 32000-2, 8.10, 8.7.3, 9.6.4, 11.6.5.2). Each stream is looked through once, however often it is drawn.
"""

from __future__ import annotations

import re
from collections import Counter, deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from pypdf.generic import DictionaryObject, IndirectObject, PdfObject, StreamObject

from tiling.content.resources import entry, safe_name
from tiling.content.streams import decoded, resolved, word
from tiling.failures import InputUnfit

__all__ = ["MOST_FORMS", "MOST_READ", "check_nesting"]

MOST_FORMS: Final = 100_000
"""Forms drawn on a page, those in forms each time."""
MOST_READ: Final = 200_000_000
"""Bytes of content on a page, that of forms each time they are drawn."""
_CATEGORIES: Final = {b"Do": "/XObject", b"gs": "/ExtGState", b"scn": "/Pattern", b"SCN": "/Pattern", b"Tf": "/Font"}
_WHITE: Final = rb"[\x00\t\n\x0c\r ]"
_NAMED: Final = re.compile(
    rb"(/[^\x00\t\n\x0c\r ()<>\[\]{}/%]+)"
    + _WHITE
    + rb"+(?:[-+.0-9]+"
    + _WHITE
    + rb"+)?(Do|gs|scn|SCN|Tf)(?![A-Za-z0-9*'\"])"
)


_Key = tuple[int, int]
"""Which stream, and whose resources it uses."""


@dataclass(slots=True, eq=False)
class _Stream:
    """A content stream and what it draws.

    Attributes:
        draws: for the key of each stream that it names, how often.
        size: bytes, decoded.
        times: how often it is drawn on the page.
    """

    size: int
    draws: Counter[_Key] = field(default_factory=Counter)
    times: int = 0


def check_nesting(resources: DictionaryObject, content: bytes) -> None:
    """Refuse a page whose forms draw one another in circles that branch, or add up to more than any drawing.

    A form that does no more than draw itself once is let through: every program stops that.

    Args:
        resources: of the page.
        content: its own, decoded.

    Raises:
        InputUnfit: it is so.
    """
    streams = _streams(resources, content)
    if len(streams) < 2:
        return
    root = next(iter(streams.values()))
    root.times = 1
    waiting = Counter(key for one in streams.values() for key in one.draws)
    ready = deque([root])
    while ready:
        one = ready.popleft()
        for key, count in one.draws.items():
            streams[key].times += count * one.times
            waiting[key] -= 1
            if not waiting[key]:
                ready.append(streams[key])
    left = {key: streams[key] for key, count in waiting.items() if count}
    if left and _branches(left):
        raise InputUnfit(
            "forms in it draw each other in a circle, which programs show differently and some never end to draw; open "
            "the file in a viewer and print it to a new PDF."
        )
    check_amount(sum(one.times for one in streams.values()) - 1, sum(one.times * one.size for one in streams.values()))


def check_amount(forms: int, size: int) -> None:
    """Refuse so many forms drawn, or bytes of content read for them.

    Raises:
        InputUnfit: they are too many.
    """
    if forms > MOST_FORMS or size > MOST_READ:
        much = f"{MOST_FORMS:,} drawn forms" if forms > MOST_FORMS else f"{MOST_READ // 1_000_000} million bytes"
        raise InputUnfit(
            f"the drawing's nested forms amount to more than {much}; flatten it in the program it came from, or print "
            "it to a new PDF."
        )


def _branches(streams: dict[_Key, _Stream]) -> bool:
    """Whether some of the streams lead back to themselves in more than one way."""
    import numpy as np  # noqa: PLC0415 - hardly any file has circles
    from scipy.sparse import csr_array  # noqa: PLC0415
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    places = {key: place for place, key in enumerate(streams)}
    edges = [
        (places[key], places[to], n) for key, one in streams.items() for to, n in one.draws.items() if to in places
    ]
    rows, columns, counts = (np.array(part) for part in zip(*edges, strict=True))
    graph = csr_array((counts, (rows, columns)), shape=(len(places), len(places)))
    circle = connected_components(graph, connection="strong")[1]
    inside = circle[rows] == circle[columns]
    return bool(np.bincount(rows[inside], counts[inside]).max(initial=0) > 1)


def _streams(resources: DictionaryObject, content: bytes) -> dict[_Key, _Stream]:
    """All content streams that a page's leads to, the page's own first."""
    found: dict[_Key, _Stream] = {}
    waiting: list[tuple[_Key, DictionaryObject, bytes | StreamObject]] = [((0, 0), resources, content)]
    while waiting:
        key, around, source = waiting.pop()
        if key in found:
            continue
        data = source if isinstance(source, bytes) else decoded(source)[0]
        one = found[key] = _Stream(len(data))
        for (name, operator), count in Counter(_NAMED.findall(data)).items():
            for raw, holder in _drawn_by(entry(around, _CATEGORIES[operator], safe_name(name)), operator):
                drawn = resolved(raw)
                if not isinstance(drawn, StreamObject):
                    continue
                own = resolved(holder.get("/Resources"))
                number = raw.idnum if isinstance(raw, IndirectObject) else id(drawn)
                # One without resources of its own finds those of the stream that draws it.
                inner = number, number if isinstance(own, DictionaryObject) else key[1]
                one.draws[inner] += count
                waiting.append((inner, own if isinstance(own, DictionaryObject) else around, drawn))
    return found


def _drawn_by(raw: PdfObject | None, operator: bytes) -> Iterator[tuple[PdfObject, DictionaryObject]]:
    """The content streams behind a resource, each with what holds its resources."""
    value = resolved(raw)
    if operator == b"gs" and isinstance(value, DictionaryObject):
        mask = resolved(value.get("/SMask"))
        raw = mask.raw_get("/G") if isinstance(mask, DictionaryObject) and "/G" in mask else None
        value = resolved(raw)
    if raw is None or not isinstance(value, DictionaryObject):
        return
    if operator == b"Tf":
        glyphs = resolved(value.get("/CharProcs"))
        if isinstance(glyphs, DictionaryObject):
            yield from ((glyphs.raw_get(key), value) for key in glyphs)
    elif word(value.get("/Subtype")) != "/Image":
        yield raw, value
