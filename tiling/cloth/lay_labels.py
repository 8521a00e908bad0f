"""Where a piece's words and its arrow stand in the picture of a lay: inside its outline, clear of each other.

Words that find no room at a size that can be read are left out; a number then stands for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from tiling.drawing.lettering import Face, text_width
from tiling.shapes import Point
from tiling.shapes.straights import Straight

__all__ = ["Block", "WordLine", "arrow_in", "block_in", "number_in"]

_SIZES = (3.4, 3.0, 2.6, 2.3, 2.0, 1.8)
"""Heights of the letters of a title, mm, that are tried; smaller ones are hard to read."""

_REMARK = 0.8
"""Size of the words below a title, against it."""

_LEADING = 1.15
_RIM = 0.5
"""mm between words and an outline."""

_CLEAR = 1.2
"""mm between words and an arrow."""

_PLACES = 16
"""Places along and across a piece at which its words are tried."""

_LEAST_ARROW, _LONGEST_ARROW = 3.0, 45.0
_ARROW_SHARE = 0.7


@dataclass(frozen=True, slots=True)
class WordLine:
    """One line of a block: its words, the middle of its baseline, its size in mm, its weight."""

    text: str
    at: Point
    size: float
    face: Face


@dataclass(frozen=True, slots=True)
class Block:
    """Words at their place: the lines, their turn in degrees, and the room they take."""

    lines: tuple[WordLine, ...]
    turn: float
    room: BaseGeometry


def block_in(shape: BaseGeometry, title: str, words: Sequence[str]) -> Block | None:
    """A title and words below it as large as they find room in a shape, mm; None where they find none."""
    inner, places = _places(shape)
    if not len(places):
        return None
    ways = list(_ways(title, words))
    for size in _SIZES:
        for way in ways:
            lines = [(text, size if bold else size * _REMARK, bold) for text, bold in way]
            width = max(text_width(text, tall, _face(bold)) for text, tall, bold in lines)
            height = sum(tall for _, tall, _ in lines) * _LEADING
            for turn in (0.0, -90.0):
                at = _fitting(inner, places, *((height, width) if turn else (width, height)))
                if at is not None:
                    return _block(lines, at, turn, (width, height))
    return None


def number_in(shape: BaseGeometry, number: int) -> Block:
    """A number in the middle of a shape, smaller where the shape is small."""
    spoke = np.asarray(shapely.maximum_inscribed_circle(shape, tolerance=0.2).coords)
    radius = float(np.linalg.norm(spoke[1] - spoke[0]))
    size = min(2.6, max(1.4, radius * 1.2))
    width = text_width(str(number), size, Face.BOLD)
    return _block([(str(number), size, True)], spoke[0], 0.0, (width, size * _LEADING))


def arrow_in(shape: BaseGeometry, words: BaseGeometry | None, along: Point) -> Straight | None:
    """The longest straight line along a direction inside a shape and clear of its words, shortened a little."""
    free = shape.buffer(-_RIM)
    free = free.difference(words.buffer(_CLEAR)) if words is not None else free
    x0, y0, x1, y1 = shape.bounds
    middle = Point((x0 + x1) / 2, (y0 + y1) / 2)
    across, reach = Point(-along.y, along.x), (x1 - x0) + (y1 - y0)
    wide = (x1 - x0) if along.x == 0.0 else (y1 - y0)
    lines = [
        shapely.LineString([(start.x, start.y), (end.x, end.y)])
        for step in np.linspace(-0.45, 0.45, 19)
        for at in [middle + across * (float(step) * wide)]
        for start, end in [(at - along * reach, at + along * reach)]
    ]
    parts = [part for line in lines for part in shapely.get_parts(line.intersection(free)) if part.length > 0]
    if not parts:
        return None
    # Of long ones the one nearest to the middle.
    longest = max(float(part.length) for part in parts)
    best = min(
        (p for p in parts if p.length > 0.85 * longest), key=lambda p: p.distance(shapely.Point(middle.x, middle.y))
    )
    (ax, ay), (bx, by) = best.coords[0], best.coords[-1]
    whole = Straight(Point(ax, ay), Point(bx, by))
    length = min(whole.length * _ARROW_SHARE, _LONGEST_ARROW)
    if length < _LEAST_ARROW:
        return None
    half = whole.direction * (length / 2)
    return Straight(whole.middle - half, whole.middle + half)


def _face(bold: bool) -> Face:
    return Face.BOLD if bold else Face.PLAIN


def _ways(title: str, words: Sequence[str]) -> Iterator[list[tuple[str, bool]]]:
    """Lines and whether they are bold: the title in one or two lines, the words in one or each on its own."""
    titles = [[title]]
    parts = title.split()
    if len(parts) > 1:
        halves = [[" ".join(parts[:n]), " ".join(parts[n:])] for n in range(1, len(parts))]
        titles.append(min(halves, key=lambda half: max(map(len, half))))
    below = [[", ".join(words)], list(words)] if len(words) > 1 else [list(words)]
    for head in titles:
        for rest in below:
            yield [*((text, True) for text in head), *((text, False) for text in rest if text)]


def _places(shape: BaseGeometry) -> tuple[BaseGeometry, np.ndarray]:
    """The shape without its rim, and places in it, those first that lie nearest to the middle of its widest part."""
    inner = shape.buffer(-_RIM)
    if inner.is_empty:
        return inner, np.empty((0, 2))
    shapely.prepare(inner)
    middle = np.asarray(shapely.maximum_inscribed_circle(inner, tolerance=0.2).coords)[0]
    x0, y0, x1, y1 = inner.bounds
    share = (np.arange(_PLACES) + 0.5) / _PLACES
    grid = np.stack(np.meshgrid(x0 + share * (x1 - x0), y0 + share * (y1 - y0)), axis=-1).reshape(-1, 2)
    grid = np.vstack([middle, [(x0 + x1) / 2, (y0 + y1) / 2], grid])
    grid = grid[shapely.contains_xy(inner, grid)]
    return inner, grid[np.argsort(np.linalg.norm(grid - middle, axis=1), kind="stable")]


def _fitting(inner: BaseGeometry, places: np.ndarray, width: float, height: float) -> np.ndarray | None:
    """The first place at which a box fits."""
    x, y = places.T
    boxes = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    fits = shapely.contains_properly(inner, boxes)
    return places[int(fits.argmax())] if fits.any() else None


def _block(lines: Sequence[tuple[str, float, bool]], at: np.ndarray, turn: float, size: tuple[float, float]) -> Block:
    """Lines below each other, centred on a place; turned, they read upwards."""
    width, height = size
    down = -height / 2
    placed = []
    for text, tall, bold in lines:
        down += tall * _LEADING
        base = down - tall * (_LEADING - 0.88)
        x, y = (float(at[0]) + base, float(at[1])) if turn else (float(at[0]), float(at[1]) + base)
        placed.append(WordLine(text, Point(x, y), tall, _face(bold)))
    wide, high = (height, width) if turn else (width, height)
    x, y = (float(value) for value in at)
    return Block(tuple(placed), turn, shapely.box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2))
