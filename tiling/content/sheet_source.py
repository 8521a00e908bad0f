"""Contents that pages show: whose they are, which marks they draw, and where they lie on the layout."""

from __future__ import annotations

from dataclasses import dataclass

from tiling.content.artwork import Artwork
from tiling.shapes import Affine, Box

__all__ = ["SheetSource", "SourcePart"]


@dataclass(frozen=True, slots=True, eq=False)
class SheetSource:
    """The content of one full-size sheet: a PDF page's own, or written from marks.

    Attributes:
        artwork: its objects; the item with mark n draws the pattern's mark `first_mark + n`.
        to_layout: from the sheet's mm to the layout's.
        marks: the numbers of all marks it may draw.
        first_mark: see `artwork`.
        written: the sheet as a PDF where it was written from the marks, empty where it came from a file.
    """

    artwork: Artwork
    to_layout: Affine
    marks: range
    first_mark: int = 0
    written: bytes = b""


@dataclass(frozen=True, slots=True, eq=False)
class SourcePart:
    """What of a source is drawn, and where its sheet lies on the layout; `only` are its artwork's own mark numbers."""

    source: SheetSource
    to_layout: Affine
    only: frozenset[int] | None = None

    def window_on_sheet(self, window: Box) -> Box:
        """The upright box, in the sheet's mm, around a window of the layout."""
        return self.to_layout.inverse().box(window)
