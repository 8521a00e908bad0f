"""The place "Tape": photos of the taped sheet, from the phone or this computer, and what to mend next."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.operations.test_read_taped import APRON, SIDES, SLIPPED, printed_of
from tests.simulator.taping import Taping, laid_by, papers_of, photo_of_sheet, taped
from tests.workroom.browser import needs_browser, opened_page
from tests.workroom.room import Room, opened
from tests.workroom.test_phone import invited

PAGES = "apron-pages.pdf"


@pytest.fixture(name="photos", scope="module")
def photos_fixture() -> list[bytes]:
    """From both sides, of a sheet on which one page slipped."""
    papers, taping = papers_of(printed_of(APRON).content), Taping(slip=0.1, gross=0.0, lift=0.3)
    sheet = taped(papers, laid_by(papers, taping, 5) | {"B2": SLIPPED}, taping, 5)
    return [photo_of_sheet(sheet, sitting, n) for n, sitting in enumerate(SIDES)]


@pytest.fixture(name="tape_room", scope="module")
def tape_room_fixture(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    """A workroom in a folder with the apron and its pages."""
    folder = tmp_path_factory.mktemp("apron")
    (folder / "apron.svg").write_text(APRON)
    (folder / PAGES).write_bytes(printed_of(APRON).content)
    with opened(folder, tmp_path_factory.mktemp("home")) as found:
        yield found


def read(room: Room, photo: bytes, more: str = "") -> dict[str, Any]:
    """The job of one photo from this computer, ended."""
    sent = room.ask("POST", f"/api/taped?printed={PAGES}{more}", photo)
    assert sent.status == 202, sent.body
    return room.ended(sent.values["id"])


def test_the_map_has_the_pages_and_their_joins(tape_room: Room) -> None:
    """Each join once, on the line where both pages meet."""
    told = tape_room.ask("GET", f"/api/sheet?file={PAGES}").values
    boxes = {tile["name"]: tile["box_mm"] for tile in told["tiles"]}
    assert set(boxes) == {"A1", "A2", "B1", "B2"}
    lines = {tuple(join["between"]): join["line_mm"] for join in told["joins"]}
    assert set(lines) == {("A1", "A2"), ("A1", "B1"), ("A2", "B2"), ("B1", "B2")}
    x0, y0, x1, y1 = lines["A1", "A2"]
    assert x0 == x1 == boxes["A1"][2] == boxes["A2"][0]
    assert (y0, y1) == (boxes["A1"][1], boxes["A1"][3])
    assert told["scene"]["marks"]


def test_photos_of_one_sheet_are_read_together_until_pages_were_moved(tape_room: Room, photos: list[bytes]) -> None:
    """The second joins the first; what is then moved begins anew, and so does another sheet."""
    one, both, anew = (read(tape_room, photos[n], more) for n, more in ((0, "&moved=1"), (1, ""), (0, "&moved=1")))
    assert [len(job["result"]["photos"]) for job in (one, both, anew)] == [1, 2, 1]
    assert both["result"]["lifts"][0]["pages"] == ["B2"]
    assert both["result"]["words"]["lifts"][0].startswith("Lift B2 from A2 and B1, move it left by 2.")
    worst = [max(joint["sd_mm"] for joint in job["result"]["joins"]) for job in (one, both)]
    assert worst[1] < worst[0]


def test_a_photo_that_cannot_be_read_spoils_none_that_come_after(tape_room: Room, photos: list[bytes]) -> None:
    """It is refused with the real reason, and forgotten."""
    table = io.BytesIO()
    Image.new("RGB", (1200, 900), (120, 90, 60)).save(table, "JPEG")
    assert read(tape_room, photos[0], "&moved=1")["state"] == "done"
    refused = read(tape_room, table.getvalue())
    assert refused["state"] == "failed"
    assert refused["error"]["refusal"]["detail"].startswith("photo 2")
    assert len(read(tape_room, photos[1])["result"]["photos"]) == 2


@pytest.mark.parametrize("printed", ["apron.svg", "none.pdf", ""])
def test_what_are_no_printed_pages_is_refused_in_words(tape_room: Room, photos: list[bytes], printed: str) -> None:
    """Whether it isn't there, isn't printed, or wasn't chosen."""
    answer = tape_room.ask("POST", f"/api/taped?printed={printed}", photos[0])
    if answer.status == 202:
        assert "apron.svg" in tape_room.ended(answer.values["id"])["error"]["what"]
    else:
        assert answer.status in {400, 422}


def test_the_phone_that_is_invited_for_it_is_asked_for_the_taped_sheet(tape_room: Room, photos: list[bytes]) -> None:
    """Its page says so, its photos are read together, and it sees what the workroom's page is told."""
    phone = invited(tape_room, printed=PAGES)
    assert b"Photograph the taped sheet" in phone.ask("GET", phone.path).body
    assert phone.come().status == 200
    assert phone.ask("GET", f"{phone.path}page/taped.js").status == 200
    for number, photo in enumerate(photos):
        sent = phone.ask("POST", f"{phone.path}photo{'' if number else '?moved=1'}", photo)
        assert sent.status == 202
        ended = tape_room.ended(sent.values["id"])
    assert (ended["job"], ended["about"], len(ended["result"]["photos"])) == ("taped", PAGES, 2)
    assert phone.ask("GET", f"{phone.path}photo/{sent.values['id']}").values["result"] == ended["result"]
    picture = phone.ask("GET", f"{phone.path}photo/{sent.values['id']}/picture")
    assert Image.open(io.BytesIO(picture.body)).format == "JPEG"
    assert tape_room.ask("GET", "/api/phone").values["printed"] == PAGES
    assert sorted(one.name for one in Path(tape_room.folder).iterdir()) == [PAGES, "apron.svg"]


def photographed(page: Any, photos: list[bytes]) -> None:
    """Choose photos on the page, and wait until all of them were read and what they say is shown."""
    read = "window.pageseam.room.jobs.filter((job) => job.job === 'taped' && job.state === 'done').length"
    page.wait_for_function("() => window.pageseam.view.shown.length === 1")
    before = page.evaluate(f"() => {read}")
    files = [{"name": f"{n}.jpg", "mimeType": "image/jpeg", "buffer": photo} for n, photo in enumerate(photos)]
    page.set_input_files("#taped-file", files)
    page.wait_for_function(f"() => {read} === {before + len(photos)}", timeout=120_000)
    page.get_by_text("Read from").wait_for()


@needs_browser
def test_the_next_join_to_mend_is_shown_and_a_new_photo_updates_it(
    chromium: Any, tape_room: Room, photos: list[bytes]
) -> None:
    """On the page: what to lift next, and begin anew once it was moved."""
    assert tape_room.ask("DELETE", "/api/taped").status == 204
    with opened_page(chromium, tape_room) as page:
        page.goto(f"{tape_room.origin}/tape")
        photographed(page, photos)
        assert "Read from 2 photos" in page.inner_text("#panel")
        assert "Next: Lift B2 from A2 and B1" in page.inner_text("#panel")
        page.get_by_text("ends of joins").click()
        assert page.get_by_role("row").count() == 9
        page.get_by_role("button", name="I moved pages").click()
        page.get_by_text("The photos before are forgotten").wait_for()
        photographed(page, photos[:1])
        assert "Read from 1 photo." in page.inner_text("#panel")
