"""Makes the README's and the manual's pictures of the workroom: `python -m samples.draw_workroom [FOLDER]`.

Needs Chromium; the taped sheet that is photographed is a simulated one (`tests/simulator`).

With a folder, all places are pictured there in two widths and two tones, to be looked at.
"""

from __future__ import annotations

import sys
import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image

from tests.simulator.camera import Phone, Stance
from tests.simulator.taping import Laid, Sitting, Taping, laid_by, papers_of, photo_of_sheet, taped
from tests.workroom.browser import browser
from tests.workroom.room import SAMPLE, Room, opened, put_sample

PICTURES = Path(__file__).resolve().parent / "pictures"
PLACES = ("drawing", "lines", "pages", "printer", "tape", "sew")
PAGES = "potting-smock-pages.pdf"


def taped_photos(pages: bytes) -> list[bytes]:
    """From above both long sides of the sample's sheet, on which two pages slipped."""
    papers, taping = papers_of(pages), Taping(slip=0.25, gross=0.0, lift=0.3)
    slipped = {"B3": Laid((2.0, -1.2), 0.1, lifts=(0.4, 0.3)), "C6": Laid((-1.6, 0.4))}
    sheet = taped(papers, laid_by(papers, taping, 5) | slipped, taping, 5)
    stances = [Stance(tilt=14.0, tilt_towards=180.0 * n, turn=180.0 * n + 4.0, margin=0.02) for n in (0, 1)]
    return [photo_of_sheet(sheet, Sitting(Phone(3200, 2400), stance), n) for n, stance in enumerate(stances)]


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
            room.job({"job": "pages", "file": SAMPLE.name, "options": {}, "output": PAGES})
            for photo in taped_photos((folder / PAGES).read_bytes()):
                room.ended(room.ask("POST", f"/api/taped?printed={PAGES}", photo).values["id"])
            if len(sys.argv) > 1:
                draw_all(chromium, room, Path(sys.argv[1]))
                return
            page = chromium.new_context(viewport={"width": 1200, "height": 760}).new_page()
            page.goto(room.link)
            for name, where in (("workroom-pages", "pages"), ("workroom-tape", "tape"), ("workroom-alter", "sew")):
                show(page, room, where)
                shown = Image.open(BytesIO(page.screenshot())).convert("RGB")
                shown.quantize(128).save(PICTURES / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
