"""Draws the pictures of the potting smock's sewing steps from its draft: `python samples/draw_steps.py`."""

from __future__ import annotations

import sys
from pathlib import Path as FilePath

import numpy as np
from PIL import Image, ImageDraw
from shapely import Polygon

HERE = FilePath(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from smock_draft import SIZES, Draft, draft  # noqa: E402

from tiling.pattern import Role  # noqa: E402
from tiling.shapes.curves import Array  # noqa: E402

_SCALE, _FINER = 1.3, 4
"""Pixels to the mm of the garment, and how much finer it is drawn before it is made small."""

_RIGHT_SIDE, _WRONG_SIDE, _INK, _SEAM = (178, 201, 168), (232, 236, 224), (50, 50, 50), (196, 40, 40)


class _Sketch:
    """Pieces of cloth laid on white, with the seam to sew in red."""

    def __init__(self, width: float, height: float, corner: tuple[float, float]) -> None:
        self._by = _SCALE * _FINER
        self._corner = np.array(corner)
        self._size = round(width * _SCALE), round(height * _SCALE)
        self._image = Image.new("RGB", (self._size[0] * _FINER, self._size[1] * _FINER), "white")
        self._pen = ImageDraw.Draw(self._image)

    def _at(self, points: Array) -> list[tuple[float, float]]:
        return [tuple(pair) for pair in ((points - self._corner) * self._by).tolist()]

    def cloth(self, outline: Array, colour: tuple[int, int, int]) -> None:
        """One layer, with its edge."""
        points = self._at(outline)
        self._pen.polygon(points, colour)
        self._pen.line([*points, points[0]], _INK, round(1.4 * self._by), joint="curve")

    def seam(self, line: Array) -> None:
        """Stitches along a line."""
        steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        for start in np.arange(0.0, along[-1], 11.0):
            ends = [start, min(start + 7.0, along[-1])]
            stitch = np.column_stack([np.interp(ends, along, line[:, axis]) for axis in (0, 1)])
            self._pen.line(self._at(stitch), _SEAM, round(2.6 * self._by))

    def save(self, name: str) -> None:
        """Write it small."""
        folder = HERE / "steps"
        folder.mkdir(exist_ok=True)
        small = self._image.resize(self._size, Image.Resampling.LANCZOS)
        small.quantize(32, dither=Image.Dither.NONE).save(folder / name, optimize=True)


def _outline(piece: Draft) -> Array:
    return np.vstack([run for line in piece.lines if line.role is Role.CUTTING for run in line.path.flatten(0.2)])


def _sewn(piece: Draft, name: str) -> Array:
    return np.vstack(
        [r for one in piece.lines if one.name == name and one.role is Role.STITCHING for r in one.path.flatten(0.2)]
    )


def _whole(half: Array) -> Array:
    """A piece on the fold, opened out."""
    one, other = (Polygon(half * (side, 1)).buffer(0.05) for side in (1, -1))
    return np.array(one.union(other).exterior.coords)


def main() -> None:
    """All of them anew."""
    pieces = {piece.ident: piece for piece in draft(SIZES[0])}
    front, back, sleeve, pocket = (pieces[name] for name in ("front", "back", "sleeve", "pocket"))

    sketch = _Sketch(720, 470, (-360, -45))
    sketch.cloth(_whole(_outline(back)), _RIGHT_SIDE)
    sketch.cloth(_whole(_outline(front)) + np.array([0, 12]), _WRONG_SIDE)
    for side in (1, -1):
        sketch.seam(_sewn(front, "shoulder") * (side, 1) + np.array([0, 12]))
    sketch.save("shoulders.png")

    sketch = _Sketch(600, 320, (-300, -40))
    sketch.cloth(_outline(sleeve), _WRONG_SIDE)
    for name in ("cap-front", "cap-back"):
        sketch.seam(_sewn(sleeve, name))
    sketch.save("sleeve.png")

    sketch = _Sketch(360, 420, (-10, 460))
    sketch.cloth(_outline(front), _RIGHT_SIDE)
    place = np.array([52.0, 566.0])
    ring = np.vstack([_sewn(pocket, "edge"), _sewn(pocket, "mouth")]) + place
    sketch.cloth(ring, tuple(min(c + 18, 255) for c in _RIGHT_SIDE))  # type: ignore[arg-type]
    sketch.seam(_sewn(pocket, "edge") + place)
    sketch.save("pocket.png")


if __name__ == "__main__":
    main()
