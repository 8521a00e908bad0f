"""Makes the README's pictures from the sample, with the tool itself: `python samples/draw_pictures.py` from anywhere.

The two pictures of the test page's photo are made by `tests/simulator`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

SAMPLES = Path(__file__).resolve().parent
PICTURES = SAMPLES / "pictures"
_WIDTH = 760


def tool(folder: Path, *arguments: str) -> str:
    """Run the command in a folder; its stdout."""
    command = [sys.executable, "-m", "tiling.commands.main", *arguments]
    return subprocess.run(command, cwd=folder, check=True, capture_output=True, text=True).stdout


def page(file: Path, number: int) -> Image.Image:
    """A page of a PDF, from 1, with a thin frame so that the paper's edge shows."""
    document = pypdfium2.PdfDocument(file)
    sheet = document[number - 1]
    picture: Image.Image = sheet.render(scale=_WIDTH / sheet.get_width()).to_pil().convert("RGB")
    document.close()
    framed = Image.new("RGB", (picture.width + 2, picture.height + 2), (190, 190, 190))
    framed.paste(picture, (1, 1))
    return framed


def keep(picture: Image.Image, name: str) -> None:
    """Write a small PNG."""
    picture.thumbnail((_WIDTH, _WIDTH * 2))
    picture.quantize(64).save(PICTURES / name, optimize=True)


def main() -> None:
    """All pictures anew."""
    PICTURES.mkdir(exist_ok=True)
    smock = str(SAMPLES / "potting-smock.svg")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        made = json.loads(tool(folder, "pages", smock, "-o", "pages.pdf", "--json", "-q"))
        first = {tile["name"]: tile["page"] for tile in made["tiles"]}
        keep(page(folder / "pages.pdf", 2), "page-map.png")
        keep(page(folder / "pages.pdf", first["B2"]), "page.png")
        altered = ("alter", smock, "--around", "40mm", "-o", "wider.svg", "--picture", "before-after.png", "-q")
        tool(folder, *altered)
        keep(Image.open(folder / "before-after.png").convert("RGB"), "before-after.png")
        tool(folder, "reprint", "wider.svg", "--printed", "pages.pdf", "-o", "changed.pdf", "-q")
        keep(page(folder / "changed.pdf", 1), "change-map.png")
        tool(folder, "cloth", smock, "--width", "140cm", "--fold", "lengthwise", "-o", "lay.png", "-q")
        keep(Image.open(folder / "lay.png").convert("RGB"), "lay-plan.png")


if __name__ == "__main__":
    main()
