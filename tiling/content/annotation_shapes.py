"""Appearances for drawn annotations that have none: lines, shapes, ink, marked text (ISO 32000-2, 12.5.6)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from tiling.content.annotation_ink import Border, border_of, form_over, numbers_of, operands, painted, rect_of
from tiling.content.lexer import number
from tiling.content.scene import Bounds
from tiling.content.streams import floats, resolved, word

__all__ = ["SHAPES", "frame_of_link"]

Points = NDArray[np.float64]

_ROUND: Final = 4 / 3 * (2**0.5 - 1)
"""Of a quarter circle's radius: how far its Bezier's inner points lie from its ends."""
_ENDING: Final = 6.0
"""A line ending is so many widths long and, at its middle, half as wide to each side."""
_UNKNOWN_BLACK: Final = b"0 G "


def _points(value: object) -> Points:
    values = numbers_of(value)  # type: ignore[arg-type]
    return np.array(values[: len(values) // 2 * 2], dtype=np.float64).reshape(-1, 2)


def _traced(points: Points, *, closed: bool = False) -> bytes:
    steps = [operands(point) + (b" l" if index else b" m") for index, point in enumerate(points.tolist())]
    return b" ".join(steps) + (b" h" if closed else b"")


def _around(points: Sequence[Points], spare: float) -> Bounds:
    every = np.vstack(points)
    (x0, y0), (x1, y1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return x0 - spare, y0 - spare, x1 + spare, y1 + spare


def _paint(note: DictionaryObject, border: Border, path: bytes, *, fills: bool) -> bytes:
    """The path stroked in C and, where it can be, filled in IC."""
    stroke = painted(note.get("/C"), stroke=True) if "/C" in note else _UNKNOWN_BLACK
    fill = painted(note.get("/IC"), stroke=False) if fills else b""
    stroked = bool(stroke) and border.width > 0
    if not (stroked or fill):
        return b""
    return border.pen + stroke + fill + path + (b" B" if stroked and fill else b" S" if stroked else b" f")


def _line(note: DictionaryObject) -> StreamObject | None:
    ends = _points(note.get("/L"))
    if len(ends) != 2:
        return None
    border = border_of(note)
    along = ends[1] - ends[0]
    unit = along / (hypot(*along) or 1.0)
    aside = np.array([unit[1], -unit[0]])
    leader, beyond, gap = (number(word(note.get(key)).encode("latin-1", "replace")) for key in ("/LL", "/LLE", "/LLO"))
    shifted = ends + aside * leader
    sign = 1.0 if leader >= 0 else -1.0
    paths = [shifted]
    if leader:
        paths += [np.array([end + aside * gap * sign, end + aside * (leader + beyond * sign)]) for end in ends]
    return _polyline_form(note, border, paths, _endings(note, shifted))


def _endings(note: DictionaryObject, line: Points) -> list[tuple[str, Points, Points]]:
    """The ending's name, its place and the direction out of the line, for both ends of a line."""
    named = resolved(note.get("/LE"))
    names = [word(one) for one in named] if isinstance(named, ArrayObject) else []
    found = []
    for name, tip, inner in zip(names, (line[0], line[-1]), (line[1], line[-2]), strict=False):
        step = tip - inner
        if hypot(*step) > 0 and name != "/None":
            found.append((name, tip, step / hypot(*step)))
    return found


def _ending(name: str, tip: Points, out: Points, size: float) -> tuple[bytes, bool, Points]:
    """A line ending (table 179): its path, whether it is filled, and its corners."""
    aside = np.array([-out[1], out[0]])
    half = size / 2
    if name in ("/OpenArrow", "/ClosedArrow", "/ROpenArrow", "/RClosedArrow"):
        back = out * (size if name[1] == "R" else -size)
        corners = np.array([tip + back + aside * half, tip, tip + back - aside * half])
        closed = "Closed" in name
        return _traced(corners, closed=closed), closed, corners
    if name in ("/Butt", "/Slash"):
        lean = aside if name == "/Butt" else aside * 0.866 + out * 0.5
        corners = np.array([tip - lean * half, tip + lean * half])
        return _traced(corners), False, corners
    diagonal = [out + aside, out - aside, -out - aside, -out + aside]
    sides = np.array([out, aside, -out, -aside] if name in ("/Diamond", "/Circle") else diagonal)
    corners = tip + sides * half
    if name == "/Circle":
        box = (tip[0] - half, tip[1] - half, tip[0] + half, tip[1] + half)
        return _oval(box), True, corners
    return _traced(corners, closed=True), True, corners


def _polyline_form(
    note: DictionaryObject, border: Border, paths: Sequence[Points], endings: Sequence[tuple[str, Points, Points]] = ()
) -> StreamObject | None:
    content = [_paint(note, border, b" ".join(map(_traced, paths)), fills=False)]
    corners = list(paths)
    for name, tip, out in endings:
        path, closed, around = _ending(name, tip, out, _ENDING * border.width)
        content.append(_paint(note, Border(border.width), path, fills=closed))
        corners.append(around)
    drawn = b"\n".join(part for part in content if part)
    return form_over(_around(corners, 5 * border.width + 1), drawn, note) if drawn else None


def _polyline(note: DictionaryObject) -> StreamObject | None:
    points = _points(note.get("/Vertices"))
    return _polyline_form(note, border_of(note), [points], _endings(note, points)) if len(points) > 1 else None


def _polygon(note: DictionaryObject) -> StreamObject | None:
    points = _points(note.get("/Vertices"))
    border = border_of(note)
    drawn = _paint(note, border, _traced(points, closed=True), fills=True) if len(points) > 1 else b""
    return form_over(_around([points], 5 * border.width + 1), drawn, note) if drawn else None


def _ink(note: DictionaryObject) -> StreamObject | None:
    listed = resolved(note.get("/InkList"))
    strokes = [_points(one) for one in listed] if isinstance(listed, ArrayObject) else []
    border = border_of(note)
    return _polyline_form(note, border, kept) if (kept := [one for one in strokes if len(one) > 1]) else None


def _inner(note: DictionaryObject, border: Border) -> Bounds:
    """A shape's box: the rectangle less its differences (RD) or, without any, half its border."""
    x0, y0, x1, y1 = rect_of(note)
    left, low, right, high = floats(note.get("/RD"), 4) or [border.width / 2] * 4
    return x0 + left, y0 + low, x1 - right, y1 - high


def _oval(box: Bounds) -> bytes:
    x0, y0, x1, y1 = box
    cx, cy, rx, ry = (x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2, (y1 - y0) / 2
    kx, ky = rx * _ROUND, ry * _ROUND
    quarters = (
        (x1, cy + ky, cx + kx, y1, cx, y1),
        (cx - kx, y1, x0, cy + ky, x0, cy),
        (x0, cy - ky, cx - kx, y0, cx, y0),
        (cx + kx, y0, x1, cy - ky, x1, cy),
    )
    return operands((x1, cy)) + b" m " + b" ".join(operands(one) + b" c" for one in quarters) + b" h"


def _square(note: DictionaryObject) -> StreamObject | None:
    border = border_of(note)
    x0, y0, x1, y1 = _inner(note, border)
    drawn = _paint(note, border, operands((x0, y0, x1 - x0, y1 - y0)) + b" re", fills=True)
    return form_over(rect_of(note), drawn, note) if drawn and x1 > x0 and y1 > y0 else None


def _circle(note: DictionaryObject) -> StreamObject | None:
    border = border_of(note)
    box = _inner(note, border)
    drawn = _paint(note, border, _oval(box), fills=True)
    return form_over(rect_of(note), drawn, note) if drawn and box[2] > box[0] and box[3] > box[1] else None


def _quads(note: DictionaryObject) -> list[Points]:
    """Each stretch of marked text as four corners: upper left and right, lower left and right, as programs write it."""
    points = _points(note.get("/QuadPoints"))
    whole = [points[at : at + 4] for at in range(0, len(points) - 3, 4)]
    if whole:
        return whole
    x0, y0, x1, y1 = rect_of(note)
    return [np.array([[x0, y1], [x1, y1], [x0, y0], [x1, y0]])]


def _highlight(note: DictionaryObject) -> StreamObject | None:
    quads = _quads(note)
    fill = painted(note.get("/C"), stroke=False) if "/C" in note else b"1 1 0 rg "
    paths = b" ".join(_traced(quad[[0, 1, 3, 2]], closed=True) for quad in quads)
    return form_over(_around(quads, 1.0), fill + paths + b" f", note, darkens=True) if fill else None


def _under(note: DictionaryObject, share: float) -> StreamObject | None:
    """A line along each stretch of text, at a share of its height from below."""
    quads = _quads(note)
    lines = [quad[2:] + (quad[:2] - quad[2:]) * share for quad in quads]
    width = max(0.5, float(np.median([hypot(*(quad[0] - quad[2])) for quad in quads])) / 16)
    return _polyline_form(note, Border(width), lines)


def _squiggly(note: DictionaryObject) -> StreamObject | None:
    waves = []
    for quad in _quads(note):
        along, up = quad[3] - quad[2], quad[0] - quad[2]
        tall = hypot(*up) or 1.0
        count = min(max(2, int(hypot(*along) / tall * 8)), 1000)
        share = np.linspace(0.0, 1.0, count + 1)[:, None]
        waves.append(quad[2] + along * share + up * (0.02 + 0.1 * (np.arange(count + 1) % 2))[:, None])
    return _polyline_form(note, Border(0.7), waves)


def frame_of_link(note: DictionaryObject) -> StreamObject | None:
    """A link's border; most have none."""
    border = border_of(note)
    stroke = painted(note.get("/C"), stroke=True) if "/C" in note else _UNKNOWN_BLACK
    x0, y0, x1, y1 = rect_of(note)
    if not (border.width > 0 and stroke and x1 - x0 > border.width and y1 - y0 > border.width):
        return None
    half = border.width / 2
    inner = operands((x0 + half, y0 + half, x1 - x0 - border.width, y1 - y0 - border.width))
    return form_over((x0, y0, x1, y1), border.pen + stroke + inner + b" re S", note)


SHAPES: Final[dict[str, Callable[[DictionaryObject], StreamObject | None]]] = {
    "/Line": _line,
    "/PolyLine": _polyline,
    "/Polygon": _polygon,
    "/Ink": _ink,
    "/Square": _square,
    "/Circle": _circle,
    "/Highlight": _highlight,
    "/Underline": lambda note: _under(note, 0.08),
    "/StrikeOut": lambda note: _under(note, 0.45),
    "/Squiggly": _squiggly,
}
