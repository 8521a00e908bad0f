"""The phone's site: one page with one button, which sends a photo and shows its answer; nothing else."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import wraps
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tiling.failures import PageseamError
from tiling.files.inputs import InputFile
from tiling.workroom.answered import NOTHING, on_failure, on_wrong_address, page_file, said, shell
from tiling.workroom.invitation import Invitation
from tiling.workroom.jobs import Job
from tiling.workroom.keys import fits

__all__ = ["phone_site"]

PhotoCame = Callable[[Invitation, InputFile, bool], Awaitable[Job]]
"""Has a photo read, for an invitation; and whether pages were moved since the one before."""

_COOKIE = "pageseam-phone"
_FILES = {"style.css", "phone.js", "verdict.js", "taped.js", "dom.js", "api.js"}
_OTHER = "another phone came first; ask for a new invitation in the workroom."


def phone_site(invitation: Invitation, photo_came: PhotoCame, tell: Callable[[], None]) -> Starlette:
    """The site.

    Args:
        invitation: whom it is for.
        photo_came: has a photo read.
        tell: called when a phone came.
    """
    does = _Phone(invitation, photo_came, tell)
    site = Starlette(
        routes=[
            Route("/{key}/", does.page, methods=["GET"]),
            Route("/{key}/page/{name}", does.file, methods=["GET"]),
            Route("/{key}/hello", does.hello, methods=["POST"]),
            Route("/{key}/photo", does.photo, methods=["POST"]),
            Route("/{key}/photo/{ident}", does.answer, methods=["GET"]),
            Route("/{key}/photo/{ident}/picture", does.picture, methods=["GET"]),
        ],
        exception_handlers={PageseamError: on_failure, HTTPException: on_wrong_address},
    )
    site.router.redirect_slashes = False  # an address is right or wrong
    return site


class _KeptOut(Exception):
    """Who isn't invited, or no more, with the status that says so."""

    def __init__(self, status: int, what: str) -> None:
        super().__init__(what)
        self.answer = said(status, what)


def _for_guests(does: Callable[[_Phone, Request], Awaitable[Response]]) -> Callable[[_Phone, Request], Any]:
    """Keep out whoever has another key, or comes late."""

    @wraps(does)
    async def answered(self: _Phone, request: Request) -> Response:
        try:
            self.check(request)
            return await does(self, request)
        except _KeptOut as out:
            return out.answer

    return answered


class _Phone:
    """What the routes do, one method each."""

    def __init__(self, invitation: Invitation, photo_came: PhotoCame, tell: Callable[[], None]) -> None:
        self._invitation, self._photo_came, self._tell = invitation, photo_came, tell

    def check(self, request: Request) -> None:
        """Let nobody by without the key, or after the time.

        Raises:
            _KeptOut: 404 or 410.
        """
        if not fits(request.path_params["key"], self._invitation.key):
            raise _KeptOut(404, NOTHING)
        if self._invitation.over:
            raise _KeptOut(410, "this invitation is over; ask for a new one in the workroom.")

    def _check_device(self, request: Request) -> None:
        if not self._invitation.admits(request.cookies.get(_COOKIE)):
            raise _KeptOut(403, _OTHER)

    @_for_guests
    async def page(self, _request: Request) -> Response:
        """The page."""
        return shell("phone.html", printed=self._invitation.printed)

    @_for_guests
    async def file(self, request: Request) -> Response:
        """A script or style sheet."""
        name = request.path_params["name"]
        return page_file(name) if name in _FILES else said(404, NOTHING)

    @_for_guests
    async def hello(self, request: Request) -> Response:
        """The page is open: from now on it is this phone that is invited."""
        invitation = self._invitation
        came = bool(invitation.device)
        device = invitation.welcome(request.cookies.get(_COOKIE))
        if device is None:
            raise _KeptOut(403, _OTHER)
        answer = JSONResponse({"until": invitation.until.isoformat(), "photos": len(invitation.jobs)})
        answer.set_cookie(_COOKIE, device, httponly=True, samesite="strict", path=f"/{invitation.key}/")
        if not came:
            self._tell()
        return answer

    @_for_guests
    async def photo(self, request: Request) -> Response:
        """Have a photo read."""
        self._check_device(request)
        if self._invitation.busy:
            raise _KeptOut(429, "the photos before are still being read; wait for their answer.")
        moved = request.query_params.get("moved") == "1"
        job = await self._photo_came(self._invitation, InputFile("the photo", await request.body()), moved)
        return JSONResponse({"id": job.ident}, 202)

    @_for_guests
    async def answer(self, request: Request) -> Response:
        """How one of its photos stands."""
        told = self._own(request).told()
        return JSONResponse({key: told[key] for key in ("id", "state", "step", "result", "error", "picture")})

    @_for_guests
    async def picture(self, request: Request) -> Response:
        """What was found on one of its photos."""
        job = self._own(request)
        return Response(job.picture, media_type="image/jpeg") if job.picture else said(404, NOTHING)

    def _own(self, request: Request) -> Job:
        self._check_device(request)
        job = next((one for one in self._invitation.jobs if one.ident == request.path_params["ident"]), None)
        if job is None:
            raise _KeptOut(404, NOTHING)
        return job
