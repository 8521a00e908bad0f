"""Raster pictures in an SVG: held in the file itself, or lying beside the drawing. Nothing else is read."""

from __future__ import annotations

import base64
import binascii
import io
import re
import warnings
from dataclasses import dataclass
from urllib.parse import unquote, unquote_to_bytes

from lxml import etree
from PIL import Image

from tiling.content.bare_pictures import bare_jpeg, bare_png
from tiling.files.inputs import Neighbours, NotRead
from tiling.pattern import FindingKind, Picture
from tiling.reading.svg_file import SvgFile
from tiling.reading.svg_scene import SvgScene
from tiling.reading.svg_size import fit_into
from tiling.shapes import Affine, Box

__all__ = ["picture_of"]

_LARGEST = 50 * 1024 * 1024
_MOST_PIXELS = 100_000_000
_TOO_LARGE = "A picture is too large and is not drawn."
_NOT_READ = {
    NotRead.OUTSIDE: "A picture outside the drawing's own folder is named; it is never opened. "
    "Put it beside the drawing.",
    NotRead.ABSENT: "A picture is named that is not in the drawing's folder.",
    NotRead.UNREADABLE: "A picture is named that can't be opened.",
    NotRead.TOO_LARGE: _TOO_LARGE,
}
_ORIENTATION = 0x0112
_TURNS = {
    2: Affine(-1.0, 0.0, 0.0, 1.0, 1.0, 0.0), 3: Affine(-1.0, 0.0, 0.0, -1.0, 1.0, 1.0),
    4: Affine(1.0, 0.0, 0.0, -1.0, 0.0, 1.0), 5: Affine(0.0, 1.0, 1.0, 0.0, 0.0, 0.0),
    6: Affine(0.0, 1.0, -1.0, 0.0, 1.0, 0.0), 7: Affine(0.0, -1.0, -1.0, 0.0, 1.0, 1.0),
    8: Affine(0.0, -1.0, 1.0, 0.0, 0.0, 1.0),
}  # fmt: skip
"""How a camera was held (Exif 2.32, tag 0x0112), as browsers show it: CSS Images Level 3, `image-orientation`."""
_DATA = re.compile(r"data:([^,]*),", re.DOTALL)


def picture_of(file: SvgFile, element: etree._Element, port: Box | None, scene: SvgScene) -> Picture | None:
    """The picture of an ``<image>`` shown in `port` (user units), or None with a finding that says why."""
    link = file.link(element)
    if not link:
        return None
    data, reason = _fetched(link, file.file.neighbours)
    kept = _judged(data) if data is not None else None
    if data is not None and kept is None:
        reason = "A picture is damaged, too large or of an unknown kind and is not drawn."
    if kept is None:
        file.note(FindingKind.PICTURE_NOT_READ, reason, element)
        return None
    width, height = kept.width, kept.height
    frame = _framed(port, width, height)
    if frame is None:
        return None
    own = Box(0.0, 0.0, float(width), float(height))
    placed = scene.to_sheet @ fit_into(own, frame, element.get("preserveAspectRatio"))
    return Picture(kept.content, placed @ Affine.scale(width, height) @ kept.turn, scene.opacity, scene.tag)


def _framed(port: Box | None, width: int, height: int) -> Box | None:
    """The frame with sides that were left out taken from the picture (1 px each)."""
    if port is None:
        return None
    w, h = port.width, port.height
    if w <= 0 and h <= 0:
        w, h = float(width), float(height)
    elif w <= 0:
        w = h * width / height
    elif h <= 0:
        h = w * height / width
    return Box(port.x0, port.y0, port.x0 + w, port.y0 + h)


def _fetched(link: str, neighbours: Neighbours) -> tuple[bytes | None, str]:
    """The picture's bytes, or None and the reason."""
    header = _DATA.match(link)
    if header is not None:
        return _decoded(header[1], link[header.end() :])
    if re.match(r"[A-Za-z][A-Za-z0-9+.-]*:", link) or link.startswith("//"):
        return None, "A picture from elsewhere is named; it is never fetched. Put it into the drawing's own folder."
    found = neighbours.read(unquote(link.split("#", maxsplit=1)[0].split("?", maxsplit=1)[0]))
    return (None, _NOT_READ[found]) if isinstance(found, NotRead) else (found, "")


def _decoded(header: str, body: str) -> tuple[bytes | None, str]:
    if len(body) > 2 * _LARGEST:
        return None, _TOO_LARGE
    if "svg" in header.lower():
        return None, "A picture that is itself a vector drawing is not drawn; put it into the drawing as lines."
    if not header.lower().replace(" ", "").endswith(";base64"):
        return unquote_to_bytes(body), ""
    try:
        return base64.b64decode(unquote(re.sub(r"\s+", "", body)), validate=False), ""
    except (binascii.Error, ValueError):
        return None, "A picture is damaged and is not drawn."


@dataclass(frozen=True, slots=True)
class _Kept:
    """What is used of a picture.

    Attributes:
        content: a PNG or JPEG of nothing but pixels and colour profile.
        width, height: pixels as it is looked at.
        turn: from the stored picture's unit square to the one that is looked at.
    """

    content: bytes
    width: int
    height: int
    turn: Affine


def _judged(data: bytes) -> _Kept | None:
    """The picture, or None when it can't or shouldn't be opened."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF")) as image:
                width, height = image.size
                if width * height > _MOST_PIXELS or width < 1 or height < 1:
                    return None
                image.load()
                turn = _TURNS.get(image.getexif().get(_ORIENTATION, 1), Affine())
                if abs(turn.b) > 0:
                    width, height = height, width
                return _Kept(_bare(image, data), width, height, turn)
    except Exception:  # noqa: BLE001 - Pillow raises anything from damaged files; all of it means "can't be read"
        return None


def _bare(image: Image.Image, data: bytes) -> bytes:
    if image.format in {"PNG", "JPEG"}:
        return bare_png(data) if image.format == "PNG" else bare_jpeg(data)
    out = io.BytesIO()
    image.convert("RGBA").save(out, "PNG")
    return bare_png(out.getvalue())
