"""A workroom opened as a person does, and requests to it made by hand."""

from __future__ import annotations

import http.client
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "samples" / "potting-smock.svg"


@dataclass(frozen=True)
class Answered:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def values(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


@dataclass
class Room:
    """An open workroom: the folder it works in, its link, and a cookie got by that."""

    folder: Path
    link: str
    cookie: str = ""

    @property
    def port(self) -> int:
        """Where it listens."""
        return urlsplit(self.link).port or 0

    @property
    def key(self) -> str:
        """What its link carries."""
        return parse_qs(urlsplit(self.link).query)["key"][0]

    @property
    def origin(self) -> str:
        """What a browser names as the origin of its requests."""
        return f"http://127.0.0.1:{self.port}"

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str | None) -> Answered:
        """One request, with what a browser sends unless it is overridden; None leaves a header out."""
        usual: dict[str, str | None] = {"Host": f"127.0.0.1:{self.port}", "Cookie": self.cookie or None}
        if method not in {"GET", "HEAD"}:
            usual["Origin"] = self.origin
        return ask(self.port, method, path, body, {**usual, **{k.replace("_", "-"): v for k, v in headers.items()}})

    def post(self, path: str, values: Any) -> Answered:
        """A question in JSON."""
        return self.ask("POST", path, json.dumps(values).encode(), Content_Type="application/json")

    def job(self, values: Any) -> dict[str, Any]:
        """A job, waited for."""
        begun = self.post("/api/jobs", values)
        assert begun.status == 202, begun.body
        return self.ended(begun.values["id"])

    def ended(self, ident: str) -> dict[str, Any]:
        """A job when it has ended."""
        for _ in range(1200):
            told: dict[str, Any] = self.ask("GET", f"/api/jobs/{ident}").values
            if told["state"] not in {"waiting", "running"}:
                return told
            time.sleep(0.05)
        raise AssertionError("the job never ended")


def ask(port: int, method: str, path: str, body: bytes | None = None,
        headers: Mapping[str, str | None] | None = None, address: str = "127.0.0.1") -> Answered:  # fmt: skip
    """One request with exactly these headers."""
    connection = http.client.HTTPConnection(address, port, timeout=60)
    try:
        connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in (headers or {}).items():
            if value is not None:
                connection.putheader(name, value)
        if body is not None:
            connection.putheader("Content-Length", str(len(body)))
        connection.endheaders(body)
        got = connection.getresponse()
        return Answered(got.status, {k.lower(): v for k, v in got.getheaders()}, got.read())
    finally:
        connection.close()


def put_sample(folder: Path) -> Path:
    """The sample with its notes in a folder, which is made where there is none."""
    folder.mkdir(exist_ok=True)
    for file in (SAMPLE, SAMPLE.with_suffix(".toml")):
        shutil.copy(file, folder)
    return folder


@contextmanager
def opened(folder: Path, home: Path) -> Iterator[Room]:
    """The command's own workroom in a folder, ended afterwards as Ctrl-C does."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tiling.commands.start", "workroom", "--no-browser", "--phone-address", "127.0.0.1"],
        cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PAGESEAM_HOME": str(home)},
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    try:
        room = Room(folder, process.stdout.readline().strip())
        entered = room.ask("GET", f"/?key={room.key}")
        assert entered.status == 303
        room.cookie = entered.headers["set-cookie"].split(";")[0]
        yield room
    finally:
        process.terminate()
        _, said = process.communicate(timeout=20)
        assert "Traceback" not in said, said
        assert process.returncode == 130, said
