"""Strokes without a length: a dot where the ends are round or square, nothing where they are cut (SVG 2, 13.5.4).

PDF has no square dots (ISO 32000-2, 8.5.3.2), and its viewers differ in round and cut ones.
"""

from __future__ import annotations

import numpy as np

from tiling.shapes import Affine, Op, Path
from tiling.style import Stroke

__all__ = ["with_dots"]

_LENGTH = 0.001
"""mm: what every viewer takes for a line with a direction, and nobody sees."""
_CLOSED_AT_ONCE = bytes((Op.MOVE, Op.CLOSE))


def with_dots(path: Path, stroke: Stroke | None, to_sheet: Affine) -> Path:
    """A stroked path (mm) whose subpaths without a length have one that shows their ends; those with cut ends go.

    The dots lie along the user units' x axis, which `to_sheet` turns.
    """
    if stroke is None or not _may_hold_dots(path):
        return path
    along = np.array([to_sheet.a, to_sheet.b])
    step = along * (_LENGTH / (np.hypot(*along) or 1.0))
    kept = []
    for sub in path.subpaths():
        if len(sub.ops) < 2 or np.ptp(sub.points, axis=0).any():
            kept.append(sub)
        elif stroke.cap:
            kept.append(Path.polyline(np.vstack([sub.points[0], sub.points[0] + step])))
    return Path.joined(kept)


def _may_hold_dots(path: Path) -> bool:
    """Whether a point follows its equal, or a subpath is closed where it begins."""
    places = path.points.view(np.complex128).ravel()
    return bool((places[1:] == places[:-1]).any()) or _CLOSED_AT_ONCE in path.ops.tobytes()
