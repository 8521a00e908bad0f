"""The seams of a printed drawing that run over several pages, and where they cross from one to the next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from calibrate.taped.printed import Crossing, PrintedPage, PrintedSeam
from tiling.pattern import Role
from tiling.planning.printed import MarkKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tiling.planning.printed import PrintedRecord
    from tiling.shapes import Path

__all__ = ["seams_of"]

_STEP = 2.0
"""mm from one point of a seam to the next in which its page is looked for."""


def seams_of(record: PrintedRecord, pages: Sequence[PrintedPage]) -> Iterator[PrintedSeam]:
    """The stitching lines that have a name, as far as they cross joins of pages that are there."""
    for mark in record.marks:
        tag = mark.tag
        if mark.kind is MarkKind.LINE and tag.role is Role.STITCHING and tag.name and tag.piece:
            crossings = tuple(crossing for line in _lines(mark.path) for crossing in _crossings(line, pages))
            if crossings:
                yield PrintedSeam(tag.name, record.titles.get(tag.piece, tag.piece), crossings)


def _lines(path: Path) -> Iterable[NDArray[np.float64]]:
    """Points at most `_STEP` apart along each of its parts."""
    for line in path.flatten(0.1):
        lengths = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        at = np.linspace(0.0, lengths[-1], max(int(lengths[-1] / _STEP), 2))
        yield np.column_stack([np.interp(at, lengths, line[:, axis]) for axis in (0, 1)])


def _crossings(line: NDArray[np.float64], pages: Sequence[PrintedPage]) -> Iterator[Crossing]:
    """Where the page changes; a stretch on a page that isn't there counts for none."""
    boxes = np.array([page.seen for page in pages])
    within = (line[:, None, :] >= boxes[:, :2]) & (line[:, None, :] < boxes[:, 2:])
    inside = np.asarray(within[..., 0] & within[..., 1])
    on = np.where(inside.any(axis=1), inside.argmax(axis=1), -1)
    for k in np.flatnonzero((on[1:] != on[:-1]) & (on[1:] >= 0) & (on[:-1] >= 0)):
        step = line[k + 1] - line[k]
        ahead = step / max(float(np.linalg.norm(step)), 1e-9)
        yield Crossing(pages[on[k]].name, pages[on[k + 1]].name, (line[k] + line[k + 1]) / 2, ahead)
