"""From light to a file: blur, motion, noise, tone curve, sharpening and JPEG, as a phone does it."""

from __future__ import annotations

import io
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.simulator.scene import Picture


class Tone(Enum):
    """The curve from light to code: what a phone makes of the transfer curve of sRGB (IEC 61966-2-1).

    The value is (gamma of the light before sRGB's own curve, strength of the S after it).
    """

    USUAL = (1.0, 0.04)
    PLAIN = (1.0, 0.0)
    HARD = (1.0, 0.12)
    BRIGHT = (0.75, 0.0)
    DEEP = (1.3, 0.05)


class Blending(Enum):
    """Whether the picture is blurred as light, as a lens does it, or as coded values, as a phone's software does."""

    LIGHT = "light"
    CODED = "coded values"


@dataclass(frozen=True, slots=True)
class Sensor:
    """How light becomes numbers.

    ``blur`` is the standard deviation in pixels of the lens's spread, ``motion`` the length in pixels of a
    shake in direction ``motion_towards`` (degrees), ``noise`` the standard deviation of the picture of a
    mid grey in steps of 255, ``exposure`` the brightness of white paper (1.0 is clipped), ``sharpen`` the
    strength of the phone's own sharpening.
    """

    blur: float = 0.8
    motion: float = 0.0
    motion_towards: float = 0.0
    noise: float = 1.5
    exposure: float = 0.85
    sharpen: float = 0.3
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    tone: Tone = Tone.USUAL
    blending: Blending = Blending.LIGHT


class Colour(Enum):
    """Whether the file holds colour or grey."""

    COLOUR = "colour"
    GREY = "grey"


class Kind(Enum):
    """File formats."""

    JPEG = "JPEG"
    PNG = "PNG"
    HEIC = "HEIF"


@dataclass(frozen=True, slots=True)
class File:
    """How it is kept; ``turn_tag`` is EXIF's orientation (1, 3, 6, 8), ``focal_35mm`` 0 not noted.

    ``dpi`` is the resolution that a scanner notes, 0 for none; ``mirrored`` is what a selfie camera or a transfer does.
    """

    quality: int = 90
    kind: Kind = Kind.JPEG
    colour: Colour = Colour.COLOUR
    turn_tag: int = 1
    focal_35mm: float = 26.0
    dpi: int = 0
    mirrored: bool = False


def _curve(tone: Tone) -> NDArray[np.uint8]:
    """The transfer curve, from 4096 steps of linear light."""
    gamma, bow = tone.value
    linear = np.linspace(0.0, 1.0, 4096) ** gamma
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    coded = coded + bow * np.sin(2 * np.pi * (coded - 0.5))
    return np.clip(coded * 255.0 + 0.5, 0, 255).astype(np.uint8)


def _shaken(picture: Picture, sensor: Sensor) -> Picture:
    size = int(np.ceil(sensor.motion)) + 2
    size += 1 - size % 2
    kernel = np.zeros((size, size), np.float32)
    angle = np.radians(sensor.motion_towards)
    for t in np.linspace(-0.5, 0.5, 65) * sensor.motion:
        x, y = size // 2 + t * np.cos(angle), size // 2 + t * np.sin(angle)
        left, top = int(np.floor(x)), int(np.floor(y))
        for dx in (0, 1):
            for dy in (0, 1):
                weight = (1 - abs(x - left - dx)) * (1 - abs(y - top - dy))
                if weight > 0 and top + dy < size and left + dx < size:
                    kernel[top + dy, left + dx] += weight
    return cv2.filter2D(picture, -1, kernel / kernel.sum())


def _grain(seed: int) -> NDArray[np.float32]:
    """A patch of camera noise, unit standard deviation, its neighbours alike as after demosaicing."""
    patch = np.random.default_rng(seed).standard_normal((_PATCH, _PATCH, 3), dtype=np.float32)
    patch = cv2.GaussianBlur(patch, (0, 0), 0.6, borderType=cv2.BORDER_REFLECT)
    return patch / patch.std()


_PATCH = 1024


def developed(light: Picture, sensor: Sensor, seed: int) -> NDArray[np.uint8]:
    """The camera's picture (h, w, 3) RGB from linear light."""
    picture = light
    if sensor.blur > 0 and sensor.blending is Blending.LIGHT:
        picture = cv2.GaussianBlur(picture, (0, 0), sensor.blur)
    if sensor.motion > 0:
        picture = _shaken(picture, sensor)
    grain, curve = _grain(seed), _curve(sensor.tone)
    coded = np.empty(picture.shape, np.uint8)
    wide = -(-picture.shape[1] // _PATCH)
    gain = np.array(sensor.tint, np.float32) * np.float32(sensor.exposure / 0.82)
    # Band by band, which keeps the work in the processor's cache.
    for top in range(0, picture.shape[0], 64):
        band = picture[top : top + 64] * gain
        if sensor.noise > 0:
            rows = (top % _PATCH) + np.arange(len(band))
            noise = np.tile(grain[rows % _PATCH], (1, wide, 1))[:, : picture.shape[1]]
            # Photon noise grows with the root of the light; at mid grey (0.2 of white) the curve's slope is 0.9.
            band += noise * np.sqrt(np.maximum(band, 0.0) / 0.2 + 0.05) * np.float32(sensor.noise / 255.0 / 0.9)
        coded[top : top + 64] = curve[np.clip(band * 4095.0, 0, 4095).astype(np.uint16)]
    if sensor.blending is Blending.CODED:
        coded = cv2.GaussianBlur(coded, (0, 0), max(sensor.blur, 0.3))
    if sensor.sharpen > 0:
        soft = cv2.GaussianBlur(coded, (0, 0), 1.2)
        coded = cv2.addWeighted(coded, 1.0 + sensor.sharpen, soft, -sensor.sharpen, 0.0)
    return np.asarray(coded)


def stored(picture: NDArray[np.uint8], file: File) -> bytes:
    """The picture as bytes of an image file, with EXIF's focal length and turn."""
    image = Image.fromarray(picture)
    if file.colour is Colour.GREY:
        image = image.convert("L")
    if file.mirrored:
        image = image.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    # The turn tag says how to turn what is stored; what is stored is turned back.
    back = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}
    if file.turn_tag in back:
        image = image.transpose(back[file.turn_tag])
    exif = Image.Exif()
    exif[0x0112] = file.turn_tag
    if file.focal_35mm > 0:
        exif[0x8769] = {0xA405: round(file.focal_35mm)}
    out = io.BytesIO()
    noted = {"dpi": (file.dpi, file.dpi)} if file.dpi else {"exif": exif}
    if file.kind is Kind.JPEG:
        image.save(out, "JPEG", quality=file.quality, **noted)
    elif file.kind is Kind.PNG:
        image.save(out, "PNG", compress_level=1, **noted)
    else:
        import pillow_heif

        pillow_heif.from_pillow(image).save(out, quality=file.quality, exif=exif.tobytes())
    return out.getvalue()
