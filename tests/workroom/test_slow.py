"""What comes in too slowly, or never ends, is not waited for."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from tiling.workroom.answered import on_wrong_address
from tiling.workroom.gate import Gate, GateRules
from tiling.workroom.listening import Listening, listen_on

Talk = Callable[[asyncio.StreamReader, asyncio.StreamWriter], Coroutine[Any, Any, None]]


async def _size(request: Request) -> Response:
    return PlainTextResponse(str(len(await request.body())))


def answer_to(talk: Talk, slowest: tuple[float, float]) -> str:
    """What a site that counts bytes answers to a body that comes like this; empty where it hangs up."""

    async def done() -> str:
        sock = listen_on("127.0.0.1")
        port = sock.getsockname()[1]
        app = Starlette(
            routes=[Route("/", _size, methods=["POST"])], exception_handlers={HTTPException: on_wrong_address}
        )
        rules = GateRules(frozenset({f"127.0.0.1:{port}"}), lambda _method, _path, _cookies: True, 1000, slowest)
        listening = Listening(Gate(app, rules), sock, 8)
        await listening.start()
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        try:
            head = f"POST / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
            writer.write(f"{head}Transfer-Encoding: chunked\r\n\r\n".encode())
            sending = asyncio.create_task(talk(reader, writer))
            answer = (await asyncio.wait_for(reader.read(4096), 20)).decode()
            sending.cancel()
            await asyncio.gather(sending, return_exceptions=True)
            return answer
        finally:
            writer.close()
            await listening.close()

    return asyncio.run(done())


def test_a_body_that_stands_still_is_not_waited_for() -> None:
    """408 (RFC 9110, 15.5.9) when nothing comes for a while."""

    async def silent(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(b"3\r\nabc\r\n")
        await asyncio.sleep(30)

    assert answer_to(silent, (10.0, 0.3)).startswith("HTTP/1.1 408")


def test_a_body_that_drips_without_end_is_not_waited_for() -> None:
    """Each part in time, all of it not."""

    async def dripping(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while True:
            writer.write(b"1\r\na\r\n")
            await writer.drain()
            await asyncio.sleep(0.05)

    assert answer_to(dripping, (0.6, 5.0)).startswith("HTTP/1.1 408")


def test_a_body_that_comes_in_time_is_taken() -> None:
    """So the others are refused for their slowness."""

    async def ordinary(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(b"3\r\nabc\r\n0\r\n\r\n")
        await writer.drain()

    assert answer_to(ordinary, (10.0, 5.0)).endswith("3")
