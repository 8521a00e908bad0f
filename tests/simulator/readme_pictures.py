"""Makes the README's two pictures of the test page: `python -m tests.simulator.readme_pictures`."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from calibrate.photo import load_photo
from calibrate.picture import annotated
from calibrate.result import Measurement
from calibrate.scale import measure
from calibrate.target import make_target
from tests.simulator.camera import Lens, Phone, Stance
from tests.simulator.objects import Card
from tests.simulator.photo import Shot, photographed
from tests.simulator.printing import Printing, page_of
from tests.simulator.scene import Light, Scene, Table
from tests.simulator.sensor import File, Sensor
from tests.simulator.sheet import Bend, Curl, Sheet
from tiling.commands.main import run

PICTURES = Path(__file__).resolve().parents[2] / "samples" / "pictures"
A4 = (210.0, 297.0)


def shot(pdf: Path) -> Shot:
    """The test page shrunk to the printable area, on a wooden table, slightly curled, a blank card in its outline."""
    printing = Printing(0.9716, 0.9721, turn=0.25, cut_off=(4.2, 4.2, 4.2, 4.2))
    area = make_target(*A4).card
    middle = printing.to_sheet(np.array([area.x + area.width / 2, area.y + area.height / 2]), A4, A4)
    card = Card(float(middle[0]) + 0.4, float(middle[1]) - 0.3, turn=1.1, seed=4)
    light = Light(
        0.5, -0.35, gradient=0.35, gradient_towards=200, shadow=0.3, shadow_at=95, shadow_towards=25, shadow_blur=9
    )
    sheet = Sheet(*A4, Curl(1.2, Bend.BOWL, 90.0))
    scene = Scene(page_of(pdf), printing, sheet, (card,), table=Table.WOOD, light=light, seed=3)
    return Shot(
        scene,
        Phone(3000, 4000, 26.0, 0.01, Lens(0.03, -0.02, 0.0003, -0.0002)),
        Stance(13.0, 300.0, 3.0, margin=0.045),
        Sensor(0.8, noise=1.3, exposure=0.86, tint=(1.05, 1.0, 0.95)),
        File(92),
        7,
    )


def main() -> None:
    """Print, photograph, read, and write both pictures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        assert run(["testpage", "-q", "-o", str(folder / "page.pdf")]) == 0
        photo = load_photo("photo.jpg", photographed(shot(folder / "page.pdf")).file)
    result = measure([photo])
    assert isinstance(result, Measurement), result
    _keep(Image.fromarray(photo.colour), (1500, 2000), "test-page-photo.jpg")
    _keep(Image.fromarray(annotated([photo], result)), (1050, 1500), "test-page-read.jpg")
    print(f"read {result.scale.across:.4f} across and {result.scale.down:.4f} down, by {result.reference}")


def _keep(picture: Image.Image, size: tuple[int, int], name: str) -> None:
    picture.thumbnail(size, Image.Resampling.LANCZOS)
    picture.save(PICTURES / name, quality=80, optimize=True)


if __name__ == "__main__":
    main()
