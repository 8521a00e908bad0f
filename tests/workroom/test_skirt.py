"""A plain skirt through every place: four lines of text and two outlines, as somebody draws who knows no roles.

And fingers on a small screen.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from tests.workroom.browser import at, needs_browser, opened_page
from tests.workroom.room import Room, opened
from tests.workroom.test_page import PLAIN_SKIRT, SKIRT

pytestmark = needs_browser


@pytest.fixture
def skirt_room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    """A workroom with nothing but the skirt."""
    folder = tmp_path_factory.mktemp("kitchen")
    (folder / SKIRT).write_text(PLAIN_SKIRT, encoding="utf-8")
    with opened(folder, tmp_path_factory.mktemp("home")) as found:
        yield found


def test_it_goes_through_every_place(chromium: Any, skirt_room: Room) -> None:
    """Opened, its lines accepted, printed, the printer measured, made 3 cm longer, printed again where it changed."""
    folder = skirt_room.folder
    with opened_page(chromium, skirt_room) as page:
        at(page, skirt_room, "drawing", SKIRT)
        page.get_by_text("60 × 76 cm", exact=True).wait_for()
        page.get_by_role("link", name="Lines").click()
        page.get_by_role("button", name=re.compile("Accept all")).click()
        page.get_by_text("All that was recognised is in the notes.").wait_for(timeout=30_000)
        page.get_by_role("link", name="Pages").click()
        page.get_by_text("9 pages", exact=True).wait_for(timeout=30_000)
        page.get_by_role("button", name="Make pages").click()
        page.get_by_role("link", name="Open to print").first.wait_for(timeout=60_000)
        page.get_by_role("link", name="Printer").click()
        page.get_by_text("Measured with a ruler instead").click()
        page.get_by_label("Across").fill("100 mm")
        page.get_by_label("Down").fill("100 mm")
        page.get_by_role("button", name="Reckon").click()
        page.locator(".verdict").first.wait_for()
        page.get_by_role("link", name="Alter and sew").click()
        page.get_by_label(re.compile("^Length")).fill("30")
        for piece in ("FRONT skirt", "BACK skirt"):
            page.get_by_label(f"Cut {piece} at").fill("30 cm")
        page.get_by_text("7 pages to print again").wait_for(timeout=30_000)
        page.get_by_text(re.compile("2 pages stay as taped")).wait_for()
        _lines_lie_on_the_pages(page)
        page.get_by_role("button", name="Make the changed pages").click()
        page.get_by_text("Lift B1 B2 C1 C2 D1 D2 D3 and tape the new ones there.").wait_for(timeout=60_000)
        page.get_by_role("button", name="List what to cut and buy").click()
        page.get_by_role("cell", name="FRONT skirt").first.wait_for(timeout=60_000)
    changed = PdfReader(BytesIO((folder / "skirt-altered-changed.pdf").read_bytes()))
    assert len(changed.pages) == 8


def _lines_lie_on_the_pages(page: Any) -> None:
    """The altered lines are shown as they lie on the taped sheet: the waist, whose pages stay, where it was."""
    tops = page.evaluate(
        """() => window.pageseam.view.shown.map(({ scene, paint }) => Math.min(...scene.marks
           .filter((mark) => paint(mark) !== "" && mark.d.length > 20).map((mark) => mark.b[1])))"""
    )
    assert tops[0] == pytest.approx(tops[1], abs=0.02)


def test_two_fingers_zoom_and_one_moves(chromium: Any, skirt_room: Room) -> None:
    """On a phone's screen: what lies between the fingers stays between them."""
    how = {"viewport": {"width": 390, "height": 760}, "has_touch": True, "is_mobile": True}
    with opened_page(chromium, skirt_room, **how) as page:
        at(page, skirt_room, "drawing", SKIRT)
        page.wait_for_function("() => window.pageseam.view.kept?.good")
        box = page.locator("#canvas").bounding_box()
        fingers = page.context.new_cdp_session(page)
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        between = "() => window.pageseam.view.spot({}, {})".format(box["width"] / 2, box["height"] / 2)

        def touch(kind: str, *points: tuple[float, float]) -> None:
            where = [{"x": a, "y": b, "id": number} for number, (a, b) in enumerate(points)]
            fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": where})

        scale, spot = page.evaluate("() => window.pageseam.view.at.scale"), page.evaluate(between)
        touch("touchStart", (x - 40, y), (x + 40, y))
        for far in (50, 60, 70, 80):
            touch("touchMove", (x - far, y), (x + far, y))
        touch("touchEnd")
        assert page.evaluate("() => window.pageseam.view.at.scale") == pytest.approx(2 * scale, rel=0.02)
        now = page.evaluate(between)
        assert (now["x"], now["y"]) == pytest.approx((spot["x"], spot["y"]), abs=3.0)
        touch("touchStart", (x, y))
        touch("touchMove", (x + 60, y + 20))
        touch("touchEnd")
        moved = page.evaluate(between)
        assert moved["x"] - now["x"] == pytest.approx(-60 / (2 * scale), rel=0.05)
        assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
