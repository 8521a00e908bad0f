"""A photo to draw on, with words below it: what pictures of a measurement are made of."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from calibrate.arrays import Array
    from calibrate.photo import Photo

__all__ = ["PLATE", "Sketch", "Tint", "captioned", "encoded", "plate", "reduced"]

Tint = tuple[int, int, int]
"""Red, green and blue, to 255."""
PLATE = (20, 20, 24)
_TEXT = (255, 255, 255)
_FINE = 4  # bits behind the point that cv2 draws with


@dataclass(frozen=True, slots=True)
class Sketch:
    """A reduced photo being drawn on; ``unit`` is the width of a line in its pixels."""

    pixels: NDArray[np.uint8]
    step: float
    unit: float

    def at(self, points: Array) -> Array:
        """Pixels of the photo to pixels of the sketch (both have pixel centres at whole numbers)."""
        return (np.asarray(points, float) + 0.5) / self.step - 0.5

    def line(self, points: Array, colour: Tint, *, closed: bool = False) -> None:
        """A line over a dark edging, so that it shows on any ground."""
        fine = np.round(self.at(points) * 2**_FINE).astype(np.int32)[:, None]
        for paint, width in (((255, 255, 255), self.unit * 2.2), (colour, self.unit)):
            cv2.polylines(self.pixels, [fine], closed, paint, max(1, round(width)), cv2.LINE_AA, _FINE)

    def dashes(self, ends: Array, colour: Tint) -> None:
        """A dashed line between two points."""
        start, end = self.at(ends)
        count = max(2 * round(float(np.linalg.norm(end - start)) / (18.0 * self.unit)), 2)
        stops = (start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)) * 2**_FINE
        for one, other in zip(stops[:-1:2], stops[1::2], strict=True):
            cv2.line(
                self.pixels, [int(v) for v in one], [int(v) for v in other], colour, max(1, round(1.2 * self.unit)),
                cv2.LINE_AA, _FINE,
            )  # fmt: skip

    def dot(self, point: Array, colour: Tint) -> None:
        """A ring around a measuring point, which stays to be seen."""
        x, y = (int(v) for v in np.round(self.at(point) * 2**_FINE))
        radius = round(self.unit * 3.5 * 2**_FINE)
        cv2.circle(self.pixels, (x, y), radius, colour, max(1, round(self.unit * 0.8)), cv2.LINE_AA, _FINE)

    def arrow(self, start: Array, end: Array, colour: Tint) -> None:
        """An arrow between two places."""
        tail, tip = ([int(v) for v in np.round(self.at(place) * 2**_FINE)] for place in (start, end))
        long = float(np.linalg.norm(self.at(end) - self.at(start)))
        head = min(9.0 * self.unit / max(long, 1e-6), 0.5)
        for paint, width in (((255, 255, 255), self.unit * 3.4), (colour, self.unit * 1.8)):
            cv2.arrowedLine(self.pixels, tail, tip, paint, max(1, round(width)), cv2.LINE_AA, _FINE, head)


def reduced(photo: Photo, longest: int) -> Sketch:
    """The photo at most so many pixels long."""
    colour = photo.colour if photo.colour is not None else np.stack([photo.pixels] * 3, axis=-1)
    tall, wide = photo.pixels.shape
    step = max(1.0, max(tall, wide) / longest)
    size = (round(wide / step), round(tall / step))
    pixels = cv2.resize(colour, size, interpolation=cv2.INTER_AREA) if step > 1 else colour.copy()
    return Sketch(pixels, step, max(size) / 900)


def encoded(picture: NDArray[np.uint8], suffix: str) -> bytes:
    """The picture as a file: JPEG for ``.jpg`` and ``.jpeg``, else PNG; nothing of the photo's notes is in it."""
    out = io.BytesIO()
    image = Image.fromarray(picture)
    if suffix.lower() in {".jpg", ".jpeg"}:
        image.save(out, "JPEG", quality=85)
    else:
        image.save(out, "PNG")
    return out.getvalue()


def plate(
    draw: ImageDraw.ImageDraw, at: tuple[float, float], text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
    tint: Tint,
) -> None:  # fmt: skip
    """Words in the middle of a coloured plate."""
    left, top, right, bottom = draw.textbbox(at, text, font=font, anchor="mm")
    edge = (bottom - top) * 0.35
    draw.rounded_rectangle((left - edge, top - edge, right + edge, bottom + edge), edge, fill=tint)
    draw.text(at, text, fill=_TEXT, font=font, anchor="mm")


def captioned(
    pixels: NDArray[np.uint8], tone: Tint, words: Sequence[str], keys: Sequence[tuple[Tint, str]]
) -> NDArray[np.uint8]:
    """Words, broken where they are long, and the key to the colours on a band below the picture."""
    size = max(14.0, pixels.shape[1] / 60)
    font, small = (ImageFont.load_default(size=height) for height in (size, size * 0.8))
    lines = [line for text in words for line in _broken(text, font, pixels.shape[1] - 2 * size)]
    band = round(size * (1.2 + 1.7 * (len(lines) + bool(keys))))
    image = Image.fromarray(cv2.copyMakeBorder(pixels, 0, band, 0, 0, cv2.BORDER_CONSTANT, value=PLATE))
    draw = ImageDraw.Draw(image)
    y, x = pixels.shape[0] + size * 1.4, size
    draw.rectangle((0, pixels.shape[0], image.width, pixels.shape[0] + size * 0.3), fill=tone)
    for line in lines:
        draw.text((x, y), line, fill=_TEXT, font=font, anchor="lm")
        y += size * 1.7
    for colour, name in keys:
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
