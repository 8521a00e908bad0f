"""What somebody who reads every comb rightly finds of the slips on a taped sheet, to hold against what photos find.

    python -m tests.benchmarks.taped_combs [--sheets 20]

The sheets are those of `taped_accuracy` (the sample on A4). A comb is read to the nearest tooth, 0.25 mm; beyond its
four teeth on either side, 1 mm, it tells that the page slipped, not how far. What both combs of a pair say is taken for
all of their join. Nobody misreads a tooth here, and nobody gets tired of 45 joins.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from tests.simulator.taping import Paper, TapedSheet
    from tiling.drawing.joins import Join
    from tiling.planning.plan import PrintPlan
    from tiling.shapes import Point

Ends = tuple[np.ndarray, np.ndarray | None]
"""Of one end of a join: how far the page slipped (2,), and what was read; None where that is beyond the combs."""


def ends_read(seed: int) -> Iterator[Ends]:
    """All ends of one sheet's joins."""
    from tests.simulator.taping import TapedSheet, Taping, laid_by
    from tiling.drawing.joins import joins_of
    from tiling.drawing.photo_marks import checkers_of

    plan, papers = _sample()
    nothing = np.zeros((1, 1), np.uint8)
    sheet = TapedSheet(
        papers, laid_by(papers, Taping(), seed), nothing, nothing.astype(np.float32), (0.0, 0.0), (0.0, 0.0)
    )
    for tile in plan.tiles:
        for join in joins_of(plan, tile):
            if not join.side.lies_over:
                read = _read(sheet, tile.name, join)
                for checker in checkers_of(plan, tile):
                    if checker.neighbour == join.neighbour:
                        yield _slip(sheet, tile.name, join, checker.middle), read


@cache
def _sample() -> tuple[PrintPlan, tuple[Paper, ...]]:
    """The sample's plan on A4, and its pages."""
    from tests.benchmarks.taped_accuracy import KINDS, printed_of
    from tests.simulator.taping import papers_of
    from tiling.record.printed_file import read_printed

    printed = printed_of(KINDS[0])
    return read_printed(printed).plan, papers_of(printed.content)


def _slip(sheet: TapedSheet, name: str, join: Join, at: Point) -> np.ndarray:
    return sheet.slip(name, join.neighbour, (at.x, at.y))


def _read(sheet: TapedSheet, name: str, join: Join) -> np.ndarray | None:
    """What the combs of a join say; None where the teeth that meet are beyond them."""
    from tiling.drawing.joins import STEP, TEETH, combs_of

    along, across = (1, 0) if join.side.upright else (0, 1)
    said: dict[int, list[float]] = {1: [], -1: []}
    for comb in combs_of(join):
        slip = _slip(sheet, name, join, comb.middle)
        teeth = round(float(slip[along] - comb.lean * slip[across]) / STEP)
        if abs(teeth) > TEETH:
            return None
        said[comb.lean].append(STEP * teeth)
    one, other = (float(np.mean(said[lean])) for lean in (1, -1))
    found = np.zeros(2)
    found[along], found[across] = (one + other) / 2, (other - one) / 2
    return found


def row(name: str, ends: Sequence[Ends]) -> str:
    """Errors of both directions together, and what became of the large slips and the small ones."""
    errors = np.abs([part for slip, read in ends if read is not None for part in slip - read])
    sizes = [float(np.hypot(*slip)) for slip, _ in ends]
    off = [read is None or float(np.hypot(*read)) > 1.0 for _, read in ends]
    large = [told for size, told in zip(sizes, off, strict=True) if size >= 1.15]
    small = [told for size, told in zip(sizes, off, strict=True) if size <= 0.5]
    beyond = sum(read is None for _, read in ends)
    return (
        f"| {name} | {np.percentile(errors, 95):.2f} | {errors.max():.2f} | {beyond} of {len(ends)} | "
        f"{len(large) - sum(large)} of {len(large)} | {sum(small)} of {len(small)} |"
    )


def main() -> None:
    """Read the combs of as many sheets as the command line asks for and print the row."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sheets", type=int, default=20)
    given = parser.parse_args()
    print(
        "| | 95 % mm | largest mm | beyond the combs | of 1 mm missed | of 0.5 mm claimed |\n|---|---|---|---|---|---|"
    )
    print(row(f"every comb read, {given.sheets} sheets", [one for n in range(given.sheets) for one in ends_read(n)]))


if __name__ == "__main__":
    main()
