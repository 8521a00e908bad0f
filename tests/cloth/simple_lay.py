"""A simple bottom-left lay, by shapely alone: what no lay of the product may be longer than."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import Polygon, STRtree
from shapely.affinity import translate

from tiling.cloth.cloth_choice import ClothChoice, Nap
from tiling.cloth.lay_pieces import Layers, LayPiece
from tiling.shapes.regions import area

__all__ = ["bottom_left"]


def bottom_left(pieces: Sequence[LayPiece], choice: ClothChoice, step: float = 10.0) -> float:
    """The length of a simple bottom-left lay, mm: largest first, each as far left, then as low, as a grid allows.

    Places lie on a grid of `step` mm, and each is tried by shapely's distance. Pieces cut from cloth opened out follow
    the others.
    """
    parts = [[p for p in pieces if (p.layers is Layers.OPENED) is opened] for opened in (False, True)]
    lengths = [
        _laid(part, choice, band.width, step)
        for part, band in zip(parts, (choice.band, choice.opened_band), strict=True)
        if part
    ]
    return sum(lengths) + choice.gap * (len(lengths) - 1)


def _laid(pieces: Sequence[LayPiece], choice: ClothChoice, width: float, step: float) -> float:
    laid: list[Polygon] = []
    for one in sorted(pieces, key=lambda one: -area(one.ring)):
        turned = one.ring * ((-1, 1) if one.layers is Layers.ON_FOLD else (-1, -1))
        found = []
        for ring in [one.ring] if choice.nap is Nap.ONE_WAY else [one.ring, turned]:
            shape = Polygon(ring - ring.min(axis=0)).buffer(0)
            free = max(width - shape.bounds[3], 0.0)
            ys = [0.0] if one.layers is Layers.ON_FOLD else [*np.arange(0.0, free, step).tolist(), free]
            found.append(_leftmost(shape, ys, laid, choice.gap, step))
        laid.append(min(found, key=lambda shape: shape.bounds[2]))
    return max(float(shape.bounds[2]) for shape in laid)


def _leftmost(shape: Polygon, ys: Sequence[float], laid: list[Polygon], gap: float, step: float) -> Polygon:
    tree, x = STRtree(laid), 0.0
    while True:
        for y in ys:
            there = translate(shape, x, y)
            near = [laid[n] for n in tree.query(there, predicate="dwithin", distance=gap)]
            if not any(there.distance(other) < gap or there.intersection(other).area > 1e-6 for other in near):
                return there
        x += step
