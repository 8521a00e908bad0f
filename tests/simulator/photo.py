"""A simulated phone photo together with the truth about it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tests.simulator.camera import Array, Camera, Phone, Stance, held
from tests.simulator.scene import Exposure, Scene
from tests.simulator.sensor import File, Sensor, developed, stored

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Shot:
    """Everything that decides a photo; a ``scanner`` takes the place of phone and stance."""

    scene: Scene
    phone: Phone = field(default_factory=Phone)
    stance: Stance = field(default_factory=Stance)
    sensor: Sensor = field(default_factory=Sensor)
    file: File = field(default_factory=File)
    seed: int = 0
    scanner: Camera | None = None


@dataclass(frozen=True, slots=True)
class Photo:
    """The picture (h, w, 3) RGB, the same as a file, and the camera that took it."""

    shot: Shot
    picture: NDArray[np.uint8]
    file: bytes
    camera: Camera

    def seen(self, page_points: Array) -> Array:
        """Where points (..., 2) of the page as drawn, in mm, lie in the picture, in pixels."""
        scene = self.shot.scene
        sheet = scene.sheet
        size = (scene.page.width, scene.page.height)
        printed = scene.printing.to_sheet(page_points, size, (sheet.width, sheet.height))
        return self.camera.project(sheet.world(printed))


def photographed(shot: Shot, fine: int = 2) -> Photo:
    """Take the photo. ``fine`` samples a pixel in both directions are averaged."""
    camera = shot.scanner or held(shot.phone, shot.stance, shot.scene.sheet.outline())
    light = Exposure(shot.scene, camera, fine).picture()
    picture = developed(light, shot.sensor, shot.seed)
    return Photo(shot, picture, stored(picture, shot.file), camera)
