"""Drawings read from their place on the disk, with the notes that lie beside them, as the terminal reads them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tiling.files.inputs import read_inputs, read_notes_for
from tiling.pattern import Pattern
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions

__all__ = ["drawing_at", "drawings_at"]


def drawing_at(path: Path, options: ReadOptions | None = None, notes: Path | None = None) -> Pattern:
    """One drawing."""
    return drawings_at([path], options, notes)


def drawings_at(paths: Sequence[Path], options: ReadOptions | None = None, notes: Path | None = None) -> Pattern:
    """Several drawings as one layout."""
    options = replace(options or ReadOptions(), notes=read_notes_for(paths, notes))
    return read_drawings(read_inputs(paths), options)
