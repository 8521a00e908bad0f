"""How quick the workroom's page is in a real browser without a graphics card.

Run by hand: ``python -m tests.benchmarks.workroom_speed``; needs Chromium. Each figure is the median of several, in one
run on an otherwise quiet machine: the first picture of a drawing from a fresh page, frames a second while a drawing of
20,000 curved lines is dragged, from a choice of paper to its count, from a slider's step to its picture, and from a
phone's photo to the answer on both screens.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.workroom.browser import browser
from tests.workroom.room import ROOT, Room, opened, put_sample

SMOCK = "potting-smock.svg"
PHOTO = ROOT / "tests" / "hostile" / "test-page-photo.jpg"
TIMES = 7

FRAMES = """async () => {
  const { view } = window.pageseam;
  const start = performance.now();
  let frames = 0, worst = 0, last = start;
  while (performance.now() - start < 3000) {
    await new Promise(requestAnimationFrame);
    const now = performance.now();
    worst = Math.max(worst, now - last);
    last = now;
    frames += 1;
    view.move(4 * Math.cos(frames / 20), 3 * Math.sin(frames / 15));
  }
  return [frames / 3, worst];
}"""


MOVED = """(mm) => {
  const box = document.getElementById('around');
  box.value = mm;
  box.dispatchEvent(new Event('input'));
}"""


def many_lines() -> str:
    """20,000 curved lines on 2 by 1 m."""
    curves = "".join(f'<path d="M{x} {y}c3 9 6 -9 9 0"/>' for x in range(0, 2000, 10) for y in range(0, 1000, 10))
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="2000mm" height="1000mm" viewBox="0 0 2000 1000">'
        f'<g fill="none" stroke="black" stroke-width=".4">{curves}</g></svg>'
    )


def median_ms(does: Callable[[int], float]) -> float:
    """Of several, in ms."""
    return statistics.median(does(number) for number in range(TIMES)) * 1000


def first_picture(page: Any, room: Room, file: str) -> float:
    """Seconds from an empty page to a drawing that is whole and sharp."""
    page.goto("about:blank")
    start = time.monotonic()
    page.goto(f"{room.origin}/drawing?file={file}", wait_until="commit")
    page.wait_for_function("() => window.pageseam?.view.kept?.good && window.pageseam.room.scene", polling=20)
    return time.monotonic() - start


def in_page(page: Any, does: str, until: str) -> float:
    """Seconds from an act in the page until something holds there, measured there."""
    return float(
        page.evaluate(
            f"""async () => {{ const start = performance.now(); {does};
            while (!({until})) await new Promise((done) => setTimeout(done, 4));
            return (performance.now() - start) / 1000; }}"""
        )
    )


def count_time(page: Any, number: int) -> float:
    """A choice of paper until another count stands there."""
    paper = ("a3", "a4")[number % 2]
    pages = {"a3": "14 pages", "a4": "28 pages"}[paper]
    choose = (
        f"const box = document.getElementById('paper'); box.value = '{paper}'; box.dispatchEvent(new Event('change'))"
    )
    return in_page(page, choose, f"document.getElementById('count')?.textContent === '{pages}'")


def slider_time(page: Any, number: int, worked_out: bool) -> float:
    """A step of the slider until lines that follow it are drawn, or until those that are worked out for it are.

    Lines are drawn in the step itself, between two alterations that were worked out.
    """
    move, before = f"({MOVED})({20 + 5 * number})", "const before = view.bundles"
    both = (move, before) if worked_out else (before, move)
    drawn = "view.bundles !== before && view.kept?.good && !view.coming"
    took = in_page(page, "; ".join(("const { view } = window.pageseam", *both)), drawn)
    page.wait_for_load_state("networkidle")
    return took


def photo_time(page: Any, chromium: Any, room: Room) -> list[float]:
    """A phone's photo until the answer stands on both screens."""
    page.goto(f"{room.origin}/printer?file={SMOCK}")
    page.get_by_role("button", name="Invite the phone").click()
    page.locator(".qr").wait_for()
    phone = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True).new_page()
    phone.goto(page.locator(".link").inner_text())
    phone.get_by_text("This page works until").wait_for()
    took = []
    for _ in range(3):
        before = room.ask("GET", "/api/phone").values["jobs"]
        start = time.monotonic()
        phone.locator("#photo").set_input_files(PHOTO)
        page.wait_for_function(
            "(before) => window.pageseam.room.jobs.filter((one) => one.job === 'check' && one.state === 'done').length"
            " > before",
            arg=len(before),
        )
        phone.get_by_text("Take another photo").wait_for()
        took.append(time.monotonic() - start)
    return took


def figures(page: Any, chromium: Any, room: Room) -> Iterator[tuple[str, str]]:
    """What was measured, and its figure."""
    yield "first picture of the sample, read for the first time", f"{first_picture(page, room, SMOCK):.2f} s"
    yield "first picture of the sample, again", f"{median_ms(lambda _: first_picture(page, room, SMOCK)):.0f} ms"
    yield "first picture of 20,000 curved lines", f"{first_picture(page, room, 'many.svg'):.2f} s"
    rate, worst = page.evaluate(FRAMES)
    yield "frames a second while they are dragged; the longest between two", f"{rate:.0f}; {worst:.0f} ms"
    page.goto(f"{room.origin}/pages?file={SMOCK}")
    page.wait_for_function("() => window.pageseam.room.seen && document.getElementById('count')")
    yield "from a choice of paper to its page count", f"{median_ms(lambda number: count_time(page, number)):.0f} ms"
    yield from slider_figures(page, room)
    took = statistics.median(photo_time(page, chromium, room))
    yield "from a phone's photo to the answer on both screens", f"{took:.1f} s"


def slider_figures(page: Any, room: Room) -> Iterator[tuple[str, str]]:
    """How soon lines follow the slider, and how soon they are worked out and the pages that change are counted."""
    room.job({"job": "pages", "file": SMOCK, "options": {}, "output": "potting-smock-pages.pdf"})
    page.goto(f"{room.origin}/sew?file={SMOCK}")
    page.wait_for_function("() => window.pageseam.room.seen && window.pageseam.view.kept?.good")
    for number in (20, 21):  # two are worked out before lines can be drawn between them
        page.evaluate(MOVED, 20 + 5 * number)
        page.wait_for_timeout(1500)
    for worked_out, what in ((False, "lines that follow it"), (True, "the lines worked out for it")):
        took = median_ms(lambda number, exact=worked_out: slider_time(page, number, exact))
        yield f"from a slider's step to {what}", f"{took:.0f} ms"


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as place:
        folder, home = put_sample(Path(place) / "room"), Path(place)
        (folder / "many.svg").write_text(many_lines(), encoding="utf-8")
        print("| what | figure |\n|---|---|")
        with opened(folder, home) as room, browser() as chromium:
            page = chromium.new_context(viewport={"width": 1280, "height": 800}).new_page()
            page.goto(room.link)
            for what, figure in figures(page, chromium, room):
                print(f"| {what} | {figure} |", flush=True)


if __name__ == "__main__":
    main()
