"""Makes the README's pictures of the workroom: `python -m samples.draw_workroom [FOLDER]`; needs Chromium.

With a folder, all places are pictured there in two widths and two tones, to be looked at.
"""

from __future__ import annotations

import sys
import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image

from tests.workroom.browser import browser
from tests.workroom.room import SAMPLE, Room, opened, put_sample

PICTURES = Path(__file__).resolve().parent / "pictures"
PLACES = ("drawing", "lines", "pages", "printer", "sew")


def show(page: Any, room: Room, place: str) -> None:
    """Go to a place and wait until the drawing is sharp."""
    page.goto(f"{room.origin}/{place}?file={SAMPLE.name}")
    page.wait_for_function("() => window.pageseam?.room.seen && window.pageseam.view.kept?.good")
    if place == "pages":
        page.locator("#count").wait_for()
    if place == "sew":
        page.locator("#around").fill("60")
        page.locator("#longer").fill("30")
        page.locator("#again").wait_for()
    page.wait_for_timeout(700)


def draw_all(chromium: Any, room: Room, folder: Path) -> None:
    """Every place, in two widths and two tones."""
    for width, height in ((1280, 800), (360, 740)):
        for tone in ("light", "dark"):
            page = chromium.new_context(viewport={"width": width, "height": height}, color_scheme=tone).new_page()
            page.goto(room.link)
            for place in PLACES:
                show(page, room, place)
                page.screenshot(path=folder / f"{place}-{width}-{tone}.png", full_page=width < 500)


def main() -> None:
    """Make the pages that the sample was printed on, then the pictures."""
    with tempfile.TemporaryDirectory() as place:
        folder, home = put_sample(Path(place) / "room"), Path(place)
        with opened(folder, home) as room, browser() as chromium:
            room.job({"job": "pages", "file": SAMPLE.name, "options": {}, "output": "potting-smock-pages.pdf"})
            if len(sys.argv) > 1:
                draw_all(chromium, room, Path(sys.argv[1]))
                return
            page = chromium.new_context(viewport={"width": 1200, "height": 760}).new_page()
            page.goto(room.link)
            for name, where in (("workroom-pages", "pages"), ("workroom-alter", "sew")):
                show(page, room, where)
                shown = Image.open(BytesIO(page.screenshot())).convert("RGB")
                shown.quantize(128).save(PICTURES / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
