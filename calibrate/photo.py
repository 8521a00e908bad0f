"""Load a phone photo: upright, decoded, with its focal length where the phone wrote it down."""

from __future__ import annotations

import math
import struct
import warnings
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from calibrate.failures import NoMeasurementError, PhotoUnreadableError, Reason, Refusal
from calibrate.run import Run

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL import Image

__all__ = ["LEAST_PIXELS", "MOST_PIXELS", "Photo", "load_photo"]

LEAST_PIXELS = 700_000
"""Fewer can't show a sheet's marks; whether more are enough is decided by what they show."""
MOST_PIXELS = 110_000_000
"""More is no phone photo, or a file made to fill the memory; the largest phones' own have 108 million."""

_FILM_DIAGONAL = math.hypot(36.0, 24.0)
_EXIF_IFD, _FOCAL_35MM, _EXIF_WIDTH, _EXIF_HEIGHT = 0x8769, 0xA405, 0xA002, 0xA003
_FORMATS = ("JPEG", "PNG", "HEIF")
# What Pillow and the HEIF library raise on damaged content.
_DAMAGE = (OSError, ValueError, SyntaxError, EOFError, RuntimeError, IndexError, struct.error)


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """One photo, upright and decoded.

    ``pixels`` is height x width, uint8, grey; ``colour`` height x width x 3 in red, green, blue order, or
    None for a grey photo. ``focal_px`` is the focal length in pixels from the file's own notes, else None; ``dpi``
    the resolution that the file states, where a scanner may have it.
    """

    pixels: NDArray[np.uint8]
    colour: NDArray[np.uint8] | None
    focal_px: float | None
    name: str
    dpi: float | None = None


def load_photo(name: str, content: bytes, run: Run = Run()) -> Photo:
    """The photo in a JPEG, PNG or HEIC file, decoded and turned upright as its EXIF notes say.

    Args:
        name: what messages call it.
        content: the whole file.
        run: asked while the photo is decoded whether to go on.

    Raises:
        PhotoUnreadableError: no photo, a damaged or cut-off one, or more than 110 megapixels.
        NoMeasurementError: fewer than 0.7 megapixels.
        Cancelled: the run is to end.
    """
    if not content:
        text = f"{name}: is empty; copy it from the phone again"
        raise PhotoUnreadableError(text)
    return run.watched(lambda: _opened(name, content))


def _opened(name: str, content: bytes) -> Photo:
    from PIL import Image, UnidentifiedImageError  # noqa: PLC0415 - heavy, and only needed here

    _register_heif()
    with warnings.catch_warnings():
        # Pillow warns at 89 megapixels; our own limit follows.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            with Image.open(BytesIO(content), formats=_FORMATS) as image:
                _check_size(name, *image.size)
                return _decoded(name, image)
        except Image.DecompressionBombError:
            raise _too_large(name, "more than 178") from None
        except UnidentifiedImageError:
            text = f"{name}: is no photo that can be read; send a JPEG, PNG or HEIC file"
            raise PhotoUnreadableError(text) from None
        except _DAMAGE as failure:
            text = f"{name}: is damaged or cut off ({_first_line(failure)}); copy it from the phone again"
            raise PhotoUnreadableError(text) from failure


def _register_heif() -> None:
    import pillow_heif  # noqa: PLC0415 - heavy, and only needed here

    pillow_heif.register_heif_opener()


def _check_size(name: str, width: int, height: int) -> None:
    """Judge the size the header states, before anything is decoded."""
    pixels = width * height
    if pixels > MOST_PIXELS:
        raise _too_large(name, f"{pixels / 1e6:.0f}")
    if pixels < LEAST_PIXELS:
        detail = f"{name} has {width} x {height} pixels, {pixels / 1e6:.1f} megapixels where 0.7 are needed"
        raise NoMeasurementError(Refusal(Reason.TOO_FEW_PIXELS, detail))


def _too_large(name: str, megapixels: str) -> PhotoUnreadableError:
    return PhotoUnreadableError(
        f"{name}: has {megapixels} megapixels, and 110 is the most that is read; "
        "send the photo as the phone took it, or at half its size"
    )


def _decoded(name: str, image: Image.Image) -> Photo:
    import cv2  # noqa: PLC0415 - heavy, and only needed here
    import numpy as np  # noqa: PLC0415
    from PIL import ImageOps  # noqa: PLC0415

    image.load()
    focal, dpi = _focal_of(image), _resolution_of(image)
    image = _in_eight_bits(image)
    # In place: a copy of a large photo costs as much as reading it.
    ImageOps.exif_transpose(image, in_place=True)
    if image.mode in {"L", "1", "LA"}:
        return Photo(np.asarray(image.convert("L")), None, focal, name, dpi)
    colour = np.asarray(image if image.mode == "RGB" else image.convert("RGB"))
    # The luma of ITU-R BT.601, as Pillow has it.
    return Photo(np.asarray(cv2.cvtColor(colour, cv2.COLOR_RGB2GRAY)), colour, focal, name, dpi)


def _in_eight_bits(image: Image.Image) -> Image.Image:
    """A 16-bit grey picture at 8 bits: Pillow would cut it off at 255 where it should divide."""
    if not image.mode.startswith("I"):
        return image
    import numpy as np  # noqa: PLC0415 - heavy, and only needed here
    from PIL import Image  # noqa: PLC0415

    values = np.asarray(image).astype(np.uint32)
    reduced = Image.fromarray((values >> 8 if values.max() > 255 else values).astype(np.uint8))
    reduced.info.update(image.info)
    return reduced


def _focal_of(image: Image.Image) -> float | None:
    """Focal length in pixels from EXIF's FocalLengthIn35mmFilm (CIPA DC-008), None where it isn't known.

    The 35 mm equivalent compares diagonals. A picture that was cut to another shape has lost the diagonal.
    """
    width, height = image.size
    try:
        notes = image.getexif().get_ifd(_EXIF_IFD)
        equivalent = float(notes.get(_FOCAL_35MM, 0))
        noted = sorted((float(notes.get(_EXIF_WIDTH, 0)), float(notes.get(_EXIF_HEIGHT, 0))))
    except (*_DAMAGE, TypeError, KeyError, ArithmeticError):
        return None
    if not 8.0 <= equivalent <= 400.0:
        return None
    if noted[0] > 0 and abs(noted[1] / noted[0] - max(width, height) / min(width, height)) > 0.02:
        return None
    return equivalent * math.hypot(width, height) / _FILM_DIAGONAL


def _resolution_of(image: Image.Image) -> float | None:
    """Dots an inch where the file states some that a scanner may have, the same both ways; phones write 72."""
    try:
        across, down = (float(value) for value in image.info.get("dpi", (0.0, 0.0)))
    except (*_DAMAGE, TypeError, ArithmeticError):
        return None
    return across if 100.0 <= across <= 2400.0 and abs(across - down) < 0.01 * across else None


def _first_line(failure: BaseException) -> str:
    return (str(failure).splitlines() or [type(failure).__name__])[0][:120]
