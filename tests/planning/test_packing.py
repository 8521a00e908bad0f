"""Packing outlines on a strip: densities against published records, and every answer checked with shapely."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import shapely

from calibrate.run import Run
from tests.planning.drawings import RECORDS, instance, needed_open_data
from tiling.failures import InputUnfit, PageseamError
from tiling.planning import packing
from tiling.planning.packing import Packed, PackItem, PackOptions, pack, packable
from tiling.shapes import Affine, Point

SQUARE = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
ELL = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0)])


@pytest.mark.parametrize("name", sorted(RECORDS))
def test_a_short_search_comes_near_the_record_and_never_above_it(name: str) -> None:
    """Two seconds: within twenty points on a busy machine; above the record, areas or overlaps would be wrong.

    The run of a minute, within three points, is `tests/benchmarks/packing.py`. Turns are 0 and 180 as listed.
    """
    given = instance(needed_open_data(), name)
    result = pack(given.items, PackOptions(given.height, seconds=2))
    total = sum(shapely.Polygon(item.outline).area * item.count for item in given.items)
    assert result.density == pytest.approx(total / (given.height * result.length))
    assert RECORDS[name] - 20 < 100 * result.density <= RECORDS[name] + 0.01
    assert {round(copy.turn) % 360 for copy in result.placed} <= {0, 180}
    by_ident = {item.ident: item for item in given.items}
    shapes = [shapely.Polygon(copy.move.points(by_ident[copy.ident].outline)) for copy in result.placed]
    slip = 1e-3 * given.height
    assert shapely.box(0, 0, result.length, given.height).buffer(slip).contains(shapely.union_all(shapes))
    inner = [shape.buffer(-slip) for shape in shapes]
    pairs = shapely.STRtree(inner).query(inner, predicate="intersects")
    assert np.array_equal(pairs[0], pairs[1])
    assert len(shapes) == sum(item.count for item in given.items)


def test_the_gap_is_kept_and_progress_told() -> None:
    """Five squares and two ells, five apart, any turn."""
    told: list[tuple[str, int, int]] = []
    run = Run(lambda *at: told.append(at))
    items = [PackItem("square", SQUARE, 5, None), PackItem("ell", ELL, 2, None)]
    result = pack(items, PackOptions(50.0, gap=5.0, seconds=2), run)
    shapes = [shapely.Polygon(copy.move.points({"square": SQUARE, "ell": ELL}[copy.ident])) for copy in result.placed]
    distances = [a.distance(b) for index, a in enumerate(shapes) for b in shapes[index + 1 :]]
    assert min(distances) > 4.98
    assert told == [("Packing", done, 100) for done in sorted({done for _, done, _ in told})] and told


def test_a_piece_too_wide_is_refused_by_name() -> None:
    """It would fit if it might turn."""
    long = PackItem("sash", np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 90.0), (0.0, 90.0)]))
    with pytest.raises(InputUnfit, match="'sash' is 90 mm"):
        pack([long], PackOptions(50.0, seconds=1))
    turned = PackItem("sash", long.outline, turns=None)
    assert pack([turned], PackOptions(50.0, seconds=1)).length > 80


@pytest.mark.parametrize(
    ("placed", "fault"),
    [
        ([("a", 0.0, 0, 0), ("a", 0.0, 5, 5)], "over each other"),
        ([("a", 0.0, 0, 0)], "lost or doubled"),
        ([("a", 0.0, 0, 0), ("a", 90.0, 40, 0)], "isn't allowed"),
        ([("a", 0.0, 0, 0), ("a", 0.0, 20, 45)], "beyond the strip"),
        ([("a", 0.0, 0, 0), ("a", 0.0, 13, 0)], "over each other"),
    ],
)
def test_a_wrong_answer_is_found_out(placed: list[tuple[str, float, float, float]], fault: str) -> None:
    """The check after the solver sees overlaps, lost copies, forbidden turns, small gaps, and what sticks out."""
    copies = [Packed(ident, turn, Point(x, y)) for ident, turn, x, y in placed]
    with pytest.raises(PageseamError, match=fault):
        packing._checked_length([PackItem("a", SQUARE, 2)], PackOptions(50.0, gap=5.0), copies)


def test_an_interrupt_ends_the_search_at_once() -> None:
    """Ctrl-C in the middle of a long search is raised, and the solver's process with it."""
    code = (
        "import os, signal, threading, numpy as np\n"
        # A job in the background inherits that the signal is ignored.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from tiling.planning.packing import PackItem, PackOptions, pack\n"
        "items = [PackItem(str(n), np.array([(0.0, 0.0), (9.0 + n, 0.0), (5.0, 20.0 - n)]), 3) for n in range(9)]\n"
        "threading.Timer(1.0, os.kill, (os.getpid(), signal.SIGINT)).start()\n"
        "try:\n"
        "    pack(items, PackOptions(50.0, seconds=120))\n"
        "except KeyboardInterrupt:\n"
        "    print('interrupted')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=100)
    assert done.stdout.strip() == "interrupted"


def test_an_outline_for_packing_holds_its_shape() -> None:
    """Simplified outwards by at most twice the tolerance, holes filled, scattered parts as their hull."""
    ring = shapely.Point(0, 0).buffer(50, quad_segs=64).difference(shapely.Point(0, 0).buffer(20))
    outline = shapely.Polygon(packable(ring, 0.5))
    assert outline.contains(ring) and len(outline.exterior.coords) < 80
    assert shapely.Polygon(ring.exterior).buffer(1.01).contains(outline)
    apart = shapely.union(shapely.box(0, 0, 1, 1), shapely.box(9, 9, 10, 10))
    assert shapely.Polygon(packable(apart, 0.0)).area == pytest.approx(apart.convex_hull.area)


def test_a_move_turns_then_shifts() -> None:
    """Clockwise on the page, about the origin, as the solver has it."""
    assert Packed("a", 90.0, Point(10, 20)).move.point(Point(1, 0)).distance(Point(10, 21)) < 1e-12
    assert Affine.turn(90.0).point(Point(1, 0)).distance(Point(0, 1)) < 1e-12
