"""How many pages grid and arrangement save, and what the exhaustive search costs.

Run by hand: ``python -m tests.benchmarks.fewest_pages [--seconds 20] [--paper a4] [--only smock] [--no-speed]``.

Drawings: the sample smock; the garment outlines of ``open-data/garment-svg`` (no physical size; 1 unit taken as 1 mm);
the textile instances of ``open-data/esicup``, whose units have no size either: strips of 79 (trousers), 40 (shirts),
5752 (swim) and 4900 units (albano) are taken as 1,580, 1,600, 1,496 and 1,499 mm; as drawn, their pieces lie in rows
as listed, 10 mm apart. The floor is the pieces' area over the net area of a tile (window less overlap), rounded up;
tiles that lie wholly inside a piece have no ink and are skipped, so a drawing of large pieces may fall below it.

Speed: exhaustive search (ink raster and all shifts, both orientations, A4) on a sheet of 1,682 x 1,189 mm with 20,000
curved paths, against PDFium drawing that sheet once at 72 dpi, in one process, medians of five.
"""

from __future__ import annotations

import argparse
import io
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np

from tests.planning.drawings import RECORDS, as_pattern, instance, net_tile_area, open_data
from tiling.files.inputs import read_input
from tiling.lengths import MM_PER_POINT
from tiling.pattern import Line, Pattern
from tiling.planning.arrange import ArrangeOptions, arrange
from tiling.planning.fewest import FewestTiles, GridAxis
from tiling.planning.layout import find_pieces
from tiling.planning.occupancy import occupancy
from tiling.planning.papers import paper_named
from tiling.planning.plan import Orientation
from tiling.planning.planner import PlanOptions, plan_pages
from tiling.reading.options import ReadOptions
from tiling.reading.svg import read_svg
from tiling.shapes import Op, Path, Size
from tiling.style import Stroke, Style

SMOCK = FilePath(__file__).resolve().parents[2] / "samples" / "potting-smock.svg"
SHEET = Size(1682.0, 1189.0)
PATHS = 20_000


def drawings(only: str | None) -> Iterator[tuple[str, Pattern]]:
    """Name and pattern of each drawing."""
    if SMOCK.exists() and only in {None, "smock"}:
        yield "smock", read_svg(read_input(SMOCK), ReadOptions())
    folder = open_data()
    if folder is None:
        print("(no open data found beside the project nor in PAGESEAM_OPEN_DATA)")
        return
    for name in ("lraglan", "ltshirt"):
        if only in {None, name}:
            yield name, read_svg(read_input(folder / "garment-svg" / f"{name}.svg"), ReadOptions(px_per_inch=25.4))
    for name in RECORDS:
        if only in {None, name}:
            yield name, as_pattern(instance(folder, name))


def table(seconds: int, papers: list[str], only: str | None) -> None:
    """Print pages as drawn, best grid, arranged, and the floor."""
    print(f"{'drawing':<10} {'paper':<7} {'drawn':>5} {'grid':>5} {'':>5} {'arranged':>8} {'floor':>5} {'':>5}")
    shares: list[float] = []
    upright: list[float] = []
    for name, pattern in drawings(only):
        area = sum(piece.body.area for piece in find_pieces(pattern))
        for paper in papers:
            options = PlanOptions(paper_named(paper))
            outcome = arrange(pattern, options, ArrangeOptions(seconds=seconds))
            drawn, grid, best = outcome.kept.pages_as_drawn, len(outcome.kept.tiles), len(outcome.plan.tiles)
            floor = int(-(-area // net_tile_area(options)))
            shares.append(grid / drawn)
            portrait = plan_pages(pattern, replace(options, orientation=Orientation.PORTRAIT))
            upright.append(grid / portrait.pages_as_drawn)
            print(
                f"{name:<10} {paper:<7} {drawn:>5} {grid:>5} {grid / drawn:>5.0%} {best:>8} {floor:>5} "
                f"{best / floor:>5.2f}",
                flush=True,
            )
    print(f"best grid, mean of {len(shares)}: {statistics.mean(shares):.0%} of the drawing's own corner ", end="")
    print(f"on pages lying the better way, {statistics.mean(upright):.0%} of it on upright pages")


def sheet() -> Pattern:
    """A crowded sheet: 20,000 paths of eight cubics each, some 100 mm long, from a fixed seed."""
    rng = np.random.default_rng(7)
    ops = np.array([Op.MOVE, *[Op.CURVE] * 8], dtype=np.uint8)
    marks = []
    for _ in range(PATHS):
        turns = np.cumsum(rng.normal(0, 0.35, 25)) + rng.uniform(0, 2 * np.pi)
        points = np.cumsum(np.column_stack([np.cos(turns), np.sin(turns)]) * 4.0, axis=0)
        points += rng.uniform((60, 60), (SHEET.width - 60, SHEET.height - 60)) - points.mean(axis=0)
        marks.append(
            Line(Path(ops.copy(), np.clip(points, 1, [SHEET.width - 1, SHEET.height - 1])), Style(Stroke(0.3)))
        )
    return Pattern("sheet", SHEET, tuple(marks))


def as_pdf(pattern: Pattern) -> bytes:
    """The sheet as a one-page PDF."""
    from reportlab.pdfgen.canvas import Canvas

    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(SHEET.width / MM_PER_POINT, SHEET.height / MM_PER_POINT))
    canvas.setLineWidth(0.3 / MM_PER_POINT)
    for mark in pattern.marks:
        assert isinstance(mark, Line)
        points = mark.path.points / MM_PER_POINT
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for k in range(1, 25, 3):
            path.curveTo(*points[k : k + 3].ravel())
        canvas.drawPath(path)
    canvas.save()
    return buffer.getvalue()


def median_of(work: Callable[[], object], times: int = 5) -> float:
    """Median seconds of several runs."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return statistics.median(took)


def speed() -> float:
    """Print and give the ratio of the exhaustive search to one drawing of the sheet."""
    import pypdfium2 as pdfium

    pattern = sheet()
    data = as_pdf(pattern)

    def draw() -> None:
        document = pdfium.PdfDocument(data)
        document[0].render(scale=1.0)
        document.close()

    def search() -> None:
        ink = occupancy(pattern)
        FewestTiles.of_all_shifts(ink, GridAxis(190, 10), GridAxis(277, 10)).layout()
        FewestTiles.of_all_shifts(ink, GridAxis(277, 10), GridAxis(190, 10)).layout()

    drawing, searching = median_of(draw), median_of(search)
    print(
        f"search of {PATHS:,} paths, both orientations: {searching:.2f} s; PDFium at 72 dpi: {drawing:.2f} s; ", end=""
    )
    print(f"ratio {searching / drawing:.2f}")
    return searching / drawing


def main() -> int:
    """Print the tables; ends with 1 when the search costs more than the drawing."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--seconds", type=int, default=20)
    parser.add_argument("--paper", action="append")
    parser.add_argument("--only")
    parser.add_argument("--no-speed", action="store_true")
    parser.add_argument("--no-table", action="store_true")
    chosen = parser.parse_args()
    if not chosen.no_table:
        table(chosen.seconds, chosen.paper or ["a4", "letter", "a3"], chosen.only)
    return 0 if chosen.no_speed or speed() < 1.0 else 1


if __name__ == "__main__":
    sys.exit(main())
