"""A photograph as the measuring room sees it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """One photo, upright and decoded.

    ``pixels`` is height x width, uint8, grey; ``colour`` height x width x 3 in red, green, blue order, or
    None for a grey photo. ``focal_px`` is the focal length in pixels from the file's own notes, else None.
    """

    pixels: NDArray[np.uint8]
    colour: NDArray[np.uint8] | None
    focal_px: float | None
    name: str
