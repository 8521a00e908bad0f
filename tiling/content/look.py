"""Colours, widths and dashes as values, from the operators of a graphics state."""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

from pypdf.generic import ArrayObject, DictionaryObject, PdfObject

from tiling.content.lexer import number, numbers
from tiling.content.scene import ContentScene, Matrix, stretch
from tiling.content.state import Param, State
from tiling.content.streams import resolved, word
from tiling.content.text import parameter
from tiling.style import Colour, Stroke, Style

__all__ = ["fill_colour", "fill_opacity", "path_style"]

_UNKNOWN = Colour(0.5, 0.5, 0.5)
"""For patterns and palettes: something is printed."""
_MOST_STYLES = 50_000


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
    if not line and not value.startswith(b"/"):
        return _device(value)
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
    entries = scene.extended.get(state[Param.EXTENDED])
    value = entries.get(key) if entries else None
    return 1.0 if value is None else min(max(number(str(resolved(value)).encode()), 0.0), 1.0)


def fill_colour(scene: ContentScene, state: State) -> Colour:
    """What text and fills are painted with."""
    return _colour(scene, state[Param.FILL])


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
        # A pen that is wider in one direction counts with its wider side; else lengths follow the area.
        area, most = sqrt(abs(ctm[0] * ctm[3] - ctm[1] * ctm[2])), stretch(ctm)
        factor = most if most > 1.01 * area else area
        *dashes, phase = numbers(state[Param.DASH].rpartition(b" ")[0]) or [0.0]
        stroke = Stroke(
            parameter(state, Param.WIDTH) * factor,
            _colour(scene, state[Param.STROKE]),
            tuple(dash * factor for dash in dashes) if any(dash > 0 for dash in dashes) else (),
            phase * factor,
            int(parameter(state, Param.CAP)),
            int(parameter(state, Param.JOIN)),
            parameter(state, Param.MITER),
            _opacity(scene, state, "/CA"),
        )
    fill = None if paint == b"S" else _colour(scene, state[Param.FILL])
    return Style(stroke, fill, fill_opacity(scene, state), paint.endswith(b"*"))
