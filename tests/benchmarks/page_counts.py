"""How long a page count takes for other paper, overlap or margins, on a drawing already read.

Run from the project's root with the project's Python:

    python -m tests.benchmarks.page_counts

It counts the sample's pages and those of a sheet of 20,000 curved paths (1,682 x 1,189 mm), each on several papers and
with overlaps and margins as a slider passes through them, and prints processor milliseconds: half of the counts take no
longer than the median. Exit code 1 when a median is above the aim.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from tests.benchmarks.pages_speed import make_sheet
from tiling.files.inputs import read_input
from tiling.pattern import Pattern
from tiling.planning.papers import paper_named
from tiling.planning.plan import Margins
from tiling.planning.planner import PageCounter, PlanOptions
from tiling.reading.gather import read_drawings
from tiling.reading.options import ReadOptions

AIM = 150.0
"""Milliseconds."""

SAMPLE = Path(__file__).parents[2] / "samples" / "potting-smock.svg"
PAPERS = ("a4", "letter", "a3", "tabloid", "a2", "a0", "roll:914mm")
CHOICES = [(overlap, margin) for overlap in (8.0, 10.0, 13.0) for margin in (6.0, 10.0, 12.5)]
"""Overlap and margin in mm."""


def measure(name: str, pattern: Pattern) -> bool:
    """Print a line for each paper; whether all medians are within the aim."""
    start = time.process_time()
    counter = PageCounter.of(pattern)
    print(f"{name}: ink read in {(time.process_time() - start) * 1000:.0f} ms")
    good = True
    for paper in PAPERS:
        took, pages = [], []
        for overlap, margin in CHOICES:
            options = PlanOptions(paper_named(paper), margins=Margins.even(margin), overlap=overlap)
            start = time.process_time()
            plan = counter.plan(options)
            took.append((time.process_time() - start) * 1000)
            pages.append(len(plan.tiles))
        good = good and median(took) <= AIM
        print(
            f"  {paper:<12} {min(pages):>3} to {max(pages):>3} pages {median(took):>7.0f} ms, at most {max(took):>5.0f}"
        )
    return good


def main() -> int:
    """Measure both drawings."""
    with tempfile.TemporaryDirectory() as folder:
        sheet = Path(folder) / "sheet.pdf"
        make_sheet(sheet, 20_000)
        good = [
            measure(name, read_drawings([read_input(path)], ReadOptions()))
            for name, path in (("sample", SAMPLE), ("20,000 curved paths", sheet))
        ]
    return 0 if all(good) else 1


if __name__ == "__main__":
    sys.exit(main())
