"""Sites served on sockets of their own, as long as they are wanted."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Iterator
from contextlib import closing, contextmanager
from typing import Any

import uvicorn

__all__ = ["Listening", "listen_on", "own_address"]

_BACKLOG = 64
_GRACE = 2
"""Seconds that an answer may still take when a site is closed."""


class _Server(uvicorn.Server):
    """One of several in a process, which heeds signals itself."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave them to the process."""
        yield


class Listening:
    """A site on a socket."""

    def __init__(self, site: Any, sock: socket.socket, at_once: int) -> None:
        """Args: site: an ASGI application; sock: bound; at_once: connections, beyond which others are refused."""
        config = uvicorn.Config(
            site,
            http="h11",
            ws="none",
            lifespan="off",
            log_config=None,
            log_level="critical",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=at_once,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=_GRACE,
            h11_max_incomplete_event_size=32 * 1024,
        )
        self._server = _Server(config)
        self._socket = sock
        self._task: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Begin to answer."""
        self._task = asyncio.get_running_loop().create_task(self._server.serve(sockets=[self._socket]))
        while not self._server.started and not self._task.done():
            await asyncio.sleep(0.01)

    async def ended(self) -> None:
        """Wait until it is closed."""
        if self._task is not None:
            await asyncio.shield(self._task)

    async def close(self) -> None:
        """Answer no more."""
        self._server.should_exit = True
        if self._task is not None:
            await asyncio.gather(self._task, return_exceptions=True)
        self._socket.close()


def listen_on(address: str, port: int = 0) -> socket.socket:
    """A socket on this machine's address; port 0 for any that is free.

    Raises:
        OSError: it can't be had.
    """
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if port:
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind((address, port))
        sock.listen(_BACKLOG)
        sock.setblocking(False)
    except BaseException:
        sock.close()
        raise
    return sock


def own_address() -> str:
    """This machine's address on the network at home; empty where it is on none.

    Nothing is sent: a datagram's socket is only told where it would go, to an address that nobody has (RFC 5737).
    """
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as sock:
        try:
            sock.connect(("192.0.2.1", 9))
            address = str(sock.getsockname()[0])
        except OSError:
            return ""
    return "" if address.startswith(("127.", "0.")) else address
