"""Whether a picture is a flatbed's: without perspective, in a file that states how many dots an inch has."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from calibrate.survey import Survey

INCH = 25.4
_EVEN = 0.002
"""By how much a scan's resolution may differ over the sheet; from a hand over a table it differs by more."""
_PRINTED = (0.60, 1.45)
"""What a print's scale can be, by the stated resolution: A4 shrunk onto A5 to A4 enlarged onto A3."""


def is_scan(survey: Survey) -> bool:
    """Whether a picture is a flatbed's: a resolution is stated, it fits what is seen, and nothing leans."""
    dpi = survey.photo.dpi
    if dpi is None or survey.photo.focal_px is not None:
        return False
    field = survey.target.field
    spots = [(x * field.width, y * field.height) for x in (0.2, 0.5, 0.8) for y in (0.2, 0.5, 0.8)]
    sizes = [_local(survey, x, y) for x, y in spots]
    if max(sizes) / min(sizes) - 1.0 > _EVEN:
        return False
    return _PRINTED[0] < float(np.mean(sizes)) / (dpi / INCH) < _PRINTED[1]


def _local(survey: Survey, x: float, y: float) -> float:
    """Pixels for a millimetre of the page around a point, both directions together."""
    at = survey.mapping.project(np.array([[x - 5.0, y], [x + 5.0, y], [x, y - 5.0], [x, y + 5.0]]))
    across, down = (at[1] - at[0]) / 10.0, (at[3] - at[2]) / 10.0
    return float(np.sqrt(abs(across[0] * down[1] - across[1] * down[0])))
