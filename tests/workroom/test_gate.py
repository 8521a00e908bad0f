"""The gate: requests made by hand that no page of ours makes are refused, change nothing, and leave the server alive.

The rules are those of RFC 9110 (Host, Origin, status codes), RFC 6265 (cookies) and CSP Level 3.
"""

from __future__ import annotations

import os
import socket
import threading
from urllib.parse import quote

import pytest

from tests.workroom.conftest import listing
from tests.workroom.room import Answered, Room, ask

PATHS = ["/drawing", "/page/main.js", "/api/folder", "/api/seen?file=potting-smock.svg", "/api/jobs", "/api/printers",
         "/api/phone", "/api/events", "/api/file/potting-smock.svg", "/nothing"]  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_nothing_is_told_without_the_cookie(room: Room, path: str) -> None:
    """Not even whether there is such a page."""
    assert room.ask("GET", path, Cookie=None).status == 403
    assert room.ask("GET", path, Cookie=f"pageseam-{room.port}=wrong").status == 403


@pytest.mark.parametrize("key", ["", "wrong", "A" * 43, "%00", "é"])
def test_a_wrong_key_opens_nothing(room: Room, key: str) -> None:
    """And gets no cookie."""
    refused = room.ask("GET", f"/?key={quote(key)}", Cookie=None)
    assert refused.status == 403
    assert "set-cookie" not in refused.headers


def test_the_right_key_is_exchanged_for_a_cookie_that_other_sites_cannot_use(room: Room) -> None:
    """HttpOnly, SameSite=Strict; and the address it leads to holds no key."""
    entered = room.ask("GET", f"/?key={room.key}&file=potting-smock.svg", Cookie=None)
    assert entered.status == 303
    cookie = entered.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert entered.headers["location"] == f"{room.origin}/drawing?file=potting-smock.svg"


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:{port}", "127.0.0.1", "127.0.0.1:1", "localhost.:{port}", ""]
)
def test_a_request_for_another_host_is_misdirected(room: Room, host: str) -> None:
    """So that no name which leads to this machine can be used to talk to it (421, RFC 9110, 15.5.20)."""
    assert room.ask("GET", "/api/folder", Host=host.format(port=room.port)).status == 421


@pytest.mark.parametrize(
    "origin", [None, "null", "http://evil.example", "https://127.0.0.1:{port}", "http://127.0.0.1:1"]
)
def test_what_changes_something_must_come_from_the_page(room: Room, origin: str | None) -> None:
    """Without the page's own origin nothing is begun."""
    before = listing(room.folder)
    given = None if origin is None else origin.format(port=room.port)
    for method, path in (("POST", "/api/files?name=a.svg"), ("POST", "/api/jobs"), ("DELETE", "/api/phone")):
        assert room.ask(method, path, b"{}", Origin=given).status == 403
    assert listing(room.folder) == before


def test_a_foreign_page_may_not_even_ask(room: Room) -> None:
    """A browser says of whom a request comes (Fetch Metadata)."""
    assert room.ask("GET", "/api/folder", Sec_Fetch_Site="cross-site").status == 403
    assert room.ask("GET", "/api/folder", Origin="http://evil.example").status == 403


@pytest.mark.parametrize("method", ["PUT", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"])
def test_other_methods_are_not_known(room: Room, method: str) -> None:
    """No method but the four that the page uses; a preflight gets no leave either."""
    refused = room.ask(method, "/api/folder")
    assert refused.status in {400, 405}
    assert not [name for name in refused.headers if name.startswith("access-control")]


@pytest.mark.parametrize("path", ["/", "/drawing", "/page/main.js", "/api/folder", "/api/nothing"])
def test_every_answer_says_what_a_browser_may_do_with_it(room: Room, path: str) -> None:
    """No script but our own, no frame around it, no guess at its kind, nothing shared with others."""
    headers = room.ask("GET", path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert not [name for name in headers if name.startswith("access-control")]


PAGES = b'{"job": "pages", "file": "potting-smock.svg", "output": "a.pdf", "options": %b}'
TRICKS = ["../secret.svg", "..%2fsecret.svg", "%2e%2e%2fsecret.svg", "..\\secret.svg", "..%5csecret.svg", "/etc/passwd",
          "%2fetc%2fpasswd", "....//secret.svg", ".hidden.svg", "a%00.svg", "link.svg", "inner%2fdeep.svg",
          "C:%5cx.svg",
          "%c0%ae%c0%ae%2fsecret.svg", "x" * 300 + ".svg"]  # fmt: skip


@pytest.fixture(scope="module")
def outside(room: Room) -> bytes:
    """A secret beside the folder, a link to it in the folder, and files that are hidden or lie deeper."""
    secret = b"<svg>secret</svg>"
    (room.folder.parent / "secret.svg").write_bytes(secret)
    (room.folder / ".hidden.svg").write_bytes(secret)
    (room.folder / "inner").mkdir(exist_ok=True)
    (room.folder / "inner" / "deep.svg").write_bytes(secret)
    if hasattr(os, "symlink") and not (room.folder / "link.svg").is_symlink():
        (room.folder / "link.svg").symlink_to(room.folder.parent / "secret.svg")
    return secret


@pytest.mark.parametrize("name", TRICKS)
def test_nothing_outside_the_folder_is_read(room: Room, outside: bytes, name: str) -> None:
    """Whatever a name is written like, and where a link leads to."""
    for path in (f"/api/file/{name}", f"/api/seen?file={name}", f"/api/scene?file={name}", f"/page/{name}"):
        got = room.ask("GET", path)
        assert got.status in {400, 404, 422}, path
        assert b"secret</svg>" not in got.body
    assert outside


@pytest.mark.parametrize(
    "name", ["../out.pdf", "/tmp/out.pdf", "inner/out.pdf", "..\\out.pdf", "link.svg", ".out.pdf", "out.exe", ""]
)
def test_nothing_outside_the_folder_is_written(room: Room, outside: bytes, name: str) -> None:
    """A job's file has a plain name of its own kind; what is there, also a link, stays as it was."""
    before = listing(room.folder), listing(room.folder.parent), listing(room.folder / "inner")
    job = "alter" if name.endswith(".svg") else "pages"
    options = {"alteration": {"around_mm": 20}} if job == "alter" else {}
    for replace in (False, True):
        told = room.post(
            "/api/jobs",
            {"job": job, "file": "potting-smock.svg", "options": options, "output": name, "replace": replace},
        )
        if told.status == 202:  # of a link that may be replaced, only when the work is done
            assert room.ended(told.values["id"])["state"] == "failed"
        else:
            assert told.status in {400, 409}
    assert (listing(room.folder), listing(room.folder.parent), listing(room.folder / "inner")) == before
    assert outside == (room.folder.parent / "secret.svg").read_bytes()


@pytest.mark.parametrize(
    ("given", "saved"),
    [("../../a.svg", "a.svg"), ("C:\\Users\\b.pdf", "b.pdf"), ("..", None), ("a.html", None), ("c\x07d.svg", "c_d.svg"),
     ("con.svg", "_con.svg"), (".svg", None), (" e .svg", "e.svg"), ("a.svg/", None),
     ("f" * 400 + ".svg", "f" * 120 + ".svg")],
)  # fmt: skip
def test_a_dropped_file_is_saved_under_a_plain_name(room: Room, given: str, saved: str | None) -> None:
    """Folders in it fall away, and so does what no file may be called."""
    before = set(listing(room.folder))
    got = room.ask("POST", f"/api/files?name={quote(given)}", b"<svg/>")
    if saved is None:
        assert got.status == 400
        assert set(listing(room.folder)) == before
    else:
        assert (got.status, got.values["name"]) == (201, saved)
        assert set(listing(room.folder)) - before == {saved}
        (room.folder / saved).unlink()


def test_a_drawing_is_shown_as_redrawn_and_handed_out_as_nothing_that_runs(room: Room) -> None:
    """An SVG with scripts, links and foreign content: none of its markup reaches the page."""
    evil = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm"
      height="100mm"
      viewBox="0 0 100 100" onload="alert(1)"><script>alert(2)</script><style>@import url(http://evil.example/x)</style>
      <a xlink:href="javascript:alert(3)"><path onclick="alert(4)" d="M10 10H90V90H10Z" fill="none" stroke="black"/></a>
      <image xlink:href="http://evil.example/pixel.png" width="9" height="9"/>
      <text x="9" y="9">&lt;img src=x onerror=alert(5)&gt;</text>
      <foreignObject><iframe xmlns="http://www.w3.org/1999/xhtml" src="http://evil.example"/></foreignObject></svg>"""
    assert room.ask("POST", "/api/files?name=evil.svg", evil).status == 201
    scene = room.ask("GET", "/api/scene?file=evil.svg")
    assert scene.status == 200
    assert scene.headers["content-type"] == "application/json"
    assert not any(word in scene.body for word in (b"alert", b"script", b"evil.example", b"iframe", b"onload"))
    handed = room.ask("GET", "/api/file/evil.svg")
    assert handed.body == evil
    assert handed.headers["content-disposition"].startswith("attachment")
    assert handed.headers["content-type"] == "application/octet-stream"
    assert "sandbox" in handed.headers["content-security-policy"]
    (room.folder / "evil.svg").unlink()


def test_what_is_too_large_is_refused_by_what_it_says_and_by_what_comes(room: Room) -> None:
    """64 MB: by its length if it says one, else when so much has come."""
    before = listing(room.folder)
    usual = {"Host": f"127.0.0.1:{room.port}", "Cookie": room.cookie, "Origin": room.origin}
    said = ask(room.port, "POST", "/api/files?name=big.svg", None, {**usual, "Content-Length": str(64 * 1024**2 + 1)})
    assert said.status == 413
    assert ask(room.port, "POST", "/api/files?name=big.svg", None, {**usual, "Content-Length": "9" * 40}).status in {
        400,
        413,
    }
    assert _chunked(room, usual) == 413
    assert listing(room.folder) == before


def _chunked(room: Room, headers: dict[str, str]) -> int:
    """The status for a body that never says how long it is."""
    with socket.create_connection(("127.0.0.1", room.port), timeout=60) as sock:
        lines = [
            "POST /api/files?name=big.svg HTTP/1.1",
            *(f"{k}: {v}" for k, v in headers.items()),
            "Transfer-Encoding: chunked",
        ]
        sock.sendall("\r\n".join([*lines, "", ""]).encode())
        chunk = b"100000\r\n" + b"a" * 0x100000 + b"\r\n"
        try:
            for _ in range(70):
                sock.sendall(chunk)
        except OSError:
            pass  # it hung up on us
        try:
            return int(sock.recv(4096).split()[1])
        except (OSError, IndexError):
            return 413  # hung up before its answer could be read


def test_a_picture_that_would_fill_the_memory_is_refused_unread(room: Room) -> None:
    """Sides of 30,000 px in a file of a few kB."""
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 30_000, 30_000, 8, 0, 0, 0, 0)
    rows = zlib.compress(bytes(1000)) * 3
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    begun = room.ask("POST", "/api/photo", bomb)
    assert begun.status == 202
    ended = room.ended(begun.values["id"])
    assert ended["state"] == "failed"
    assert "megapixels" in ended["error"]["what"]


def test_fifty_at_once_are_answered_and_nobody_is_forgotten(room: Room) -> None:
    """Each is answered, or told to come again (503); afterwards the workroom is as it was."""
    found: list[Answered] = []
    threads = [
        threading.Thread(target=lambda: found.append(room.ask("GET", "/api/seen?file=potting-smock.svg")))
        for _ in range(50)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {one.status for one in found} <= {200, 503}
    assert sum(one.status == 200 for one in found) >= 10
    assert room.ask("GET", "/api/folder").status == 200


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b'{"job": 3}', b'{"job": "format"}', PAGES % b'{"paper": "a4", "shell": "x"}',
     PAGES % b'{"overlap_mm": 1e999}', b"[" * 100_000],
)  # fmt: skip
def test_what_cannot_be_understood_is_refused_in_words(room: Room, body: bytes) -> None:
    """A wrong question is the asker's fault: 400, or a job that failed as the command would with 2."""
    told = room.ask("POST", "/api/jobs", body, Content_Type="application/json")
    if told.status == 202:
        ended = room.ended(told.values["id"])
        assert (ended["state"], ended["error"]["code"]) == ("failed", 2)
    else:
        assert told.status == 400
        assert told.values["error"]["what"]
    assert not (room.folder / "a.pdf").exists()
