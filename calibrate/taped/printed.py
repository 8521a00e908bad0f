"""What was printed, as plain values: pages with their pictures, marks and joins. Lengths are mm on the layout."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.arrays import Array, Grey, Tone

__all__ = ["Crossing", "PrintedJoin", "PrintedPage", "PrintedSeam", "PrintedSheet", "PrintedSpan"]


@dataclass(frozen=True, slots=True, eq=False)
class PrintedPage:
    """One page as it came from the printer.

    Attributes:
        name: of the tile.
        picture: the whole page in grey, 255 for bare paper.
        pitch: mm a pixel of it.
        corner: where the picture's left upper corner lies on the layout.
        seen: what of the page is seen on a taped sheet: left, top, right, bottom.
        marks: (n, 2), the middles of its checkers.
    """

    name: str
    picture: Grey
    pitch: float
    corner: tuple[float, float]
    seen: tuple[float, float, float, float]
    marks: Array

    @property
    def middle(self) -> Array:
        """Of what is seen of it, (2,)."""
        x0, y0, x1, y1 = self.seen
        return np.array([(x0 + x1) / 2, (y0 + y1) / 2])

    @property
    def corners(self) -> Array:
        """Of what is seen of it, (4, 2)."""
        x0, y0, x1, y1 = self.seen
        return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])

    def sampled(self, x: Array, y: Array, blur: float) -> Tone:
        """The page at places of the layout (both (h, w)), blurred by a standard deviation in mm.

        Returns:
            (h, w) float32; bare paper beyond the page.
        """
        spread = blur / self.pitch
        left = max(int((x.min() - self.corner[0]) / self.pitch) - 8, 0)
        top = max(int((y.min() - self.corner[1]) / self.pitch) - 8, 0)
        right, bottom = (int((far - near) / self.pitch) + 9 for far, near in zip((x.max(), y.max()), self.corner,
                                                                                 strict=True))  # fmt: skip
        part = self.picture[top : max(bottom, top + 1), left : max(right, left + 1)].astype(np.float32)
        if not part.size:
            return np.full(x.shape, 255.0, np.float32)
        if spread > 0.3:
            part = cv2.GaussianBlur(part, (0, 0), spread)
        columns = (x - self.corner[0]) / self.pitch - 0.5 - left
        rows = (y - self.corner[1]) / self.pitch - 0.5 - top
        columns, rows = columns.astype(np.float32), rows.astype(np.float32)
        return np.asarray(cv2.remap(part, columns, rows, cv2.INTER_LINEAR, borderValue=255.0), np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class PrintedJoin:
    """Where the second page is laid over the first; ``ends`` (2, 2) are the places at which a slip is told."""

    first: str
    second: str
    ends: Array

    @property
    def upright(self) -> bool:
        """Whether it runs down the sheet."""
        return bool(abs(self.ends[1, 1] - self.ends[0, 1]) > abs(self.ends[1, 0] - self.ends[0, 0]))


@dataclass(frozen=True, slots=True, eq=False)
class PrintedSpan:
    """A straight distance to be true on the sheet: from the first of ``ends`` (2, 2), on one page, to the other's."""

    what: str
    pages: tuple[str, str]
    ends: Array

    @property
    def length(self) -> float:
        """From end to end, mm."""
        return float(np.linalg.norm(self.ends[1] - self.ends[0]))


@dataclass(frozen=True, slots=True, eq=False)
class Crossing:
    """Where a line runs from one page to the next, ``at`` (2,), and the unit vector in which it goes on, ``ahead``."""

    first: str
    second: str
    at: Array
    ahead: Array


@dataclass(frozen=True, slots=True, eq=False)
class PrintedSeam:
    """A line that is sewn: its name, the piece's title, and where it crosses from page to page, in order."""

    name: str
    piece: str
    crossings: tuple[Crossing, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PrintedSheet:
    """All pages and joins of a sheet, distances to check on it, and the seams that cross joins.

    ``aside`` are pages of the same file that are not taped, each with a layout of its own.
    """

    pages: tuple[PrintedPage, ...]
    joins: tuple[PrintedJoin, ...]
    spans: tuple[PrintedSpan, ...] = ()
    seams: tuple[PrintedSeam, ...] = ()
    aside: tuple[PrintedPage, ...] = ()

    def without(self, names: frozenset[str]) -> PrintedSheet:
        """The sheet without some pages, and what lies or ends on them."""
        return PrintedSheet(
            tuple(page for page in self.pages if page.name not in names),
            tuple(join for join in self.joins if not names & {join.first, join.second}),
            tuple(span for span in self.spans if not names & set(span.pages)),
            tuple(seam for seam in self.seams if not any(names & {c.first, c.second} for c in seam.crossings)),
        )

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Around all that is seen: left, top, right, bottom."""
        boxes = np.array([page.seen for page in self.pages])
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def drawn(self, pitch: float) -> Grey:
        """The sheet as it is if all is true, ``pitch`` mm a pixel, from the box's left upper corner."""
        x0, y0, x1, y1 = self.box
        whole = np.full((int((y1 - y0) / pitch), int((x1 - x0) / pitch)), 255, np.uint8)
        for page in self.pages:
            left, top = (max(int((side - edge) / pitch), 0) for side, edge in zip(page.seen[:2], (x0, y0), strict=True))
            right, bottom = (int((side - edge) / pitch) for side, edge in zip(page.seen[2:], (x0, y0), strict=True))
            columns, rows = np.arange(left, min(right, whole.shape[1])), np.arange(top, min(bottom, whole.shape[0]))
            x, y = np.meshgrid(x0 + (columns + 0.5) * pitch, y0 + (rows + 0.5) * pitch)
            whole[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] = page.sampled(x, y, pitch / 2)
        return whole
