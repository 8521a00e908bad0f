"""Chromium from the system's packages, driven by Playwright; tests that need it are skipped where there is none."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from tests.workroom.room import Room

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here (apt install chromium)")


@contextmanager
def browser() -> Iterator[Any]:
    """A browser without a window."""
    from playwright.sync_api import sync_playwright

    rights = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=CHROMIUM, args=rights)
        try:
            yield found
        finally:
            found.close()


@contextmanager
def opened_page(chromium: Any, room: Room, **how: Any) -> Iterator[Any]:
    """A page by itself, which may have no fault of its own and ask nobody but the workroom."""
    context = chromium.new_context(**{"viewport": {"width": 1280, "height": 800}, **how})
    faults: list[str] = []
    asked: list[str] = []
    found = context.new_page()
    found.on("pageerror", lambda fault: faults.append(str(fault)))
    found.on("console", lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None)
    context.on("request", lambda request: asked.append(request.url))
    found.goto(room.link)
    yield found
    context.close()
    assert not faults
    assert all(url.startswith((room.origin, "data:", "blob:")) for url in asked)


def at(page: Any, room: Room, place: str, file: str) -> None:
    """Go to a place by its address and wait until the drawing is seen."""
    page.goto(f"{room.origin}/{place}?file={file}")
    page.wait_for_function("() => window.pageseam?.room.seen", timeout=30_000)
