"""Clipping regions on the sheet, and what is left of them where several apply."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tiling.shapes import Box, Op, Path

__all__ = ["Clip", "clip_from", "common_clip"]


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """All that is drawn lies inside `path` (mm, non-zero rule). `box` is set when it is an upright rectangle."""

    path: Path
    box: Box | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all can be seen."""
        return len(self.path) == 0

    def reaches(self, box: Box) -> bool:
        """Whether something in the box may be seen."""
        return not self.is_empty and self.path.hull.meets(box)

    def holds_all(self, box: Box) -> bool:
        """Whether the box surely lies inside, so that nothing is clipped."""
        return self.box is not None and self.box.covers(box)


def clip_from(parts: Sequence[tuple[Path, bool]]) -> Clip:
    """The clip that shows what lies in any of the parts; each is a path on the sheet and whether it is even-odd."""
    drawn = [(path, even_odd) for path, even_odd in parts if len(path) > 1]
    if not drawn:
        return Clip(Path.joined([]))
    path, even_odd = drawn[0]
    box = _upright(path)
    if len(drawn) == 1 and (box or not even_odd):
        return Clip(path, box)
    from tiling.reading.svg_clip_shapes import union  # noqa: PLC0415 - heavy, and rarely needed

    return _of_paths(union(drawn))


def common_clip(one: Clip | None, other: Clip) -> Clip:
    """What both show."""
    if one is None or one.is_empty:
        return other if one is None else one
    if other.is_empty or other.holds_all(one.path.hull):
        return other if other.is_empty else one
    if one.holds_all(other.path.hull):
        return other
    if one.box and other.box:
        box = one.box.common(other.box)
        return Clip(Path.rectangle(box), box) if box else Clip(Path.joined([]))
    from tiling.reading.svg_clip_shapes import intersection  # noqa: PLC0415 - heavy, and rarely needed

    return _of_paths(intersection(one.path, other.path))


def _upright(path: Path) -> Box | None:
    """The rectangle the path is, or None."""
    points = path.points
    if np.any(path.ops == Op.CURVE) or len(path.subpaths()) != 1 or len(points) not in {4, 5}:
        return None
    if len(points) == 5 and not np.array_equal(points[0], points[4]):
        return None
    corners = points[:4]
    steps = np.abs(np.diff(np.vstack([corners, corners[:1]]), axis=0))
    if np.any(steps.min(axis=1) > 1e-9) or np.any(steps.max(axis=1) <= 1e-9):
        return None
    turns = steps.argmax(axis=1)
    return path.hull if turns[0] != turns[1] and turns[0] == turns[2] and turns[1] == turns[3] else None


def _of_paths(paths: Sequence[Path]) -> Clip:
    whole = Path.joined(paths)
    return Clip(whole, _upright(whole) if len(paths) == 1 else None)
