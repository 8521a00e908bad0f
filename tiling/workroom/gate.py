"""The gate before a site: who may come in, how much may be carried in and how slowly, and what every answer says.

An ASGI application around another. What is refused here never reaches the site behind it.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie

from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["Gate", "GateRules"]

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_SAID = {
    b"content-security-policy": _POLICY.encode(),
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-opener-policy": b"same-origin",
    b"cross-origin-resource-policy": b"same-origin",
    b"cache-control": b"no-store",
}
_UNCHANGING = {"GET", "HEAD"}
_KNOWN = {"GET", "HEAD", "POST", "DELETE"}


@dataclass(frozen=True, slots=True)
class GateRules:
    """What a gate lets in.

    Attributes:
        hosts: the names under which the site may be asked for, ``host:port``.
        enters: whether a request with these headers and cookies, for this path, may come in.
        most: bytes of a body.
        slowest: seconds for all of a body, and for its next part.
    """

    hosts: frozenset[str]
    enters: Callable[[str, str, dict[str, str]], bool]
    most: int = 64 * 1024**2
    slowest: tuple[float, float] = (120.0, 10.0)


_TOO_LARGE = "that is too large; 64 MB is the most."
_TOO_SLOW = "it came too slowly."


class Gate:
    """The application behind it, for those whom the rules let in."""

    def __init__(self, site: ASGIApp, rules: GateRules) -> None:
        self._site, self._rules = site, rules

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """See ASGI 3.0."""
        if scope["type"] != "http":
            return
        status = self._refused(scope)
        if status:
            await _say(send, *status)
            return

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *((n, v) for n, v in _SAID.items() if n not in own)]
            await send(message)

        await self._site(scope, self._bounded(receive), sent)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        """The status and words to refuse a request with by its first lines alone."""
        headers: dict[str, str] = {}
        for raw, value in scope["headers"]:
            name = raw.decode("latin-1").lower()
            if name in {"host", "origin", "content-length"} and name in headers:
                return 400, "a header stands twice."
            headers[name] = value.decode("latin-1")
        if headers.get("host") not in self._rules.hosts:
            return 421, "this is not the place you asked for."
        if scope["method"] not in _KNOWN:
            return 405, "that can't be done here."
        own = {f"http://{host}" for host in self._rules.hosts}
        origin = headers.get("origin")
        if (origin is None and scope["method"] not in _UNCHANGING) or (origin is not None and origin not in own):
            return 403, "that was not asked by this page."
        if headers.get("sec-fetch-site", "none") not in {"none", "same-origin"} and scope["path"] != "/":
            return 403, "that was not asked by this page."
        if not self._rules.enters(scope["method"], scope["path"], _cookies(headers.get("cookie", ""))):
            return 403, "this page needs the link that the workroom was opened with."
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length[:20]) > self._rules.most:
            return 413, _TOO_LARGE
        return None

    def _bounded(self, receive: Receive) -> Receive:
        carried = 0
        start = asyncio.get_running_loop().time()
        whole = False

        async def received() -> Message:
            nonlocal carried, whole
            if whole:  # only that the other end goes away is still to come
                return await receive()
            left = self._rules.slowest[0] - (asyncio.get_running_loop().time() - start)
            try:
                async with asyncio.timeout(min(left, self._rules.slowest[1])):
                    message = await receive()
            except TimeoutError:
                raise HTTPException(408, _TOO_SLOW, {"connection": "close"}) from None
            carried += len(message.get("body", b""))
            whole = message["type"] != "http.request" or not message.get("more_body")
            if carried > self._rules.most:
                raise HTTPException(413, _TOO_LARGE, {"connection": "close"})
            return message

        return received


def _cookies(text: str) -> dict[str, str]:
    try:
        return {name: morsel.value for name, morsel in SimpleCookie(text).items()}
    except CookieError:
        return {}


async def _say(send: Send, status: int, what: str) -> None:
    body = json.dumps({"error": {"what": what, "code": status, "remedy": None}}).encode()
    headers = [
        *_SAID.items(),
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),  # a body that is still coming is not waited for
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
