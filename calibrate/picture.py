"""The photo with what was found drawn on it, so that a person can see why to believe the figures."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from calibrate.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.evidence import Evidence
    from calibrate.failures import Refusal
    from calibrate.photo import Photo
    from calibrate.result import Measurement

__all__ = ["annotated", "encoded", "refused"]

_LONGEST = 2000
_FINE = 4  # bits behind the point that cv2 draws with

_SHEET, _THING = (0, 150, 255), (255, 120, 0)
_PASSED = (150, 90, 200)
_SQUARE, _POINT = (225, 0, 110), (0, 170, 60)
_PLATE, _TEXT = (20, 20, 24), (255, 255, 255)
_TONE = {Verdict.TRUE: (0, 140, 60), Verdict.RESCALED: (200, 40, 30), Verdict.NOT_SURE: (190, 120, 0)}


@dataclass(frozen=True, slots=True)
class _Sketch:
    """A reduced photo being drawn on; ``unit`` is the width of a line in its pixels."""

    pixels: NDArray[np.uint8]
    step: float
    unit: float

    def at(self, points: Array) -> Array:
        """Pixels of the photo to pixels of the sketch (both have pixel centres at whole numbers)."""
        return (np.asarray(points, float) + 0.5) / self.step - 0.5

    def line(self, points: Array, colour: tuple[int, int, int], *, closed: bool = False) -> None:
        """A line over a dark edging, so that it shows on any ground."""
        fine = np.round(self.at(points) * 2**_FINE).astype(np.int32)[:, None]
        for paint, width in (((255, 255, 255), self.unit * 2.2), (colour, self.unit)):
            cv2.polylines(self.pixels, [fine], closed, paint, max(1, round(width)), cv2.LINE_AA, _FINE)

    def dashes(self, ends: Array, colour: tuple[int, int, int]) -> None:
        """A dashed line between two points."""
        start, end = self.at(ends)
        count = max(2 * round(float(np.linalg.norm(end - start)) / (18.0 * self.unit)), 2)
        stops = (start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)) * 2**_FINE
        for one, other in zip(stops[:-1:2], stops[1::2], strict=True):
            cv2.line(
                self.pixels, [int(v) for v in one], [int(v) for v in other], colour, max(1, round(1.2 * self.unit)),
                cv2.LINE_AA, _FINE,
            )  # fmt: skip

    def dot(self, point: Array, colour: tuple[int, int, int]) -> None:
        """A ring around a measuring point, which stays to be seen."""
        x, y = (int(v) for v in np.round(self.at(point) * 2**_FINE))
        radius = round(self.unit * 3.5 * 2**_FINE)
        cv2.circle(self.pixels, (x, y), radius, colour, max(1, round(self.unit * 0.8)), cv2.LINE_AA, _FINE)


def annotated(photos: Sequence[Photo], measurement: Measurement) -> NDArray[np.uint8]:
    """The photos with edges, measuring points, the square and its printed sides in mm drawn on them.

    Returns (h, w, 3) RGB; each photo at most 2000 pixels long, several side by side, the verdict below.
    """
    by_name = {photo.name: photo for photo in photos}
    shown = [(by_name[found.photo], found) for found in measurement.evidence if found.photo in by_name]
    longest = _LONGEST if len(shown) == 1 else _LONGEST * 2 // 3
    parts = [_labelled(_sketched(photo, found, longest), found, measurement) for photo, found in shown]
    height = max(part.shape[0] for part in parts)
    padded = [cv2.copyMakeBorder(p, 0, height - p.shape[0], 0, 0, cv2.BORDER_CONSTANT, value=_PLATE) for p in parts]
    scale = measurement.scale
    figures = (
        f"{measurement.verdict.value}: {scale.across * 100:.2f} % across (± {scale.uncertainty_across * 100:.2f}), "
        f"{scale.down * 100:.2f} % down (± {scale.uncertainty_down * 100:.2f}), by {measurement.reference}"
    )
    passed = any(one.passed for one in measurement.evidence)
    return _captioned(np.hstack(padded), _TONE[measurement.verdict], [figures], passed=passed)


def refused(photos: Sequence[Photo], refusal: Refusal) -> NDArray[np.uint8]:
    """The photo that gave no measurement, with what was found in it all the same, and why there is none below.

    Returns (h, w, 3) RGB, at most 2000 pixels long.
    """
    seen = refusal.seen
    photo = next((one for one in photos if seen is not None and one.name == seen.photo), photos[0])
    sketch = _reduced(photo, _LONGEST) if seen is None else _sketched(photo, seen, _LONGEST)
    words = [f"no measurement: {refusal.reason.value}", *([refusal.detail] if refusal.detail else [])]
    passed = bool(seen is not None and seen.passed)
    return _captioned(sketch.pixels, _TONE[Verdict.NOT_SURE], words, passed=passed, keys=seen is not None)


def encoded(picture: NDArray[np.uint8], suffix: str) -> bytes:
    """The picture as a file: JPEG for ``.jpg`` and ``.jpeg``, else PNG; nothing of the photo's notes is in it."""
    out = io.BytesIO()
    image = Image.fromarray(picture)
    if suffix.lower() in {".jpg", ".jpeg"}:
        image.save(out, "JPEG", quality=85)
    else:
        image.save(out, "PNG")
    return out.getvalue()


def _reduced(photo: Photo, longest: int) -> _Sketch:
    colour = photo.colour if photo.colour is not None else np.stack([photo.pixels] * 3, axis=-1)
    tall, wide = photo.pixels.shape
    step = max(1.0, max(tall, wide) / longest)
    size = (round(wide / step), round(tall / step))
    pixels = cv2.resize(colour, size, interpolation=cv2.INTER_AREA) if step > 1 else colour.copy()
    return _Sketch(pixels, step, max(size) / 900)


def _sketched(photo: Photo, found: Evidence, longest: int) -> _Sketch:
    """The photo with edges, measuring points and the square."""
    sketch = _reduced(photo, longest)
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


def _labelled(sketch: _Sketch, found: Evidence, measurement: Measurement) -> NDArray[np.uint8]:
    """Each side of the square with its printed length, outside the square beside its middle."""
    image = Image.fromarray(sketch.pixels)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=max(12.0, max(image.size) / 62))
    middles = [sketch.at(side).mean(axis=0) for side in found.square]
    centre = np.mean(middles, axis=0)
    across, down = measurement.square_mm
    for middle, length in zip(middles, (across, down, across, down), strict=True):
        x, y = centre + (middle - centre) * 0.88
        _plate(draw, (x, y), f"{length:.2f} mm", font)
    return np.asarray(image)


def _plate(
    draw: ImageDraw.ImageDraw, at: tuple[float, float], text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont
) -> None:
    left, top, right, bottom = draw.textbbox(at, text, font=font, anchor="mm")
    edge = (bottom - top) * 0.35
    draw.rounded_rectangle((left - edge, top - edge, right + edge, bottom + edge), edge, fill=_SQUARE)
    draw.text(at, text, fill=_TEXT, font=font, anchor="mm")


def _captioned(
    pixels: NDArray[np.uint8], tone: tuple[int, int, int], words: Sequence[str], *, passed: bool, keys: bool = True
) -> NDArray[np.uint8]:
    """Words, broken where they are long, and the key to the colours on a band below the picture."""
    size = max(14.0, pixels.shape[1] / 60)
    font, small = (ImageFont.load_default(size=height) for height in (size, size * 0.8))
    lines = [line for text in words for line in _broken(text, font, pixels.shape[1] - 2 * size)]
    band = round(size * (1.2 + 1.7 * (len(lines) + keys)))
    image = Image.fromarray(cv2.copyMakeBorder(pixels, 0, band, 0, 0, cv2.BORDER_CONSTANT, value=_PLATE))
    draw = ImageDraw.Draw(image)
    y, x = pixels.shape[0] + size * 1.4, size
    draw.rectangle((0, pixels.shape[0], image.width, pixels.shape[0] + size * 0.3), fill=tone)
    for line in lines:
        draw.text((x, y), line, fill=_TEXT, font=font, anchor="lm")
        y += size * 1.7
    for colour, name in (
        (_SQUARE, "test square"),
        (_POINT, "measuring points"),
        (_SHEET, "sheet's edges"),
        (_THING, "card or coin"),
        *([(_PASSED, "lines taken for no edge")] if passed else []),
    ):
        if keys:
            draw.rectangle((x, y - size * 0.35, x + size * 0.7, y + size * 0.35), fill=colour)
            draw.text((x + size, y), name, fill=_TEXT, font=small, anchor="lm")
            x += size * 1.8 + draw.textlength(name, font=small)
    return np.asarray(image)


def _broken(text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont, width: float) -> list[str]:
    """The text's words in lines of at most that width, pixels."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and font.getlength(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
