"""What a person may say about reading a drawing."""

from __future__ import annotations

from dataclasses import dataclass

from tiling.files.inputs import InputFile

__all__ = ["LONGEST_TITLE", "ReadOptions"]

LONGEST_TITLE = 200
"""Characters; it is printed on every page."""


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """How a drawing is to be read.

    Attributes:
        layers: names of the layers to draw; empty draws what the file itself shows.
        pages: page numbers of a PDF from 1; empty takes all.
        px_per_inch: how many px the program that wrote an SVG counted to the inch; None is CSS's own 96, reported.
        notes: the pattern's notes; those of several drawings are taken together.
    """

    layers: tuple[str, ...] = ()
    pages: tuple[int, ...] = ()
    px_per_inch: float | None = None
    notes: tuple[InputFile, ...] = ()
