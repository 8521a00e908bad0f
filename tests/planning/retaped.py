"""The taped sheet after a reprint, looked at by PDFium: what is kept must be as it was, what is named must differ."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from math import floor
from pathlib import Path as FilePath

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from tests.drawings import drawing_at
from tests.planning.drawings import numbered
from tiling.altering.alter import Alteration, Matching, alter
from tiling.drawing.forms import layout_page
from tiling.drawing.sources import parts_of, sources_of
from tiling.failures import PageseamError
from tiling.helper_lines import HELPERS
from tiling.pattern import Line, Mark, Pattern
from tiling.planning.changes import Cell, TapedSheet, by_piece, changed_tiles
from tiling.planning.papers import paper_named
from tiling.planning.plan import PrintPlan, Tile
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.planning.printed import PrintedRecord, recorded
from tiling.planning.reprint import _by_role, _traces
from tiling.planning.traces import difference, shift_votes
from tiling.record.plan_record import read_record, record_bytes
from tiling.shapes import Affine, Box, Path, Point

__all__ = [
    "Printed",
    "Seen",
    "altered",
    "everything",
    "naive_counts",
    "needless",
    "printed",
    "seen",
    "smock",
    "stale",
]

SMOCK = FilePath(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"
DPI = 127.0  # five pixels to the millimetre
HALF_A_PIXEL = 150
"""Shades: a black line shifted by half a pixel changes the pixels at its sides by 128."""
NOTHING = 20


@dataclass(frozen=True, slots=True)
class Printed:
    """A printed sheet: the drawing, its plan, and the record its file carries."""

    pattern: Pattern
    record: PrintedRecord


@dataclass(frozen=True, slots=True)
class Seen:
    """A layout rendered whole: shades of grey and where its top left pixel lies, mm."""

    shades: NDArray[np.uint8]
    corner: Point

    def window(self, box: Box) -> NDArray[np.uint8]:
        """The part of the picture in a box; white where the picture does not reach."""
        scale = DPI / 25.4
        x, y = round((box.x0 - self.corner.x) * scale), round((box.y0 - self.corner.y) * scale)
        width, height = floor(box.width * scale), floor(box.height * scale)
        part = np.full((height, width), 255, dtype=np.uint8)
        rows = slice(max(y, 0), max(min(y + height, self.shades.shape[0]), 0))
        columns = slice(max(x, 0), max(min(x + width, self.shades.shape[1]), 0))
        held = self.shades[rows, columns]
        top, left = max(-y, 0), max(-x, 0)
        part[top : top + held.shape[0], left : left + held.shape[1]] = held
        return part


def _undashed(marks: Iterable[Mark]) -> list[Mark]:
    """Where the dashes of a line begin is a matter of style: compared are the lines."""
    result: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Line) and mark.style.stroke is not None:
            result.append(replace(mark, style=replace(mark.style, stroke=replace(mark.style.stroke, dashes=()))))
        else:
            result.append(mark)
    return result


@lru_cache(maxsize=1)
def smock() -> Pattern:
    """The sample, without dashes."""
    pattern = drawing_at(SMOCK)
    return replace(pattern, marks=tuple(_undashed(pattern.marks)))


@lru_cache(maxsize=4)
def printed(paper: str = "a4") -> Printed:
    """The sample, printed."""
    pattern = smock()
    plan = plan_pages(pattern, PlanOptions(paper_named(paper)))
    return Printed(pattern, read_record(record_bytes(plan, pattern, numbered(plan))))


def random_alteration(chance: random.Random) -> Alteration:
    """An everyday alteration: wider or narrower, longer or shorter, one piece or all, even or tapered."""
    around = chance.choice([None, chance.uniform(-40, 60)])
    longer = chance.uniform(-40, 50) if around is None else chance.choice([None, chance.uniform(-40, 50)])
    pieces = chance.choice([(), (), ("front", "back"), ("sleeve",), ("front",)])
    return Alteration(
        around=around,
        longer=longer,
        taper=chance.choice([None, 0.0, 0.5, 1.0]),
        pieces=pieces,
        matching=chance.choice(list(Matching)) if pieces else Matching.LEAVE,
    )


def altered(chance: random.Random) -> Pattern | None:
    """The sample after a random alteration, None where that is refused."""
    try:
        return alter(smock(), random_alteration(chance)).pattern
    except PageseamError:
        return None


def seen(pattern: Pattern, plan: PrintPlan, box: Box) -> Seen:
    """A box of the layout as the plan has it, drawn by the tool and rendered by PDFium; helper lines left out.

    A line to cut along for an alteration is no part of the garment: no page is printed again for its sake.
    """
    pattern = pattern.with_marks([mark for mark in pattern.marks if mark.tag.role not in HELPERS])
    content, to_layout = layout_page(parts_of(sources_of(pattern), pattern, plan.placements), box)
    document = pypdfium2.PdfDocument(BytesIO(content))
    try:
        shades = document[0].render(scale=DPI / 72, grayscale=True).to_numpy()
    finally:
        document.close()
    return Seen(np.array(shades.reshape(shades.shape[:2])), to_layout.point(Point(0.0, 0.0)))


def change(old: Seen, new: Seen, tile: Tile, trim: float = 0.0) -> int:
    """By how many shades of 255 the most changed pixel of the tile's window differs, its edges trimmed by `trim` mm."""
    box = tile.window.grown(-trim)
    return int(np.abs(old.window(box).astype(np.int16) - new.window(box)).max(initial=0))


def stale(old: Seen, new: Seen, kept: Iterable[Tile]) -> set[str]:
    """Kept tiles that look different by more than the slack of 0.1 mm (half a pixel) explains.

    Pixels at the window's edge also show ink that belongs to what lies beyond it; they are left out.
    """
    return {tile.name for tile in kept if change(old, new, tile, 0.4) > HALF_A_PIXEL}


def needless(old: Seen, new: Seen, named: Iterable[Tile]) -> set[str]:
    """Tiles named for printing that look as they did: leaving one of these out would do no harm."""
    return {tile.name for tile in named if change(old, new, tile) < NOTHING}


def everything(*plans: PrintPlan) -> Box:
    """A box around all tiles of the plans, and some paper."""
    whole = Box.around(tile.window for plan in plans for tile in plan.tiles)
    assert whole is not None
    return whole.grown(5.0)


def naive_counts(sheet: Printed, pattern: Pattern, slack: float) -> list[tuple[int, bool]]:
    """Pages to print when every piece keeps its left part in place, or its right one; and whether pieces then clash.

    Left and right are told by where the lines that agree on a shift lie on average.
    """
    table = TapedSheet(sheet.record.plan.grid, frozenset(Cell(t.row, t.column) for t in sheet.record.plan.tiles))
    old = by_piece(_traces(sheet.record.marks, _by_role))
    new = by_piece(_traces(recorded(pattern.marks), _by_role))
    counts = []
    for side in (min, max):
        tiles: set[Cell] = set()
        boxes = []
        for piece, traces in new.items():
            shifts = shift_votes(old.get(piece, []), traces, 2)
            shift = side(shifts, key=lambda s: s.x) if len(shifts) > 1 else shifts[0]
            moved = [trace.moved(Affine.shift(shift.x, shift.y)) for trace in traces]
            tiles |= changed_tiles(difference(old.get(piece, []), moved, slack), table).keys()
            if piece:
                boxes.append(Path.joined([t.path for t in moved if t.kind == "line"]).hull)
        clash = any(a.common(b) for i, a in enumerate(boxes) for b in boxes[:i])
        counts.append((len(tiles), clash))
    return counts
