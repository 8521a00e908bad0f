"""Half a skirt, a gore, a bodice and a trouser leg made for the tests, with stitching lines inside."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tests.altering.drawings import line, through
from tiling.pattern import Line, Mark, Role
from tiling.shapes import Path, PathBuilder
from tiling.shapes.offset import OffsetEdge, inset

Steps = Sequence[tuple[float, ...]]


def path(*steps: tuple[float, ...], closed: bool = False) -> Path:
    """A path of straight lines (two numbers) and cubics (six)."""
    build = PathBuilder()
    build.move(*steps[0])
    for step in steps[1:]:
        (build.line if len(step) == 2 else build.curve)(*step)
    if closed:
        build.close()
    return build.path()


def garment(name: str, *edges: tuple[Steps, float]) -> list[Mark]:
    """A cutting line of edges, each with its allowance, and the stitching line inside it."""
    whole = [edges[0][0][0], *(step for steps, _ in edges for step in steps[1:])]
    seams = inset([OffsetEdge(path(*steps), allowance) for steps, allowance in edges])
    return [
        line(name, Role.CUTTING, path(*whole, closed=True), "edge"),
        line(name, Role.STITCHING, Path.joined(list(seams)), "seam"),
    ]


def to_cut(name: str, x: float, y: float, fold: tuple[float, float] | None = None) -> list[Line]:
    """A grading line at x, a lengthen line at y, and a fold at x = 100 or a grainline."""
    if fold is not None:
        grain = line(name, Role.FOLD, through((100, fold[0]), (100, fold[1])), "fold")
    else:
        grain = line(name, Role.GRAINLINE, through((x - 15, 150), (x - 15, 950)), "grain")
    return [
        grain,
        line(name, Role.GRADING, through((x, 60), (x, 1040)), "width"),
        line(name, Role.LENGTHEN, through((80, y), (440, y)), "length"),
    ]


def skirt() -> list[Mark]:
    """Hollow waist, curved hip, straight side from the hip down, curved hem; on the fold."""
    return [
        *garment(
            "skirt",
            ([(262, 96), (290, 150, 315, 210, 322, 290), (350, 690)], 15.0),
            ([(350, 690), (270, 706, 180, 710, 100, 710)], 30.0),
            ([(100, 710), (100, 112)], 0.0),
            ([(100, 112), (160, 112, 210, 106, 262, 96)], 15.0),
        ),
        *to_cut("skirt", 225, 450, (112, 710)),
    ]


def gore() -> list[Mark]:
    """Straight edges all round, the side slanting; on the fold."""
    return [
        *garment(
            "gore",
            ([(280, 100), (360, 700)], 15.0),
            ([(360, 700), (100, 700)], 30.0),
            ([(100, 700), (100, 100)], 0.0),
            ([(100, 100), (280, 100)], 15.0),
        ),
        *to_cut("gore", 230, 400, (100, 700)),
    ]


def bodice() -> list[Mark]:
    """A slanting straight shoulder that the grading line crosses, armhole, side; on the fold."""
    return [
        *garment(
            "bodice",
            ([(180, 100), (300, 140)], 15.0),
            ([(300, 140), (285, 200, 290, 280, 345, 310)], 10.0),
            ([(345, 310), (335, 520)], 15.0),
            ([(335, 520), (100, 520)], 15.0),
            ([(100, 520), (100, 190)], 0.0),
            ([(100, 190), (150, 190, 178, 150, 180, 100)], 10.0),
        ),
        *to_cut("bodice", 240, 420, (190, 520)),
    ]


def trousers() -> list[Mark]:
    """A front leg with its crotch curve."""
    return [
        *garment(
            "leg",
            ([(200, 100), (380, 90)], 15.0),
            ([(380, 90), (400, 180, 410, 260, 405, 340), (385, 1000)], 15.0),
            ([(385, 1000), (205, 1000)], 40.0),
            ([(205, 1000), (175, 420), (150, 360)], 15.0),
            ([(150, 360), (205, 345, 200, 280, 200, 250), (200, 100)], 15.0),
        ),
        *to_cut("leg", 310, 640),
    ]


GARMENTS: dict[str, Callable[[], list[Mark]]] = {"skirt": skirt, "gore": gore, "bodice": bodice, "trousers": trousers}


def with_dart(kind: str, grading: float, *, stitched: bool = False) -> list[Mark]:
    """A half-skirt with a waist dart, take 24 mm, 100 mm deep, its point at x = 170, and a grading line.

    Args:
        kind: ``notch`` for a dart that the cutting line runs round, ``dart`` for lines of that role.
        grading: x of the grading line.
        stitched: whether a stitching line is drawn 10 mm inside the waist.
    """
    rest: Steps = [(290, 150, 315, 210, 322, 290), (350, 690), (270, 706, 180, 710, 100, 710)]
    waist: Steps = [(100, 110), (130, 110, 150, 109.5, 158, 109)]
    if kind == "notch":
        edge = path(*waist, (170, 209), (182, 107.5), (195, 106.5, 230, 103, 262, 96), *rest, closed=True)
        dart = []
    else:
        edge = path((100, 110), (160, 110, 210, 106, 262, 96), *rest, closed=True)
        dart = [line("skirt", Role.DART, through((158, 109.5), (170, 209), (182, 108)), "dart")]
    seam = [line("skirt", Role.STITCHING, through((100, 120), (250, 112)), "waist")] if stitched else []
    return [
        line("skirt", Role.CUTTING, edge, "edge"),
        *dart,
        *seam,
        line("skirt", Role.FOLD, through((100, 110), (100, 710)), "fold"),
        line("skirt", Role.GRADING, through((grading, 80), (grading, 720)), "width"),
    ]
