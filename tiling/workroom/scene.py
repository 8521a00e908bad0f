"""A pattern as geometry for the page: drawn anew from what was read, never the source's own markup.

Lengths are mm; a path is SVG path data in hundredths of a mm, which a page draws with one scale.
"""

from __future__ import annotations

import base64
from collections.abc import Collection, Iterable, Iterator
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from tiling.pattern import Label, Line, Mark, Pattern, Picture
from tiling.shapes.paths import POINTS_OF, Op
from tiling.style import Style

if TYPE_CHECKING:
    from tiling.shapes import Affine, Box, Path, Size
    from tiling.style import Colour

__all__ = ["box_values", "path_data", "picture_values", "scene_values"]

_LETTERS = {int(Op.MOVE): "M", int(Op.LINE): "L", int(Op.CURVE): "C", int(Op.CLOSE): "Z"}
_STEPS = 100
"""Steps to the mm of a path's numbers."""
_LARGEST_PICTURE = 2000
"""Pixels along the longer side of a picture that is shown."""


def scene_values(pattern: Pattern, *, pictures: bool = True, only: Collection[str] | None = None) -> dict[str, Any]:
    """The drawing as the page draws it.

    Args:
        pattern: the drawing.
        pictures: whether its pictures are shown too.
        only: pieces by their ids, where not all that is drawn is asked for.

    Returns:
        ``size_mm``; ``styles`` and the ``marks`` that name them by number (``s``), with piece (``p``) and layer (``l``)
        by number or -1, role (``r``), name (``n``), the mark's own number (``i``), its path (``d``) and a box around it
        in mm (``b``);
        ``pieces``, ``layers``, ``pictures``.
    """
    pieces = {piece.ident: number for number, piece in enumerate(pattern.pieces)}
    layers = {layer.name: number for number, layer in enumerate(pattern.layers)}
    styles: dict[Style, int] = {}
    marks = []
    for number, mark in enumerate(pattern.marks):
        tag = mark.tag
        if only is not None and tag.piece not in only:
            continue
        for style, path in _drawn(mark):
            marks.append(
                {
                    "i": number,
                    "s": styles.setdefault(style, len(styles)),
                    "p": pieces.get(tag.piece, -1),
                    "l": layers.get(tag.layer, -1),
                    "r": tag.role.value,
                    **({"n": tag.name} if tag.name else {}),
                    "d": path_data(path),
                    "b": [round(side, 2) for side in box_values(path.hull)],
                    **({"c": path_data(mark.clip)} if mark.clip is not None else {}),
                }
            )
    shown = [mark for mark in pattern.marks if isinstance(mark, Picture)] if pictures else []
    return {
        "size_mm": [pattern.size.width, pattern.size.height],
        "styles": [_style(style) for style in styles],
        "marks": marks,
        "pieces": [{"id": one.ident, "title": one.title, "box": _box_of(pattern, one.marks)} for one in pattern.pieces],
        "layers": [{"name": one.name, "shown": one.shown} for one in pattern.layers],
        "pictures": [one for one in map(_picture, shown) if one is not None],
    }


def path_data(path: Path) -> str:
    """The path as SVG path data (SVG 2, 9.3) with numbers in hundredths of a mm."""
    numbers = np.rint(path.points * _STEPS).astype(np.int64).ravel().tolist()
    return _form(path.ops.tobytes()) % tuple(numbers)


@lru_cache(maxsize=4096)
def _form(ops: bytes) -> str:
    """Path data with a place for each number."""
    return "".join(_LETTERS[op] + " ".join(["%d %d"] * int(POINTS_OF[op])) for op in ops)


def box_values(box: Box) -> list[float]:
    """A box as [left, top, right, bottom]."""
    return [box.x0, box.y0, box.x1, box.y1]


def _drawn(mark: Mark) -> Iterator[tuple[Style, Path]]:
    """What of a mark is lines and areas."""
    if isinstance(mark, Line):
        if len(mark.path) and (mark.style.leaves_ink or mark.style.fill is not None):
            yield mark.style, mark.path
    elif isinstance(mark, Label) and len(letters := mark.outline()):
        yield Style(fill=mark.colour, fill_opacity=mark.opacity), letters


def _style(style: Style) -> dict[str, Any]:
    stroke = style.stroke
    lines = (
        {}
        if stroke is None
        else {
            "stroke": _hex(stroke.colour),
            "width": round(stroke.width, 4),
            "dashes": [round(one, 4) for one in stroke.dashes],
            "offset": round(stroke.dash_offset, 4),
            "cap": stroke.cap,
            "join": stroke.join,
            "miter": stroke.miter_limit,
            "opacity": stroke.opacity,
        }
    )
    if style.fill is None:
        return lines
    return {**lines, "fill": _hex(style.fill), "fill_opacity": style.fill_opacity, "even_odd": style.even_odd}


def _hex(colour: Colour) -> str:
    return "#" + "".join(f"{round(min(max(part, 0.0), 1.0) * 255):02x}" for part in
                         (colour.red, colour.green, colour.blue))  # fmt: skip


def _box_of(pattern: Pattern, marks: Iterable[int]) -> list[float]:
    boxes = np.array([box_values(pattern.marks[number].reach()) for number in marks])
    return [*boxes[:, :2].min(axis=0).tolist(), *boxes[:, 2:].max(axis=0).tolist()]


def _picture(mark: Picture) -> dict[str, Any] | None:
    """The pixels alone, made small; None where they can't be read."""
    if not mark.data:
        return None
    from PIL import Image

    try:
        with Image.open(BytesIO(mark.data)) as image:
            image.thumbnail((_LARGEST_PICTURE, _LARGEST_PICTURE))
            stream = BytesIO()
            image.convert("RGBA").save(stream, "PNG")
    except (OSError, ValueError, Image.DecompressionBombError):
        return None
    return {"matrix": _matrix(mark.at), "opacity": mark.opacity, "href": _href(stream.getvalue())}


def picture_values(png: bytes, size: Size) -> dict[str, Any]:
    """A picture of the whole layout."""
    return {"matrix": [size.width, 0.0, 0.0, size.height, 0.0, 0.0], "opacity": 1.0, "href": _href(png)}


def _href(png: bytes) -> str:
    return "data:image/png;base64," + base64.b64encode(png).decode("ascii")


def _matrix(move: Affine) -> list[float]:
    return [move.a, move.b, move.c, move.d, move.e, move.f]
