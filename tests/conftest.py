"""No test depends on which fonts a machine has: those that want some name their folders themselves."""

from __future__ import annotations

import os

from tiling.fonts.machine import FOLDERS_VARIABLE

os.environ[FOLDERS_VARIABLE] = ""  # for the commands that tests start as well
