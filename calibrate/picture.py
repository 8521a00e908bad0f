"""The photo with what was found drawn on it, so that a person can see why to believe the figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from calibrate.sketch import PLATE, Sketch, Tint, captioned, plate, reduced
from calibrate.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calibrate.evidence import Evidence
    from calibrate.failures import Refusal
    from calibrate.photo import Photo
    from calibrate.result import Measurement

__all__ = ["annotated", "refused"]

_LONGEST = 2000
_SHEET, _THING = (0, 150, 255), (255, 120, 0)
_PASSED = (150, 90, 200)
_SQUARE, _POINT = (225, 0, 110), (0, 170, 60)
_TONE = {Verdict.TRUE: (0, 140, 60), Verdict.RESCALED: (200, 40, 30), Verdict.NOT_SURE: (190, 120, 0)}


def annotated(photos: Sequence[Photo], measurement: Measurement) -> NDArray[np.uint8]:
    """The photos with edges, measuring points, the square and its printed sides in mm drawn on them.

    Returns (h, w, 3) RGB; each photo at most 2000 pixels long, several side by side, the verdict below.
    """
    by_name = {photo.name: photo for photo in photos}
    shown = [(by_name[found.photo], found) for found in measurement.evidence if found.photo in by_name]
    longest = _LONGEST if len(shown) == 1 else _LONGEST * 2 // 3
    parts = [_labelled(_sketched(photo, found, longest), found, measurement) for photo, found in shown]
    height = max(part.shape[0] for part in parts)
    padded = [cv2.copyMakeBorder(p, 0, height - p.shape[0], 0, 0, cv2.BORDER_CONSTANT, value=PLATE) for p in parts]
    scale = measurement.scale
    figures = (
        f"{measurement.verdict.value}: {scale.across * 100:.2f} % across (± {scale.uncertainty_across * 100:.2f}), "
        f"{scale.down * 100:.2f} % down (± {scale.uncertainty_down * 100:.2f}), by {measurement.reference}"
    )
    passed = any(one.passed for one in measurement.evidence)
    return captioned(np.hstack(padded), _TONE[measurement.verdict], [figures], _keys(passed=passed))


def refused(photos: Sequence[Photo], refusal: Refusal) -> NDArray[np.uint8]:
    """The photo that gave no measurement, with what was found in it all the same, and why there is none below.

    Returns (h, w, 3) RGB, at most 2000 pixels long.
    """
    seen = refusal.seen
    photo = next((one for one in photos if seen is not None and one.name == seen.photo), photos[0])
    sketch = reduced(photo, _LONGEST) if seen is None else _sketched(photo, seen, _LONGEST)
    words = [f"no measurement: {refusal.reason.value}", *([refusal.detail] if refusal.detail else [])]
    passed = bool(seen is not None and seen.passed)
    return captioned(sketch.pixels, _TONE[Verdict.NOT_SURE], words, _keys(passed=passed) if seen is not None else [])


def _sketched(photo: Photo, found: Evidence, longest: int) -> Sketch:
    """The photo with edges, measuring points and the square."""
    sketch = reduced(photo, longest)
    for name, outline in found.outlines.items():
        thing = name.startswith(("card", "coin"))
        sketch.line(outline, _THING if thing else _SHEET)
    for line in found.passed:
        sketch.dashes(line, _PASSED)
    for point in found.saddles:
        sketch.dot(point, _POINT)
    for side in found.square:
        sketch.line(side, _SQUARE)
    return sketch


def _labelled(sketch: Sketch, found: Evidence, measurement: Measurement) -> NDArray[np.uint8]:
    """Each side of the square with its printed length, outside the square beside its middle."""
    image = Image.fromarray(sketch.pixels)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=max(12.0, max(image.size) / 62))
    middles = [sketch.at(side).mean(axis=0) for side in found.square]
    centre = np.mean(middles, axis=0)
    across, down = measurement.square_mm
    for middle, length in zip(middles, (across, down, across, down), strict=True):
        x, y = centre + (middle - centre) * 0.88
        plate(draw, (x, y), f"{length:.2f} mm", font, _SQUARE)
    return np.asarray(image)


def _keys(*, passed: bool) -> list[tuple[Tint, str]]:
    """What each colour stands for."""
    return [
        (_SQUARE, "test square"),
        (_POINT, "measuring points"),
        (_SHEET, "sheet's edges"),
        (_THING, "card or coin"),
        *([(_PASSED, "lines taken for no edge")] if passed else []),
    ]
