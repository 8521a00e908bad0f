"""Small invented patterns for the tests of the cloth room, drawn with numbers that can be checked by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tiling.notes import CutAs, LineRef, Notes, NotionNote, PieceNote, SeamNote, Wearer
from tiling.pattern import Line, Pattern, Role, Tag, pieces_of
from tiling.shapes import Path, PathBuilder, Size
from tiling.style import Stroke, Style

INK = Style(Stroke(0.5))


def path(*steps: Sequence[float], closed: bool = False) -> Path:
    """A path from a start (2 numbers), lines (2 numbers) and curves (6 numbers)."""
    build = PathBuilder()
    build.move(*steps[0])
    for step in steps[1:]:
        if len(step) == 2:
            build.line(*step)
        else:
            build.curve(*step)
    if closed:
        build.close()
    return build.path()


def mark(piece: str, role: Role, name: str, *steps: Sequence[float], closed: bool = False) -> Line:
    """One line of a piece."""
    return Line(path(*steps, closed=closed), INK, Tag(piece, role, name))


def pattern(marks: Sequence[Line], notes: Notes | None = None, title: str = "Test smock") -> Pattern:
    """A pattern of these marks, on a sheet that holds them."""
    points = np.vstack([m.path.points for m in marks])
    width, height = points.max(axis=0) + 20
    return Pattern(title, Size(float(width), float(height)), tuple(marks), pieces_of(marks), notes=notes)


def rectangle(piece: str, width: float, height: float, x: float = 0.0, y: float = 0.0) -> list[Line]:
    """A piece with four named cutting lines and an upright grainline."""
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    names = ["top", "right", "bottom", "left"]
    edges = [mark(piece, Role.CUTTING, names[i], corners[i], corners[(i + 1) % 4]) for i in range(4)]
    middle = x + width / 2
    return [*edges, mark(piece, Role.GRAINLINE, "", (middle, y + height * 0.2), (middle, y + height * 0.8))]


def front(x: float = 0.0) -> list[Line]:
    """Half a front on its fold at x: cutting lines only, with true curves at neck and armhole."""
    p = "front"
    return [
        mark(p, Role.CUTTING, "neckline", (x, 90), (x + 45, 90, x + 75, 60, x + 75, 0)),
        mark(p, Role.CUTTING, "shoulder", (x + 75, 0), (x + 200, 45)),
        mark(p, Role.CUTTING, "armhole", (x + 200, 45), (x + 180, 120, x + 190, 200, x + 260, 225)),
        mark(p, Role.CUTTING, "side", (x + 260, 225), (x + 270, 740)),
        mark(p, Role.CUTTING, "hem", (x + 270, 740), (x, 740)),
        mark(p, Role.FOLD, "fold", (x, 740), (x, 90)),
        mark(p, Role.GRAINLINE, "", (x + 120, 300), (x + 120, 600)),
        mark(p, Role.PLACEMENT, "bust", (x, 300), (x + 200, 300)),
        mark(p, Role.NOTCH, "armhole", (x + 183, 120), (x + 195, 120)),
        mark(p, Role.NOTCH, "side", (x + 258, 460), (x + 270, 460)),
    ]


def sleeve(x: float = 400.0) -> list[Line]:
    """A sleeve whose cap is a closed single outline, with its stitching lines drawn and named."""
    p = "sleeve"
    cap = ((x, 200), (x + 60, 200, x + 60, 20, x + 150, 20), (x + 240, 20, x + 260, 200, x + 310, 200))
    return [
        mark(p, Role.CUTTING, "outline", *cap, (x + 270, 560), (x + 40, 560), closed=True),
        mark(
            p,
            Role.STITCHING,
            "cap",
            (x + 12, 210),
            (x + 70, 205, x + 70, 32, x + 150, 32),
            (x + 230, 32, x + 245, 205, x + 298, 210),
        ),
        mark(p, Role.STITCHING, "cuff", (x + 258, 530), (x + 52, 530)),
        mark(p, Role.GRAINLINE, "", (x + 150, 150), (x + 150, 450)),
        mark(p, Role.NOTCH, "cap", (x + 150, 20), (x + 150, 32)),
    ]


NOTES = Notes(
    title="Test smock",
    drawn_for={"bust": 900.0, "waist": 760.0, "wrist": 160.0},
    ease={"bust": 100.0},
    pieces={
        "front": PieceNote("front", "Front", 1, CutAs.FOLD, seam_allowance=15.0, allowances={"hem": 30.0}),
        "sleeve": PieceNote("sleeve", "Sleeve", 2, CutAs.PAIR, seam_allowance=12.0),
        "pocket": PieceNote("pocket", "Pocket", 2, CutAs.SINGLE, interfacing=1, lining=2),
    },
    seams=(SeamNote("cap", (LineRef("sleeve", "cap"),), (LineRef("front", "armhole"),), 20.0),),
    notions=(
        NotionNote("elastic", "wrist + overlap", 2, 50.0, "elastic", "sleeve"),
        NotionNote("buttons", "up(length(front.side) / 80mm, 1)", kind="button"),
    ),
    rules={"overlap": "25mm"},
    file="smock.toml",
)


def smock(notes: Notes | None = NOTES) -> Pattern:
    """Front on the fold, a pair of sleeves, two pockets."""
    return pattern([*front(), *sleeve(), *rectangle("pocket", 160, 180, 800, 20)], notes)


def child(garment: str = "jacket", **notion: object) -> Notes:
    """Notes of a child's garment with one cord."""
    cord = replace(NotionNote("Cord", "1m", kind="cord"), **notion)  # type: ignore[arg-type]
    return Notes(wearer=Wearer.CHILD, garment=garment, notions=(cord,), file="jacket.toml")
