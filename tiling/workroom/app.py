"""The person's own site: the pages of the workroom, and what they ask for."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from tiling.failures import PageseamError, UsageWrong
from tiling.files.inputs import Artifact, InputFile, InputKind
from tiling.manual import TOPICS, chapter
from tiling.workroom.answered import NOTHING, on_failure, on_wrong_address, page_file, said, shell
from tiling.workroom.asked import asked
from tiling.workroom.folder import cleaned
from tiling.workroom.gate import Gate, GateRules
from tiling.workroom.house import House, digest
from tiling.workroom.keys import fits
from tiling.workroom.orders import order_of
from tiling.workroom.qr import qr_picture

__all__ = ["site"]

PLACES = {
    "drawing": "Drawing",
    "lines": "Lines",
    "pages": "Pages",
    "printer": "Printer",
    "tape": "Tape",
    "sew": "Alter and sew",
}
_LARGEST_ASKED = 2_000_000
"""Bytes of a question in JSON."""


def site(house: House, key: str, port: int) -> ASGIApp:
    """The site behind its gate.

    Args:
        house: the workroom.
        key: what its link carries, and then a cookie.
        port: the one it is served on.
    """
    cookie = f"pageseam-{port}"

    async def enter(request: Request) -> Response:
        """Exchange the link's key for a cookie, and go on to a place without the key in its address."""
        if not fits(request.query_params.get("key"), key):
            return said(403, "this page needs the link that the workroom was opened with.")
        file = request.query_params.get("file", "")
        answer = RedirectResponse(str(request.url.replace(path="/drawing", query="").include_query_params(
            **({"file": file} if file else {}))), 303)  # fmt: skip
        answer.set_cookie(cookie, key, httponly=True, samesite="strict", path="/")
        return answer

    def enters(method: str, path: str, cookies: dict[str, str]) -> bool:
        return (path == "/" and method == "GET") or fits(cookies.get(cookie), key)

    hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})
    application = Starlette(
        routes=[Route("/", enter, methods=["GET"]), *_routes(_Asked(house))],
        exception_handlers={PageseamError: on_failure, HTTPException: on_wrong_address, Exception: _fault},
    )
    application.router.redirect_slashes = False  # an address is right or wrong
    return Gate(application, GateRules(hosts, enters))


class _Asked:
    """What the routes do, one method each."""

    def __init__(self, house: House) -> None:
        self._house = house

    async def place(self, request: Request) -> Response:
        """One of the places."""
        here = request.url.path.strip("/")
        return shell("index.html", here=here, places=PLACES)

    async def page_file(self, request: Request) -> Response:
        """A script or style sheet."""
        return page_file(request.path_params["name"])

    async def manual(self, request: Request) -> Response:
        """A chapter of the manual."""
        topic = request.path_params["topic"]
        if topic not in TOPICS:
            return said(404, NOTHING)
        return shell("manual.html", topic=topic, topics=TOPICS, text=chapter(topic))

    async def folder(self, _request: Request) -> Response:
        """What lies in the folder."""
        return JSONResponse(await asyncio.to_thread(self._house.folder.values))

    async def save(self, request: Request) -> Response:
        """Save a dropped drawing."""
        name = cleaned(request.query_params.get("name", ""))
        replace = request.query_params.get("replace") == "1"
        content = await request.body()
        if not content:
            raise UsageWrong(f"{name}: the file is empty.")
        if not replace:
            self._house.folder.refuse_if_there([name])
        publish = self._house.folder.publish
        await asyncio.to_thread(lambda: publish([Artifact(name, content)], replace=replace))
        self._house.tell({"kind": "folder", **await asyncio.to_thread(self._house.folder.values)})
        return JSONResponse({"name": name}, 201)

    async def file(self, request: Request) -> Response:
        """A PDF or SVG of the folder, to be saved, or a PDF to be shown and printed by the browser itself."""
        name = request.path_params["name"]
        file = await asyncio.to_thread(self._house.folder.read, name)
        is_pdf = name.lower().endswith(".pdf")
        shown = is_pdf and request.query_params.get("show") == "1"
        kind = "application/pdf" if is_pdf else "application/octet-stream"
        answer = Response(file.content, media_type=kind)
        answer.headers["content-disposition"] = _disposition("inline" if shown else "attachment", name)
        if not shown:
            answer.headers["content-security-policy"] = "sandbox; default-src 'none'"
        return answer

    async def scene(self, request: Request) -> Response:
        """The drawing's geometry."""
        name, reading = _about(request)
        files = await self._house.files_of(name)
        answer = await self._house.ask("scene", "scene", {"reading": reading}, files)
        return Response(answer.artifacts[0].content, media_type="application/json")

    async def sheet(self, request: Request) -> Response:
        """The sheet that the pages of a printed file make."""
        name = request.query_params.get("file", "")
        printed = await asyncio.to_thread(self._house.folder.read, name, InputKind.PRINTED)
        answer = await self._house.ask("scene", "sheet", {}, {"printed": [printed]})
        return Response(answer.artifacts[0].content, media_type="application/json")

    async def seen(self, request: Request) -> Response:
        """What is in the drawing, what its lines are, and its notes."""
        name, reading = _about(request)
        files = await self._house.files_of(name)
        notes = b"".join(one.content for one in files["notes"])
        answer = await self._house.ask("seen", "seen", {"reading": reading}, files)
        told = {"text": notes.decode("utf-8-sig", "replace"), "base": digest(notes)}
        return JSONResponse({**answer.values, "notes": told})

    async def ask(self, request: Request) -> Response:
        """Count pages, or preview an alteration."""
        with asked(await _json(request)) as wanted:
            file, what, of = wanted.text("file"), wanted.text("what"), wanted.text("tab")
            values, printed = wanted.plain("values"), wanted.text("printed")
        if what not in {"count", "preview"}:
            raise UsageWrong(f"there is no question '{what}'.")
        files = await self._house.files_of(file, printed=printed)
        answer = await self._house.ask("live", what, values, files, of)
        return JSONResponse(answer.values)

    async def notes(self, request: Request) -> Response:
        """Change the notes beside a drawing."""
        with asked(await _json(request)) as wanted:
            file, base, reading = wanted.text("file"), wanted.text("base"), wanted.plain("reading")
            changes = wanted.objects("changes")
            text = wanted.long_text("text")
        return JSONResponse(await self._house.write_notes(file, base, text, changes, reading))

    async def order(self, request: Request) -> Response:
        """Begin a job."""
        job = self._house.jobs.begin(await order_of(self._house, await _json(request)))
        return JSONResponse(job.told(), 202)

    async def jobs(self, _request: Request) -> Response:
        """All jobs."""
        return JSONResponse([job.told() for job in self._house.jobs.all()])

    async def job(self, request: Request) -> Response:
        """One job; its picture; or its end."""
        ident = request.path_params["ident"]
        job = self._house.jobs.get(ident)
        if job is None:
            return said(404, NOTHING)
        if request.method == "DELETE":
            self._house.jobs.cancel(ident)
            return JSONResponse(job.told(), 202)
        return JSONResponse(job.told())

    async def picture(self, request: Request) -> Response:
        """What was found on a photo."""
        job = self._house.jobs.get(request.path_params["ident"])
        if job is None or not job.picture:
            return said(404, NOTHING)
        return Response(job.picture, media_type="image/jpeg")

    async def printers(self, _request: Request) -> Response:
        """What is known of each printer."""
        return JSONResponse(await asyncio.to_thread(_printers_told))

    async def forget(self, request: Request) -> Response:
        """Forget a printer."""
        from calibrate.printers import Printers

        await asyncio.to_thread(Printers().forget, request.path_params["name"])
        self._house.tell({"kind": "printers"})
        return Response(status_code=204)

    async def ruler(self, request: Request) -> Response:
        """Measure a printer by a ruler's figures."""
        with asked(await _json(request)) as wanted:
            wishes = {key: wanted.text(key) or None for key in ("printer", "paper")}
            ruler = wanted.plain("ruler")
        return JSONResponse(self._house.measure(None, {**wishes, "ruler": ruler}).told(), 202)

    async def photo(self, request: Request) -> Response:
        """Measure a printer by a photo that lies on this machine."""
        wishes = {key: request.query_params.get(key) or None for key in ("printer", "paper", "reference")}
        content = await request.body()
        return JSONResponse(self._house.measure(InputFile("the photo", content), wishes).told(), 202)

    async def taped(self, request: Request) -> Response:
        """Read the taped sheet from a photo that lies on this machine, and those before; or forget them."""
        if request.method == "DELETE":
            self._house.taped.forget()
            return Response(status_code=204)
        wishes = {key: request.query_params.get(key) or None for key in ("printed", "printer")}
        if not wishes["printed"]:
            raise UsageWrong("choose the pages that were taped.")
        moved = request.query_params.get("moved") == "1"
        photo = InputFile("the photo", await request.body())
        return JSONResponse((await self._house.look_at_taped(photo, wishes, moved=moved)).told(), 202)

    async def invitation(self, request: Request) -> Response:
        """Invite a phone, tell of it, or end it."""
        invitations = self._house.invitations
        if request.method == "GET":
            return JSONResponse(invitations.told())
        if request.method == "DELETE":
            await invitations.end()
            return JSONResponse(invitations.told())
        with asked(await _json(request)) as wanted:
            wishes = {key: wanted.text(key) or None for key in ("printer", "paper", "reference", "printed")}
            keep = wanted.flag("keep_photos")
        link = await invitations.invite(wishes, keep_photos=keep)
        return JSONResponse({**invitations.told(), "link": link, "qr": qr_picture(link)}, 201)

    async def events(self, _request: Request) -> Response:
        """What happens, as server-sent events."""

        async def lines() -> AsyncIterator[str]:
            async for event in self._house.events():
                yield ": still here\n\n" if event is None else f"data: {json.dumps(event)}\n\n"

        return StreamingResponse(lines(), media_type="text/event-stream")


def _routes(does: _Asked) -> list[Route]:
    def route(path: str, what: Callable[[Request], Any], *methods: str) -> Route:
        return Route(path, what, methods=list(methods or ("GET",)))

    return [
        *(route(f"/{place}", does.place) for place in PLACES),
        route("/page/{name}", does.page_file),
        route("/manual/{topic}", does.manual),
        route("/api/folder", does.folder),
        route("/api/files", does.save, "POST"),
        route("/api/file/{name}", does.file),
        route("/api/scene", does.scene),
        route("/api/sheet", does.sheet),
        route("/api/seen", does.seen),
        route("/api/ask", does.ask, "POST"),
        route("/api/notes", does.notes, "POST"),
        route("/api/jobs", does.jobs),
        route("/api/jobs", does.order, "POST"),
        route("/api/jobs/{ident}", does.job, "GET", "DELETE"),
        route("/api/jobs/{ident}/picture", does.picture),
        route("/api/printers", does.printers),
        route("/api/printers/{name}", does.forget, "DELETE"),
        route("/api/ruler", does.ruler, "POST"),
        route("/api/photo", does.photo, "POST"),
        route("/api/taped", does.taped, "POST", "DELETE"),
        route("/api/phone", does.invitation, "GET", "POST", "DELETE"),
        route("/api/events", does.events),
    ]


def _about(request: Request) -> tuple[str, dict[str, Any]]:
    """The drawing that is asked about, and how it is read."""
    text = request.query_params.get("reading", "{}")
    try:
        reading = json.loads(text)
    except ValueError:
        raise UsageWrong("reading: is no JSON.") from None
    if not isinstance(reading, dict):
        raise UsageWrong("reading: is no object.")
    return request.query_params.get("file", ""), reading


async def _json(request: Request) -> Any:
    body = await request.body()
    if len(body) > _LARGEST_ASKED:
        raise UsageWrong("that is more than can be asked at once.")
    try:
        return json.loads(body)
    except (ValueError, RecursionError):
        raise UsageWrong("what is asked is no JSON.") from None


def _printers_told() -> dict[str, Any]:
    from calibrate.printers import Printers
    from tiling.operations.result_values import printer_values

    return {"printers": [printer_values(record) for record in Printers().all()]}


def _disposition(how: str, name: str) -> str:
    """The header that names a file (RFC 6266)."""
    from urllib.parse import quote

    return f"{how}; filename*=UTF-8''{quote(name, safe='')}"


async def _fault(_request: Request, failure: Exception) -> Response:
    return said(500, f"a fault of ours ({type(failure).__name__}).")
