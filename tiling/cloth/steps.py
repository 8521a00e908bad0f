"""Sewing steps of the notes, with their pictures as pixels: nothing else of a picture's file travels."""

from __future__ import annotations

import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from urllib.parse import unquote

from PIL import Image, ImageCms, ImageOps

from tiling.files.inputs import InputFile, NotRead
from tiling.notes import Notes, StepNote
from tiling.pattern import Finding, FindingKind

__all__ = ["Pixels", "Step", "steps_of"]

_FORMATS = ("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF")
_MOST_PIXELS = 100_000_000
_LONGEST_SIDE = 1800
"""Pixels; 150 mm at 300 to the inch."""

_NOT_READ = {
    NotRead.OUTSIDE: "lies outside the drawing's own folder and is never opened; put it beside the drawing.",
    NotRead.ABSENT: "is not in the drawing's folder; check the name.",
    NotRead.UNREADABLE: "can't be opened; check its rights.",
    NotRead.TOO_LARGE: "is larger than 50 MB; make it smaller.",
}


@dataclass(frozen=True, slots=True)
class Pixels:
    """A picture as a PNG or JPEG without any other data, and its size in pixels."""

    content: bytes = field(repr=False)
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Step:
    """One sewing step: title, paragraphs, picture."""

    title: str
    paragraphs: tuple[str, ...]
    picture: Pixels | None = None


def steps_of(notes: Notes | None, drawings: Sequence[InputFile]) -> tuple[tuple[Step, ...], tuple[Finding, ...]]:
    """The notes' steps in order, and what is to be known of pictures that are not shown.

    Args:
        notes: the pattern's.
        drawings: pictures are looked for in their folders, one after the other.
    """
    steps, findings = [], []
    for number, note in enumerate(notes.steps if notes else (), 1):
        picture, why = _picture(note, drawings) if note.picture else (None, "")
        if why:
            text = f"the picture '{note.picture}' {why}"
            findings.append(Finding(FindingKind.PICTURE_NOT_READ, text, f"step {number}"))
        steps.append(Step(note.title, tuple(note.text.split("\n")) if note.text else (), picture))
    return tuple(steps), tuple(findings)


def _picture(note: StepNote, drawings: Sequence[InputFile]) -> tuple[Pixels | None, str]:
    """The picture, or why there is none."""
    why = _NOT_READ[NotRead.ABSENT]
    for drawing in drawings:
        found = drawing.neighbours.read(note.picture)
        if found is NotRead.ABSENT:
            found = drawing.neighbours.read(unquote(note.picture))
        if not isinstance(found, NotRead):
            pixels = _pixels(found)
            return pixels, "" if pixels else "is damaged, too large or of an unknown kind; save it as PNG or JPEG."
        if found is not NotRead.ABSENT:
            why = _NOT_READ[found]
    return None, why


def _pixels(data: bytes) -> Pixels | None:
    """The picture upright, in sRGB on white, no larger than is printed, encoded anew; None where it can't be read."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=_FORMATS) as opened:
                if opened.width * opened.height > _MOST_PIXELS:
                    return None
                photo = opened.format == "JPEG"
                image = _on_white(_in_srgb(ImageOps.exif_transpose(opened)))
        image.thumbnail((_LONGEST_SIDE, _LONGEST_SIDE), Image.Resampling.LANCZOS)
        # From its pixels alone: what the file said besides (place, time, camera, comments) stays behind.
        bare = Image.frombytes(image.mode, image.size, image.tobytes())
        out = io.BytesIO()
        if photo:
            bare.save(out, "JPEG", quality=90)
        else:
            bare.save(out, "PNG", optimize=True)
        return Pixels(out.getvalue(), *bare.size)
    except Exception:  # noqa: BLE001 - Pillow raises anything from damaged files; all of it means "can't be read"
        return None


def _in_srgb(image: Image.Image) -> Image.Image:
    profile = image.info.get("icc_profile")
    if not profile or image.mode not in {"RGB", "CMYK", "L"}:
        return image
    mode = "L" if image.mode == "L" else "RGB"
    try:
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        return ImageCms.profileToProfile(image, own, ImageCms.createProfile("sRGB"), outputMode="RGB") or image
    except ImageCms.PyCMSError:
        return image.convert(mode)


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode in {"1", "L", "I;16"} and "transparency" not in image.info:
        return image.convert("L")
    whole = image.convert("RGBA")
    white = Image.new("RGBA", whole.size, "white")
    return Image.alpha_composite(white, whole).convert("RGB")
