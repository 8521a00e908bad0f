"""The photo with what was found drawn on it."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from calibrate.evidence import Evidence
from calibrate.failures import Reason, Refusal
from calibrate.photo import Photo
from calibrate.picture import annotated, refused
from calibrate.result import Measurement
from calibrate.scale import measured_by_ruler
from calibrate.sketch import encoded

WIDE, TALL = 3000, 2400
RED, GREEN, BLUE, ORANGE = (225, 0, 110), (0, 170, 60), (0, 150, 255), (255, 120, 0)
VIOLET = (150, 90, 200)


def line(*points: tuple[float, float]) -> np.ndarray:
    """A line of pixels."""
    return np.array(points, float)


def evidence(name: str) -> Evidence:
    """A square, a sheet's edge, a card's edge and a measuring point at known pixels."""
    corners = [(1000.0, 800.0), (2000.0, 800.0), (2000.0, 1800.0), (1000.0, 1800.0)]
    sides = tuple(line(corners[n], corners[(n + 1) % 4]) for n in range(4))
    outlines = {"sheet left": line((200, 200), (200, 2200)), "card top": line((1200, 1000), (1800, 1000))}
    return Evidence(name, False, np.array([[600.0, 600.0]]), outlines, sides)


def measurement(*names: str) -> Measurement:
    """An answer with that evidence."""
    answer = measured_by_ruler(97.31, 98.02)
    return replace(answer, reference="card", evidence=tuple(evidence(name) for name in names))


def photo(name: str, *, grey: bool = False) -> Photo:
    """An even grey photo."""
    pixels = np.full((TALL, WIDE), 120, np.uint8)
    return Photo(pixels, None if grey else np.stack([pixels] * 3, axis=-1), None, name)


def near(picture: np.ndarray, x: float, y: float, colour: tuple[int, int, int]) -> bool:
    """Whether the colour shows within 4 pixels of a place of the reduced picture."""
    x, y = round(x), round(y)
    patch = picture[max(0, y - 4) : y + 5, max(0, x - 4) : x + 5].reshape(-1, 3).astype(int)
    return bool((np.abs(patch - colour).sum(axis=1) < 60).any())


@pytest.mark.parametrize("grey", [False, True])
def test_everything_found_is_drawn_where_it_lies(grey: bool) -> None:
    """Square, measuring point, sheet's edge and card's edge, each in its colour, on colour and grey photos alike."""
    picture = annotated([photo("a.jpg", grey=grey)], measurement("a.jpg"))
    step = WIDE / 2000
    assert picture.shape[1] == 2000
    assert near(picture, 1100 / step, 800 / step, RED)
    assert near(picture, 2000 / step, 1700 / step, RED)
    assert near(picture, 200 / step, 700 / step, BLUE)
    assert near(picture, 1300 / step, 1000 / step, ORANGE)
    assert any(near(picture, 600 / step + 2 * dx, 600 / step, GREEN) for dx in range(-5, 6))
    assert not near(picture, 400 / step, 2000 / step, RED)


def test_what_was_found_is_shown_where_there_is_no_answer_too() -> None:
    """The edges taken, those passed over and the points; no lengths; and the reason in words below."""
    seen = replace(evidence("b.jpg"), passed=(line((300, 200), (300, 2200)),))
    refusal = Refusal(Reason.SHEET_DOUBTFUL, "within its left edge runs a line " * 8, seen=seen)
    photos = [photo("a.jpg"), photo("b.jpg")]
    photos[0].pixels[:] = 0
    picture = refused(photos, refusal)
    step = WIDE / 2000
    assert near(picture, 200 / step, 700 / step, BLUE)
    assert near(picture, 1100 / step, 800 / step, RED)
    assert any(near(picture, 300 / step, y / step, VIOLET) for y in range(220, 2200, 8))
    assert (picture[: TALL * 2 // 3 - 40].astype(int).sum(axis=-1) == 360).mean() > 0.9, "the photo that was meant"
    short, bare = (refused(photos, Refusal(Reason.NO_TARGET, "", seen=one)) for one in (seen, None))
    assert picture.shape[0] > short.shape[0] > bare.shape[0], "long words take lines of their own; nothing has no key"


def test_a_line_that_was_taken_for_no_edge_is_shown_too() -> None:
    """Dashed, beside the edge that was taken, and in the key below; without such a line neither is there."""
    seen = measurement("a.jpg")
    streak = replace(seen.evidence[0], passed=(line((300, 200), (300, 2200)),))
    picture, plain = (annotated([photo("a.jpg")], one) for one in (replace(seen, evidence=(streak,)), seen))
    step = WIDE / 2000
    along = [near(picture, 300 / step, y / step, VIOLET) for y in range(220, 2200, 8)]
    assert 0.3 < np.mean(along) < 0.9
    key = (np.abs(picture[TALL * 2 // 3 :].astype(int) - VIOLET).sum(axis=-1) < 10).sum()
    assert key > 100
    assert not (np.abs(plain.astype(int) - VIOLET).sum(axis=-1) < 10).any()


def test_the_photo_itself_is_not_drawn_on() -> None:
    """The picture is a copy."""
    shot = replace(photo("a.jpg"))
    small = Photo(shot.pixels[:1200, :1600].copy(), np.full((1200, 1600, 3), 120, np.uint8), None, "a.jpg")
    annotated([small], measurement("a.jpg"))
    assert small.colour is not None
    assert (small.colour == 120).all()


def test_several_photos_stand_side_by_side() -> None:
    """Two photos make one wide picture."""
    one = annotated([photo("a.jpg")], measurement("a.jpg"))
    two = annotated([photo("a.jpg"), photo("b.jpg")], measurement("a.jpg", "b.jpg"))
    assert two.shape[1] > one.shape[1]


@pytest.mark.parametrize(("suffix", "kind"), [(".png", "PNG"), (".JPG", "JPEG"), (".jpeg", "JPEG"), ("", "PNG")])
def test_the_name_decides_the_kind_of_file_and_no_notes_are_copied(suffix: str, kind: str) -> None:
    """JPEG or PNG; the photo's EXIF, which may hold a place, is not in it."""
    content = encoded(np.zeros((40, 60, 3), np.uint8), suffix)
    with Image.open(io.BytesIO(content)) as image:
        assert image.format == kind
        assert image.size == (60, 40)
        assert not image.getexif()
