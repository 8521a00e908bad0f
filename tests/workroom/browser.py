"""Chromium from the system's packages, driven by Playwright; tests that need it are skipped where there is none."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

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
