"""How many pages an alteration costs: a table of everyday ones, and 200 random ones checked by an independent render.

python tests/benchmarks/reprint_pages.py [--random 200]
"""

from __future__ import annotations

import argparse
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.planning.retaped import altered, everything, naive_counts, needless, printed, seen, smock, stale
from tiling.altering.alter import Alteration, Matching, alter
from tiling.planning.reprint import ReprintOptions, plan_reprint

EVERYDAY = {
    "40 mm wider all round": Alteration(around=40.0),
    "20 mm wider all round": Alteration(around=20.0),
    "20 mm narrower all round": Alteration(around=-20.0),
    "40 mm wider at the top, nothing at the hem": Alteration(around=40.0, taper=0.0),
    "30 mm longer": Alteration(longer=30.0),
    "50 mm shorter": Alteration(longer=-50.0),
    "sleeve 25 mm longer": Alteration(longer=25.0, pieces=("sleeve",)),
    "sleeve 30 mm shorter": Alteration(longer=-30.0, pieces=("sleeve",)),
    "front and back 40 mm longer": Alteration(longer=40.0, pieces=("front", "back")),
    "front and back 24 mm wider, sleeve follows": Alteration(
        around=24.0, pieces=("front", "back"), matching=Matching.FOLLOW
    ),
    "40 mm wider and 30 mm longer": Alteration(around=40.0, longer=30.0),
    "20 mm narrower and 20 mm shorter": Alteration(around=-20.0, longer=-20.0),
}
OPTIONS = ReprintOptions()


def table() -> None:
    """Pages to print again for everyday alterations of the sample, on A4."""
    sheet = printed()
    print("| alteration | pages to print | of |\n|---|---|---|")
    for words, alteration in EVERYDAY.items():
        reprint = plan_reprint(sheet.record, alter(smock(), alteration).pattern, OPTIONS)
        print(f"| {words} | {len(reprint.replace) + len(reprint.add)} | {len(reprint.plan.tiles)} |")


def trials(count: int) -> int:
    """Random alterations; the number of sheets that would be wrong or printed in vain."""
    sheet, wrong, done, refused, pages, naive_pages, clashed = printed(), 0, 0, 0, 0, 0, 0
    seed = 0
    while done < count:
        pattern = altered(random.Random(seed))
        seed += 1
        if pattern is None:
            refused += 1
            continue
        done += 1
        reprint = plan_reprint(sheet.record, pattern, OPTIONS)
        box = everything(sheet.record.plan, reprint.plan)
        old, new = seen(sheet.pattern, sheet.record.plan, box), seen(pattern, reprint.plan, box)
        named = {*reprint.replace, *reprint.add}
        kept = [tile for tile in reprint.plan.tiles if tile.name in reprint.keep]
        bad, vain = stale(old, new, kept), needless(old, new, [t for t in reprint.plan.tiles if t.name in named])
        free = [number for number, clash in naive_counts(sheet, pattern, OPTIONS.slack) if not clash]
        clashed += not free
        above = bool(free) and len(named) > min(free)
        if bad or vain or above:
            wrong += 1
            print(f"seed {seed - 1}: stale {sorted(bad)}, needless {sorted(vain)}, above naive {above}")
        pages += len(named)
        naive_pages += min(free, default=len(named))
    print(
        f"{done} random alterations ({refused} more were refused): {wrong} wrong; {pages / done:.1f} pages each on "
        f"average, {naive_pages / done:.1f} by the better naive choice; in {clashed} both naive choices let pieces "
        "run into each other"
    )
    return wrong


def main() -> int:
    """Print both."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--random", type=int, default=200)
    given = parser.parse_args()
    table()
    return 1 if trials(given.random) else 0


if __name__ == "__main__":
    sys.exit(main())
