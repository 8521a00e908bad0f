"""Pictures of sewing steps: only from the drawing's folder, and of them only the pixels."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, PngImagePlugin

from tiling.cloth.steps import Step, steps_of
from tiling.files.inputs import Folder, InputFile
from tiling.notes import Notes, StepNote
from tiling.pattern import Finding, FindingKind

SECRET = b"Low Meadow, plot 7, gate code"


def step_with(folder: Path, name: str) -> tuple[Step, tuple[Finding, ...]]:
    """A step with this picture, for a drawing in the folder."""
    drawing = InputFile(str(folder / "smock.svg"), b"<svg/>", Folder(folder))
    (step,), findings = steps_of(Notes(steps=(StepNote("Hem", "One.\nTwo.", name),)), [drawing])
    return step, findings


def photo(path: Path, size: tuple[int, int] = (60, 30), turned: int = 1) -> None:
    """A photo, its left half red, with camera data that tells a place and how it was held."""
    image = Image.new("RGB", size, "white")
    image.paste("red", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[0x0112], exif[0x010E], exif[0x9286] = turned, SECRET.decode(), SECRET.decode()
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    image.save(path, "JPEG", exif=exif, comment=SECRET, quality=95)


def test_of_a_photo_only_the_pixels_travel(tmp_path: Path) -> None:
    """No place, no camera, no comment; the same picture."""
    photo(tmp_path / "hem.jpg")
    step, findings = step_with(tmp_path, "hem.jpg")
    assert findings == ()
    assert step.picture is not None
    assert SECRET in (tmp_path / "hem.jpg").read_bytes()
    assert SECRET not in step.picture.content
    assert b"Exif" not in step.picture.content
    again = Image.open(io.BytesIO(step.picture.content))
    assert dict(again.getexif()) == {} and "comment" not in again.info
    assert np.abs(np.asarray(again).astype(int)[15, 10] - (255, 0, 0)).max() < 12


def test_of_a_png_only_the_pixels_travel(tmp_path: Path) -> None:
    """Its texts stay behind; what is clear becomes white."""
    info = PngImagePlugin.PngInfo()
    info.add_text("Author", SECRET.decode())
    Image.new("RGBA", (20, 10), (0, 0, 0, 0)).save(tmp_path / "hem.png", pnginfo=info)
    step, _ = step_with(tmp_path, "hem.png")
    assert step.picture is not None
    assert SECRET not in step.picture.content
    assert np.asarray(Image.open(io.BytesIO(step.picture.content))).min() == 255


def test_a_photo_stands_upright(tmp_path: Path) -> None:
    """Taken with the camera on its side: EXIF orientation 6 turns it by a quarter to the right."""
    photo(tmp_path / "hem.jpg", turned=6)
    step, _ = step_with(tmp_path, "hem.jpg")
    assert step.picture is not None
    assert (step.picture.width, step.picture.height) == (30, 60)
    top = np.asarray(Image.open(io.BytesIO(step.picture.content)).convert("RGB")).astype(int)[10, 15]
    assert np.abs(top - (255, 0, 0)).max() < 12


def test_a_large_photo_is_made_as_small_as_it_is_printed(tmp_path: Path) -> None:
    """1,800 px are 150 mm at 300 to the inch."""
    photo(tmp_path / "hem.jpg", size=(4000, 3000))
    step, _ = step_with(tmp_path, "hem.jpg")
    assert step.picture is not None
    assert max(step.picture.width, step.picture.height) == 1800


def test_paragraphs_are_kept_apart(tmp_path: Path) -> None:
    """One a line of the note's text."""
    assert step_with(tmp_path, "")[0] == Step("Hem", ("One.", "Two."))


@pytest.mark.parametrize("name", ["../hem.jpg", "/tmp/hem.jpg", "link.jpg", "inner/../../hem.jpg"])
def test_nothing_outside_the_folder_is_opened(tmp_path: Path, name: str) -> None:
    """Neither by a path nor by a link; the finding says why."""
    folder = tmp_path / "drawing"
    (folder / "inner").mkdir(parents=True)
    photo(tmp_path / "hem.jpg")
    (folder / "link.jpg").symlink_to(tmp_path / "hem.jpg")
    step, (finding,) = step_with(folder, name)
    assert step.picture is None
    assert finding.kind is FindingKind.PICTURE_NOT_READ
    assert finding.where == "step 1"
    assert f"the picture '{name}' lies outside the drawing's own folder and is never opened" in finding.text


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (None, "is not in the drawing's folder"),
        (b"no picture", "is damaged"),
        (b"<svg/>", "is damaged"),
        (b"", "is damaged"),
    ],
)
def test_a_picture_that_cannot_be_shown_is_a_finding(tmp_path: Path, content: bytes | None, why: str) -> None:
    """Absent, damaged, of another kind; the step stays."""
    if content is not None:
        (tmp_path / "hem.jpg").write_bytes(content)
    step, (finding,) = step_with(tmp_path, "hem.jpg")
    assert step.title == "Hem" and step.picture is None
    assert why in finding.text


def test_a_picture_that_unfolds_to_too_much_is_not_opened(tmp_path: Path) -> None:
    """A few kB that claim 160 million pixels."""
    Image.new("1", (16_000, 10_000)).save(tmp_path / "hem.png")
    step, (finding,) = step_with(tmp_path, "hem.png")
    assert step.picture is None and "too large" in finding.text


def test_pictures_are_looked_for_beside_every_drawing(tmp_path: Path) -> None:
    """Of several drawings the first that has it."""
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
    photo(tmp_path / "b" / "hem.jpg")
    drawings = [InputFile(f"{n}.svg", b"<svg/>", Folder(tmp_path / n)) for n in ("a", "b")]
    (step,), findings = steps_of(Notes(steps=(StepNote("", "Sew.", "hem.jpg"),)), drawings)
    assert step.picture is not None and findings == ()
