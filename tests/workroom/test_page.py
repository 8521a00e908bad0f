"""The page in a real browser: each place's main path, as a person at a kitchen table goes it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from shapely import MultiLineString

from tests.benchmarks.workroom_speed import many_lines
from tests.workroom import browser
from tests.workroom.browser import needs_browser, opened_page
from tests.workroom.room import ROOT, Room, opened, put_sample
from tiling.reading.svg_path import parse_path

pytestmark = needs_browser

PHOTO = ROOT / "tests" / "hostile" / "test-page-photo.jpg"
SMOCK, SKIRT = "potting-smock.svg", "skirt.svg"

PLAIN_SKIRT = """<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="760mm" viewBox="0 0 600 760">
<g fill="none" stroke="black" stroke-width=".6">
<path d="M30 40H220C240 120 262 200 270 260L300 700H30Z"/><path d="M330 50H500C520 130 545 200 552 260L575 700H330Z"/>
</g><g font-size="14"><text x="90" y="200">FRONT skirt</text><text x="90" y="225">cut 1 on the fold</text>
<text x="380" y="200">BACK skirt</text><text x="380" y="225">cut 2</text></g></svg>"""
"""Two outlines and four texts: what somebody draws who has never heard of roles."""


@pytest.fixture(scope="module")
def page_room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    """A workroom with the sample and a plain skirt."""
    folder = put_sample(tmp_path_factory.mktemp("kitchen"))
    (folder / SKIRT).write_text(PLAIN_SKIRT, encoding="utf-8")
    with opened(folder, tmp_path_factory.mktemp("home")) as found:
        yield found


@pytest.fixture
def page(chromium: Any, page_room: Room) -> Iterator[Any]:
    """A page of its own, which may have no fault of its own and ask nobody else."""
    with opened_page(chromium, page_room) as found:
        yield found


def at(page: Any, room: Room, place: str, file: str = SMOCK) -> None:
    """Go to a place with the sample, unless another drawing is named."""
    browser.at(page, room, place, file)


def test_a_drawing_is_opened_from_the_folder_and_seen_at_its_size(page: Any, page_room: Room) -> None:
    """Its size in cm and in inches, its pieces, and a deep link that leads back to it."""
    page.get_by_role("button", name=SMOCK).click()
    page.get_by_text("130 × 105 cm", exact=True).wait_for(timeout=30_000)
    assert page.url == f"{page_room.origin}/drawing?file={SMOCK}"
    page.get_by_label("Units").select_option("in")
    page.get_by_text("51 1/8 × 41 3/8 in", exact=True).wait_for()
    page.get_by_label("Units").select_option("cm")
    page.get_by_role("button", name=re.compile("Sleeve")).click()
    page.get_by_role("link", name="Lines").click()
    page.get_by_role("heading", name="What the lines are").wait_for()
    page.go_back()
    page.get_by_text("130 × 105 cm", exact=True).wait_for()
    assert "Drawing" in page.title()


def test_a_dropped_file_is_saved_in_the_folder_and_replaced_only_after_asking(
    page: Any, page_room: Room, tmp_path: Path
) -> None:
    """The second time the page asks."""
    file = tmp_path / "dropped.svg"
    file.write_text(PLAIN_SKIRT, encoding="utf-8")
    page.locator("#choose").set_input_files(file)
    page.get_by_text("60 × 76 cm", exact=True).wait_for(timeout=30_000)
    file.write_text(PLAIN_SKIRT.replace("600mm", "300mm").replace("760mm", "380mm"), encoding="utf-8")
    page.locator("#choose").set_input_files(file)
    page.get_by_role("button", name="Replace it").click()
    page.get_by_text("30 × 38 cm", exact=True).wait_for(timeout=30_000)
    assert b"300mm" in (page_room.folder / "dropped.svg").read_bytes()
    (page_room.folder / "dropped.svg").unlink()


def test_a_size_in_doubt_is_answered_by_picking_two_ends(page: Any, page_room: Room) -> None:
    """The hem is 27 cm as drawn; said to be 54, all of it is twice as large."""
    at(page, page_room, "drawing", SKIRT)
    page.get_by_text("Is it the right size?").click()
    page.get_by_role("button", name="Show a length I know").click()
    for x, y in ((30, 700), (300, 700)):
        _click_mm(page, x, y)
    page.get_by_label("Its real length").fill("54 cm")
    page.get_by_role("button", name="Use this").click()
    page.wait_for_function("() => Math.abs((window.pageseam.room.scene?.size_mm[0] ?? 0) - 1200) < 20", timeout=30_000)
    assert "reading=" in page.url


def _click_mm(page: Any, x: float, y: float) -> None:
    """Click a place on the drawing given in mm."""
    place = page.evaluate(
        "([x, y]) => { const { view } = window.pageseam; const box = view.canvas.getBoundingClientRect();"
        " return [box.x + (x - view.at.x) * view.at.scale, box.y + (y - view.at.y) * view.at.scale]; }", [x, y],
    )  # fmt: skip
    page.mouse.click(*place)


def test_what_was_recognised_is_accepted_and_taken_back(page: Any, page_room: Room) -> None:
    """All at once into the notes beside the drawing; undo leaves none, redo the same again."""
    notes = (page_room.folder / SKIRT).with_suffix(".toml")
    at(page, page_room, "lines", SKIRT)
    page.get_by_role("button", name=re.compile("Accept all")).click()
    page.get_by_text("All that was recognised is in the notes.").wait_for(timeout=30_000)
    kept = notes.read_text(encoding="utf-8")
    assert "[pieces." in kept
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name=re.compile("Accept all")).wait_for(timeout=30_000)
    assert not notes.exists()
    page.get_by_role("button", name="Redo").click()
    page.get_by_text("All that was recognised is in the notes.").wait_for(timeout=30_000)
    assert notes.read_text(encoding="utf-8") == kept
    notes.unlink()


def test_a_line_is_named_by_clicking_it(page: Any, page_room: Room) -> None:
    """The front's lower edge becomes the hem; the other page, which is open too, sees it."""
    notes = (page_room.folder / SKIRT).with_suffix(".toml")
    notes.unlink(missing_ok=True)
    other = page.context.new_page()
    at(other, page_room, "lines", SKIRT)
    at(page, page_room, "lines", SKIRT)
    page.bring_to_front()
    _click_mm(page, 165, 700)
    page.get_by_label("It is a").select_option("cutting-line")
    page.get_by_label("Its name").fill("hem")
    page.get_by_role("button", name="Keep this").click()
    page.wait_for_function("() => window.pageseam.room.seen?.notes.text.includes('hem')", timeout=30_000)
    assert 'name = "hem"' in notes.read_text(encoding="utf-8")
    other.bring_to_front()
    other.wait_for_function("() => window.pageseam.room.seen?.notes.text.includes('hem')", timeout=30_000)
    other.close()
    notes.unlink()


def test_the_count_follows_the_paper_and_pages_are_made(page: Any, page_room: Room) -> None:
    """Also when the page is read anew in the middle."""
    (page_room.folder / "potting-smock-pages.pdf").unlink(missing_ok=True)
    at(page, page_room, "pages")
    page.locator("#count", has_text="28 pages").wait_for(timeout=30_000)
    page.get_by_label("Paper").select_option("a3")
    page.locator("#count", has_text="14 pages").wait_for()
    page.get_by_label("Paper").select_option("a4")
    page.locator("#count", has_text="28 pages").wait_for()
    page.get_by_role("button", name="Make pages").click()
    page.get_by_role("button", name="Cancel").or_(page.get_by_role("link", name="Open to print")).first.wait_for()
    page.reload()
    page.get_by_role("link", name="Open to print").first.wait_for(timeout=60_000)
    assert (page_room.folder / "potting-smock-pages.pdf").read_bytes().startswith(b"%PDF")
    page.get_by_role("button", name="Make pages").click()
    page.get_by_role("button", name="Keep both").click()
    page.get_by_text("potting-smock-pages-2.pdf").wait_for(timeout=60_000)


def test_what_was_folded_open_stays_open(page: Any, page_room: Room) -> None:
    """Also when the panel is filled anew, as after each count."""
    at(page, page_room, "pages")
    page.get_by_text("Save paper").click()
    for paper in ("a3", "a4"):
        page.get_by_label("Paper").select_option(paper)
        page.locator("#count", has_text="14 pages" if paper == "a3" else "28 pages").wait_for()
        assert page.get_by_label("Lay the pieces anew").is_visible()


def test_work_can_be_called_off(page: Any, page_room: Room) -> None:
    """And says that nothing was written."""
    for file in page_room.folder.glob("*-pages*.pdf"):
        file.unlink()
    at(page, page_room, "pages")
    page.get_by_text("Save paper").click()
    page.get_by_label("Lay the pieces anew").check()
    before = sorted(one.name for one in page_room.folder.iterdir())
    page.get_by_role("button", name="Make pages").click()
    page.get_by_role("button", name="Cancel").click()
    page.get_by_text("Cancelled; nothing was written.").wait_for(timeout=30_000)
    assert sorted(one.name for one in page_room.folder.iterdir()) == before


def test_an_alteration_is_seen_while_the_slider_moves_and_only_changed_pages_are_made(
    page: Any, page_room: Room
) -> None:
    """Around by 4 cm: the seams that change, how many pages print again, and their file."""
    if not (page_room.folder / "potting-smock-pages.pdf").exists():
        page_room.job({"job": "pages", "file": SMOCK, "options": {}, "output": "potting-smock-pages.pdf"})
    at(page, page_room, "sew")
    page.get_by_label(re.compile("Around")).fill("40")
    page.get_by_text(re.compile("4 cm wider")).wait_for()
    again = page.locator("#again")
    again.wait_for(timeout=30_000)
    assert re.fullmatch(r"\d+ pages to print again", again.inner_text())
    page.get_by_role("heading", name="Seams that change").wait_for()
    page.get_by_role("button", name="Make the changed pages").click()
    page.get_by_text(re.compile("Lift .* and tape the new ones there")).wait_for(timeout=60_000)
    assert (page_room.folder / "potting-smock-altered-changed.pdf").exists()
    for name in ("potting-smock-altered-changed.pdf", "potting-smock-altered.svg", "potting-smock-altered.toml"):
        (page_room.folder / name).unlink()


LINES = "() => window.pageseam.view.shown[1]?.scene.marks.map((mark) => mark.d)"
NEAR_ENOUGH = 1.0
"""mm; how far lines drawn between two alterations may lie from what is worked out a moment later."""


def farthest(some: list[str], others: list[str]) -> float:
    """The largest Hausdorff distance between lines, mm, by shapely."""
    lines = [[MultiLineString(parse_path(data)[0].flatten(1.0)) for data in each] for each in (some, others)]
    return float(max(one.hausdorff_distance(other) for one, other in zip(*lines, strict=True))) / 100


def test_lines_follow_the_slider_before_they_are_worked_out(page: Any, page_room: Room) -> None:
    """Every point on the straight way between two that were; what is worked out takes their place when it comes."""
    at(page, page_room, "sew")
    slider = page.get_by_label(re.compile("Around"))

    def answered(mm: int) -> list[str]:
        with page.expect_response(lambda one: "/api/ask" in one.url and "preview" in (one.request.post_data or "")):
            slider.fill(str(mm))
        page.wait_for_timeout(100)
        return list(page.evaluate(LINES))

    first, second = answered(20), answered(30)
    assert first != second
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    page.route("**/api/ask", hold)
    slider.fill("50")
    page.wait_for_function(
        f"(before) => JSON.stringify(({LINES})()) !== before", arg=json.dumps(second, separators=(",", ":"))
    )
    drawn = list(page.evaluate(LINES))
    assert held, "nothing was asked yet"
    with page.expect_response("**/api/ask"):
        held[-1].continue_()
    page.wait_for_function(
        f"(before) => JSON.stringify(({LINES})()) !== before", arg=json.dumps(drawn, separators=(",", ":"))
    )
    exact = list(page.evaluate(LINES))
    page.unroute("**/api/ask")
    assert farthest(drawn, exact) < NEAR_ENOUGH < farthest(second, exact)


def test_what_to_cut_and_buy_is_listed(page: Any, page_room: Room) -> None:
    """With the cloth's width, how much cloth; and the booklet."""
    at(page, page_room, "sew")
    page.get_by_label("Width of the cloth").fill("150 cm")
    page.get_by_label("Laid").focus()
    page.get_by_role("button", name="List what to cut and buy").click()
    page.get_by_text(re.compile("Main: buy")).wait_for(timeout=60_000)
    page.get_by_role("cell", name="Sleeve").first.wait_for()
    assert (page_room.folder / "potting-smock-lay.pdf").exists()


def test_the_phone_takes_the_photo_and_both_screens_show_the_answer(page: Any, chromium: Any, page_room: Room) -> None:
    """A second browser with a phone's screen and touch opens what the QR code says."""
    at(page, page_room, "printer")
    page.get_by_label("Keep the result for").fill("Kitchen")
    page.get_by_label("Test page on").focus()
    page.get_by_role("button", name="Invite the phone").click()
    page.get_by_alt_text("QR code of the link below").wait_for()
    link = page.locator(".link").inner_text()
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    phone = context.new_page()
    phone.goto(link)
    phone.get_by_text("This page works until").wait_for()
    page.get_by_text("The phone is here").wait_for()
    phone.locator("#photo").set_input_files(PHOTO)
    for screen in (phone, page):
        screen.locator(".verdict").first.wait_for(timeout=60_000)
        screen.get_by_alt_text("The photo with what was found").first.wait_for()
    assert phone.locator(".verdict").inner_text() == page.locator(".verdict").first.inner_text()
    page.get_by_role("heading", name="Kitchen").wait_for()
    page.get_by_role("button", name="Forget Kitchen").click()
    page.get_by_role("heading", name="Kitchen").wait_for(state="detached")
    page.get_by_role("button", name="End the invitation").click()
    page.get_by_role("button", name="Invite the phone").wait_for()
    context.close()


def test_a_ruler_does_too(page: Any, page_room: Room) -> None:
    """Typed readings, with a comma."""
    at(page, page_room, "printer")
    page.get_by_text("Measured with a ruler instead").click()
    page.get_by_label("Across", exact=True).fill("97,5 mm")
    page.get_by_label("Down", exact=True).fill("98 mm")
    page.get_by_role("button", name="Reckon").click()
    page.get_by_text("This print is not its true size").wait_for(timeout=30_000)


def test_the_keyboard_alone_is_enough(page: Any, page_room: Room) -> None:
    """From the link to pages without a mouse."""
    (page_room.folder / "potting-smock-pages.pdf").unlink(missing_ok=True)
    at(page, page_room, "drawing")

    def tab_to(name: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if (
                page.evaluate(
                    "() => (document.activeElement.ariaLabel || document.activeElement.textContent || '').trim()"
                )
                == name
            ):
                return
        raise AssertionError(f"{name} is not reached by the keyboard")

    tab_to("Choose paper and make pages")
    page.keyboard.press("Enter")
    page.locator("#count").wait_for(timeout=30_000)
    tab_to("Make pages")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Open to print").first.wait_for(timeout=60_000)
    before = page.evaluate("() => window.pageseam.view.at.x")
    page.locator("#canvas").focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("+")
    assert page.evaluate("() => window.pageseam.view.at.x") != before


@pytest.mark.parametrize(("width", "tone"), [(360, "dark"), (1280, "light")])
def test_nobody_is_kept_out(chromium: Any, page_room: Room, width: int, tone: str) -> None:
    """No violation that axe-core finds (WCAG 2.2, A and AA), and nothing wider than the screen."""
    from axe_playwright_python.sync_playwright import Axe

    with opened_page(chromium, page_room, color_scheme=tone, bypass_csp=True) as page:
        page.set_viewport_size({"width": width, "height": 740})
        for place in ("drawing", "lines", "pages", "printer", "tape", "sew"):
            at(page, page_room, place)
            page.wait_for_timeout(300)
            found = Axe().run(page)
            assert not found.response["violations"], (
                place,
                [(v["id"], v["nodes"][0]["html"]) for v in found.response["violations"]],
            )
            assert page.evaluate("() => document.documentElement.scrollWidth") <= width


def test_a_drawing_of_twenty_thousand_lines_can_be_moved_about(page: Any, page_room: Room) -> None:
    """It is drawn, whole, while it is moved."""
    (page_room.folder / "many.svg").write_text(many_lines(), encoding="utf-8")
    page.goto(f"{page_room.origin}/drawing?file=many.svg")
    page.wait_for_function("() => window.pageseam?.room.scene?.marks.length === 20000", timeout=60_000)
    page.wait_for_function("() => window.pageseam.view.kept?.good", timeout=60_000)
    box = page.locator("#canvas").bounding_box()
    page.mouse.move(box["x"] + 300, box["y"] + 300)
    page.mouse.down()
    frames = page.evaluate("() => window.pageseam.view.frames")
    for step in range(20):
        page.mouse.move(box["x"] + 300 + 6 * step, box["y"] + 300 + 3 * step)
    page.mouse.up()
    assert page.evaluate("() => window.pageseam.view.frames") > frames
    page.wait_for_function("() => window.pageseam.view.kept?.good && !window.pageseam.view.coming", timeout=60_000)
    (page_room.folder / "many.svg").unlink()
