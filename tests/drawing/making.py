"""Small patterns and plans for the tests of this room."""

from __future__ import annotations

from calibrate.printer_scale import PageCorrection
from tiling.drawing.print_job import PrintDetails, PrintJob, build_print_job
from tiling.pattern import Label, Line, Mark, Pattern, Role, Tag, pieces_of
from tiling.planning.papers import paper_named
from tiling.planning.plan import Margins, Orientation, PrintPlan, Tile
from tiling.planning.planner import GridMode, PlanOptions, plan_pages
from tiling.shapes import Affine, Path, Point, Size
from tiling.style import Stroke, Style

__all__ = ["job_of", "line", "pattern_of", "plan_of", "smock", "tile_of"]


def line(*points: tuple[float, float], role: Role = Role.PLAIN, piece: str = "", width: float = 0.4) -> Line:
    """A black line through points, mm."""
    path = Path.polyline([Point(x, y) for x, y in points])
    return Line(path, Style(Stroke(width)), Tag(piece, role))


def pattern_of(*marks: Mark, size: Size | None = None, title: str = "Potting smock") -> Pattern:
    """A pattern on a sheet of 400 x 500 mm, or another."""
    return Pattern(title, size or Size(400.0, 500.0), marks, pieces_of(marks))


def smock() -> Pattern:
    """A front with a grainline, and a frame that reaches every tile's edge of a 400 x 500 mm sheet."""
    frame = [(10.0, 10.0), (390.0, 10.0), (390.0, 490.0), (10.0, 490.0), (10.0, 10.0)]
    return pattern_of(
        line(*frame, role=Role.CUTTING, piece="front"),
        line((10.0, 10.0), (390.0, 490.0)),
        line((390.0, 10.0), (10.0, 490.0)),
        line((120.0, 60.0), (120.0, 430.0), role=Role.GRAINLINE, piece="front"),
        Label("Front", Affine.shift(150.0, 90.0), 9.0, tag=Tag("front")),
    )


def tile_of(plan: PrintPlan, name: str) -> Tile:
    """The plan's tile of that name."""
    return next(tile for tile in plan.tiles if tile.name == name)


def plan_of(
    pattern: Pattern,
    paper: str = "a4",
    orientation: Orientation = Orientation.PORTRAIT,
    correction: PageCorrection | None = None,
    overlap: float = 10.0,
) -> PrintPlan:
    """A plan with margins of 10 mm and the grid from the drawing's own corner."""
    options = PlanOptions(
        paper_named(paper),
        orientation,
        Margins.even(10.0),
        overlap,
        GridMode.AS_DRAWN,
        correction or PageCorrection(),
    )
    return plan_pages(pattern, options)


def job_of(
    pattern: Pattern | None = None,
    paper: str = "a4",
    orientation: Orientation = Orientation.PORTRAIT,
    correction: PageCorrection | None = None,
    date: str = "",
) -> PrintJob:
    """All that is drawn for a pattern."""
    pattern = pattern or smock()
    return build_print_job(plan_of(pattern, paper, orientation, correction), pattern, PrintDetails(date))
