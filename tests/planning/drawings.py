"""Small patterns for tests and benchmarks, and the open instances and outlines as patterns."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path as FilePath

import numpy as np
import pytest
from numpy.typing import NDArray

from tiling.pattern import Line, Mark, Pattern, Piece, Role, Tag
from tiling.planning.packing import PackItem
from tiling.planning.plan import PrintPlan, sheet_size
from tiling.planning.planner import PlanOptions, window_of
from tiling.shapes import Box, Path, Point, Size
from tiling.style import Stroke, Style

THIN = Style(Stroke(0.3))
RECORDS = {"trousers": 92.615, "shirts": 90.920, "swim": 79.826, "albano": 89.821}
"""Densities in per cent, from the record lengths of arXiv 2509.13329 (total area over strip height times length)."""

SCALES = {"trousers": 20.0, "shirts": 40.0, "swim": 0.26, "albano": 0.306}
"""mm per unit. The instances have no unit; strips of 79, 40, 5752 and 4900 units are taken as cloth of about 1.5 m."""


@dataclass(frozen=True, slots=True)
class Instance:
    """A strip packing instance: items with their counts and turns, and the strip's height, in its own units."""

    name: str
    items: tuple[PackItem, ...]
    height: float


def pattern_of(marks: Sequence[Mark], size: Size | None = None, title: str = "trial") -> Pattern:
    """A pattern of the marks alone."""
    return Pattern(title, size or Size(300.0, 300.0), tuple(marks))


def rectangle(box: Box, style: Style = THIN, tag: Tag | None = None) -> Line:
    """A rectangle as a line."""
    return Line(Path.rectangle(box), style, tag or Tag())


def stroke(points: Sequence[tuple[float, float]], width: float = 0.3, tag: Tag | None = None) -> Line:
    """A polyline."""
    return Line(Path.polyline([Point(*p) for p in points]), Style(Stroke(width)), tag or Tag())


def numbered(plan: PrintPlan) -> dict[str, int]:
    """The pages of the tiles to print, behind a first page and a map."""
    return {tile.name: page for page, tile in enumerate(plan.to_print, 3)}


def open_data() -> FilePath | None:
    """The folder of open data, if there is one."""
    given = os.environ.get("PAGESEAM_OPEN_DATA")
    folder = FilePath(given) if given else FilePath(__file__).resolve().parents[3] / "shared" / "open-data"
    return folder if folder.is_dir() else None


def needed_open_data() -> FilePath:
    """The folder of open data; the test is skipped without it."""
    folder = open_data()
    if folder is None:
        pytest.skip("open data not found beside the project nor in PAGESEAM_OPEN_DATA")
    return folder


def instance(folder: FilePath, name: str) -> Instance:
    """One of the ESICUP textile instances, as the JSON of the sparrow repository has it (MIT; original data CC0)."""
    data = json.loads((folder / "esicup" / f"{name}.json").read_text(encoding="utf-8"))
    items = []
    for item in data["items"]:
        shape = item["shape"]
        corners = np.array(shape.get("data", shape.get("simple_polygon")), dtype=np.float64)
        if np.array_equal(corners[0], corners[-1]):
            corners = corners[:-1]
        items.append(PackItem(str(item["id"]), corners, item["demand"], tuple(item["allowed_orientations"])))
    return Instance(data["name"], tuple(items), float(data["strip_height"]))


def net_tile_area(options: PlanOptions) -> float:
    """What one more tile adds to the taped sheet, mm²: the window less the overlap on one side of each kind."""
    window = window_of(sheet_size(options.paper), options.margins, options.correction)
    overlap = ceil(options.overlap - 1e-9)
    return (window.width - overlap) * (window.height - overlap)


def as_pattern(given: Instance) -> Pattern:
    """Every copy of an instance's items as a closed outline at real size, laid in rows as listed, 10 mm apart."""
    scale, x, y, row = SCALES[given.name], 10.0, 10.0, 0.0
    width = given.height * scale
    marks = []
    for item in given.items:
        for _ in range(item.count):
            points: NDArray[np.float64] = (item.outline - item.outline.min(axis=0)) * scale
            high, wide = float(np.ptp(points[:, 1])), float(np.ptp(points[:, 0]))
            if x > 10.0 and x + wide > width:
                x, y, row = 10.0, y + row + 10.0, 0.0
            marks.append(Line(Path.polyline(points + np.array([x, y]), closed=True), Style(Stroke(0.5))))
            x, row = x + wide + 10.0, max(row, high)
    return Pattern(given.name, Size(width, y + row + 10.0), tuple(marks))


def smock_like() -> Pattern:
    """Two halves on the fold, a sleeve and a heading, with roles; invented."""
    marks: list[Mark] = []
    pieces = []

    def piece(ident: str, title: str, lines: list[tuple[Role, list[tuple[float, float]], bool]]) -> None:
        first = len(marks)
        for role, points, closed in lines:
            path = Path.polyline([Point(*p) for p in points], closed=closed)
            marks.append(Line(path, Style(Stroke(0.5)), Tag(ident, role)))
        pieces.append(Piece(ident, title, tuple(range(first, len(marks)))))

    def half(x: float, neck: float) -> list[tuple[Role, list[tuple[float, float]], bool]]:
        outline = [(x, 60 + neck), (x + 80, 60), (x + 200, 100), (x + 180, 250), (x + 240, 600), (x, 620)]
        return [
            (Role.CUTTING, outline, False),
            (Role.FOLD, [outline[-1], outline[0]], False),
            (Role.GRAINLINE, [(x + 90, 250), (x + 90, 450)], False),
            (Role.NOTCH, [(x + 178, 260), (x + 190, 258)], False),
        ]

    piece("front", "Front", half(20, 90))
    piece("back", "Back", half(320, 20))
    sleeve = [(620.0, 200.0), (700.0, 90.0), (820.0, 80.0), (900.0, 200.0), (860.0, 500.0), (660.0, 500.0)]
    piece("sleeve", "Sleeve", [(Role.CUTTING, sleeve, True), (Role.GRAINLINE, [(760, 150), (760, 400)], False)])
    marks.append(stroke([(20, 20), (120, 20), (120, 30)]))
    return Pattern("smock-like", Size(960.0, 660.0), tuple(marks), tuple(pieces))
