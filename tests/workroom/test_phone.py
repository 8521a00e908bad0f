"""A phone that is invited can do one thing, for a quarter of an hour, and only the first one that comes."""

from __future__ import annotations

import asyncio
import io
import socket
from collections.abc import Callable, Coroutine
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from PIL import Image

from tests.workroom.room import ROOT, Answered, Room, ask
from tiling.workroom.house import House
from tiling.workroom.inviting import NoNetwork

PHOTO = (ROOT / "tests" / "hostile" / "test-page-photo.jpg").read_bytes()


class Phone:
    """A phone that opened the link of an invitation."""

    def __init__(self, link: str) -> None:
        parts = urlsplit(link)
        self.port = parts.port or 0
        self.path = parts.path
        self.cookie = ""

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str | None) -> Answered:
        """One request, as a browser makes it."""
        usual: dict[str, str | None] = {"Host": f"127.0.0.1:{self.port}", "Cookie": self.cookie or None}
        if method != "GET":
            usual["Origin"] = f"http://127.0.0.1:{self.port}"
        return ask(self.port, method, path, body, {**usual, **headers})

    def come(self) -> Answered:
        """Open the page."""
        told = self.ask("POST", f"{self.path}hello", b"")
        if "set-cookie" in told.headers:
            self.cookie = told.headers["set-cookie"].split(";")[0]
        return told


def invited(room: Room, **wishes: Any) -> Phone:
    """A phone with a fresh invitation."""
    told = room.post("/api/phone", wishes)
    assert told.status == 201
    assert "<svg" in told.values["qr"]
    return Phone(told.values["link"])


def test_a_photo_is_answered_on_both_screens(room: Room) -> None:
    """The phone sees the verdict and the picture of what was found; the workroom's page knows the same."""
    phone = invited(room, printer="Kitchen", paper="a4")
    assert phone.ask("GET", phone.path).status == 200
    assert phone.come().status == 200
    sent = phone.ask("POST", f"{phone.path}photo", PHOTO)
    assert sent.status == 202
    ended = room.ended(sent.values["id"])
    assert ended["state"] == "done"
    seen = phone.ask("GET", f"{phone.path}photo/{sent.values['id']}").values
    assert seen["result"]["verdict"] == ended["result"]["verdict"]
    picture = phone.ask("GET", f"{phone.path}photo/{sent.values['id']}/picture")
    assert Image.open(io.BytesIO(picture.body)).format == "JPEG"
    assert room.ask("GET", "/api/phone").values["jobs"] == [sent.values["id"]]
    (printer,) = room.ask("GET", "/api/printers").values["printers"]
    assert printer["name"] == "Kitchen"
    assert printer["latest"]["across"] == ended["result"]["printer_scale"]["across"]
    assert room.ask("DELETE", "/api/printers/Kitchen").status == 204
    assert room.ask("GET", "/api/printers").values["printers"] == []
    assert not list(room.folder.glob("*.jpg"))


def test_a_photo_is_kept_only_if_asked_and_without_what_the_camera_wrote(room: Room) -> None:
    """Its pixels alone: no place, no time, no maker (Exif 2.32, the GPS and the time tags)."""
    exif = Image.Exif()
    exif[0x0132] = "2026:11:26 10:00:00"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    stream = io.BytesIO()
    Image.open(io.BytesIO(PHOTO)).save(stream, "JPEG", quality=95, exif=exif)
    phone = invited(room, keep_photos=True)
    phone.come()
    ended = room.ended(phone.ask("POST", f"{phone.path}photo", stream.getvalue()).values["id"])
    assert ended["state"] == "done"
    (name,) = ended["made"]
    with Image.open(room.folder / name) as kept:
        assert not kept.getexif()
    assert b"2026:11:26" not in (room.folder / name).read_bytes()
    (room.folder / name).unlink()


def test_what_is_no_photo_is_refused_in_words(room: Room) -> None:
    """On the phone, too."""
    phone = invited(room)
    phone.come()
    ident = phone.ask("POST", f"{phone.path}photo", b"no photo at all").values["id"]
    room.ended(ident)
    told = phone.ask("GET", f"{phone.path}photo/{ident}").values
    assert told["state"] == "failed"
    assert told["error"]["what"]


@pytest.mark.parametrize(
    "path", ["/", "/drawing", "/api/folder", "/api/file/potting-smock.svg", "/api/phone", "{key}api/folder",
             "{key}page/main.js",
             "{key}page/..%2fapp.py", "{key}photo/none", "/wrong/", "/{other}/"],
)  # fmt: skip
def test_a_phone_key_opens_nothing_else(room: Room, path: str) -> None:
    """Neither the workroom's routes, nor other files, nor another key's."""
    phone = invited(room)
    phone.come()
    assert phone.ask("GET", path.format(key=phone.path, other="A" * 43)).status == 404


def test_only_the_first_phone_is_let_in(room: Room) -> None:
    """The link alone is not enough: another device, or none, can send nothing and see nothing."""
    first = invited(room)
    first.come()
    ident = first.ask("POST", f"{first.path}photo", PHOTO).values["id"]
    second = Phone(f"http://127.0.0.1:{first.port}{first.path}")
    assert second.come().status == 403
    assert second.ask("POST", f"{first.path}photo", PHOTO).status == 403
    assert second.ask("GET", f"{first.path}photo/{ident}").status == 403
    assert first.come().status == 200


def test_a_phone_is_not_let_into_the_workroom(room: Room) -> None:
    """Its cookie is no cookie there; nor is the workroom's key one of the phone's."""
    phone = invited(room)
    phone.come()
    assert room.ask("GET", "/api/folder", Cookie=phone.cookie).status == 403
    assert room.ask("GET", f"/?key={phone.path.strip('/')}", Cookie=None).status == 403
    assert phone.ask("GET", f"/{room.key}/").status == 404


def test_a_new_invitation_ends_the_one_before(room: Room) -> None:
    """And its listener with it."""
    old = invited(room)
    new = invited(room)
    assert new.ask("GET", new.path).status == 200
    assert _closed(old.port)
    assert room.ask("DELETE", "/api/phone").values["invited"] is False
    assert _closed(new.port)


@pytest.mark.parametrize("host", ["evil.example", "localhost:{port}", "127.0.0.1"])
def test_a_phone_asks_by_the_address_it_was_given(room: Room, host: str) -> None:
    """No other name, and no other page, may use its invitation."""
    phone = invited(room)
    assert phone.ask("GET", phone.path, Host=host.format(port=phone.port)).status == 421
    assert phone.ask("POST", f"{phone.path}hello", b"", Origin="http://evil.example").status == 403
    assert phone.ask("POST", f"{phone.path}hello", b"", Origin=None).status == 403


def in_a_house(tmp_path: Path, work: Callable[[House], Coroutine[Any, Any, None]]) -> None:
    """Do something in a house that is closed afterwards."""

    async def done() -> None:
        house = House(tmp_path, phone_address="127.0.0.1")
        try:
            await work(house)
        finally:
            await house.close()

    asyncio.run(done())


def test_an_invitation_ends_by_itself(tmp_path: Path) -> None:
    """After its time nobody listens any more; within it, what comes late is told so (410, RFC 9110, 15.5.11)."""

    async def work(house: House) -> None:
        phone = Phone(await house.invitations.invite({}, keep_photos=False, lasts=timedelta(seconds=1.5)))
        assert (await asyncio.to_thread(phone.come)).status == 200
        now = house.invitations._now
        assert now is not None
        until, now.until = now.until, now.until - timedelta(hours=1)
        assert (await asyncio.to_thread(phone.ask, "GET", phone.path)).status == 410
        now.until = until
        await asyncio.sleep(2.0)
        assert _closed(phone.port)
        assert house.invitations.told()["invited"] is False

    in_a_house(tmp_path, work)


def test_nobody_is_invited_at_every_address_at_once(tmp_path: Path) -> None:
    """A listener stands at one address of this machine, never at all of them."""

    async def invite() -> None:
        house = House(tmp_path, phone_address="0.0.0.0")
        try:
            with pytest.raises(NoNetwork, match="every address"):
                await house.invitations.invite({}, keep_photos=False)
        finally:
            await house.close()

    asyncio.run(invite())


def test_photos_that_wait_are_bounded(tmp_path: Path) -> None:
    """A fourth is not taken while three are being read (429, RFC 6585)."""

    async def work(house: House) -> None:
        phone = Phone(await house.invitations.invite({}, keep_photos=False))
        await asyncio.to_thread(phone.come)
        sent = [(await asyncio.to_thread(phone.ask, "POST", f"{phone.path}photo", PHOTO)).status for _ in range(5)]
        assert sent[:3] == [202, 202, 202]
        assert 429 in sent[3:]

    in_a_house(tmp_path, work)


def _closed(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=5):
            return False
    except OSError:
        return True
