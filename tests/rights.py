"""Whether rights of files bind who runs the tests, and how the tests are run so that they do."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

__all__ = ["all_powerful", "as_a_person"]

_OVERRIDE = 1 << 1
"""CAP_DAC_OVERRIDE: reading and writing whatever the rights say (capabilities(7))."""


def all_powerful() -> bool:
    """Whether rights count for nothing: the superuser's process, unless it gave its powers away."""
    if os.name != "posix" or os.geteuid() != 0:
        return False
    status = Path("/proc/self/status")
    lines = status.read_text().splitlines() if status.exists() else []
    held = [int(line.split()[1], 16) for line in lines if line.startswith("CapEff:")]
    return not held or bool(held[0] & _OVERRIDE)


def as_a_person() -> list[str]:
    """What a command line starts with so that rights count."""
    if os.name != "posix":
        pytest.skip("rights are told by POSIX modes")
    if not all_powerful():
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("run by root, and there is no setpriv (Debian package util-linux) to give its powers away")
    return ["setpriv", "--bounding-set=-dac_override,-dac_read_search,-fowner", "--inh-caps=-all"]
