"""Makes the README's pictures from the sample, with the tool itself: `python samples/draw_pictures.py` from anywhere.

The two pictures of the test page's photo are made by `tests/simulator`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pypdfium2
import reportlab
from PIL import Image, ImageDraw, ImageFont

SAMPLES = Path(__file__).resolve().parent
PICTURES = SAMPLES / "pictures"
_WIDTH = 760


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the pages as a picture of `scale` pixels to the mm, its window on the drawing, and where that lies."""

    picture: Image.Image
    scale: float
    window: tuple[float, ...]
    place: tuple[float, ...]

    @classmethod
    def of(cls, file: Path, tile: dict[str, Any], scale: float) -> Page:
        """From the file and what ``pages --json`` says of the tile."""
        document = pypdfium2.PdfDocument(file)
        picture: Image.Image = document[tile["page"] - 1].render(scale=scale * 25.4 / 72).to_pil().convert("RGB")
        document.close()
        return cls(picture, scale, tuple(tile["window_mm"]), tuple(tile["on_page_mm"]))


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


def keep(picture: Image.Image, name: str, width: int = _WIDTH, colours: int = 64) -> None:
    """Write a small PNG, at most so many pixels wide."""
    picture.thumbnail((width, width * 2))
    picture.quantize(colours).save(PICTURES / name, optimize=True)


def cut_away(sheet: Page, side: float) -> Image.Image:
    """A page with the strip left of its dashed line, `side` mm from the edge, in a tint: what the scissors take off."""
    shown = sheet.picture.copy()
    strip = shown.crop((0, 0, round(side * sheet.scale), shown.height))
    shown.paste(Image.blend(strip, Image.new("RGB", strip.size, (150, 150, 150)), 0.55), (0, 0))
    return shown


def taped(first: Page, second: Page, slip: float, box: tuple[float, float, float, float]) -> Image.Image:
    """Two pages as they lie when the second, cut along its dashed line, is laid over the first.

    Args:
        first: the page on the left.
        second: its neighbour on the right.
        slip: by how much the second lies too low, mm.
        box: what to show, mm on the first page: left, top, right, bottom.
    """
    scale = first.scale
    overlap = first.window[2] - second.window[0]
    cut = round((second.place[0] + overlap / 2) * scale)
    left = round((first.place[0] + second.window[0] - first.window[0] + overlap / 2) * scale)
    top = round(slip * scale)
    sheet = Image.new("RGB", (left + second.picture.width - cut, first.picture.height + top), (225, 225, 225))
    sheet.paste(first.picture, (0, 0))
    upper = second.picture.crop((cut, 0, second.picture.width, second.picture.height))
    shadow = max(round(0.12 * scale), 1)
    sheet.paste(Image.new("RGB", (shadow, upper.height), (140, 140, 140)), (left - shadow, top))
    sheet.paste(upper, (left, top))
    sides = [round(side * scale) for side in box]
    return sheet.crop((sides[0], sides[1], sides[2], sides[3]))


def side_by_side(parts: list[tuple[Image.Image, str]]) -> Image.Image:
    """Pictures of one height beside each other, each framed, with its words below."""
    gap, words = 24, 40
    height = max(part.height for part, _ in parts)
    sheet = Image.new("RGB", (sum(part.width for part, _ in parts) + gap * (len(parts) - 1), height + words), "white")
    draw, x = ImageDraw.Draw(sheet), 0
    font = ImageFont.truetype(str(Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"), 17)
    for part, said in parts:
        sheet.paste(part, (x, 0))
        draw.rectangle((x, 0, x + part.width - 1, part.height - 1), outline=(190, 190, 190), width=2)
        draw.text((x + part.width / 2, part.height + words / 2), said, fill=(40, 40, 40), font=font, anchor="mm")
        x += part.width + gap
    return sheet


def draw_taping(file: Path, tiles: dict[str, dict[str, Any]]) -> None:
    """How two pages are cut and laid, and how their combs read."""
    small = [Page.of(file, tiles[name], 1.9) for name in ("B2", "B3")]
    cut = small[1].place[0] + (small[0].window[2] - small[1].window[0]) / 2
    laid = taped(*small, 0.0, (0.0, 0.0, 390.0, 297.0))
    keep(
        side_by_side([(cut_away(small[1], cut), "cut along the dashed line"), (laid, "lay it up to the full line")]),
        "cutting.png",
        1100,
    )
    large = [Page.of(file, tiles[name], 11.0) for name in ("B2", "B3")]
    parts = [
        (taped(*large, slip, (187.0, 120.0, 205.0, 179.0)), said)
        for slip, said in ((0.0, "long teeth meet: true"), (0.5, "0.5 mm off"))
    ]
    keep(side_by_side(parts), "combs.png", 760)


def draw_guide(file: Path) -> None:
    """The booklet's first page beside its first page of sewing steps."""
    document = pypdfium2.PdfDocument(file)
    texts = [sheet.get_textpage().get_text_bounded() for sheet in document]
    document.close()
    steps = next(number for number, text in enumerate(texts, 1) if "\r\nSewing\r\n" in text)
    keep(
        side_by_side([(page(file, 1), "at a glance, and how to tape"), (page(file, steps), "how to sew it")]),
        "guide.png",
        1100,
        250,
    )


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
        draw_taping(folder / "pages.pdf", {tile["name"]: tile for tile in made["tiles"]})
        altered = ("alter", smock, "--around", "40mm", "-o", "wider.svg", "--picture", "before-after.png", "-q")
        tool(folder, *altered)
        keep(Image.open(folder / "before-after.png").convert("RGB"), "before-after.png")
        tool(folder, "reprint", "wider.svg", "--printed", "pages.pdf", "-o", "changed.pdf", "-q")
        keep(page(folder / "changed.pdf", 1), "change-map.png")
        tool(folder, "cloth", smock, "--width", "140cm", "--fold", "lengthwise", "-o", "lay.png", "-q")
        keep(Image.open(folder / "lay.png").convert("RGB"), "lay-plan.png")
        tool(folder, "guide", smock, "--width", "140cm", "--fold", "lengthwise", "-o", "guide.pdf", "-q")
        draw_guide(folder / "guide.pdf")
        tool(folder, "lines", smock, "--picture", "numbered.png", "-q")
        keep(Image.open(folder / "numbered.png").convert("RGB"), "numbered.png")


if __name__ == "__main__":
    main()
