"""The simulator itself: its geometry must be right before anything is judged by it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.simulator.camera import Camera, Lens, Phone, Stance, held
from tests.simulator.objects import Card, Coin
from tests.simulator.photo import Shot, photographed
from tests.simulator.printing import Printing, Raster
from tests.simulator.scene import Light, Scene, Table, resting
from tests.simulator.sensor import Sensor
from tests.simulator.sheet import Bend, Curl, Sheet

LENS = Lens(0.06, -0.04, 0.0012, -0.0008)
SMALL = Phone(1200, 900, 26.0, 0.0, LENS, 6.0, -4.0)


def chequered(squares_across: int = 12) -> Raster:
    """A page of A4 covered with black and white squares."""
    cell = 2480 // squares_across
    y, x = np.mgrid[0:3508, 0:2480]
    return Raster(np.where((x // cell + y // cell) % 2, 0, 255).astype(np.uint8), 210.0, 297.0)


def test_projection_is_the_one_opencv_documents() -> None:
    """World points land where cv2.projectPoints puts them, to a millionth of a pixel (reference: OpenCV)."""
    camera = held(SMALL, Stance(27.0, 130.0, 71.0), Sheet(210, 297).outline())
    points = np.random.default_rng(3).uniform([-120, -160, -8], [120, 160, 0], (200, 3))
    matrix = np.array([[camera.focal, 0, camera.centre_x], [0, camera.focal, camera.centre_y], [0, 0, 1.0]])
    turn, _ = cv2.Rodrigues(camera.rotation)
    lens = np.array([LENS.k1, LENS.k2, LENS.p1, LENS.p2])
    theirs, _ = cv2.projectPoints(points, turn, camera.shift, matrix, lens)
    assert np.abs(camera.project(points) - theirs[:, 0]).max() < 1e-6


def test_a_ray_goes_back_to_its_pixel() -> None:
    """The ray through a pixel, followed to the table, is seen at that pixel."""
    camera = held(SMALL, Stance(35.0, 20.0, 10.0), Sheet(210, 297).outline())
    pixels = np.random.default_rng(4).uniform([0, 0], [1199, 899], (100, 2))
    rays = camera.rays(pixels)
    world = camera.place + rays * (-camera.place[2] / rays[:, 2])[:, None]
    assert np.abs(camera.project(world) - pixels).max() < 1e-5


@pytest.mark.parametrize("bend", Bend)
@pytest.mark.parametrize("direction", [0.0, 40.0, 90.0])
def test_bent_paper_does_not_stretch(bend: Bend, direction: float) -> None:
    """A line drawn on the sheet is as long on the bent sheet, to a thousandth of a millimetre."""
    sheet = Sheet(210, 297, Curl(4.0, bend, direction))
    ends = np.array([[12.0, 20.0], [190.0, 260.0]])
    line = ends[0] + np.linspace(0, 1, 4001)[:, None] * (ends[1] - ends[0])
    world = sheet.world(line)
    length = np.linalg.norm(np.diff(world, axis=0), axis=1).sum()
    assert length == pytest.approx(np.linalg.norm(ends[1] - ends[0]), abs=1e-3)
    assert np.linalg.norm(world[-1] - world[0]) < length - 1e-3
    assert -sheet.outline(33)[:, 2].min() <= 4.0 + 1e-6


@pytest.mark.parametrize("bend", Bend)
def test_a_ray_finds_the_point_of_the_bent_sheet(bend: Bend) -> None:
    """Looking back from the camera at a point of the sheet gives that point, in the sheet's own measure."""
    sheet = Sheet(210, 297, Curl(4.0, bend, 25.0))
    camera = held(SMALL, Stance(30.0, 200.0, 45.0), sheet.outline())
    points = np.random.default_rng(5).uniform([0, 0], [210, 297], (200, 2))
    world = sheet.world(points)
    place = np.broadcast_to(camera.place, world.shape)
    assert np.abs(sheet.met_by(place, world - place) - points).max() < 1e-5


def test_printing_can_be_undone_and_scales_about_the_middle() -> None:
    """Page to sheet and back is the identity; the middle of the page stays in the middle of the sheet."""
    printing = Printing(0.97, 1.02, 0.4, 0.2)
    page, sheet = (210.0, 297.0), (209.0, 296.0)
    points = np.random.default_rng(6).uniform([0, 0], page, (50, 2))
    assert np.abs(printing.to_page(printing.to_sheet(points, page, sheet), page, sheet) - points).max() < 1e-10
    assert printing.to_sheet(np.array([105.0, 148.5]), page, sheet) == pytest.approx([104.5, 148.0])


def _found(curl: Curl) -> tuple[np.ndarray, np.ndarray]:
    page = chequered()
    printing = Printing(0.985, 0.99, 0.3, 0.1)
    scene = Scene(page, printing, Sheet(210, 297, curl), table=Table.WOOD)
    shot = Shot(scene, Phone(1600, 1200, 26.0, 0.0, LENS), Stance(22.0, 75.0, 88.0), Sensor(0.6, noise=0.3))
    photo = photographed(shot)
    cell = 2480 // 12
    across, down = np.meshgrid(np.arange(2, 11) * cell / 2480 * 210, np.arange(2, 15) * cell / 3508 * 297)
    expected = photo.seen(np.stack([across.ravel(), down.ravel()], axis=-1))
    grey = cv2.GaussianBlur(cv2.cvtColor(photo.picture, cv2.COLOR_RGB2GRAY), (0, 0), 1.0)
    start = expected.astype(np.float32)[:, None].copy()
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 60, 1e-4)
    return expected, cv2.cornerSubPix(grey, start, (7, 7), (-1, -1), criteria)[:, 0]


@pytest.mark.parametrize("curl", [Curl(), Curl(4.0, Bend.BOWL, 30.0)])
def test_the_picture_shows_what_the_geometry_says(curl: Curl) -> None:
    """Corners of squares, sought in the picture, lie where the truth puts them, within 0.05 px."""
    expected, found = _found(curl)
    miss = found - expected
    assert np.linalg.norm(miss, axis=1).mean() < 0.05
    assert np.abs(miss.mean(axis=0)).max() < 0.01


def test_the_comparison_notices_a_wrong_truth() -> None:
    """The same comparison against the corners of a page printed 0.1 % larger fails."""
    expected, found = _found(Curl())
    middle = expected.mean(axis=0)
    wrong = middle + (expected - middle) * 1.001
    assert np.linalg.norm(found - wrong, axis=1).mean() > 0.1


@pytest.mark.parametrize("thing", [Card(turn=30.0), Coin(25.75, 2.2)])
def test_a_thing_lies_on_the_paper_and_not_in_it(thing: Card | Coin) -> None:
    """On a bent sheet no point of the sheet under a card or coin rises through it."""
    sheet = Sheet(210, 297, Curl(4.0, Bend.BOWL, 0.0))
    frame = resting(thing, sheet)
    near = np.random.default_rng(8).uniform(-10, 10, (60, 2)) + np.array([thing.x, thing.y])
    assert ((sheet.world(near) - frame.origin) @ frame.up).max() < 1e-6
    assert frame.up[2] < -0.99


def test_the_same_seed_gives_the_same_bytes() -> None:
    """A photo depends on its description alone; another seed gives other noise."""
    scene = Scene(chequered(), Printing(), Sheet(210, 297), (Card(),), light=Light(shadow=0.4, glare=0.2))
    tiny = Phone(640, 480)
    first, again = photographed(Shot(scene, tiny)), photographed(Shot(scene, tiny))
    other = photographed(Shot(scene, tiny, seed=1))
    assert first.file == again.file
    assert first.file != other.file


def test_the_card_is_the_size_it_claims() -> None:
    """Seen from straight above, the card's top is as wide as parallax makes it: size times D / (D - t)."""
    scene = Scene(
        Raster(np.zeros((50, 35), np.uint8), 210.0, 297.0),
        Printing(),
        Sheet(210, 297),
        (Card(),),
        light=Light(0, 0),
    )
    photo = photographed(Shot(scene, Phone(2000, 1500), Stance(), Sensor(blur=0.6, noise=0.0, sharpen=0.0)))
    camera: Camera = photo.camera
    row = photo.picture[round(camera.centre_y), :, 0].astype(float)
    dark, bright = row[round(camera.centre_x) - 420 :].min(), row[round(camera.centre_x)]
    light = (row > (dark + bright) / 2).nonzero()[0]
    inner = light[np.abs(light - camera.centre_x) < 400]
    distance = -camera.place[2]
    expected = 85.60 * camera.focal / (distance - 0.76)
    assert inner.max() - inner.min() + 1 == pytest.approx(expected, abs=1.5)
    assert isinstance(camera, Camera)
