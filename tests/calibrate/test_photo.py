"""Loading photos: every kind a phone makes, upright; and a plain refusal of anything else."""

from __future__ import annotations

import io
import struct
import zlib
from functools import lru_cache

import numpy as np
import pytest
from PIL import Image

from calibrate.failures import NoMeasurementError, PhotoUnreadableError, Reason
from calibrate.photo import Photo, load_photo
from tests.simulator.sensor import Colour, File, Kind, stored

WIDE, TALL = 1800, 1200


def scene() -> np.ndarray:
    """A picture with a bright left edge, a red upper half and smooth tones, wide side across."""
    x, y = np.meshgrid(np.linspace(0, 1, WIDE), np.linspace(0, 1, TALL))
    picture = np.stack([200 - 120 * x, 60 + 80 * y, 90 + 0 * x], axis=-1)
    picture[:, :200] = 240
    return picture.astype(np.uint8)


@lru_cache(maxsize=32)
def content(file: File) -> bytes:
    """The picture as a file; encoding takes a while."""
    return stored(scene(), file)


def loaded(file: File) -> Photo:
    """The picture, encoded and read."""
    return load_photo("photo", content(file))


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("turn_tag", [1, 3, 6, 8])
def test_a_photo_comes_upright_whatever_its_turn_tag(kind: Kind, turn_tag: int) -> None:
    """JPEG, PNG and HEIC in EXIF's four turns all give the same upright picture (EXIF 2.3, tag 0x0112)."""
    photo = loaded(File(kind=kind, turn_tag=turn_tag))
    assert photo.pixels.shape == (TALL, WIDE)
    assert photo.colour is not None
    assert photo.pixels.dtype == np.uint8
    assert np.abs(photo.colour.astype(int) - scene()).mean() < 4


def test_a_picture_that_is_not_turned_back_is_noticed() -> None:
    """The comparison above fails on the same picture upside down."""
    photo = loaded(File())
    assert photo.colour is not None
    assert np.abs(photo.colour[::-1, ::-1].astype(int) - scene()).mean() > 20


def test_a_grey_photo_has_no_colour() -> None:
    """Grey photos are read; their colour is None."""
    photo = loaded(File(colour=Colour.GREY))
    assert photo.colour is None
    assert photo.pixels.shape == (TALL, WIDE)


@pytest.mark.parametrize("kind", Kind)
def test_the_focal_length_comes_from_the_notes(kind: Kind) -> None:
    """A 26 mm equivalent is 26 / 43.27 of the picture's diagonal: the 35 mm frame is 36 x 24 mm (ISO 1007)."""
    photo = loaded(File(kind=kind, focal_35mm=26.0))
    assert photo.focal_px == pytest.approx(26.0 * np.hypot(WIDE, TALL) / np.hypot(36, 24), rel=1e-9)


@pytest.mark.parametrize("focal", [0.0, 3.0, 2000.0])
def test_a_focal_length_that_is_missing_or_absurd_is_unknown(focal: float) -> None:
    """No note, or one that no phone has, gives None."""
    assert loaded(File(focal_35mm=focal)).focal_px is None


def test_a_picture_cut_to_another_shape_has_lost_its_focal_length() -> None:
    """The notes speak of 4000 x 2000 pixels, the picture is 3 to 2: its diagonal is not the sensor's."""
    exif = Image.Exif()
    exif[0x8769] = {0xA405: 26, 0xA002: 4000, 0xA003: 2000}
    out = io.BytesIO()
    Image.fromarray(scene()).save(out, "JPEG", exif=exif)
    assert load_photo("cut.jpg", out.getvalue()).focal_px is None


def test_sixteen_bit_grey_is_reduced_and_not_clipped() -> None:
    """A PNG with 16 bits a pixel keeps its tones."""
    tones = np.tile(np.linspace(0, 65535, WIDE).astype(np.uint16), (TALL, 1))
    out = io.BytesIO()
    Image.fromarray(tones).save(out, "PNG")
    photo = load_photo("deep.png", out.getvalue())
    assert photo.pixels[0, 0] == 0
    assert photo.pixels[0, -1] == 255
    assert 126 <= int(photo.pixels[0, WIDE // 2]) <= 128


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def declared(width: int, height: int) -> bytes:
    """A tiny PNG whose header promises a large picture."""
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", body) + _chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(11000, 10001), (30000, 30000), (2**31 - 1, 2**31 - 1)])
def test_a_picture_made_to_fill_the_memory_is_refused_unread(width: int, height: int) -> None:
    """More than 110 megapixels promised: refused from the header alone."""
    with pytest.raises(PhotoUnreadableError, match=r"bomb\.png.*") as refused:
        load_photo("bomb.png", declared(width, height))
    assert refused.value.exit_code == 3


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("share", [0.02, 0.5, 0.97])
def test_a_cut_off_file_is_refused(kind: Kind, share: float) -> None:
    """A file that ends too early is refused by name, never read in part."""
    whole = content(File(kind=kind))
    with pytest.raises(PhotoUnreadableError, match="half"):
        load_photo("half", whole[: int(len(whole) * share)])


@pytest.mark.parametrize("stuff", [b"", b"hello", b"%PDF-1.7\n", b"\xff\xd8\xff", b"GIF89a" + b"\0" * 99])
def test_what_is_no_photo_is_refused(stuff: bytes) -> None:
    """Empty files, texts, PDFs, stubs and other kinds of picture."""
    with pytest.raises(PhotoUnreadableError, match=r"thing\.jpg: .*;"):
        load_photo("thing.jpg", stuff)


def test_too_few_pixels_give_no_measurement() -> None:
    """A thumbnail is a photo, but can't be measured: a refusal with its reason."""
    out = io.BytesIO()
    Image.fromarray(scene()).resize((640, 480)).save(out, "JPEG")
    with pytest.raises(NoMeasurementError) as refused:
        load_photo("thumb.jpg", out.getvalue())
    assert refused.value.refusal.reason is Reason.TOO_FEW_PIXELS
    assert refused.value.exit_code == 5
