"""Pure geometry in millimetres: points, affine moves, lines and Bézier paths. Knows nothing above it."""

from tiling.shapes.moves import Affine
from tiling.shapes.paths import Op, Path, PathBuilder
from tiling.shapes.points import Box, Point, Size

__all__ = ["Affine", "Box", "Op", "Path", "PathBuilder", "Point", "Size"]
