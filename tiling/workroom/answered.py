"""What both sites answer with: their pages, the files of these, and refusals."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from tiling.failures import ExitCode, PageseamError
from tiling.workroom.desks import DeskRefused
from tiling.workroom.errors import ChangedMeanwhile, Overtaken, error_values
from tiling.workroom.jobs import TooMuchAsked

__all__ = ["NOTHING", "on_failure", "on_wrong_address", "page_file", "said", "shell"]

NOTHING = "there is nothing here."

_KINDS = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml", ".ttf": "font/ttf"}
_STATUS = {
    ExitCode.USAGE: 400,
    ExitCode.INPUT: 422,
    ExitCode.OUTPUT: 409,
    ExitCode.NO_MEASUREMENT: 422,
    ExitCode.FINDINGS: 422,
}


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("tiling.workroom", "page"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip


def shell(name: str, **values: Any) -> Response:
    """One of the pages."""
    text = _templates().get_template(name).render(**values)
    return Response(text, media_type="text/html; charset=utf-8")


@cache
def _page_files() -> dict[str, bytes]:
    folder = files("tiling.workroom") / "page"
    return {one.name: one.read_bytes() for one in folder.iterdir() if f".{one.name.rpartition('.')[2]}" in _KINDS}


def page_file(name: str) -> Response:
    """A script or a style sheet of the pages; 404 where there is none of that name."""
    content = _page_files().get(name)
    if content is None:
        return said(404, NOTHING)
    kind = _KINDS[f".{name.rpartition('.')[2]}"]
    return Response(content, media_type=kind, headers={"cache-control": "no-cache"})


def said(status: int, what: str, headers: Mapping[str, str] | None = None) -> Response:
    """A refusal that is no failure of a job."""
    return JSONResponse({"error": {"what": what, "code": status, "remedy": None}}, status, headers)


async def on_failure(_request: Request, failure: Exception) -> Response:
    """What a site answers where one of our own failures ended a request."""
    assert isinstance(failure, PageseamError)
    return refused(failure)


async def on_wrong_address(_request: Request, failure: Exception) -> Response:
    """What it answers where the web framework, or the gate, refused a request."""
    assert isinstance(failure, HTTPException)
    words = {404: NOTHING, 405: "that can't be done here."}
    return said(failure.status_code, words.get(failure.status_code, failure.detail), failure.headers)


def refused(failure: PageseamError) -> Response:
    """A failure, with the status that fits it."""
    if isinstance(failure, DeskRefused):
        return JSONResponse({"error": failure.values}, _STATUS.get(ExitCode(failure.code), 500))
    if isinstance(failure, ChangedMeanwhile | Overtaken):
        status = 409
    elif isinstance(failure, TooMuchAsked):
        status = 429
    else:
        status = _STATUS.get(failure.exit_code, 500)
    told = error_values(failure)
    kind = {ChangedMeanwhile: "changed", Overtaken: "overtaken"}.get(type(failure))
    return JSONResponse({"error": {**told, "kind": kind}}, status)
