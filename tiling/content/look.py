"""Colours, widths and dashes as values, from the operators of a graphics state."""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

from pypdf.generic import ArrayObject, DictionaryObject, PdfObject

from tiling.content.lexer import number, numbers
from tiling.content.scene import ContentScene, Matrix, stretch
from tiling.content.state import Param, State
from tiling.content.streams import resolved, word
from tiling.content.text import numeric
from tiling.style import Colour, Stroke, Style

__all__ = ["fill_colour", "fill_opacity", "path_style"]

_UNKNOWN = Colour(0.5, 0.5, 0.5)
"""For patterns and palettes: something is printed."""
_MOST_STYLES = 50_000
_STROKE, _FILL, _EXTENDED = Param.STROKE, Param.FILL, Param.EXTENDED
"""Looked up once: members of an enum are found slowly."""
_PEN = (Param.WIDTH, Param.DASH, Param.CAP, Param.JOIN, Param.MITER)


def _mixed(values: list[float]) -> Colour:
    values = [min(max(value, 0.0), 1.0) for value in values]
    if len(values) == 1:
        return Colour(values[0], values[0], values[0])
    if len(values) == 3:
        return Colour(*values)
    if len(values) == 4:
        c, m, y, k = values
        return Colour((1 - c) * (1 - k), (1 - m) * (1 - k), (1 - y) * (1 - k))
    return _UNKNOWN


def _named(space: PdfObject | None, values: list[float]) -> Colour:
    family = word(space[0]) if isinstance(space, ArrayObject) and space else word(space)
    if family in ("/Separation", "/DeviceN"):
        return _mixed([1.0 - max(values, default=0.0)])
    if family == "/Lab":
        return _mixed([values[0] / 100]) if values else _UNKNOWN
    return _UNKNOWN if family in ("/Indexed", "/Pattern") or not values else _mixed(values)


@lru_cache(maxsize=4096)
def _device(operator: bytes) -> Colour:
    return _mixed(numbers(operator.rpartition(b" ")[0]))


def _colour(scene: ContentScene, value: bytes) -> Colour:
    """The colour a value of `Param.FILL` or `Param.STROKE` stands for; nearly, for named colour spaces."""
    space, line, rest = value.partition(b"\n")
    if not value.startswith(b"/"):
        return _colour(scene, rest) if line else _device(value)
    name = space.split()[0].decode("latin-1")
    spaces = scene.merger.dictionary.get("/ColorSpace")
    entry = resolved(spaces.get(name)) if isinstance(spaces, DictionaryObject) else None
    words = rest.split()[:-1]
    if name == "/Pattern" or any(word.startswith(b"/") for word in words):
        return _UNKNOWN
    values = [number(word) for word in words]
    if entry is None and not values:
        values = [0.0, 0.0, 0.0, 1.0] if name == "/DeviceCMYK" else [0.0]
    if entry is not None and not values:
        return Colour(0.0, 0.0, 0.0)
    return _named(entry, values) if entry is not None else _mixed(values)


def _opacity(scene: ContentScene, state: State, key: str) -> float:
    entries = scene.extended.get(state[_EXTENDED])
    value = entries.get(key) if entries else None
    return 1.0 if value is None else min(max(number(str(resolved(value)).encode()), 0.0), 1.0)


def fill_colour(scene: ContentScene, state: State) -> Colour:
    """What text and fills are painted with."""
    return _colour(scene, state[_FILL])


def fill_opacity(scene: ContentScene, state: State) -> float:
    """From 0 to 1."""
    return _opacity(scene, state, "/ca")


def path_style(scene: ContentScene, state: State, paint: bytes, ctm: Matrix) -> Style:
    """How a path is painted, lengths in mm."""
    key = (state, paint, ctm[:4])
    known = scene.styles.get(key)
    if known is None:
        if len(scene.styles) > _MOST_STYLES:
            scene.styles.clear()
        known = scene.styles[key] = _path_style(scene, state, paint, ctm)
    return known


def _path_style(scene: ContentScene, state: State, paint: bytes, ctm: Matrix) -> Style:
    stroke = None
    if paint in (b"S", b"B", b"B*"):
        shape = tuple([state[param] for param in _PEN])
        width, dashes, phase, cap, join, miter = _pen(shape, ctm[:4])
        opacity = _opacity(scene, state, "/CA")
        stroke = Stroke(width, _colour(scene, state[_STROKE]), dashes, phase, cap, join, miter, opacity)
    fill = None if paint == b"S" else _colour(scene, state[_FILL])
    return Style(stroke, fill, fill_opacity(scene, state), paint.endswith(b"*"))


@lru_cache(maxsize=4096)
def _pen(
    values: tuple[bytes, ...], placed: tuple[float, float, float, float]
) -> tuple[float, tuple[float, ...], float, int, int, float]:
    """Width, dashes and phase in mm, cap, join and mitre limit, for values of `_PEN` under a matrix.

    A drawing in many colours has few pens, so they are worked out once.
    """
    a, b, c, d = placed
    # A pen that is wider in one direction counts with its wider side; else lengths follow the area.
    area, most = sqrt(abs(a * d - b * c)), stretch((a, b, c, d, 0.0, 0.0))
    factor = most if most > 1.01 * area else area
    width, dash, cap, join, miter = values
    *dashes, phase = numbers(dash.rpartition(b" ")[0]) or [0.0]
    return (
        numeric(width) * factor,
        tuple(length * factor for length in dashes) if any(length > 0 for length in dashes) else (),
        phase * factor,
        int(numeric(cap)),
        int(numeric(join)),
        numeric(miter),
    )
