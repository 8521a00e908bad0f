"""Our marks are seen on every page, whatever the drawing has there, and the proof looks for each of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject

from tests.drawing.making import job_of, line, pattern_of, smock
from tiling.drawing import joins, photo_marks, tile_page
from tiling.drawing.expected import expectation_of
from tiling.drawing.pdf import write_pages
from tiling.drawing.print_job import PrintJob
from tiling.failures import ProofFailed
from tiling.pattern import Line, Mark, Picture
from tiling.proof.marks_seen import unseen_marks
from tiling.proof.prove import prove
from tiling.proof.raster import PixelGrid, page_to_mm, render
from tiling.shapes import Affine, Box, Path, Point, Size
from tiling.style import Colour, Stroke, Style

WHOLE = Box(0.0, 0.0, 400.0, 500.0)


def area(*colour: float, box: Box = WHOLE) -> Line:
    """A filled rectangle, as large as the sheet."""
    return Line(Path.rectangle(box), Style(fill=Colour(*colour)))


def scan() -> Picture:
    """A grey scan with speckles, from a seeded generator."""
    noise = np.random.default_rng(12).normal(225.0, 12.0, (500, 400)).clip(0, 255).astype(np.uint8)
    stream = BytesIO()
    Image.fromarray(noise).save(stream, "PNG")
    return Picture(stream.getvalue(), Affine.scale(400.0, 500.0))


def broad() -> Line:
    """One black stroke that fills the sheet."""
    path = Path.polyline([Point(0.0, 250.0), Point(400.0, 250.0)])
    return Line(path, Style(Stroke(500.0)))


def dense() -> list[Line]:
    """Fine lines, a millimetre apart."""
    return [line((0.0, float(n)), (400.0, float(n)), width=0.3) for n in range(500)]


def shades() -> list[Line]:
    """Every shade of grey from black to white, side by side across all pages, some of them coloured."""
    steps = [area(n / 40, n / 40, n / 40, box=Box(10.0 * n, 0.0, 10.0 * n + 10.0, 250.0)) for n in range(40)]
    colours = [(0.0, 0.0, 0.5), (0.6, 0.0, 0.0), (0.0, 0.5, 0.2), (1.0, 0.9, 0.2), (0.5, 0.5, 0.55)]
    return steps + [area(*colour, box=Box(80.0 * n, 250.0, 80.0 * n + 80.0, 500.0)) for n, colour in enumerate(colours)]


GROUNDS: dict[str, Callable[[], list[Mark]]] = {
    "white paper drawn": lambda: [area(1.0, 1.0, 1.0)],
    "a pale piece": lambda: [area(0.99, 0.95, 0.82)],
    "black": lambda: [area(0.0, 0.0, 0.0)],
    "as grey as what cancels out": lambda: [area(0.53, 0.53, 0.53)],
    "shades": lambda: [*shades()],
    "a scan": lambda: [scan()],
    "a broad stroke": lambda: [broad()],
    "fine lines": lambda: [*dense()],
}


@cache
def job_on(ground: str, paper: str = "a4") -> PrintJob:
    """The smock on a ground."""
    return job_of(pattern_of(*GROUNDS[ground](), *smock().marks), paper)


@pytest.mark.parametrize("ground", GROUNDS)
def test_marks_are_seen_on_any_ground(ground: str) -> None:
    """Every name, join line, comb and checker stands out; painted first, they would not, and the proof says so."""
    job = job_on(ground)
    assert job.covered
    prove(write_pages(job), expectation_of(job))
    hidden = replace(job, covered=frozenset())
    with pytest.raises(ProofFailed, match=r"can't be seen on page \d \(..\)\. Nothing was published"):
        prove(write_pages(hidden), expectation_of(hidden))


@pytest.mark.parametrize(
    "ground",
    [*((grey, grey, grey) for grey in (0.3, 0.4, 0.45, 0.5, 0.6)), (0.0, 0.6, 0.0), (0.0, 0.75, 0.0), (0.3, 0.5, 0.1)],
)
def test_a_line_and_its_halo_that_weigh_each_other_up_are_seen(ground: tuple[float, float, float]) -> None:
    """A line darker than the ground between two strips lighter than it; every shade meets some width of pixel."""
    job = job_of(pattern_of(area(*ground), *smock().marks))
    prove(write_pages(job), expectation_of(job))


def level_joins(job: PrintJob) -> set[float]:
    """How far down the sheet its level join lines lie, mm."""
    found = (join for tile in job.plan.to_print for join in joins.joins_of(job.plan, tile))
    return {join.start.y for join in found if not join.side.upright}


def test_a_line_of_the_drawing_just_on_a_join_line_is_a_line_to_cut_along() -> None:
    """The page doesn't change for the mark there; under a broad stroke, painted first, there is no line to see."""
    place = min(level_joins(job_of(smock())))
    for width, seen in ((0.6, True), (6.0, False)):
        job = job_of(pattern_of(*smock().marks, line((0.0, place), (400.0, place), width=width)))
        assert place in level_joins(job)
        job = replace(job, covered=frozenset())
        data, expected = write_pages(job), expectation_of(job)
        if seen:
            prove(data, expected)
        else:
            with pytest.raises(ProofFailed, match=r"join line with .* can't be seen"):
                prove(data, expected)


@pytest.mark.parametrize("paper", ["a1", "roll:610mm"])
def test_sheets_that_carry_their_own_block_show_it_on_any_ground(paper: str) -> None:
    """Title, square and map lie on the sheet, and the square is measured there."""
    white = area(1.0, 1.0, 1.0, box=Box(0.0, 0.0, 1000.0, 1200.0))
    job = job_of(pattern_of(white, line((10.0, 10.0), (390.0, 490.0)), size=Size(1000.0, 1200.0)), paper)
    assert job.block is not None
    data = write_pages(job)
    prove(data, expectation_of(job))
    hidden = write_pages(replace(job, covered=frozenset()))
    shown, bare = (picture(pages, job, job.block.tile, job.block.box) for pages in (data, hidden))
    assert np.count_nonzero(shown > 100) > 10_000
    assert not bare.any()


def picture(data: bytes, job: PrintJob, name: str, box: Box) -> np.ndarray:
    """A part of a tile's page, ten pixels to a millimetre."""
    tile = next(tile for tile in job.plan.tiles if tile.name == name)
    document = pypdfium2.PdfDocument(data)
    try:
        page = document[job.pages[name] - 1]
        move = job.plan.to_page(tile).inverse() @ page_to_mm(page, job.plan.page_size.width, job.plan.page_size.height)
        return render(page, move, PixelGrid.over(box, 0.1))
    finally:
        document.close()


@pytest.mark.parametrize("ground", [1.0, 0.8])
def test_marks_hide_nothing_of_the_drawing(ground: float) -> None:
    """A black line right along a join line, and one across the name's place, stay darker than what is around them."""
    plain = job_of(pattern_of(area(ground, ground, ground), *smock().marks))
    # The first tile that lies amid the drawing and has a neighbour on its right.
    places = [(tile, join) for tile in plain.plan.tiles for join in joins.joins_of(plain.plan, tile)]
    tile, join = next(
        (tile, join)
        for tile, join in places
        if join.side is joins.Side.RIGHT and 100.0 < join.start.x < 300.0 and 100.0 < tile.window.centre.y < 400.0
    )
    x, top, bottom = join.start.x, max(join.start.y, 11.0), min(join.end.y, 489.0)
    along = line((x, top), (x, bottom), width=0.4)
    bars = [line((11.0, 2.0 * n), (389.0, 2.0 * n), width=0.4) for n in range(6, 245)]
    job = job_of(pattern_of(area(ground, ground, ground), *smock().marks, along, *bars))
    data = write_pages(job)
    prove(data, expectation_of(job))
    paper = 255 * (1 - ground)
    part = picture(data, job, tile.name, Box(x - 1.0, top, x + 1.0, bottom))
    assert part.max(axis=1).min() > paper + 20
    place = job.names[tile.name]
    assert place is not None
    name = place.common(Box(13.0, 13.0, 387.0, 487.0))
    assert name is not None
    shown = picture(data, job, tile.name, name)
    heights = np.arange(np.ceil(name.y0 / 2) * 2, name.y1, 2.0)[1:-1]
    assert min(shown[round((y - name.y0) / 0.1)].min() for y in heights) > paper + 20


def test_a_fine_line_right_on_a_join_line_hides_it_not() -> None:
    """A frame drawn where a page is cut."""
    lines = [line((float(x), 10.0), (float(x), 490.0), width=0.5) for x in range(150, 251, 5)]
    job = job_of(pattern_of(*lines))
    assert job.covered
    prove(write_pages(job), expectation_of(job))


NO_MARK: dict[str, tuple[object, str]] = {
    "the join line": (joins, "_draw_line"),
    "a checker": (photo_marks, "draw_checker"),
    "its code": (photo_marks, "draw_code"),
    "its name": (tile_page, "_draw_block"),
    "a comb": (joins, "combs_of"),
}


@pytest.mark.parametrize("ground", ["none", "shades"])
@pytest.mark.parametrize("mark", NO_MARK)
def test_a_mark_left_out_is_noticed(monkeypatch: pytest.MonkeyPatch, ground: str, mark: str) -> None:
    """Each kind by itself, where the marks are painted first and where they come last."""
    job = job_of() if ground == "none" else job_on(ground)
    module, draws = NO_MARK[mark]
    monkeypatch.setattr(module, draws, lambda *_: ())
    with pytest.raises(ProofFailed, match=f"{mark}.* can't be seen on page 3 \\(A1\\)"):
        prove(write_pages(job), expectation_of(job))


def without_blending(content: bytes) -> bytes:
    """The file as a reader shows it that paints one thing over another whatever the blend mode says."""
    writer = PdfWriter(clone_from=BytesIO(content))
    for page in writer.pages:
        resources = page["/Resources"].get_object()
        assert isinstance(resources, DictionaryObject)
        for state in (resources.get("/ExtGState") or {}).values():
            state.get_object()[NameObject("/BM")] = NameObject("/Normal")
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue()


@pytest.mark.parametrize("ground", [area(0.93, 0.93, 0.93), area(0.25, 0.25, 0.25), area(0.0, 0.0, 0.0), scan()])
def test_a_reader_without_blend_modes_shows_marks_and_drawing(ground: Mark) -> None:
    """Halo and marks are opaque then: they are as legible, and cover next to nothing of a line of the drawing."""
    white = isinstance(ground, Line) and ground.style.fill is not None and ground.style.fill.red < 0.5
    ink = Style(Stroke(1.0, Colour(1.0, 1.0, 1.0) if white else Colour(0.0, 0.0, 0.0)))
    slanted = Line(Path.polyline([Point(15.0, 20.0), Point(385.0, 480.0)]), ink)
    job = job_of(pattern_of(ground, slanted))
    expected = expectation_of(job)
    assert job.covered
    document = pypdfium2.PdfDocument(without_blending(write_pages(job)))
    hidden = length = 0
    for tile in job.plan.to_print:
        page = document[job.pages[tile.name] - 1]
        move = job.plan.to_page(tile).inverse() @ page_to_mm(page, job.plan.page_size.width, job.plan.page_size.height)
        grid = PixelGrid.over(tile.window, 0.3)
        shown = render(page, move, grid).astype(int)
        assert unseen_marks(expected.marks[tile.name], page, move) == (), tile.name
        bare = render(page, move, grid).astype(int)
        rows, columns = np.nonzero(
            np.abs(bare - np.median(bare)) > 150 if not isinstance(ground, Picture) else bare > 200
        )
        length += len(rows)
        hidden += int((np.abs(shown - bare)[rows, columns] > 120).sum())
    assert length > 500
    assert hidden < 0.035 * length
