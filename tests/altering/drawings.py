"""Small patterns made in code, for the tests of altering."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from tiling.notes import CutAs, Notes, PieceNote, SeamNote
from tiling.pattern import Line, Mark, Pattern, Role, Tag, pieces_of
from tiling.shapes import Path, PathBuilder, Point, Size
from tiling.style import Stroke, Style

STYLE = Style(stroke=Stroke(0.5))


def line(piece: str, role: Role, path: Path, name: str = "", wide: str = "") -> Line:
    """A mark of a piece."""
    return Line(path, STYLE, Tag(piece, role, name, extra=(("wide", wide),) if wide else ()))


def through(*points: tuple[float, float], closed: bool = False) -> Path:
    """A polyline."""
    return Path.polyline([Point(*p) for p in points], closed=closed)


def pattern_of(marks: Sequence[Mark], notes: Notes | None = None) -> Pattern:
    """A sheet with these marks."""
    return Pattern("test", Size(2000.0, 2000.0), tuple(marks), pieces_of(marks), notes=notes)


def notes_of(
    pieces: Iterable[PieceNote] = (), seams: Iterable[SeamNote] = (), drawn: Mapping[str, float] | None = None
) -> Notes:
    """Notes with these pieces and seams."""
    return Notes(pieces={p.ident: p for p in pieces}, seams=tuple(seams), drawn_for=drawn or {})


def levels(
    piece: str, left: Path | float, right: Sequence[tuple[float, float]], heights: Iterable[float]
) -> list[Line]:
    """Level lines from x = `left` to a slanting or straight side given by two points."""
    (x0, y0), (x1, y1) = right
    assert isinstance(left, float)
    return [
        line(piece, Role.PLACEMENT, through((left, y), (x0 + (x1 - x0) * (y - y0) / (y1 - y0), y)), f"level-{y:g}")
        for y in heights
    ]


HEIGHTS = tuple(float(y) for y in range(120, 700, 40))


def rectangle(piece: str = "panel", x: float = 100.0, width: float = 200.0, cut: float = 150.0) -> list[Mark]:
    """A panel on the fold at its left edge, 600 mm high from y = 100, grading line at `cut` from the fold."""
    return [
        line(piece, Role.CUTTING, through((x, 100), (x + width, 100), (x + width, 700), (x, 700), closed=True), "edge"),
        line(piece, Role.FOLD, through((x, 100), (x, 700)), "fold"),
        line(piece, Role.GRAINLINE, through((x + 40, 200), (x + 40, 600)), "grain"),
        line(piece, Role.GRADING, through((x + cut, 95), (x + cut, 705)), "width"),
        line(piece, Role.LENGTHEN, through((x, 430), (x + width + 5, 430)), "length"),
        line(piece, Role.STITCHING, through((x + width - 15, 100), (x + width - 15, 700)), "side"),
        *levels(piece, x, [(x + width, 100), (x + width, 700)], HEIGHTS),
    ]


def trapezium(piece: str = "gore") -> list[Mark]:
    """A gore on the fold, 180 mm wide at the top and 260 mm at the hem, its side slanting."""
    return [
        line(piece, Role.CUTTING, through((100, 100), (280, 100), (360, 700), (100, 700), closed=True), "edge"),
        line(piece, Role.FOLD, through((100, 100), (100, 700)), "fold"),
        line(piece, Role.GRADING, through((230, 96), (230, 704)), "width"),
        *levels(piece, 100.0, [(280, 100), (360, 700)], HEIGHTS),
    ]


def half_skirt(piece: str = "skirt") -> list[Mark]:
    """A half-skirt on the fold: hollow waist, curved hip, slanting side, curved hem; grading line waist to hem."""
    build = PathBuilder()
    build.move(100, 112)
    build.curve(160, 112, 210, 106, 262, 96)
    build.curve(290, 150, 315, 210, 322, 290)
    build.line(350, 690)
    build.curve(270, 706, 180, 710, 100, 710)
    build.close()
    side = PathBuilder()
    side.move(262, 96)
    side.curve(290, 150, 315, 210, 322, 290)
    side.line(350, 690)
    heights = [y for y in HEIGHTS if y > 300]
    return [
        line(piece, Role.CUTTING, build.path(), "edge"),
        line(piece, Role.STITCHING, side.path(), "side"),
        line(piece, Role.FOLD, through((100, 112), (100, 710)), "fold"),
        line(piece, Role.GRAINLINE, through((140, 200), (140, 600)), "grain"),
        line(piece, Role.GRADING, through((225, 95), (225, 715)), "width"),
        line(piece, Role.LENGTHEN, through((100, 450), (345, 450)), "length"),
        *levels(piece, 100.0, [(322, 290), (350, 690)], heights),
    ]


FOLD = CutAs.FOLD


def ring(path: Path) -> np.ndarray:
    """A closed path as a fine polyline."""
    return path.flatten(0.0005)[0]
